"""How bright a mark is over the measured frames of a shot, beside what its sheet leads one to expect there, and how far a frame may be off."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

from samelight.drift.computed.expected import Expected, expected_in
from samelight.light.region_figures import STOPS
from samelight.sheets.frames import step_of
from samelight.sheets.measured import MeasuredFrame
from samelight.sheets.sheet import Sheet

FLICKERS = 0.1
"""Stops by which a frame may lie beside the line through the frames beside it: less is what sampling leaves. Common practice, no source."""
CHANGES = 0.25
"""Stops between the first and the last frame: as much as nobody minds across a cut, of what nobody set. Common practice, no source."""
FEWEST = 3
"""Frames of which something is said."""


class FrameLevel(NamedTuple):
    """A mark in one frame, in stops: as measured, what its sheet leads one to expect there (of which only differences count), and by how
    much noise may put the measured level off."""

    frame: float
    level: float
    expected: float
    noise: float

    @property
    def excess(self) -> float:
        """By how much it is brighter than its sheet leads one to expect."""
        return self.level - self.expected


class HeldTo(NamedTuple):
    """The excess that other frames lead one to expect of a frame, and how many stops it may lie beside that."""

    excess: float
    limit: float


class FramePoint(NamedTuple):
    """A frame of the curve, in stops over the first: as measured, by the sheet, the noise each way, and where the frames beside it would
    have it (the last one: where the first would) with how far off it may be; None for the first, and where there are too few."""

    frame: float
    level: float
    expected: float
    noise: float
    beside: float | None
    limit: float | None
    told: bool
    """Whether it is the one that is told as unsteady."""

    @property
    def limits_off(self) -> float:
        """How far it lies from where the frames beside it would have it, in limits; 0 where it is held to nothing."""
        return (
            0.0 if self.beside is None or self.limit is None else abs(self.level - self.beside) / self.limit
        )


def levels_of(frames: Sequence[MeasuredFrame], mark: str, sheet: Sheet) -> list[FrameLevel]:
    """The frames in which the mark was measured and the sheet leads one to expect something of it, in order."""
    found = []
    for frame in frames:
        if mark in frame.marks:
            expected = expected_in(frame, mark, sheet)
            if isinstance(expected, Expected):
                figures = frame.marks[mark].figures
                found.append(FrameLevel(frame.frame, figures.level, expected.figures.level, figures.noise))
    return found


def held_at(levels: Sequence[FrameLevel]) -> list[HeldTo | None]:
    """What each frame is held to: those between by the frames beside them, the last by the first, which is held to nothing.

    >>> held_at([FrameLevel(1, 0.0, 0.0, 0.0), FrameLevel(2, 0.5, 0.0, 0.0), FrameLevel(5, 0.4, 0.0, 0.0)])
    [None, HeldTo(excess=0.1, limit=0.1), HeldTo(excess=0.0, limit=0.25)]
    """
    if len(levels) < FEWEST:
        return [None] * len(levels)
    between = [
        HeldTo(_between(before, moment, after), FLICKERS + moment.noise + max(before.noise, after.noise))
        for before, moment, after in zip(levels, levels[1:], levels[2:], strict=False)
    ]
    first, last = levels[0], levels[-1]
    return [None, *between, HeldTo(first.excess, CHANGES + first.noise + last.noise)]


def _between(before: FrameLevel, moment: FrameLevel, after: FrameLevel) -> float:
    share = (moment.frame - before.frame) / (after.frame - before.frame)
    return before.excess + share * (after.excess - before.excess)


def told_in(levels: Sequence[FrameLevel]) -> tuple[int, float] | None:
    """The place of the frame that is unsteady, and by how many stops it is brighter than it is held to; None where none is.

    A frame that jumps pulls those beside it along: the largest is told, and the last one only where none jumps.
    """
    return _told(levels, held_at(levels))


def _told(levels: Sequence[FrameLevel], held: Sequence[HeldTo | None]) -> tuple[int, float] | None:
    off = [
        (place, one.excess - to.excess)
        for place, (one, to) in enumerate(zip(levels, held, strict=True))
        if to is not None and abs(one.excess - to.excess) > to.limit
    ]
    jumps = [one for one in off if one[0] < len(levels) - 1]
    return max(jumps or off, key=lambda one: (abs(one[1]), -one[0]), default=None)


def points_of(levels: Sequence[FrameLevel]) -> tuple[FramePoint, ...]:
    """The frames as points of a curve, to a thousandth of a stop."""
    all_held = held_at(levels)
    told = _told(levels, all_held)
    return tuple(
        FramePoint(
            one.frame,
            round(one.level - levels[0].level, STOPS),
            round(one.expected - levels[0].expected, STOPS),
            round(one.noise, STOPS),
            None
            if held is None
            else round(held.excess - levels[0].excess + one.expected - levels[0].expected, STOPS),
            None if held is None else round(held.limit, STOPS),
            told is not None and place == told[0],
        )
        for place, (one, held) in enumerate(zip(levels, all_held, strict=True))
    )


def runs_of(points: Sequence[FramePoint]) -> list[tuple[FramePoint, ...]]:
    """The points in runs between which frames are missing, by the step in which most follow each other.

    >>> points = [FramePoint(frame, 0, 0, 0, None, None, False) for frame in (1, 3, 5, 9, 11)]
    >>> [[point.frame for point in run] for run in runs_of(points)]
    [[1, 3, 5], [9, 11]]
    """
    step = step_of([point.frame for point in points])
    runs = [[point] for point in points[:1]]
    for before, after in pairwise(points):
        if step is not None and after.frame - before.frame >= 2.0 * step:
            runs.append([])
        runs[-1].append(after)
    return [tuple(run) for run in runs]
