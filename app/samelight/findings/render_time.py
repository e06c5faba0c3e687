"""A test frame that took far longer, or far shorter, than its family."""

from __future__ import annotations

import numpy as np

from samelight.drift.cells import Grade
from samelight.drift.words import number_text
from samelight.findings.board import Board, Rests
from samelight.findings.finding import Concern, Finding, Sureness
from samelight.findings.render_cost import normalised_times, robust_scores, test_frame
from samelight.findings.words import listed, parameter_text, sentence, times_text
from samelight.sheets.canonical import WHOLE
from samelight.sheets.units import clock_text
from samelight.sheets.vocabulary import COUNT

NAME = "render-time"

FAMILY = 5
"""Timed shots that make a family."""

SCORE = 3.5
"""Robust sigmas off the median: the limit Iglewicz and Hoaglin advise (ASQC 1993, from memory)."""

RATIO = 1.5
"""Factor off the median; a tight family makes small differences look large."""


def find(board: Board) -> list[Finding]:
    """One finding for each shot out of the family, with what in its lighting could explain it."""
    times = normalised_times(board.evidence.sheets)
    shots = [shot for shot in times if board.table.column(shot) is not None]
    if len(shots) < FAMILY:
        return []
    middle, _, scores = robust_scores(np.array([times[shot] for shot in shots]))
    found = []
    for shot, score in zip(shots, scores.tolist(), strict=True):
        ratio, column = times[shot] / middle, board.table.column(shot)
        if column is not None and abs(score) > SCORE and (ratio > RATIO or ratio < 1.0 / RATIO):
            found.append(_finding(board, column, times[shot], middle, score, len(shots)))
    return found


def _finding(board: Board, column: int, time: float, middle: float, score: float, family: int) -> Finding:
    shot, ratio = board.table.shots[column], time / middle
    index = board.row_of("cost", WHOLE, "test_frame")
    cells = [(index, column)] if index is not None and board.drifts(index, column) else []
    raw = test_frame(board.evidence.sheets[shot])
    scaled = raw is not None and abs(raw - time) > 1e-6 * time
    off = times_text(ratio) if ratio > 1 else f"{number_text(ratio, 2)} of"
    took = f"The test frame of {shot} took {clock_text(round(time))}{' at the usual resolution' if scaled else ''}"
    why = _why(board, column, slower=ratio > 1)
    return board.make(
        NAME,
        f"{took}: {off} the family's {clock_text(round(middle))}. {why}",
        cells,
        columns=[column],
        parameters=["cost.test_frame"],
        known=f"{number_text(abs(score), 2)} robust sigmas off the median of {family} timed shots.",
        guessed=why,
        do="Look for what is heavy in the shot before it goes to the farm."
        if ratio > 1
        else "Look for what is missing in the shot before it goes to the farm.",
        sureness=Sureness.CERTAIN,
        concern=Concern.ORDER,
        rests={column: Rests({"cost.test_frame": raw})},
    )


def _why(board: Board, column: int, *, slower: bool) -> str:
    """What in the lighting goes the same way as the time: samples, rays and bounces, and lights that are extra or absent."""
    causes = []
    for index in np.flatnonzero(board.table.grade[:, column] >= Grade.DRIFT).tolist():
        row, entry = board.table.rows[index], board.entry(index, column)
        if row.kind == COUNT:
            hit = entry.drift > 1.0 if slower else entry.drift < 1.0
        else:
            gained = entry.master is None
            hit = not row.leaf and row.section == "lights" and gained == slower
        if hit:
            causes.append(parameter_text(row))
    if not causes:
        return "Nothing in the lighting explains it."
    return sentence(f"{listed(causes, at_most=3)} may explain it.")
