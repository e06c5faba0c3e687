"""The moments at which shots are looked at: a still shot once, an animated one at its keys too."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from samelight.light.noise import NOISE, reaches
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Curve, Group

Rows = NDArray[np.intp]

AT_MOST = 16
"""Moments of one shot: of more keys than these, some are taken, evenly spread, the first and the last among them."""

_SECTIONS = ("lights", "environments", "marks", "camera")


@dataclass(frozen=True, slots=True)
class Moments:
    """Every moment of every shot, shot by shot, in ascending frames. The arrays of derived rows have one row each.

    `references` is what each moment's sheet is compared with: the master, or another shot's sheet. `shot` is the place
    of each moment's shot among the sheets, `first` the first moment of each shot. `listed` names computed rows that are
    there however little these shots have of them, since others of the sequence do.
    """

    sheets: tuple[Sheet, ...]
    references: tuple[Sheet, ...]
    frames: tuple[float, ...]
    shot: Rows
    first: Rows
    listed: frozenset[str] = frozenset()

    def __len__(self) -> int:
        return len(self.frames)

    def compared(self, section: str) -> NDArray[np.bool_]:
        """Whether a section is compared, at each moment: what the reference lacks is not."""
        return np.array([section in sheet.sections for sheet in self.references], dtype=np.bool_)

    def groups(self, section: str, name: str) -> list[Group | None]:
        """A group of each moment's sheet, None where the sheet lacks it."""
        return [sheet.sections.get(section, {}).get(name) for sheet in self.sheets]

    def compared_groups(self, section: str, name: str) -> list[Group | None]:
        """A group of each moment's sheet where its section is compared, else None."""
        pairs = zip(self.sheets, self.references, strict=True)
        return [
            sheet.sections.get(section, {}).get(name) if section in reference.sections else None
            for sheet, reference in pairs
        ]

    def reference_groups(self, section: str, name: str) -> list[Group | None]:
        """A group of each moment's reference, None where it lacks it."""
        return [sheet.sections.get(section, {}).get(name) for sheet in self.references]

    def names(self, section: str) -> list[str]:
        """The names in a section of any shot's sheet, in order of appearance."""
        return _names((self.sheets[index] for index in self.first.tolist()), section)

    def reference_names(self, section: str) -> list[str]:
        """The names in a section of any reference, in order of appearance."""
        return _names({id(sheet): sheet for sheet in self.references}.values(), section)

    def of_shots(self, wanted: NDArray[np.bool_]) -> tuple[Moments, Rows]:
        """The moments of some of the shots (a mask over the sheets), and their places among these."""
        rows = np.flatnonzero(wanted[self.shot])
        kept = rows.tolist()
        counts = np.bincount(self.shot, minlength=len(wanted))[wanted]
        part = Moments(
            tuple(self.sheets[index] for index in kept),
            tuple(self.references[index] for index in kept),
            tuple(self.frames[index] for index in kept),
            np.repeat(np.arange(len(counts), dtype=np.intp), counts),
            (np.cumsum(counts) - counts).astype(np.intp),
            self.listed,
        )
        return part, rows

    def worst(self, deviation: NDArray[np.float64]) -> Rows:
        """The moment of each shot at which it deviates most, the earliest of those that differ by noise; NaN deviates least.

        A deviation of no more than noise is none.
        """
        if len(self.first) == len(self.frames):
            return self.first
        size = np.where(np.isnan(deviation), -1.0, np.abs(deviation))
        size[(size > 0.0) & (size <= NOISE)] = 0.0
        largest = np.maximum.reduceat(size, self.first) if size.size else size
        places = np.where(reaches(size, largest[self.shot]), np.arange(len(size)), len(size))
        return np.asarray(np.minimum.reduceat(places, self.first) if size.size else places, dtype=np.intp)


def _names(sheets: Iterable[Sheet], section: str) -> list[str]:
    found: dict[str, None] = {}
    for sheet in sheets:
        groups = sheet.sections.get(section, {})
        if not groups.keys() <= found.keys():
            found.update(dict.fromkeys(groups))
    return list(found)


def moments_of(
    sheets: Sequence[Sheet], references: Sequence[Sheet], listed: frozenset[str] = frozenset()
) -> Moments:
    """Each shot's first frame, and the keys within its frames of what it and its reference animate."""
    setup = {id(sheet): _keys(sheet) for sheet in {id(sheet): sheet for sheet in references}.values()}
    frames = [
        _frames(sheet, setup[id(reference)] | _keys(sheet))
        for sheet, reference in zip(sheets, references, strict=True)
    ]
    counts = np.array([len(own) for own in frames], dtype=np.intp)
    return Moments(
        tuple(sheet for sheet, own in zip(sheets, frames, strict=True) for _ in own),
        tuple(sheet for sheet, own in zip(references, frames, strict=True) for _ in own),
        tuple(frame for own in frames for frame in own),
        np.repeat(np.arange(len(sheets), dtype=np.intp), counts),
        (np.cumsum(counts) - counts).astype(np.intp),
        listed,
    )


def first_frame(sheet: Sheet) -> float:
    """A shot's first frame; without frames its first key, else 0."""
    return float(sheet.frames[0]) if sheet.frames else min(_keys(sheet), default=0.0)


def _keys(sheet: Sheet) -> set[float]:
    """The key frames of everything that derived rows look at."""
    found: set[float] = set()
    for section in _SECTIONS:
        for group in sheet.sections.get(section, {}).values():
            if Curve in map(type, group.values()):
                found.update(
                    f for value in group.values() if isinstance(value, Curve) for f in value.frames()
                )
    return found


def _frames(sheet: Sheet, keys: set[float]) -> list[float]:
    if not keys:
        return [first_frame(sheet)]
    low, high = sheet.frames or (-math.inf, math.inf)
    start = float(low) if sheet.frames else min(keys)
    frames = sorted({start, *(key for key in keys if low <= key <= high)})
    if len(frames) <= AT_MOST:
        return frames
    return [frames[round(place)] for place in np.linspace(0, len(frames) - 1, AT_MOST)]
