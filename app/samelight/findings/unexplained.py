"""Drift that nothing explains: what is left, listed by light, environment or group."""

from __future__ import annotations

from collections import defaultdict

import numpy as np

from samelight.drift.cells import Grade
from samelight.drift.words import counted
from samelight.findings.board import Board, Spot
from samelight.findings.finding import Finding
from samelight.findings.words import listed, parameter_text, sentence, size_text
from samelight.light.noise import first_largest
from samelight.sheets.vocabulary import LEVEL

NAME = "unexplained"


def find(board: Board) -> list[Finding]:
    """One finding for each group that still has cells left, and one for each computed group that drifts by itself.

    A computed row is listed only where it is a case by itself: else it is a consequence.
    """
    groups: dict[str, list[Spot]] = defaultdict(list)
    for index, row, columns in board.rows_left():
        groups[row.group_name].extend((index, column) for column in columns)
    for index, column in _alone(board):
        groups[board.table.rows[index].group_name].append((index, column))
    return [_finding(board, cells) for cells in groups.values()]


def _alone(board: Board) -> list[Spot]:
    """Computed cells that drift, and do not follow from anything typed that does."""
    left = board.open & ~board.taken & ~board.typed[:, None] & board.following.case
    return [(int(index), int(column)) for index, column in np.argwhere(left)]


def _finding(board: Board, cells: list[Spot]) -> Finding:
    cells = sorted(cells)
    worst = cells[first_largest(float(board.table.severity[spot]) for spot in cells)]
    columns = sorted({column for _, column in cells})
    happened = board.happening(*worst)
    where = board.table.shots[worst[1]] if len(columns) > 1 else board.shots(columns)
    others = [index for index in dict.fromkeys(i for i, _ in cells) if index != worst[0]]
    says = f"{happened} in {where}"
    if others:
        names = listed([parameter_text(board.table.rows[i]) for i in others], at_most=4)
        says += f"; {names} {'drifts' if len(others) == 1 else 'drift'} too"
    if len(columns) > 1:
        says += f"; {counted(len(columns), 'shot')} in all ({board.shots(columns)})"
    holds = _still_reaches(board, cells)
    return board.make(
        NAME,
        sentence(f"{says}. No cause is known."),
        cells,
        known="It is out of tolerance, and no pattern fits it.",
        guessed=holds,
        do="Say that it is meant, with the reason, or send it back.",
    )


def _still_reaches(board: Board, cells: list[Spot]) -> str:
    """Whether a light that moved gives every mark what it gave: then it probably follows someone."""
    rows = {
        board.table.rows[index].group for index, _ in cells if board.table.rows[index].section == "lights"
    }
    moved = {column for index, column in cells if board.table.rows[index].leaf in ("position", "direction")}
    if len(rows) != 1 or not moved:
        return ""
    light = rows.pop()
    reach = [
        index
        for index, row in enumerate(board.table.rows)
        if row.section == "marks" and row.kind == LEVEL and row.parameter.endswith(f".level.{light}")
    ]
    if not reach:
        return ""
    grades, drifts = (part[np.ix_(reach, sorted(moved))] for part in (board.table.grade, board.table.drift))
    if not (grades >= Grade.SAME).any() or (grades > Grade.WITHIN).any():
        return ""
    largest = float(np.nanmax(np.abs(drifts)))
    level = size_text(LEVEL, largest) if largest else "0 st"
    return f"Its level at every mark holds (at most {level}): it may follow what stands there, and be meant."
