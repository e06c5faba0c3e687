"""What the grid shows of a session: a view, what that lists, and how the cells stand. Plain objects, no Qt."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from samelight.decisions.decision import Verb
from samelight.decisions.state import Judgement
from samelight.decisions.tally import Tally
from samelight.drift.cells import Cell, CellName, Grade
from samelight.drift.table import Table
from samelight.findings.finding import Case, Finding
from samelight.gui.state.cell_states import Stand, Standing, standing_of
from samelight.gui.state.groups import Group, Groups
from samelight.gui.state.handed_over import LISTS, listed_cells, lists_case
from samelight.gui.state.listing import Asked, Line, Listing
from samelight.reports.since import Since, since_sign
from samelight.sequence.case_events import Event
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
    since: Since | None = None
    """What is looked back to; None where nothing is marked."""
    happened: Mapping[CellName, Event] = field(default_factory=dict, repr=False)
    """What happened to cases since then."""
    since_cells: Mapping[Cell, Event] = field(default_factory=dict, repr=False)
    """The same of those that the table has as cells."""
    since_signs: Mapping[int, list[tuple[int, str]]] = field(default_factory=dict, repr=False)
    """The columns of each row that have a sign for it, with the sign."""
    table: Table = field(init=False, repr=False)
    """The session's drift table when this was made; a session that compares anew needs a `renewed` state."""
    groups: Groups = field(init=False, repr=False)
    explained: set[Cell] = field(default_factory=set, repr=False)
    """The cells that a finding explains."""
    revision: int = 0
    _listing: Listing | None = field(default=None, repr=False)
    """None only while this is being made for the first time."""
    _tallies: Mapping[int, Tally] | None = field(default=None, repr=False)
    _handed_over: Mapping[Show, int] | None = field(default=None, repr=False)
    _handed_findings: Mapping[Show, list[Finding]] | None = field(default=None, repr=False)
    _explained_by: list[Finding] | None = field(default=None, repr=False)

    def __post_init__(self) -> None:
        self.table = self.session.table
        self.groups = Groups(self.table)
        self.refresh()

    def refresh(self) -> None:
        """Take in decisions that were made, and list the lines anew."""
        before = self._listing.standing if self._listing is not None else None
        follows = self.session.cases.following().mask
        standing = standing_of(self.table, self.session.cases.judged().states, before, follows)
        self._tallies = self._handed_over = self._handed_findings = None
        self._look_back()
        findings = self.session.cases.findings
        if findings is not self._explained_by:
            self._explained_by = findings
            self.explained = {
                cell for finding in findings if finding.finding != "unexplained" for cell in finding.cells
            }
        self._list(standing)

    def _look_back(self) -> None:
        self.happened = self.since.happened(self.session) if self.since is not None else {}
        names = list(self.happened)
        found = {name: (self.table.row(name[1]), self.table.column(name[0])) for name in names}
        self.since_cells = {
            (row, column): self.happened[name]
            for name, (row, column) in found.items()
            if row is not None and column is not None
        }
        signs: dict[int, list[tuple[int, str]]] = {}
        for (row, column), event in self.since_cells.items():
            if sign := since_sign(event):
                signs.setdefault(row, []).append((column, sign))
        self.since_signs = signs

    def look_back(self, since: Since | None) -> None:
        """Mark what is new, moved and mended since a moment; None marks nothing."""
        self.since = since
        self._look_back()
        self._list(self.standing)

    def renewed(self, session: Session | None = None) -> GridState:
        """The same view of what the session holds now, or of another session."""
        return replace(self, session=session or self.session)

    def _list(self, standing: Standing) -> None:
        changed = frozenset(row for row, _ in self.since_cells)
        waiting = self._waiting(standing) if self.view.rows is Show.WAITING else None
        asked = Asked(self.view, self._mine(), self.guests, changed, waiting)
        self._listing = Listing.of(self.table, self.groups, standing, asked, self._listing)
        self.revision += 1

    def show(self, view: View) -> None:
        """List what another view says."""
        self.view = view
        self._list(self.standing)

    # What is listed, and how it stands

    @property
    def listing(self) -> Listing:
        """What is listed now."""
        assert self._listing is not None  # made before anything can be asked
        return self._listing

    @property
    def lines(self) -> Sequence[Line]:
        """The lines that are listed."""
        return self.listing.lines

    @property
    def columns(self) -> Sequence[int]:
        """The shots that are listed, as columns of the table."""
        return self.listing.columns

    @property
    def standing(self) -> Standing:
        """How the cells stand, decisions taken in."""
        return self.listing.standing

    @property
    def states(self) -> NDArray[np.uint8]:
        """What was decided on each cell: places in `STATES`, shape (rows, shots)."""
        return self.standing.states

    def unsettled_mask(self) -> NDArray[np.bool_]:
        """Which cells of my shots need a look: they drift and nobody has said that it is meant."""
        return self._standing_at_least(Stand.RETURNED)

    def undecided_mask(self) -> NDArray[np.bool_]:
        """Which cells are left to decide: the unsettled ones that were not sent back to be mended."""
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
        if any(self.table.shots[column] not in names for column in self.columns):
            self.guests -= names
            self.show(replace(self.view, hidden_shots=_with(self.view.hidden_shots, names)))

    def show_shot(self, column: int) -> None:
        """Bring back one shot, also one that is not mine."""
        self.show(self._admitting(column))

    def _admitting(self, column: int) -> View:
        shot = self.table.shots[column]
        if not self._mine()[column]:
            self.guests |= {shot}
        return replace(self.view, hidden_shots=_without(self.view.hidden_shots, {shot}))

    def show_only(self, mine: frozenset[str] | None) -> None:
        """List and count only these shots; None lists all."""
        self.mine, self.guests = mine, frozenset()
        self._handed_over = self._handed_findings = None
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

    # Figures

    @property
    def tallies(self) -> Mapping[int, Tally]:
        """The cases of every shot by what was decided on them, by column: cells, and what findings say beside cells."""
        if self._tallies is None:
            self._tallies = self.session.cases.tallies()
        return self._tallies

    def tally_in(self, column: int) -> Tally:
        """The cases of a shot; none where it is not mine."""
        return self.tallies[column] if self._mine()[column] else Tally()

    def tally(self) -> Tally:
        """The cases of my shots: the figures that everything here says."""
        mine = self._mine()
        return sum((tally for column, tally in self.tallies.items() if mine[column]), Tally())

    def handed_over(self) -> Mapping[Show, int]:
        """How many cells and findings of my shots are in each list of what somebody has to do something about."""
        if self._handed_over is None:
            mine, cases = self._mine(), self.session.cases.finding_cases(self._my_shots(), Grade.NONE)
            masks = {show: listed_cells(self.standing, show) for show in LISTS}
            masks[Show.WAITING] = self._waiting(self.standing)
            self._handed_over = {
                show: int((mask & mine).sum()) + len(self._listed_cases(show, cases))
                for show, mask in masks.items()
            }
        return self._handed_over

    def sign(self, who: str) -> None:
        """Count and list what waits for the look of somebody else."""
        if who != self.who:
            self.who, self._handed_over, self._handed_findings = who, None, None

    def _waiting(self, standing: Standing) -> NDArray[np.bool_]:
        """Which cells came back mended for my look, shape (rows, shots): those that were sent back under my name, or all where none
        was."""
        mask = listed_cells(standing, Show.WAITING)
        mine = np.zeros_like(mask)
        for row, column in np.argwhere(mask).tolist():
            mine[row, column] = self._sent_back_by_me(self.session.cases.judgement(row, column))
        return mine if mine.any() else mask

    def _sent_back_by_me(self, judged: Judgement) -> bool:
        return any(one.verb is Verb.RETURN and one.who == self.who for one in judged.decisions)

    def _listed_cases(self, show: Show, cases: Iterable[Case]) -> list[Case]:
        """The cases of findings in a list, by the same signature."""
        found = [case for case in cases if lists_case(case, show)]
        mine = [case for case in found if self._sent_back_by_me(case.judgement)]
        return mine if show is Show.WAITING and mine else found

    def handed_over_findings(self) -> Mapping[Show, list[Finding]]:
        """The findings that each of those lists has beside its cells, which stand among the findings."""
        if self._handed_findings is not None:
            return self._handed_findings
        mine = self._my_shots()
        found: dict[Show, list[Finding]] = {}
        for show in LISTS:
            named = {
                id(case)
                for case in self._listed_cases(show, self.session.cases.finding_cases(mine, Grade.NONE))
            }
            found[show] = [
                one for one in self.session.cases.findings if any(id(case) in named for case in one.cases)
            ]
        self._handed_findings = found
        return found

    def _my_shots(self) -> set[str]:
        return {shot for shot, mine in zip(self.table.shots, self._mine().tolist(), strict=True) if mine}

    def cells_left(self) -> int:
        """How many of the undecided cases of `tally` are cells; the others are findings."""
        return int(self.standing.tallies[Stand.LEFT, self._mine()].sum())

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
            "unsettled": tally.unsettled,
            "left": tally.undecided,
            "returned": tally.sent_back,
            "intended": tally.intended,
            "within": int(self.standing.tallies[Stand.WITHIN, mine].sum()),
            "hidden rows": self.listing.hidden_rows,
            "hidden shots": int(mine.sum() - np.count_nonzero(mine[self.columns])),
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
