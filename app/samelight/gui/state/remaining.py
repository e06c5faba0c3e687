"""What is left to decide: which cell comes next, how many there are, and that in words. No Qt."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from samelight.drift.cells import Cell
from samelight.drift.words import counted
from samelight.findings.finding import Finding
from samelight.gui.state.rows import GridState

ALL_WELL = "All well: nothing undecided"
NOT_ALL_READ = "Nothing undecided in what could be read"
NOT_COMPARED = "Nothing is compared"
STILL_LOOKING = "Nothing undecided so far; still looking for findings"


@dataclass(frozen=True, slots=True)
class Round:
    """The order in which cells come up for a decision, as the lines of the grid stood before the last was made.

    `rank` (int64) has the shape (rows,); -1 stands for a row that no line shows.
    """

    rank: NDArray[np.int64]

    @classmethod
    def of(cls, state: GridState, *, by_line: bool) -> Round:
        """With `by_line` the rows of a group that is closed come up together, shot by shot; else each row by itself."""
        rank = np.full(len(state.table.rows), -1, dtype=np.int64)
        for place in range(len(state.listing.lines)):
            for row in state.listing.rows_of(place):
                if rank[row] < 0:
                    rank[row] = place * (len(state.table.rows) + 1) + (0 if by_line else row)
        return cls(rank)

    def next(self, state: GridState, after: Cell, decided: Collection[Cell]) -> Cell | None:
        """The cell after another one: on along the row in cut order, then the next row, and round to the first.

        Only rows and shots that are listed count, and nothing that was just `decided`.
        """
        rows, columns = np.nonzero(state.my_cases.undecided_mask())
        listed = np.isin(columns, state.listing.columns) & (self.rank[rows] >= 0)
        rows, columns = rows[listed], columns[listed]
        order = np.lexsort((rows, columns, self.rank[rows]))
        here = (int(self.rank[after[0]]), after[1], after[0])
        first: Cell | None = None
        for row, column in zip(rows[order].tolist(), columns[order].tolist(), strict=True):
            if (row, column) in decided:
                continue
            if (int(self.rank[row]), column, row) > here:
                return row, column
            first = first or (row, column)
        return first


def next_unsettled(state: GridState, row: int, column: int, step: int = 1) -> Cell | None:
    """The unsettled cell after (step 1) or before (step -1) a cell: down the rows of a shot, then on in the cut.

    Those that were sent back come only when no other is left, and hidden ones only then. None where all is settled.
    """
    mask = _first_to_decide(state)
    if mask is None:
        return None
    rows, columns = np.nonzero(mask)
    order = columns * mask.shape[0] + rows
    order.sort()
    here = column * mask.shape[0] + row
    if step > 0:
        place = int(np.searchsorted(order, here, side="right"))
    else:
        place = int(np.searchsorted(order, here, side="left")) - 1
    column_, row_ = divmod(int(order[place % order.size]), mask.shape[0])
    return row_, column_


def next_case(state: GridState, here: Cell | Finding, step: int = 1) -> Cell | Finding | None:
    """What is to be decided on next: a cell, or after the cells of a shot a finding that is decided on beside cells.

    `here` is the cell under the cursor, or the finding that is chosen. Where nothing is undecided, the next unsettled cell.
    """
    table, findings = state.table, undecided_findings(state)
    each = len(table.rows) + len(findings) + 1
    mask = _first_to_decide(state)
    rows, columns = np.nonzero(mask) if mask is not None else (np.zeros(0, int), np.zeros(0, int))
    if findings and not state.my_cases.undecided_mask()[rows, columns].all():
        rows, columns = rows[:0], columns[:0]  # what was sent back comes only when nothing else is left
    stops: dict[int, Cell | Finding] = {
        column * each + row: (row, column)
        for row, column in zip(rows.tolist(), columns.tolist(), strict=True)
    }
    for place, (column, finding) in enumerate(findings):
        stops[column * each + len(table.rows) + place] = finding
    if not stops:
        return None
    order = sorted(stops)
    if isinstance(here, Finding):
        at = next((key for key, stop in stops.items() if stop is here), -1)
    else:
        at = here[1] * each + here[0]
    place = bisect_right(order, at) if step > 0 else bisect_left(order, at) - 1
    return stops[order[place % len(order)]]


def undecided_findings(state: GridState) -> list[tuple[int, Finding]]:
    """The findings of my shots with a case of their own that nobody has decided on, each with the column of its first."""
    found = []
    for finding in state.session.cases.findings:
        shots = [case.shot for case in finding.cases if state.my_cases.is_left(case)]
        columns = [column for shot in shots if (column := state.table.column(shot)) is not None]
        if columns:
            found.append((min(columns), finding))
    return found


def _first_to_decide(state: GridState) -> NDArray[np.bool_] | None:
    """The cells to go to: of what is listed the undecided, else the unsettled; else of all. None where all is settled."""
    for seen in (state.listing.mask, np.True_):
        for mask in (state.my_cases.undecided_mask(), state.my_cases.unsettled_mask()):
            if (found := mask & seen).any():
                return found
    return None


def left_text(
    state: GridState, shot: str | None = None, *, looking: bool = False, short: bool = False
) -> str:
    """How much is left to decide, and how much of that in a shot; `short` gives figures alone for a narrow place.

    What was sent back waits to be mended: it is not left to decide, and not well either. Nor is it well where something
    could not be read, or while findings are still looked for: `looking`.
    """
    if not state.table.rows:
        return NOT_COMPARED
    tally = state.my_cases.tally()
    if tally.undecided:
        column = state.table.column(shot) if shot is not None else None
        here = state.my_cases.in_shot(column).undecided if column is not None else 0
        if short:
            return f"{tally.undecided} undecided{f', {here} in {shot}' if here else ''}"
        where = f", {here} of them in {shot}" if tally.undecided > 1 else f", in {shot}"
        return f"{_cases_text(state.my_cases.cells_left(), tally.undecided)} undecided{where if here else ''}"
    if tally.sent_back:
        return f"Nothing left to decide, {tally.sent_back} sent back"
    if looking:
        return STILL_LOOKING
    session = state.session
    return ALL_WELL if session.whole and not session.unreadable() else NOT_ALL_READ


def _cases_text(cells: int, cases: int) -> str:
    """How many of so many cases are cells, and how many findings.

    >>> _cases_text(12, 12), _cases_text(1, 3), _cases_text(0, 1)
    ('12 cells', '1 cell and 2 findings', '1 finding')
    """
    findings = cases - cells
    parts = [counted(cells, "cell") if cells else "", counted(findings, "finding") if findings else ""]
    return " and ".join(part for part in parts if part)


def counts_text(state: GridState) -> str:
    """What was decided, and what is inside its tolerance."""
    tally = state.my_cases.tally()
    return f"{tally.sent_back} sent back    {tally.intended} intended    {state.counts()['within']} within"
