"""The lights and environments of all shots beside those that they are compared with, over their moments."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from samelight.drift.computed.columns import Array, Mask, Words, column, vectors
from samelight.drift.computed.emitters import (
    Emitter,
    MarkPlace,
    blocks,
    emitters_of,
    joined,
    received_quantity,
)
from samelight.drift.computed.moments import Moments, Rows, first_frame, moments_of
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Group


@dataclass(frozen=True, slots=True)
class Rig:
    """Shots with a sheet, and for each light and then each environment its columns in the shots and the references.

    Where no sheet has a mark, `lights` are only those that may be the sun: nothing asks for the others.
    `same` says where the shot's is alike in everything that counts at a mark, `moved` where it stands or points
    elsewhere than the reference's. `quantities` and `there` (moments, lights and environments), of the references and
    of the shots, say in what each is received and whether the sheet has it. `camera` is the camera's position and
    where it looks, NaN where not given. `key` is the sheet of the key shot.
    """

    shots: tuple[str, ...]
    moments: Moments
    lights: tuple[str, ...]
    environments: tuple[str, ...]
    own: tuple[Emitter, ...]
    setup: tuple[Emitter, ...]
    same: tuple[Mask, ...]
    moved: tuple[Mask, ...]
    quantities: tuple[Words, Words]
    there: tuple[Mask, Mask]
    camera: tuple[Array, Array]
    key: Sheet | None

    @property
    def names(self) -> tuple[str, ...]:
        """The lights, then the environments."""
        return self.lights + self.environments


@dataclass(frozen=True, slots=True)
class Whole:
    """What the figures of some shots share with those of all others: the names of all lights and environments, in the order
    in which they are summed, and the names of the computed rows."""

    lights: tuple[str, ...]
    environments: tuple[str, ...]
    rows: frozenset[str]


def rig_of(
    shots: Sequence[str],
    sheets: Sequence[Sheet],
    references: Sequence[Sheet],
    key: Sheet | None,
    whole: Whole | None = None,
) -> Rig:
    """The rig of shots by their sheets, each with what it is compared with; `key` is the sheet of the key shot.

    With `whole` the figures are those that the shots have among all others, to the last digit.
    """
    moments = moments_of(sheets, references, whole.rows if whole is not None else frozenset())
    lights, environments = (_names(moments, section) for section in ("lights", "environments"))
    if whole is not None:
        lights, environments = whole.lights, whole.environments
    if not moments.names("marks"):
        lights = tuple(name for name in lights if _may_be_sun(moments, name))
    own: list[Emitter] = []
    setup: list[Emitter] = []
    for section, names in (("lights", lights), ("environments", environments)):
        groups = [moments.compared_groups(section, name) for name in names]
        groups += [moments.reference_groups(section, name) for name in names]
        read = emitters_of(section, groups, moments.frames)
        own += read[: len(names)]
        setup += read[len(names) :]
    same, moved, held, here = _compared(own, setup, len(moments))
    cameras = moments.groups("camera", "")
    return Rig(
        tuple(shots),
        moments,
        lights,
        environments,
        tuple(own),
        tuple(setup),
        tuple(same),
        tuple(moved),
        (held.quantity, here.quantity),
        (held.there, here.there),
        (
            vectors(column(cameras, "position", moments.frames)),
            vectors(column(cameras, "direction", moments.frames)),
        ),
        key,
    )


class _Side(NamedTuple):
    """Of the references or of the shots, shape (moments, lights and environments)."""

    quantity: Words
    there: Mask

    @classmethod
    def of(cls, moments: int, lights: int) -> _Side:
        shape = (moments, lights)
        return cls(np.full(shape, "", dtype=np.object_), np.zeros(shape, dtype=np.bool_))


def _compared(own: list[Emitter], setup: list[Emitter], count: int) -> tuple[Mask, Mask, _Side, _Side]:
    """Where lights are what they are compared with, and where they stand otherwise, shape (lights, moments); then both sides.

    A light of which one side alone states a roll gets the other's: it is replaced in the two lists.
    """
    size = len(own)
    same, moved = np.zeros((size, count), dtype=np.bool_), np.zeros((size, count), dtype=np.bool_)
    sides = _Side.of(count, size), _Side.of(count, size)
    for block in blocks(size, count):
        mine, its = joined(own[block]), joined(setup[block])
        if (unlike := _rolled_on_one_side(mine, its, count)).size:
            for index in (block.start + unlike).tolist():
                own[index], setup[index] = (
                    own[index].rolled_as(setup[index]),
                    setup[index].rolled_as(own[index]),
                )
            mine, its = joined(own[block]), joined(setup[block])
        same[block] = mine.same_as(its).reshape(-1, count)
        moved[block] = mine.placed_otherwise(its).reshape(-1, count)
        for side, emitter in zip(sides, (its, mine), strict=True):
            side.quantity[:, block] = received_quantity(emitter.quantity).reshape(-1, count).T
            side.there[:, block] = emitter.there.reshape(-1, count).T
    return same, moved, *sides


def _rolled_on_one_side(mine: Emitter, its: Emitter, count: int) -> Rows:
    """Of lights that were joined, over so many moments each, those of which one side alone says how it is rolled."""
    unlike = np.isnan(mine.across[:, 0]) != np.isnan(its.across[:, 0])
    return np.flatnonzero(unlike.reshape(-1, count).any(axis=1))


def _may_be_sun(moments: Moments, name: str) -> bool:
    groups = moments.groups("lights", name) + moments.reference_groups("lights", name)
    return any(group is not None and group.get("type") == "distant" for group in groups)


def _names(moments: Moments, section: str) -> tuple[str, ...]:
    """The names of the references, then what only shots have, where the section is compared."""
    known = moments.reference_names(section)
    return (
        tuple(dict.fromkeys([*known, *moments.names(section)]))
        if known or moments.compared(section).any()
        else ()
    )


def key_place(rig: Rig, moments: Moments, mark: str) -> MarkPlace:
    """Where the mark is in what each moment is compared with: the reference's own mark of that name, at that moment, else the
    key shot's, at its first frame, of which a master is made. NaN where neither has. A master has no marks.
    """
    found: dict[int, tuple[Group | None, float | None]] = {}
    for reference in moments.references:
        if id(reference) not in found:
            own, key = mark_of(reference, mark), rig.key
            found[id(reference)] = (
                (mark_of(key, mark), first_frame(key)) if key is not None and own is None else (own, None)
            )
    pairs = [found[id(reference)] for reference in moments.references]
    frames = [now if frame is None else frame for (_, frame), now in zip(pairs, moments.frames, strict=True)]
    return place_of([group for group, _ in pairs], frames)


def mark_of(sheet: Sheet, mark: str) -> Group | None:
    """A mark of a sheet; None where it has none of that name."""
    return sheet.sections.get("marks", {}).get(mark)


def place_of(groups: Sequence[Group | None], frames: Sequence[float]) -> MarkPlace:
    """A mark by its groups at the moments."""
    return MarkPlace(vectors(column(groups, "position", frames)), vectors(column(groups, "normal", frames)))
