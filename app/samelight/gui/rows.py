"""Which lines the grid shows: groups and their rows, by filter and by what is open. Plain objects, no Qt."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from samelight.decisions.state import State
from samelight.drift.cells import Grade
from samelight.drift.table import Table
from samelight.session import Session

STATES: tuple[State, ...] = tuple(State)
"""Codes of states in arrays are places in this list; 0 is open."""

_INTENDED = STATES.index(State.INTENDED)


class Show(StrEnum):
    """Which rows are listed."""

    ALL = "everything"
    DRIFTING = "what drifts"
    OPEN = "what is open"


@dataclass(frozen=True, slots=True)
class Group:
    """A light, an environment, a group of settings. `rows` are indices of the table, `presence` is one of them."""

    name: str
    title: str
    section: str
    rows: tuple[int, ...]
    presence: int | None


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the grid: a group's header, or with `row` one parameter of it."""

    group: int
    row: int | None = None


@dataclass(slots=True)
class GridState:
    """Everything the grid shows of a session, and how it is asked to show it.

    `states` (uint8) has the table's shape. `worst` has the shape (groups, shots): for each group and shot the row that
    needs a look most.
    """

    session: Session
    show: Show = Show.ALL
    words: str = ""
    expanded: set[str] = field(default_factory=set)
    groups: tuple[Group, ...] = ()
    states: NDArray[np.uint8] = field(default_factory=lambda: np.zeros((0, 0), dtype=np.uint8))
    worst: NDArray[np.int64] = field(default_factory=lambda: np.zeros((0, 0), dtype=np.int64))
    lines: list[Line] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.groups = _groups(self.table)
        self.refresh()

    @property
    def table(self) -> Table:
        """The session's drift table."""
        return self.session.table

    def refresh(self) -> None:
        """Take in decisions that were made, and list the lines anew."""
        self.states = np.zeros(self.table.grade.shape, dtype=np.uint8)
        for (row, column), state in self.session.decided_cells().items():
            self.states[row, column] = STATES.index(state)
        self.worst = self._worst()
        self.relist()

    def open_mask(self) -> NDArray[np.bool_]:
        """Which cells need a look: they drift and nobody has said that it is meant."""
        mask: NDArray[np.bool_] = (self.table.grade >= Grade.DRIFT) & (self.states != _INTENDED)
        return mask

    def _worst(self) -> NDArray[np.int64]:
        # Open before intended, then by grade, then by how far: the sum of three scales that do not overlap.
        score = self.table.grade.astype(np.float64) * 1e3 + np.minimum(self.table.severity, 900.0)
        score += np.where(self.open_mask(), 1e4, 0.0)
        worst = np.zeros((len(self.groups), len(self.table.shots)), dtype=np.int64)
        for index, group in enumerate(self.groups):
            rows = np.asarray(group.rows)
            worst[index] = rows[np.argmax(score[rows], axis=0)]
        return worst

    def relist(self) -> None:
        """List the lines that the filter lets through."""
        wanted = self._wanted()
        narrowed = bool(self.words.strip()) or self.show is not Show.ALL
        lines: list[Line] = []
        for index, group in enumerate(self.groups):
            rows = [row for row in group.rows if wanted[row]]
            if not rows:
                continue
            lines.append(Line(index))
            if narrowed or group.name in self.expanded:
                lines.extend(Line(index, row) for row in rows if row != group.presence)
        self.lines = lines

    def _wanted(self) -> NDArray[np.bool_]:
        if self.show is Show.OPEN:
            wanted = self.open_mask().any(axis=1)
        elif self.show is Show.DRIFTING:
            wanted = (self.table.grade >= Grade.DRIFT).any(axis=1)
        else:
            wanted = np.ones(len(self.table.rows), dtype=np.bool_)
        for word in self.words.lower().split():
            wanted &= np.fromiter((word in row.parameter.lower() for row in self.table.rows), dtype=np.bool_)
        return np.asarray(wanted)

    def row_at(self, line: Line, column: int) -> int:
        """The table row that a line shows in a column: its own, or the one of its group that needs a look most."""
        return line.row if line.row is not None else int(self.worst[line.group, column])

    def cells_of(self, line: Line, column: int) -> list[tuple[int, int]]:
        """What deciding on a cell means: itself, or every drifting cell of the group in that shot."""
        if line.row is not None:
            return [(line.row, column)]
        rows = self.groups[line.group].rows
        return [(row, column) for row in rows if self.table.grade[row, column] >= Grade.DRIFT]

    def line_of(self, row: int) -> int | None:
        """The index of the line that shows a row now; its group's header when the row itself is not listed."""
        header = None
        for index, line in enumerate(self.lines):
            if line.row == row:
                return index
            if line.row is None and row in self.groups[line.group].rows:
                header = index
        return header

    def reveal(self, row: int) -> None:
        """Expand the group of a row, and drop filters that hide it."""
        group = next(group for group in self.groups if row in group.rows)
        if row != group.presence:
            self.expanded.add(group.name)
        self.relist()
        if not any(line.row == row or (row == group.presence and line.row is None) for line in self.lines):
            self.words, self.show = "", Show.ALL
            self.relist()

    def next_open(self, row: int, column: int, step: int = 1) -> tuple[int, int] | None:
        """The open cell after (step 1) or before (step -1) a cell: down the rows of a shot, then on in the cut."""
        rows, columns = np.nonzero(self.open_mask())
        if rows.size == 0:
            return None
        order = columns * len(self.table.rows) + rows
        order.sort()
        here = column * len(self.table.rows) + row
        if step > 0:
            place = int(np.searchsorted(order, here, side="right"))
        else:
            place = int(np.searchsorted(order, here, side="left")) - 1
        column_, row_ = divmod(int(order[place % order.size]), len(self.table.rows))
        return row_, column_

    def counts(self) -> dict[str, int]:
        """How many cells are open, and how many drift but are intended."""
        drifting = self.table.grade >= Grade.DRIFT
        return {
            "open": int(self.open_mask().sum()),
            "intended": int((drifting & (self.states == _INTENDED)).sum()),
            "within": int((self.table.grade == Grade.WITHIN).sum()),
        }


_SECTION_TITLES = {"cost": "Cost"}


def _groups(table: Table) -> tuple[Group, ...]:
    members: dict[str, list[int]] = {}
    for index, row in enumerate(table.rows):
        members.setdefault(row.group_name, []).append(index)
    groups = []
    for name, rows in members.items():
        first = table.rows[rows[0]]
        title = first.group or _SECTION_TITLES.get(first.section, first.section)
        presence = rows[0] if not first.leaf and first.kind == "presence" else None
        groups.append(Group(name, title, first.section, tuple(rows), presence))
    return tuple(groups)


def as_text(state: GridState, cells: Sequence[tuple[int, int]], text_of: dict[tuple[int, int], str]) -> str:
    """Cells as tab-separated text with shots as headings, rows in the table's order."""
    rows = sorted({row for row, _ in cells})
    columns = sorted({column for _, column in cells})
    lines = ["\t".join(["", *(state.table.shots[column] for column in columns)])]
    for row in rows:
        texts = (text_of.get((row, column), "") for column in columns)
        lines.append("\t".join([state.table.rows[row].parameter, *texts]))
    return "\n".join(lines)
