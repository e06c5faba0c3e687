"""Where the inspector's page leads to: findings, the shots beside, the rows of a group, what several cells have in common."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import partial

from samelight.decisions.state import State
from samelight.drift.cells import Cell, Grade
from samelight.drift.words import value_text
from samelight.findings.finding import Finding, Sureness
from samelight.gui.inspector.inspector_words import beside_text, drift_or_grade
from samelight.gui.inspector.many import Many
from samelight.gui.inspector.places import Destination
from samelight.gui.state.cell_states import STATES
from samelight.gui.state.rows import GridState
from samelight.reports.signs import STATE_MARKS

GoTo = Callable[[int, int], None]
"""Goes to a cell of the table: its row and column."""

_MOST_FINDINGS = 4


def of_findings(
    state: GridState, cells: Iterable[Cell], go_to: Callable[[Finding], None]
) -> list[Destination]:
    """The findings that any of these cells belong to, those that explain most of them first."""
    chosen = set(cells)
    counts = [(len(chosen.intersection(finding.cells)), finding) for finding in state.session.cases.findings]
    found = [finding for count, finding in sorted(counts, key=lambda one: -one[0]) if count]
    return [
        Destination(
            finding.says,
            finding.do
            if finding.sureness is Sureness.CERTAIN
            else f"{finding.sureness.capitalize()}. {finding.do}",
            "",
            finding.worst,
            "Goes to this finding in the list, and selects all its cells",
            partial(go_to, finding),
        )
        for finding in found[:_MOST_FINDINGS]
    ]


def of_neighbours(state: GridState, row: int, column: int, go_to: GoTo) -> list[Destination]:
    """The shots before and after a cell's, or the versions where these are the columns."""
    table = state.table
    found = []
    for which, other in (("before", column - 1), ("after", column + 1)):
        if 0 <= other < len(table.shots):
            cell = table.cell(row, other)
            found.append(
                Destination(
                    f"{which}: {cell.shot}",
                    beside_text(state, row, column, other),
                    drift_or_grade(cell),
                    float(table.severity[row, other]),
                    f"Goes to {cell.shot}",
                    partial(go_to, row, other),
                )
            )
    return found


def of_row(state: GridState, row: int, column: int, go_to: GoTo) -> Destination:
    """One row of a group that differs in a shot."""
    cell, what = state.table.cell(row, column), state.table.rows[row]
    north = state.session.contents.sequence.conventions.north
    master, value = (value_text(side, cell.value_kind, north) for side in (cell.master, cell.value))
    decided = STATES[int(state.standing.states[row, column])]
    trailing = drift_or_grade(cell)
    if decided is not State.UNDECIDED:
        trailing = f"{trailing} {STATE_MARKS[decided]}"
    said = f"{master} → {value}"
    if cell.grade >= Grade.DRIFT:
        said += f"\n{cell.grade.word}, {decided}"
    return Destination(
        what.leaf or "presence",
        said,
        trailing,
        float(state.table.severity[row, column]),
        f"Goes to {what.parameter} in {cell.shot}",
        partial(go_to, row, column),
    )


def of_many(state: GridState, many: Many, go_to: GoTo) -> list[Destination]:
    """The parameters of several cells, each with the cell of it that is furthest off."""
    return [
        Destination(
            part.parameter,
            part.values,
            part.drift,
            part.severity,
            f"Goes to the cell that is furthest off, in {state.table.shots[part.worst[1]]}",
            partial(go_to, *part.worst),
        )
        for part in many.parts
    ]
