"""What a selection in the grid means: lines, shots, and cells to decide on. Plain objects, no Qt."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from samelight.drift.cells import Grade
from samelight.gui.rows import GridState

Range = tuple[int, int, int, int]
"""First and last line, first and last place of a shot, all within."""

Cells = tuple[NDArray[np.int64], NDArray[np.int64]]
"""Rows and columns of the table, one of each a cell."""


def lines_and_shots(state: GridState, ranges: Iterable[Range]) -> tuple[list[int], list[int]]:
    """The lines, and the columns of the table, that ranges meet."""
    lines: set[int] = set()
    places: set[int] = set()
    for top, bottom, left, right in ranges:
        lines.update(range(top, bottom + 1))
        places.update(range(left, right + 1))
    return sorted(lines), [state.columns[place] for place in sorted(places)]


def cells_to_decide(state: GridState, ranges: Iterable[Range]) -> list[tuple[int, int]]:
    """The cells that drift or were decided on; a group's line stands for all that drifts in the group."""
    worth = (state.table.grade >= Grade.DRIFT) | (state.states != 0)
    cells: dict[tuple[int, int], None] = {}
    for top, bottom, left, right in ranges:
        columns = state.columns[left : right + 1]
        for line in state.lines[top : bottom + 1]:
            if line.row is None:
                found = [cell for column in columns for cell in state.cells_of(line, column)]
            else:
                known = np.flatnonzero(worth[line.row, columns]).tolist()
                found = [(line.row, columns[place]) for place in known]
            cells.update(dict.fromkeys(found))
    return list(cells)


def cells_in(state: GridState, ranges: Iterable[Range]) -> Cells:
    """The cells of the table that are seen there, each once: of a group's line the one that needs a look most."""
    chosen = np.zeros(state.table.grade.shape, dtype=np.bool_)
    for top, bottom, left, right in ranges:
        across = np.asarray(state.columns[left : right + 1], dtype=np.int64)
        for line in state.lines[top : bottom + 1]:
            row = state.worst[line.group, across] if line.row is None else line.row
            chosen[row, across] = True
    rows, columns = np.nonzero(chosen)
    return rows, columns


def cells_shown(state: GridState, ranges: Iterable[Range]) -> list[tuple[int, int]]:
    """`cells_in` cell by cell, row by row."""
    rows, columns = cells_in(state, ranges)
    return list(zip(rows.tolist(), columns.tolist(), strict=True))
