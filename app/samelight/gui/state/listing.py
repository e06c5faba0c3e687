"""What is listed of a table: lines and shots, by a view and by how the cells stand. Plain objects, no Qt."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from samelight.drift.table import Table
from samelight.gui.state.cell_states import Stand, Standing
from samelight.gui.state.groups import Groups
from samelight.gui.state.handed_over import LISTS, listed_cells
from samelight.gui.state.urgency import Urgency
from samelight.sequence.saved_views import Order, Show, View


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the grid: a group's header, or with `row` one parameter of it."""

    group: int
    row: int | None = None


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked for: a view, whose shots are `mine` (a mask over the table's), and the names of `guests`, shots that
    are not mine and are listed all the same, since somebody went there."""

    view: View
    mine: NDArray[np.bool_]
    guests: frozenset[str] = frozenset()
    changed: frozenset[int] = frozenset()
    """The rows in which something is another since the moment that is looked back to."""
    waiting: NDArray[np.intp] | None = None
    """The cells that wait for the look of whoever decides, as places in the flattened table."""


@dataclass(frozen=True, slots=True, eq=False)
class Listing:
    """Lines and shots in their order; the first `pins` lines are pinned, `columns` are columns of the table. `where` says at which
    index a line stands, `places` where a column does.

    `shown` are the rows that nobody has hidden, `passing` those of them that pass the filter too. `worst` has the shape
    (groups, shots): for each group and shot the row that needs a look most.
    """

    table: Table
    groups: Groups
    standing: Standing
    lines: Sequence[Line]
    where: Mapping[Line, int]
    pins: int
    columns: Sequence[int]
    places: Mapping[int, int]
    shown: NDArray[np.bool_]
    passing: NDArray[np.bool_]
    worst: NDArray[np.int64]
    folded: int
    """How many rows nobody has hidden, and no filter, are left out since nothing drifts, or is undecided, in them."""
    urgency: Urgency | None = None
    """How much each row needs a look, where lines are ordered by that."""

    @classmethod
    def of(
        cls, table: Table, groups: Groups, standing: Standing, asked: Asked, before: Listing | None = None
    ) -> Listing:
        """What is listed now. Of what was listed `before`, that is used again which is still so."""
        view = asked.view
        columns = _columns(table, asked)
        shown = _shown(table, view)
        named = _named(table, view) & shown
        passing = _wanted(standing, asked) & named
        pinned = _pinned(table, groups, view, shown)
        urgency = None
        if view.order is not Order.SHEET and columns:
            urgency = Urgency.of(standing, columns, before.urgency if before is not None else None)
        lines = pinned + _lines(groups, view, passing, _ordering(view.order, urgency), set(pinned))
        worst = _worst(table, groups, standing, shown, before)
        places = {column: place for place, column in enumerate(columns)}
        return cls(
            table,
            groups,
            standing,
            lines,
            {line: index for index, line in enumerate(lines)},
            len(pinned),
            columns,
            places,
            shown,
            passing,
            worst,
            int((named & ~passing).sum()),
            urgency,
        )

    @property
    def hidden_rows(self) -> int:
        """How many rows are hidden."""
        return int((~self.shown).sum())

    @property
    def mask(self) -> NDArray[np.bool_]:
        """The cells of rows and shots that nobody has hidden, whatever the filter."""
        across = np.zeros(len(self.table.shots), dtype=np.bool_)
        across[self.columns] = True
        mask: NDArray[np.bool_] = self.shown[:, None] & across
        return mask

    def place(self, column: int) -> int | None:
        """Where a shot stands among those that are listed."""
        return self.places.get(column)

    def name_of(self, line: Line) -> str:
        """The name of a line's group, or its parameter."""
        return self.groups[line.group].name if line.row is None else self.table.rows[line.row].parameter

    def is_lone(self, index: int) -> bool:
        """Whether a line stands without its group's header above it, so that its name must say the group."""
        line = self.lines[index]
        if line.row is None:
            return False
        if index < self.pins:
            return self.where.get(Line(line.group), self.pins) >= self.pins
        # A header stands first of its group, the other rows after it.
        return index == self.pins or self.lines[index - 1].group != line.group

    def row_at(self, line: Line, column: int) -> int:
        """The table row that a line shows in a column: its own, or the one of its group that needs a look most."""
        return line.row if line.row is not None else int(self.worst[line.group, column])

    def rows_of(self, index: int) -> list[int]:
        """The rows that a listed line stands for: itself, or those of its group that pass hiding and filter. A pinned
        group passes every filter."""
        line = self.lines[index]
        if line.row is not None:
            return [line.row]
        passes = self.shown if index < self.pins else self.passing
        return [row for row in self.groups[line.group].rows if passes[row]]

    def line_of(self, row: int) -> int | None:
        """The index of the line that shows a row now; its group's header when the row itself is not listed."""
        group = self.groups.of_row[row]
        index = self.where.get(Line(group, row))
        return self.where.get(Line(group)) if index is None else index

    def lists(self, row: int, column: int | None = None) -> bool:
        """Whether a row has a line, and a shot if one is given a column. The row that says whether a group is there has
        the group's."""
        line = self.line_of(row)
        has_line = line is not None and (
            self.lines[line].row == row or row == self.groups[self.groups.of_row[row]].presence
        )
        return has_line and (column is None or column in self.places)


_Ordering = Callable[[Sequence[int], Sequence[Sequence[int]]], Sequence[int]]


def _columns(table: Table, asked: Asked) -> list[int]:
    hidden = set(asked.view.hidden_shots)
    return [
        index
        for index, shot in enumerate(table.shots)
        if (asked.mine[index] or shot in asked.guests) and shot not in hidden
    ] or np.flatnonzero(asked.mine).tolist()


def _shown(table: Table, view: View) -> NDArray[np.bool_]:
    """Which rows nobody has hidden."""
    hidden = set(view.hidden_rows)
    return np.fromiter(
        (row.parameter not in hidden and row.group_name not in hidden for row in table.rows),
        dtype=np.bool_,
        count=len(table.rows),
    )


def _named(table: Table, view: View) -> NDArray[np.bool_]:
    """Which rows have all words of the filter in their names."""
    named: NDArray[np.bool_] = np.ones(len(table.rows), dtype=np.bool_)
    for word in view.filter.lower().split():
        named &= np.fromiter((word in row.parameter.lower() for row in table.rows), dtype=np.bool_)
    return named


def _wanted(standing: Standing, asked: Asked) -> NDArray[np.bool_]:
    """Which rows have a cell in my shots of the kind that is asked for."""
    if asked.view.rows is Show.CHANGED:
        rows = np.zeros(len(standing.stands), dtype=np.bool_)
        rows[list(asked.changed)] = True
        return rows
    if asked.view.rows in LISTS:
        cells = listed_cells(standing, asked.view.rows) if asked.waiting is None else asked.waiting
        rows, columns = np.divmod(cells, len(asked.mine))
        wanted: NDArray[np.bool_] = np.zeros(len(standing.stands), dtype=np.bool_)
        wanted[rows[asked.mine[columns]]] = True
        return wanted
    least = {Show.UNDECIDED: Stand.RETURNED, Show.DRIFTING: Stand.INTENDED}.get(asked.view.rows)
    if least is None:
        return np.ones(len(standing.stands), dtype=np.bool_)
    return np.asarray(((standing.stands >= least) & asked.mine).any(axis=1))


def _ordering(order: Order, urgency: Urgency | None) -> _Ordering:
    """What puts items into the chosen order, each judged by its rows in the shots that are listed."""
    if urgency is None:
        return lambda items, members: items
    return lambda items, members: urgency.ordered(items, members, order)


def _pinned(table: Table, groups: Groups, view: View, shown: NDArray[np.bool_]) -> list[Line]:
    """The pinned lines, in the order they were pinned; a group's rows come with it while it is expanded."""
    found: dict[Line, None] = {}
    for name in view.pinned:
        index, row = groups.named(name), table.row(name)
        if index is not None:
            group = groups[index]
            rows = [row for row in group.rows if shown[row]]
            if rows:
                found[Line(index)] = None
            if name in view.expanded:
                found.update({Line(index, row): None for row in rows if row != group.presence})
        elif row is not None and shown[row]:
            found[Line(groups.of_row[row], row)] = None
    return list(found)


def _lines(
    groups: Groups, view: View, passing: NDArray[np.bool_], in_order: _Ordering, taken: set[Line]
) -> list[Line]:
    """The lines below those that are pinned. Where only some rows are listed, one that is the only one of its group stands
    without the header, which would say the same again."""
    narrowed = bool(view.filter.strip()) or view.rows is not Show.ALL
    expanded = set(view.expanded)
    lines: list[Line] = []
    for index in in_order(range(len(groups)), [group.rows for group in groups]):
        group = groups[index]
        rows = [row for row in group.rows if passing[row]]
        if not rows or Line(index) in taken:
            continue
        if len(rows) == 1 and view.rows is not Show.ALL and rows[0] != group.presence:
            lines += [line for line in (Line(index, rows[0]),) if line not in taken]
            continue
        lines.append(Line(index))
        if narrowed or group.name in expanded:
            listed = [row for row in rows if row != group.presence and Line(index, row) not in taken]
            lines.extend(Line(index, row) for row in in_order(listed, [[row] for row in listed]))
    return lines


def _worst(
    table: Table, groups: Groups, standing: Standing, shown: NDArray[np.bool_], before: Listing | None
) -> NDArray[np.int64]:
    rows_of = [np.asarray([row for row in group.rows if shown[row]] or group.rows) for group in groups]
    changed = None
    if before is not None and np.array_equal(before.shown, shown):
        changed = standing.changed_since(before.standing)
    if before is None or changed is None:
        found = [rows[np.argmax(standing.score[rows], axis=0)] for rows in rows_of]
        return np.array(found, dtype=np.int64).reshape(len(rows_of), len(table.shots))
    if not changed.size:
        return before.worst
    worst = before.worst.copy()
    rows, columns = np.divmod(changed, len(table.shots))
    touched = np.asarray(groups.of_row)[rows]
    for index in set(touched.tolist()):
        here, among = np.array(sorted(set(columns[touched == index].tolist()))), rows_of[index]
        worst[index, here] = among[np.argmax(standing.score[np.ix_(among, here)], axis=0)]
    return worst
