"""Which lines and shots the grid shows: groups and their rows, by filter, order, pins and what is hidden. Plain objects,
no Qt."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from samelight.decisions.tally import Tally
from samelight.drift.cells import Grade
from samelight.drift.table import Table
from samelight.findings.finding import Case, Finding
from samelight.gui.state.cell_states import Stand, Standing, standing_of
from samelight.gui.state.groups import Group, groups_of
from samelight.gui.state.urgency import Urgency
from samelight.sequence.saved_views import Order, Show
from samelight.sequence.session import Session

__all__ = ["GridState", "Group", "Line", "Order", "Show", "as_text"]


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the grid: a group's header, or with `row` one parameter of it."""

    group: int
    row: int | None = None


@dataclass(slots=True, eq=False)
class GridState:
    """Everything the grid shows of a session, and how it is asked to show it.

    `worst` has the shape (groups, shots): for each group and shot the row that needs a look most. `lines` and `columns`
    are what is listed now, `columns` as columns of the table; the first `pins` lines are pinned. `hidden` and `pinned`
    hold names of groups and parameters. `revision` grows whenever anything of this changes.
    """

    session: Session
    show: Show = Show.ALL
    words: str = ""
    order: Order = Order.SHEET
    expanded: set[str] = field(default_factory=set)
    hidden: set[str] = field(default_factory=set)
    hidden_shots: set[str] = field(default_factory=set)
    mine: frozenset[str] | None = None
    """The shots that are listed and counted, others left out; None for all."""
    guests: set[str] = field(default_factory=set)
    """Shots that are not mine and are listed all the same, since somebody went there."""
    pinned: list[str] = field(default_factory=list)
    together: list[str] = field(default_factory=list)
    """Names of the groups whose traces are drawn together."""
    table: Table = field(init=False, repr=False)
    """The session's drift table when this was made; a session that compares anew needs a `renewed` state."""
    groups: tuple[Group, ...] = ()
    worst: NDArray[np.int64] = field(default_factory=lambda: np.zeros((0, 0), dtype=np.int64))
    explained: set[tuple[int, int]] = field(default_factory=set)
    """The cells that a finding explains."""
    lines: list[Line] = field(default_factory=list)
    columns: list[int] = field(default_factory=list)
    pins: int = 0
    hidden_rows: int = 0
    revision: int = 0
    _standing: Standing | None = field(default=None, repr=False)
    """None only while this is being made for the first time."""
    _worst_of: tuple[Standing, NDArray[np.bool_]] | None = field(default=None, repr=False)
    """What `worst` was found in, and among which rows."""
    _tallies: Mapping[int, Tally] | None = field(default=None, repr=False)
    _explained_by: list[Finding] | None = field(default=None, repr=False)
    _group_of: list[int] = field(default_factory=list, repr=False)
    _listed: NDArray[np.bool_] = field(default_factory=lambda: np.zeros(0, dtype=np.bool_), repr=False)
    _places: dict[int, int] = field(default_factory=dict, repr=False)

    def __post_init__(self) -> None:
        self.table = self.session.table
        self.groups = groups_of(self.table)
        self._group_of = [0] * len(self.table.rows)
        for index, group in enumerate(self.groups):
            for row in group.rows:
                self._group_of[row] = index
        self.refresh()

    def refresh(self) -> None:
        """Take in decisions that were made, and list the lines anew."""
        follows = self.session.following().mask
        self._standing = standing_of(self.table, self.session.decided_cells(), self._standing, follows)
        self._tallies = None
        findings = self.session.findings
        if findings is not self._explained_by:
            self._explained_by = findings
            self.explained = {
                cell for finding in findings if finding.finding != "unexplained" for cell in finding.cells
            }
        self.relist()

    def renewed(self, session: Session | None = None) -> GridState:
        """The same view of what the session holds now, or of another session."""
        return replace(self, session=session or self.session)

    @property
    def standing(self) -> Standing:
        """How the cells stand, decisions taken in."""
        assert self._standing is not None  # made before anything can be asked
        return self._standing

    @property
    def states(self) -> NDArray[np.uint8]:
        """What was decided on each cell: places in `STATES`, shape (rows, shots)."""
        return self.standing.states

    def open_mask(self) -> NDArray[np.bool_]:
        """Which cells of my shots need a look: they drift and nobody has said that it is meant."""
        return self._standing_at_least(Stand.RETURNED)

    def undecided_mask(self) -> NDArray[np.bool_]:
        """Which cells are left to decide: the open ones that were not sent back to be mended."""
        return self._standing_at_least(Stand.LEFT)

    def _standing_at_least(self, stand: Stand) -> NDArray[np.bool_]:
        mask: NDArray[np.bool_] = (self.standing.stands >= stand) & self._mine()
        return mask

    def _mine(self) -> NDArray[np.bool_]:
        """Which columns are of my shots; all of them where none is, as when versions of one shot are the columns."""
        shots = self.table.shots
        if self.mine is None or self.mine.isdisjoint(shots):
            return np.ones(len(shots), dtype=np.bool_)
        return np.fromiter((shot in self.mine for shot in shots), dtype=np.bool_, count=len(shots))

    def relist(self) -> None:
        """List the lines and shots that are to be seen, in their order."""
        mine = self._mine()
        self.columns = [
            index
            for index, shot in enumerate(self.table.shots)
            if (mine[index] or shot in self.guests) and shot not in self.hidden_shots
        ] or np.flatnonzero(mine).tolist()
        self._places = {column: place for place, column in enumerate(self.columns)}
        shown = self._shown()
        self.hidden_rows = int((~shown).sum())
        self.worst = self._worst(shown)
        wanted = self._wanted() & shown
        self._listed = wanted
        narrowed = bool(self.words.strip()) or self.show is not Show.ALL
        pinned = self._pinned_lines(shown)
        taken = set(pinned)
        lines: list[Line] = []
        in_order = self._ordering()
        for index in in_order(range(len(self.groups)), [group.rows for group in self.groups]):
            group = self.groups[index]
            rows = [row for row in group.rows if wanted[row]]
            if not rows or Line(index) in taken:
                continue
            lines.append(Line(index))
            if narrowed or group.name in self.expanded:
                listed = [row for row in rows if row != group.presence and Line(index, row) not in taken]
                lines.extend(Line(index, row) for row in in_order(listed, [[row] for row in listed]))
        self.lines = pinned + lines
        self.pins = len(pinned)
        self.revision += 1

    def _ordering(self) -> Callable[[Sequence[int], Sequence[Sequence[int]]], Sequence[int]]:
        """What puts items into the chosen order, each judged by its rows in the shots that are listed."""
        if self.order is Order.SHEET or not self.columns:
            return lambda items, members: items
        urgency, order = Urgency.of(self.standing, self.columns), self.order
        return lambda items, members: urgency.ordered(items, members, order)

    def listed_mask(self) -> NDArray[np.bool_]:
        """The cells of rows and shots that nobody has hidden, whatever the filter."""
        across = np.zeros(len(self.table.shots), dtype=np.bool_)
        across[self.columns] = True
        mask: NDArray[np.bool_] = self._shown()[:, None] & across
        return mask

    def _shown(self) -> NDArray[np.bool_]:
        """Which rows nobody has hidden."""
        hidden = self.hidden
        return np.fromiter(
            (row.parameter not in hidden and row.group_name not in hidden for row in self.table.rows),
            dtype=np.bool_,
            count=len(self.table.rows),
        )

    def _worst(self, shown: NDArray[np.bool_]) -> NDArray[np.int64]:
        standing, made_of = self.standing, self._worst_of
        self._worst_of = standing, shown
        rows_of = [
            np.asarray([row for row in group.rows if shown[row]] or group.rows) for group in self.groups
        ]
        changed = None
        if made_of is not None and np.array_equal(made_of[1], shown):
            changed = standing.changed_since(made_of[0])
        if changed is None:
            found = [rows[np.argmax(standing.score[rows], axis=0)] for rows in rows_of]
            return np.array(found, dtype=np.int64).reshape(len(rows_of), len(self.table.shots))
        if not changed.size:
            return self.worst
        worst = self.worst.copy()
        rows, columns = np.divmod(changed, len(self.table.shots))
        groups = np.asarray(self._group_of)[rows]
        for index in set(groups.tolist()):
            here, among = np.array(sorted(set(columns[groups == index].tolist()))), rows_of[index]
            worst[index, here] = among[np.argmax(standing.score[np.ix_(among, here)], axis=0)]
        return worst

    def _wanted(self) -> NDArray[np.bool_]:
        if self.show is Show.OPEN:
            wanted = self.open_mask().any(axis=1)
        elif self.show is Show.DRIFTING:
            wanted = self._standing_at_least(Stand.INTENDED).any(axis=1)
        else:
            wanted = np.ones(len(self.table.rows), dtype=np.bool_)
        for word in self.words.lower().split():
            wanted &= np.fromiter((word in row.parameter.lower() for row in self.table.rows), dtype=np.bool_)
        return np.asarray(wanted)

    def _pinned_lines(self, shown: NDArray[np.bool_]) -> list[Line]:
        """The pinned lines, in the order they were pinned; a group's rows come with it while it is expanded."""
        names = {group.name: index for index, group in enumerate(self.groups)}
        found: dict[Line, None] = {}
        for name in self.pinned:
            index, row = names.get(name), self.table.row(name)
            if index is not None:
                rows = [row for row in self.groups[index].rows if shown[row]]
                if rows:
                    found[Line(index)] = None
                if self.groups[index].name in self.expanded:
                    found.update(
                        {Line(index, row): None for row in rows if row != self.groups[index].presence}
                    )
            elif row is not None and shown[row]:
                found[Line(self._group_of[row], row)] = None
        return list(found)

    def place(self, column: int) -> int | None:
        """Where a shot stands among those that are listed."""
        return self._places.get(column)

    def name_of(self, line: Line) -> str:
        """The name of a line's group, or its parameter."""
        return self.groups[line.group].name if line.row is None else self.table.rows[line.row].parameter

    def group_of(self, row: int) -> int:
        """The index of a row's group."""
        return self._group_of[row]

    def is_lone_pin(self, index: int) -> bool:
        """Whether a line is pinned without its group's header above it, so that its name must say the group."""
        line = self.lines[index]
        return index < self.pins and line.row is not None and Line(line.group) not in self.lines[: self.pins]

    def row_at(self, line: Line, column: int) -> int:
        """The table row that a line shows in a column: its own, or the one of its group that needs a look most."""
        return line.row if line.row is not None else int(self.worst[line.group, column])

    def rows_of(self, index: int) -> list[int]:
        """The rows that a listed line stands for: itself, or those of its group that pass hiding and filter. A pinned
        group passes every filter."""
        line = self.lines[index]
        if line.row is not None:
            return [line.row]
        passes = self._shown() if index < self.pins else self._listed
        return [row for row in self.groups[line.group].rows if passes[row]]

    def cells_of(self, line: Line, column: int) -> list[tuple[int, int]]:
        """What deciding on a cell means: itself, or every drifting cell of the group in that shot that is not hidden."""
        if line.row is not None:
            return [(line.row, column)]
        group = self.groups[line.group]
        rows = [row for row in group.rows if self.table.rows[row].parameter not in self.hidden]
        return [(row, column) for row in rows if self.table.grade[row, column] >= Grade.DRIFT]

    def line_of(self, row: int) -> int | None:
        """The index of the line that shows a row now; its group's header when the row itself is not listed."""
        header = None
        for index, line in enumerate(self.lines):
            if line.row == row:
                return index
            if line.row is None and line.group == self._group_of[row]:
                header = index
        return header

    def reveal(self, row: int, column: int | None = None) -> None:
        """Expand the group of a row, and drop what hides the row or the shot."""
        group = self.groups[self._group_of[row]]
        self.hidden -= {group.name, self.table.rows[row].parameter}
        if column is not None:
            self._admit(column)
        if row != group.presence:
            self.expanded.add(group.name)
        self.relist()
        if not any(line.row == row or (row == group.presence and line.row is None) for line in self.lines):
            self.words, self.show = "", Show.ALL
            self.relist()

    def hide(self, lines: Iterable[Line]) -> None:
        """Leave these lines out; a group's header stands for all of the group."""
        names = {self.name_of(line) for line in lines}
        self.hidden |= names
        self.pinned = [name for name in self.pinned if name not in names]
        self.relist()

    def hide_shots(self, columns: Iterable[int]) -> None:
        """Leave these shots out, unless none would remain."""
        names = {self.table.shots[column] for column in columns}
        if any(self.table.shots[column] not in names for column in self.columns):
            self.hidden_shots |= names
            self.guests -= names
            self.relist()

    def show_shot(self, column: int) -> None:
        """Bring back one shot, also one that is not mine."""
        self._admit(column)
        self.relist()

    def _admit(self, column: int) -> None:
        self.hidden_shots.discard(self.table.shots[column])
        if not self._mine()[column]:
            self.guests.add(self.table.shots[column])

    def show_only(self, mine: frozenset[str] | None) -> None:
        """List and count only these shots; None lists all."""
        self.mine = mine
        self.guests.clear()
        self.relist()

    def show_hidden(self) -> None:
        """Bring back everything that was hidden."""
        self.hidden.clear()
        self.hidden_shots.clear()
        self.relist()

    def pin(self, lines: Iterable[Line]) -> None:
        """Pin these lines at the top; when all of them are pinned already, let them go."""
        names = list(dict.fromkeys(self.name_of(line) for line in lines))
        if all(name in self.pinned for name in names):
            self.pinned = [name for name in self.pinned if name not in names]
        else:
            self.pinned += [name for name in names if name not in self.pinned]
        self.relist()

    def plot_together(self, group: int) -> None:
        """Add a group to the traces that are drawn together, or take it away."""
        name = self.groups[group].name
        self.together = (
            [n for n in self.together if n != name] if name in self.together else [*self.together, name]
        )
        self.revision += 1

    @property
    def tallies(self) -> Mapping[int, Tally]:
        """The cases of every shot by what was decided on them, by column: cells, and what findings say beside cells."""
        if self._tallies is None:
            self._tallies = self.session.tallies()
        return self._tallies

    def tally_in(self, column: int) -> Tally:
        """The cases of a shot; none where it is not mine."""
        return self.tallies[column] if self._mine()[column] else Tally()

    def tally(self) -> Tally:
        """The cases of my shots: the figures that everything here says."""
        mine = self._mine()
        return sum((tally for column, tally in self.tallies.items() if mine[column]), Tally())

    def is_left(self, case: Case) -> bool:
        """Whether a case of a finding drifts, is of my shots, and is left to decide."""
        column = self.table.column(case.shot)
        drifts = case.level >= Grade.DRIFT and Tally.of([case.state]).undecided > 0
        return drifts and column is not None and bool(self._mine()[column])

    def counts(self) -> dict[str, int]:
        """The figures of `tally`, how many cells of my shots are inside their tolerances, and how many rows and shots are
        hidden."""
        mine, tally = self._mine(), self.tally()
        return {
            "open": tally.open,
            "left": tally.undecided,
            "returned": tally.sent_back,
            "intended": tally.intended,
            "within": int(self.standing.tallies[Stand.WITHIN, mine].sum()),
            "hidden rows": self.hidden_rows,
            "hidden shots": int(mine.sum() - np.count_nonzero(mine[self.columns])),
        }


def as_text(state: GridState, cells: Sequence[tuple[int, int]], text_of: dict[tuple[int, int], str]) -> str:
    """Cells as tab-separated text with shots as headings, rows in the table's order."""
    rows = sorted({row for row, _ in cells})
    columns = sorted({column for _, column in cells})
    lines = ["\t".join(["", *(state.table.shots[column] for column in columns)])]
    for row in rows:
        texts = (text_of.get((row, column), "") for column in columns)
        lines.append("\t".join([state.table.rows[row].parameter, *texts]))
    return "\n".join(lines)
