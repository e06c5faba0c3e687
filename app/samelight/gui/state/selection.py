"""What a selection in the grid means: lines, shots, and cells to decide on. Plain objects, no Qt."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from samelight.drift.cells import Cell, Grade
from samelight.gui.state.rows import GridState

Range = tuple[int, int, int, int]
"""First and last line, first and last place of a shot, all within."""

Selected = tuple[frozenset[str], frozenset[str]]
"""What is selected by name: parameters and groups, and shots."""

Cells = tuple[NDArray[np.int64], NDArray[np.int64]]
"""Rows and columns of the table, one of each a cell."""


def lines_and_shots(state: GridState, ranges: Iterable[Range]) -> tuple[list[int], list[int]]:
    """The lines, and the columns of the table, that ranges meet."""
    lines: set[int] = set()
    places: set[int] = set()
    for top, bottom, left, right in ranges:
        lines.update(range(top, bottom + 1))
        places.update(range(left, right + 1))
    return sorted(lines), [state.listing.columns[place] for place in sorted(places)]


def cells_to_decide(state: GridState, ranges: Iterable[Range]) -> list[Cell]:
    """The cells that drift or were decided on; a group's line stands for all that drifts in the group."""
    cells: dict[Cell, None] = {}
    for top, bottom, left, right in ranges:
        columns = state.listing.columns[left : right + 1]
        for line in state.listing.lines[top : bottom + 1]:
            if line.row is None:
                rows = [row for row in state.groups[line.group].rows if state.listing.shown[row]]
                drifting = np.argwhere((state.table.grade[np.ix_(rows, columns)] >= Grade.DRIFT).T)
                found = [(rows[among], columns[place]) for place, among in drifting.tolist()]
            else:
                drifts = state.table.grade[line.row, columns] >= Grade.DRIFT
                known = np.flatnonzero(drifts | (state.standing.states[line.row, columns] != 0)).tolist()
                found = [(line.row, columns[place]) for place in known]
            cells.update(dict.fromkeys(found))
    return list(cells)


def cells_in(state: GridState, ranges: Iterable[Range]) -> Cells:
    """The cells of the table that are seen there, each once: of a group's line the one that needs a look most."""
    listed, parts = np.asarray(state.listing.columns, dtype=np.int64), list(ranges)
    first = min((left for _, _, left, _ in parts), default=0)
    last = max((right for *_, right in parts), default=-1)
    # Among the shots that are met, not among all: most often it is one cell of a million.
    chosen = np.zeros((len(state.table.rows), last + 1 - first), dtype=np.bool_)
    for top, bottom, left, right in parts:
        across = listed[left : right + 1]
        places = np.arange(left - first, left - first + across.size)
        for line in state.listing.lines[top : bottom + 1]:
            chosen[state.listing.worst[line.group, across] if line.row is None else line.row, places] = True
    rows, places = np.nonzero(chosen)
    return rows, listed[first + places]


def cells_shown(state: GridState, ranges: Iterable[Range]) -> list[Cell]:
    """`cells_in` cell by cell, row by row."""
    rows, columns = cells_in(state, ranges)
    return list(zip(rows.tolist(), columns.tolist(), strict=True))
