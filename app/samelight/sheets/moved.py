"""A master's animation told from a shot's own start: what a master keys is compared with a shot as that many frames after it.

The frame that a sheet's animation is told from is its `sync_frame`, or else the first of its `frames`. A master that says
neither holds its keys against the very same frames of every shot.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Curve, Group, Value
from samelight.sheets.vocabulary import COMPARED_SECTIONS


def start_of(sheet: Sheet) -> float | None:
    """The frame that a sheet's animation is told from; None where it does not say."""
    stated = sheet.typed.get("sync_frame")
    if isinstance(stated, int | float) and not isinstance(stated, bool):
        return float(stated)
    return float(sheet.frames[0]) if sheet.frames else None


def moved_to(master: Sheet, shot: Sheet) -> Sheet:
    """A master as it is compared with a shot: with its curves so many frames later as the shot's start is, and ending with the
    shot. One without curves, and what is no master, is itself."""
    return _Moved(master).to(shot)


def each_moved(master: Sheet, shots: Mapping[str, Sheet], names: Iterable[str]) -> Sheet | dict[str, Sheet]:
    """What each shot is compared with: one sheet for all where nothing in it moves."""
    moved = _Moved(master)
    if not moved.moves:
        return master
    return {name: moved.to(shots[name]) if name in shots else master for name in names}


class _Moved:
    """A master, and what it is to shots that start and end alike: one sheet."""

    def __init__(self, master: Sheet) -> None:
        self._master, self._start = master, start_of(master)
        self.moves = self._start is not None and not master.shot and _has_curves(master)
        self._known: dict[tuple[float, float, tuple[int, int] | None], Sheet] = {}

    def to(self, shot: Sheet) -> Sheet:
        start = start_of(shot)
        if not self.moves or self._start is None or start is None:
            return self._master
        later, last = start - self._start, _end_of(shot)
        if not later and shot.frames == self._master.frames:
            return self._master
        known = later, last, shot.frames
        if known not in self._known:
            self._known[known] = _moved(self._master, later, last, shot)
        return self._known[known]


def _end_of(shot: Sheet) -> float:
    """The last frame of which a shot says anything."""
    if not shot.frames:
        return math.inf
    frames = (
        value.keys[-1][0]
        for groups in shot.sections.values()
        for group in groups.values()
        for value in group.values()
        if isinstance(value, Curve)
    )
    return max(float(shot.frames[1]), *frames, -math.inf)


def _has_curves(sheet: Sheet) -> bool:
    return any(
        Curve in map(type, group.values()) for groups in sheet.sections.values() for group in groups.values()
    )


def _moved(master: Sheet, later: float, last: float, shot: Sheet) -> Sheet:
    sections = {
        section: {name: _group(group, later, last) for name, group in groups.items()}
        for section, groups in master.sections.items()
    }
    typed = {
        key: _typed(value, later) if key in COMPARED_SECTIONS else value
        for key, value in master.typed.items()
    }
    return replace(master, sections=sections, typed=typed, frames=shot.frames)


def _group(group: Group, later: float, last: float) -> Group:
    if Curve not in map(type, group.values()):
        return group
    return {leaf: _value(value, later, last) for leaf, value in group.items()}


def _value(value: Value, later: float, last: float) -> Value:
    """A value so many frames later, of which nothing counts after a last frame."""
    if not isinstance(value, Curve):
        return value
    keys = tuple((frame + later, key) for frame, key in value.keys)
    moved = Curve(keys, value.interpolation)
    if keys[-1][0] <= last:
        return moved
    kept = tuple(key for key in keys if key[0] < last)
    whole = (*kept, (last, moved.at(last)))
    return whole[0][1] if len(whole) == 1 else Curve(whole, value.interpolation)


def _typed(value: Any, later: float) -> Any:
    if isinstance(value, Mapping):
        if "keys" in value and isinstance(value["keys"], list):
            return {**value, "keys": [[_frame(key[0] + later), *key[1:]] for key in value["keys"]]}
        return {name: _typed(item, later) for name, item in value.items()}
    return value


def _frame(frame: float) -> float:
    return int(frame) if float(frame).is_integer() else frame
