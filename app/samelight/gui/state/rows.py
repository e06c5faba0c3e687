"""What the grid shows of a session: a view, what that lists, and how the cells stand. Plain objects, no Qt."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from samelight.drift.cells import Cell
from samelight.drift.table import Table
from samelight.findings.finding import Finding
from samelight.gui.state.cell_states import Stand, Standing, standing_of
from samelight.gui.state.groups import Group, Groups
from samelight.gui.state.handed_over import HandedOver
from samelight.gui.state.listing import Asked, Line, Listing
from samelight.gui.state.looked_back import LookedBack
from samelight.gui.state.my_cases import MyCases
from samelight.reports.since import Since
from samelight.sequence.saved_views import Order, Show, View
from samelight.sequence.session import Session

__all__ = ["GridState", "Group", "Line", "Order", "Show", "View", "as_text"]


@dataclass(slots=True, eq=False)
class GridState:
    """Everything the grid shows of a session, and the `view` that says how: it is replaced, never changed.

    `listing` is what the view lists now. `revision` grows whenever anything of this changes.
    """

    session: Session
    view: View = field(default_factory=View)
    mine: frozenset[str] | None = None
    """The shots that are listed and counted, others left out; None for all."""
    guests: frozenset[str] = frozenset()
    """Shots that are not mine and are listed all the same, since somebody went there."""
    who: str = ""
    """Under which name decisions are made: what waits for a look waits for that of whoever sent it back."""
    looked_back: LookedBack = field(default_factory=LookedBack, repr=False)
    """What happened since the moment that is looked back to."""
    table: Table = field(init=False, repr=False)
    """The session's drift table when this was made; a session that compares anew needs a `renewed` state."""
    groups: Groups = field(init=False, repr=False)
    explained: set[Cell] = field(default_factory=set, repr=False)
    """The cells that a finding explains."""
    standing: Standing = field(init=False, repr=False)
    """How the cells stand, decisions taken in."""
    my_cases: MyCases = field(init=False, repr=False)
    handed_over: HandedOver = field(init=False, repr=False)
    revision: int = 0
    _listing: Listing | None = field(default=None, repr=False)
    """None only while this is being made for the first time."""
    _explained_by: list[Finding] | None = field(default=None, repr=False)

    def __post_init__(self) -> None:
        self.table = self.session.table
        before = self._listing  # of the same rows the groups are the same
        is_alike = before is not None and before.table.rows is self.table.rows
        self.groups = before.groups if before is not None and is_alike else Groups(self.table)
        self.refresh()

    def refresh(self) -> None:
        """Take in decisions that were made, and list the lines anew."""
        before = self._listing.standing if self._listing is not None else None
        follows = self.session.cases.following().mask
        self.standing = standing_of(self.table, self.session.cases.judged().states, before, follows)
        self._count()
        findings = self.session.cases.findings
        if findings is not self._explained_by:
            self._explained_by = findings
            self.explained = {
                cell for finding in findings if finding.finding != "unexplained" for cell in finding.cells
            }
        self.look_back(self.looked_back.since)

    def _count(self) -> None:
        mine = self._mine()
        self.my_cases = MyCases(self.session, self.standing, mine)
        self.handed_over = HandedOver(self.session, self.standing, mine, self.who)

    def look_back(self, since: Since | None) -> None:
        """Mark what is new, moved and mended since a moment; None marks nothing."""
        self.looked_back = LookedBack.to(since, self.session)
        self._list()

    def renewed(self, session: Session | None = None) -> GridState:
        """The same view of what the session holds now, or of another session."""
        return replace(self, session=session or self.session)

    def _list(self) -> None:
        changed = frozenset(row for row, _ in self.looked_back.cells)
        waiting = self.handed_over.waiting() if self.view.rows is Show.WAITING else None
        asked = Asked(self.view, self.my_cases.mine, self.guests, changed, waiting)
        self._listing = Listing.of(self.table, self.groups, self.standing, asked, self._listing)
        self.revision += 1

    def show(self, view: View) -> None:
        """List what another view says."""
        self.view = view
        self._list()

    @property
    def listing(self) -> Listing:
        """What is listed now."""
        assert self._listing is not None  # made before anything can be asked
        return self._listing

    def _mine(self) -> NDArray[np.bool_]:
        """Which columns are of my shots; all of them where none is, as when versions of one shot are the columns."""
        shots = self.table.shots
        if self.mine is None or self.mine.isdisjoint(shots):
            return np.ones(len(shots), dtype=np.bool_)
        return np.fromiter((shot in self.mine for shot in shots), dtype=np.bool_, count=len(shots))

    # Other views

    def reveal(self, row: int, column: int | None = None, *, same_rows: bool = False) -> None:
        """Expand the group of a row, and drop what hides the row or the shot; with `same_rows` not the choice between
        every row and what drifts."""
        group, view = self.groups[self.groups.of_row[row]], self.view
        if column is not None:
            view = self._admitting(column)
        hidden = _without(view.hidden_rows, {group.name, self.table.rows[row].parameter})
        expanded = view.expanded if row == group.presence else _with(view.expanded, {group.name})
        self.show(replace(view, hidden_rows=hidden, expanded=expanded))
        if not self.listing.lists(row):
            self.show(replace(self.view, filter="", rows=self.view.rows if same_rows else Show.ALL))

    def hide(self, lines: Iterable[Line]) -> None:
        """Leave these lines out; a group's header stands for all of the group."""
        names = {self.listing.name_of(line) for line in lines}
        view = self.view
        pinned = _without(view.pinned, names)
        self.show(replace(view, hidden_rows=_with(view.hidden_rows, names), pinned=pinned))

    def hide_shots(self, columns: Iterable[int]) -> None:
        """Leave these shots out, unless none would remain."""
        names = {self.table.shots[column] for column in columns}
        if any(self.table.shots[column] not in names for column in self.listing.columns):
            self.guests -= names
            self.show(replace(self.view, hidden_shots=_with(self.view.hidden_shots, names)))

    def show_shot(self, column: int) -> None:
        """Bring back one shot, also one that is not mine."""
        self.show(self._admitting(column))

    def _admitting(self, column: int) -> View:
        shot = self.table.shots[column]
        if not self.my_cases.mine[column]:
            self.guests |= {shot}
        return replace(self.view, hidden_shots=_without(self.view.hidden_shots, {shot}))

    def show_only(self, mine: frozenset[str] | None) -> None:
        """List and count only these shots; None lists all."""
        self.mine, self.guests = mine, frozenset()
        self._count()
        self.show(replace(self.view, only_my_shots=mine is not None))

    def show_hidden(self) -> None:
        """Bring back everything that was hidden."""
        self.show(replace(self.view, hidden_rows=(), hidden_shots=()))

    def pin(self, lines: Iterable[Line]) -> None:
        """Pin these lines at the top; when all of them are pinned already, let them go."""
        names, pinned = [self.listing.name_of(line) for line in lines], self.view.pinned
        more = tuple(dict.fromkeys(name for name in names if name not in pinned))
        self.show(replace(self.view, pinned=(*pinned, *more) if more else _without(pinned, set(names))))

    def plot_together(self, group: int | None) -> None:
        """Add a group to the traces that are drawn together, or take it away; None takes all away."""
        together = self.view.together
        if group is not None:
            name = self.groups[group].name
            together = _without(together, {name}) if name in together else (*together, name)
        self.view = replace(self.view, together=together if group is not None else ())
        self.revision += 1

    def sign(self, who: str) -> None:
        """Count and list what waits for the look of somebody else."""
        if who != self.who:
            self.who = who
            self._count()

    def counts(self) -> dict[str, int]:
        """The figures of `tally`, how many cells of my shots are inside their tolerances, and how many rows and shots are
        hidden."""
        mine, tally = self.my_cases.mine, self.my_cases.tally()
        return {
            "unsettled": tally.unsettled,
            "left": tally.undecided,
            "returned": tally.sent_back,
            "intended": tally.intended,
            "within": self.my_cases.cells_that_stand(Stand.WITHIN),
            "hidden rows": self.listing.hidden_rows,
            "hidden shots": int(mine.sum() - np.count_nonzero(mine[self.listing.columns])),
        }


def _with(names: tuple[str, ...], more: Iterable[str]) -> tuple[str, ...]:
    """Names that have no order of their own, and more of them."""
    return tuple(sorted({*names, *more}))


def _without(names: tuple[str, ...], fewer: set[str]) -> tuple[str, ...]:
    return tuple(name for name in names if name not in fewer)


def as_text(state: GridState, cells: Sequence[Cell], text_of: dict[Cell, str]) -> str:
    """Cells as tab-separated text with shots as headings, rows in the table's order."""
    rows = sorted({row for row, _ in cells})
    columns = sorted({column for _, column in cells})
    lines = ["\t".join(["", *(state.table.shots[column] for column in columns)])]
    for row in rows:
        texts = (text_of.get((row, column), "") for column in columns)
        lines.append("\t".join([state.table.rows[row].parameter, *texts]))
    return "\n".join(lines)
