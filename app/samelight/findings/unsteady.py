"""A mark that flickers, or slowly changes, from frame to frame of a shot where its sheet says nothing of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from samelight.findings.board import Board, Rests
from samelight.findings.finding import Concern, Finding
from samelight.findings.over_frames import FEWEST, FrameLevel, levels_of, points_of, told_in
from samelight.findings.words import listed, sentence, thing

NAME = "unsteady"


def find(board: Board) -> list[Finding]:
    """One finding for each mark of a shot of which three frames or more were measured."""
    found = []
    for column, (shot, sheet) in enumerate(zip(board.table.shots, board.sheets, strict=True)):
        witness = board.evidence.measured.get(shot)
        if sheet is None or witness is None or len(witness.frames) < FEWEST:
            continue
        for mark in sheet.sections.get("marks", {}):
            levels = levels_of(witness.frames, mark, sheet)
            says = unsteady_words(levels)
            if says:
                made = _finding(board, column, mark, levels, says)
                found.append(replace(made, frames=points_of(levels)))
    return found


def unsteady_words(levels: Sequence[FrameLevel]) -> str:
    """What is unsteady, in words that go on after the mark and its shot; empty where nothing is."""
    told = told_in(levels)
    if told is None:
        return ""
    (place, off), at = told, f"in frame {levels[told[0]].frame:g}"
    if place == len(levels) - 1:
        return f"is {_stops(off)} {at} than in frame {levels[0].frame:g}"
    return f"flickers: {at} it is {_stops(off)} than between the frames beside it"


def _stops(off: float) -> str:
    size = f"{abs(off):.1f}"
    return f"{size} {'stop' if size == '1.0' else 'stops'} {'brighter' if off > 0.0 else 'darker'}"


def _finding(board: Board, column: int, mark: str, levels: Sequence[FrameLevel], says: str) -> Finding:
    shot, first = board.table.shots[column], levels[0].excess
    course = [f"{one.frame:g} {one.excess - first:+.2f}".replace("-", "−") for one in levels[1:]]
    return board.make(
        NAME,
        sentence(f"{thing(mark)} in {shot} {says}, and its sheet says nothing of that."),
        [],
        columns=[column],
        known=f"Stops over frame {levels[0].frame:g}, beside what the sheet leads one to expect: {listed(course, 12)}.",
        do="Look at these frames: what is lit, hidden or sampled otherwise there? Render them again, or say that it is meant.",
        concern=Concern.PICTURE,
        rests={column: Rests({"frames": "; ".join(f"{one.frame:g} {one.excess:.3f}" for one in levels)})},
        subject=mark,
    )
