"""Drift that nothing explains: what is left, listed by light, environment or group."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping

import numpy as np

from samelight.drift.cells import Cell, Grade
from samelight.drift.derived_names import APART
from samelight.drift.metrics import SCALES
from samelight.drift.words import counted
from samelight.findings.board import Board
from samelight.findings.finding import Finding
from samelight.findings.happened import what_happened
from samelight.findings.nearness import nearness
from samelight.findings.typed import typed_otherwise, typed_text
from samelight.findings.words import listed, parameter_text, sentence, size_text
from samelight.light.noise import first_largest
from samelight.sheets.values import Named
from samelight.sheets.vocabulary import LEVEL

NAME = "unexplained"

MOST = 12
"""Ways in which one group drifts that are each told by themselves."""


def find(board: Board) -> list[Finding]:
    """One finding for each group and set of shots in which it drifts alike, of what is left, and so of computed rows.

    A computed row is listed only where it is a case by itself: else it is a consequence. A group that drifts in more ways
    than `MOST` is told in one sentence, which says so.
    """
    groups: dict[str, list[Cell]] = defaultdict(list)
    for index, row, columns in board.rows_left():
        groups[row.group_name].extend((index, column) for column in columns)
    for index, column in _alone(board):
        groups[board.table.rows[index].group_name].append((index, column))
    return [
        _finding(board, cells, ways) for spots in groups.values() for cells, ways in _told_apart(board, spots)
    ]


def _told_apart(board: Board, spots: list[Cell]) -> Iterator[tuple[list[Cell], int]]:
    """Cells of one group by the shots in which they drift alike, and in how many ways what is told together does."""
    by_column: dict[int, list[int]] = defaultdict(list)
    for index, column in sorted(spots):
        by_column[column].append(index)
    by_rows: dict[tuple[int, ...], list[list[int]]] = defaultdict(list)
    for column, rows in by_column.items():
        ways = by_rows[tuple(rows)]
        for way in ways:
            if all(_drift_alike(board, index, way[0], column) for index in rows):
                way.append(column)
                break
        else:
            ways.append([column])
            if sum(map(len, by_rows.values())) > MOST:
                yield spots, len(by_column)
                return
    for rows_alike, ways in by_rows.items():
        for way in ways:
            yield [(index, column) for index in rows_alike for column in way], 1


def _drift_alike(board: Board, index: int, one: int, other: int) -> bool:
    """Whether two shots are as near to each other in a parameter as its tolerance lets them be to the master."""
    row = board.table.rows[index]
    if not row.leaf:
        a, b = (board.table.bound(index, column)[0] for column in (one, other))
        if isinstance(a, Named) or isinstance(b, Named):
            return a == b
    if row.kind in SCALES and SCALES[row.kind].signed:
        # Signed drifts that are further apart than two tolerances are of values that are further apart than one.
        apart = abs(float(board.table.drift[index, one]) - float(board.table.drift[index, other]))
        allowed = row.of(board.entry(index, one).master).tolerance.at_most
        if apart > 2.0 * allowed + SCALES[row.kind].noise:
            return False
    return nearness(row, board.entry(index, one).value, board.entry(index, other).value) <= 1.0


def _alone(board: Board) -> list[Cell]:
    """Computed cells that drift, and do not follow from anything typed that does; subjects and frames have findings of their own."""
    alone = [row.section not in APART for row in board.table.rows]
    left = board.unsettled & ~board.taken & (~board.typed & alone)[:, None] & board.following.case
    return [(int(index), int(column)) for index, column in np.argwhere(left)]


def _finding(board: Board, cells: list[Cell], ways: int) -> Finding:
    cells = sorted(cells)
    worst = cells[first_largest(float(board.table.severity[cell]) for cell in cells)]
    columns = sorted({column for _, column in cells})
    happened = what_happened(board, *worst)
    where = board.table.shots[worst[1]] if len(columns) > 1 else board.shots(columns)
    others = [index for index in dict.fromkeys(i for i, _ in cells) if index != worst[0]]
    says = f"{happened} in {where}"
    if others:
        names = listed([parameter_text(board.table.rows[i]) for i in others], at_most=4)
        says += f"; {names} {'drifts' if len(others) == 1 else 'drift'} too"
    if len(columns) > 1:
        apart = ", each in its own way" if ways > 1 else ""
        says += f"; {counted(len(columns), 'shot')} in all ({board.shots(columns)}){apart}"
    holds = _still_reaches(board, cells)
    return board.make(
        NAME,
        sentence(f"{says}. No cause is known."),
        cells,
        known=f"It is out of tolerance, and no pattern fits it.{_inputs(board, *worst)}",
        guessed=holds,
        do="Say that it is meant, with the reason, or send it back.",
    )


def _inputs(board: Board, index: int, column: int) -> str:
    """Of a level that several inputs make another one: these, as they are typed."""
    if board.table.rows[index].leaf != LEVEL:
        return ""
    otherwise = typed_otherwise(board, index, column)
    if len(otherwise) < 2 or any(isinstance(value, Mapping) for one in otherwise for value in one):
        return ""
    said = [f"{name} {typed_text(name, here)} for {typed_text(name, its)}" for name, here, its in otherwise]
    return f" Typed there: {listed(said)}."


def _still_reaches(board: Board, cells: list[Cell]) -> str:
    """Whether a light that moved gives every mark what it gave: then it probably follows someone."""
    moved = {column for index, column in cells if board.table.rows[index].leaf in ("position", "direction")}
    if not moved:
        return ""
    rows = {
        board.table.rows[index].group for index, _ in cells if board.table.rows[index].section == "lights"
    }
    if len(rows) != 1:
        return ""
    light = rows.pop()
    reach = board.reaching.get(light)
    if not reach:
        return ""
    grades, drifts = (part[np.ix_(reach, sorted(moved))] for part in (board.table.grade, board.table.drift))
    if not (grades >= Grade.SAME).any() or (grades > Grade.WITHIN).any():
        return ""
    largest = float(np.nanmax(np.abs(drifts)))
    level = size_text(LEVEL, largest) if largest else "0 stops"
    return f"Its level at every mark holds (at most {level}): it may follow what stands there, and be meant."
