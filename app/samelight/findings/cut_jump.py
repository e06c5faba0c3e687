"""A jump at a cut: each shot is inside its tolerance of the master, and the two are not inside it of each other."""

from __future__ import annotations

import numpy as np

from samelight.drift.cells import Cell, Grade
from samelight.drift.jumps import could_jump, jump_between
from samelight.drift.words import counted
from samelight.findings.board import Board, Rests
from samelight.findings.finding import Finding
from samelight.findings.words import parameter_text, said_drift, sentence
from samelight.light.noise import first_largest

NAME = "cut-jump"

_AT_ONCE = 2**20
"""Cells that are gone through together: of a film of 10,000 shots all of them would take hundreds of megabytes."""


def find(board: Board) -> list[Finding]:
    """One finding for each parameter, with every cut at which it jumps."""
    jumps: dict[int, list[tuple[float, float, int]]] = {}
    for index, column in _candidates(board):
        row = board.table.rows[index]
        jump = jump_between(row, board.entry(index, column), board.entry(index, column + 1))
        if jump is not None:
            jumps.setdefault(index, []).append((*jump, column))
    return [_finding(board, index, cuts) for index, cuts in jumps.items()]


def _candidates(board: Board) -> list[Cell]:
    """Row and first column of every pair that could be further apart than the tolerance."""
    table, found = board.table, list[Cell]()
    step = _AT_ONCE // (len(table.shots) + 1) + 1
    for start in range(0, len(table.rows), step):
        rows = slice(start, start + step)
        grade, severity = table.grade[rows], table.severity[rows]
        inside = (grade >= Grade.SAME) & (grade <= Grade.WITHIN) & ~board.meant[rows] & ~board.taken[rows]
        inside &= board.typed[rows, None]
        heavy = np.where(np.isfinite(severity), severity, 0.0)
        pairs = inside[:, :-1] & inside[:, 1:] & could_jump(table.rows[rows], heavy, table.drift[rows])
        pairs[:, list(board.evidence.apart)] = False
        found += [(start + index, column) for index, column in np.argwhere(pairs).tolist()]
    return found


def _finding(board: Board, index: int, cuts: list[tuple[float, float, int]]) -> Finding:
    row, shots = board.table.rows[index], board.table.shots
    worst, drift, at = cuts[first_largest(heavy for heavy, _, _ in cuts)]
    columns = sorted({column for _, _, first in cuts for column in (first, first + 1)})
    cells = [(index, column) for column in columns if board.table.grade.item(index, column) > Grade.SAME]
    size = said_drift(row.kind, drift)
    where = f"at the cut {shots[at]} | {shots[at + 1]}"
    if len(cuts) > 1:
        where = f"at {counted(len(cuts), 'cut')}, most {where}"
    return board.make(
        NAME,
        sentence(
            f"{parameter_text(row)} jumps {where}{f' by {size}' if size else ''}, "
            "though each shot is inside its tolerance of the master."
        ),
        cells,
        columns=columns,
        known=f"The two shots are {worst:.1f} tolerances apart.",
        guessed="Side by side, across a cut, it can show.",
        do="Bring one of the two nearer to the master.",
        rests={first + 1: _rests(board, index, first) for _, _, first in cuts},
        subject=row.parameter,
    )


def _rests(board: Board, index: int, first: int) -> Rests:
    """The values on both sides of a cut. It is the shot after it that is decided on: there the jump is seen."""
    shots = board.table.shots
    return Rests({shots[column]: board.entry(index, column).value for column in (first, first + 1)})
