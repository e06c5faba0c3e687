"""A mark that flickers, or slowly changes, from frame to frame of a shot where its sheet says nothing of it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from samelight.drift.computed.expected import Expected, expected_in
from samelight.findings.board import Board, Rests
from samelight.findings.finding import Concern, Finding
from samelight.findings.words import listed, sentence, thing
from samelight.sheets.measured import MeasuredFrame
from samelight.sheets.sheet import Sheet

NAME = "unsteady"
FLICKERS = 0.1
"""Stops by which a frame may lie beside the line through the frames beside it: less is what sampling leaves. Common practice, no source."""
CHANGES = 0.25
"""Stops between the first and the last frame: as much as nobody minds across a cut, of what nobody set. Common practice, no source."""
_FEWEST = 3


class Excess(NamedTuple):
    """By how many stops a mark in a frame is brighter than its sheet leads one to expect, and by how many noise may put that off."""

    frame: float
    level: float
    noise: float


def find(board: Board) -> list[Finding]:
    """One finding for each mark of a shot of which three frames or more were measured."""
    found = []
    for column, (shot, sheet) in enumerate(zip(board.table.shots, board.sheets, strict=True)):
        witness = board.evidence.measured.get(shot)
        if sheet is None or witness is None or len(witness.frames) < _FEWEST:
            continue
        for mark in sheet.sections.get("marks", {}):
            moments = _moments(witness.frames, mark, sheet)
            says = unsteady_words(moments)
            if says:
                found.append(_finding(board, column, mark, moments, says))
    return found


def _moments(frames: Sequence[MeasuredFrame], mark: str, sheet: Sheet) -> list[Excess]:
    """The frames in which the mark was measured, beside what the sheet's lights give it in each."""
    moments = []
    for frame in frames:
        if mark in frame.marks:
            expected = expected_in(frame, mark, sheet)
            if isinstance(expected, Expected):
                figures = frame.marks[mark].figures
                moments.append(Excess(frame.frame, figures.level - expected.figures.level, figures.noise))
    return moments


def unsteady_words(moments: Sequence[Excess]) -> str:
    """What is unsteady, in words that go on after the mark and its shot; empty where nothing is."""
    if len(moments) < _FEWEST:
        return ""
    jumps = [
        (off, moment.frame)
        for before, moment, after in zip(moments, moments[1:], moments[2:], strict=False)
        for off in [moment.level - _between(before, moment, after)]
        if abs(off) > FLICKERS + moment.noise + max(before.noise, after.noise)
    ]
    if jumps:
        # A frame that jumps pulls those beside it along: the largest is told.
        off, at = max(jumps, key=lambda one: (abs(one[0]), -one[1]))
        return f"flickers: in frame {at:g} it is {_stops(off)} than between the frames beside it"
    first, last = moments[0], moments[-1]
    off = last.level - first.level
    if abs(off) > CHANGES + first.noise + last.noise:
        return f"is {_stops(off)} in frame {last.frame:g} than in frame {first.frame:g}"
    return ""


def _between(before: Excess, moment: Excess, after: Excess) -> float:
    share = (moment.frame - before.frame) / (after.frame - before.frame)
    return before.level + share * (after.level - before.level)


def _stops(off: float) -> str:
    size = f"{abs(off):.1f}"
    return f"{size} {'stop' if size == '1.0' else 'stops'} {'brighter' if off > 0.0 else 'darker'}"


def _finding(board: Board, column: int, mark: str, moments: Sequence[Excess], says: str) -> Finding:
    shot, first = board.table.shots[column], moments[0].level
    course = [f"{one.frame:g} {one.level - first:+.2f}".replace("-", "−") for one in moments[1:]]
    return board.make(
        NAME,
        sentence(f"{thing(mark)} in {shot} {says}, and its sheet says nothing of that."),
        [],
        columns=[column],
        known=f"Stops over frame {moments[0].frame:g}, beside what the sheet leads one to expect: {listed(course, 12)}.",
        do="Look at these frames: what is lit, hidden or sampled otherwise there? Render them again, or say that it is meant.",
        concern=Concern.PICTURE,
        rests={column: Rests({"frames": "; ".join(f"{one.frame:g} {one.level:.3f}" for one in moments)})},
        subject=mark,
    )
