"""The cases of a sequence: the cells and findings that one decides on, and how each stands."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from samelight.decisions.decision import Verb
from samelight.decisions.judged import Judged, judge_all, nothing_judged
from samelight.decisions.ledger import Ledger, Subject
from samelight.decisions.state import UNDECIDED, Judgement, State, may
from samelight.decisions.tally import Tallies, Tally
from samelight.drift.cells import Cell, Grade
from samelight.drift.follows import Following, following
from samelight.drift.table import Table
from samelight.findings.finding import Case, Finding
from samelight.findings.settled import settled
from samelight.sequence.contents import Contents
from samelight.sequence.references import MASTER, Comparison


@dataclass(slots=True)
class Cases:
    """A sequence as it was read and compared, with what was decided on it. What follows from these is worked out once."""

    contents: Contents
    comparison: Comparison
    ledger: Ledger
    _drawn: list[Finding] = field(init=False, default_factory=list, repr=False)
    _looked: bool = field(init=False, default=False, repr=False)
    """Whether all findings were drawn of what is compared now."""
    _settled: tuple[list[Finding], Judged | None, list[Finding]] | None = field(
        init=False, default=None, repr=False, compare=False
    )
    """Findings as they were drawn, what was decided, and the findings with what was decided on them."""
    _following: Following | None = field(init=False, default=None, repr=False, compare=False)
    _judged: Judged | None = field(init=False, default=None, repr=False, compare=False)

    @property
    def table(self) -> Table:
        """The drift table against what shots are compared with now."""
        return self.comparison.table

    @property
    def decidable(self) -> bool:
        """Whether decisions can be made on what is compared now."""
        return self.comparison.reference == MASTER

    def take_findings(self, drawn: list[Finding], *, looked: bool = False) -> None:
        """Make findings that were drawn those of the cases; `looked` says whether all were drawn of what is compared now."""
        self._drawn, self._looked = drawn, looked

    @property
    def findings(self) -> list[Finding]:
        """Why cells differ, ranked, each with its level and with what was decided on it; the intended ones come last."""
        if not self.decidable:
            return self._drawn
        judged, known = self.judged(), self._settled
        if known is None or known[0] is not self._drawn or known[1] is not judged:
            found = settled(self._drawn, judged, looked=self._looked)
            if known is not None and list(map(id, found)) == list(map(id, known[2])):
                found = known[2]
            known = self._settled = self._drawn, judged, found
        return known[2]

    def following(self) -> Following:
        """What follows from what in the table: which cells are cases, and which are decided on with others."""
        known = self._following
        if known is None or known.table is not self.table:
            known = self._following = following(self.table, known)
        return known

    def judged(self) -> Judged:
        """What was decided on the table's cells, worked out once; nothing while another reference is shown."""
        if not self.decidable:
            return nothing_judged(self.table, self.ledger, self.following())
        known, contents = self._judged, self.contents
        versions, sheets = contents.versions_held, contents.sheet_versions
        if known is None or not known.is_of(self.table, self.ledger, versions, sheets):
            known = self._judged = judge_all(
                self.table, self.ledger, versions, known, self.following(), sheets
            )
        return known

    def judgement(self, row: int, column: int) -> Judgement:
        """The state of a cell and the decisions on it; undecided while shots are compared with another reference.

        A cell that follows from others has their state, and no decisions of its own.
        """
        return self.judged().judgements.get((row, column), UNDECIDED) if self.decidable else UNDECIDED

    def state(self, row: int, column: int) -> State:
        """The state of a cell."""
        return self.judgement(row, column).state

    def may(self, verb: Verb, row: int, column: int) -> bool:
        """Whether a cell goes on by this verb from where it stands."""
        inside = self.table.grade.item(row, column) < Grade.DRIFT
        return may(verb, self.judgement(row, column), inside=inside)

    def case_mask(self, at_least: Grade = Grade.DRIFT) -> NDArray[np.bool_]:
        """Which cells are cases at or above a grade, shape (rows, shots): those that one decides on.

        A cell that follows from others is none; where it breaks a lock, its causes count as if they did.
        """
        follows = self.following()
        mask: NDArray[np.bool_] = follows.case & (follows.weight >= at_least)
        return mask

    def unsettled_mask(self, at_least: Grade = Grade.DRIFT) -> NDArray[np.bool_]:
        """Which cells are cases at or above a grade and not intended, shape (rows, shots)."""
        mask = self.case_mask(at_least)
        mask[self.judged().intended] = False
        return mask

    def unsettled_cells(self, at_least: Grade = Grade.DRIFT) -> list[Cell]:
        """Row and column of every case of `unsettled_mask`, in cut order within a row. Cases of findings are in `unsettled_cases`."""
        rows, columns = np.nonzero(self.unsettled_mask(at_least))
        return list(zip(rows.tolist(), columns.tolist(), strict=True))

    def unsettled_rows(self, column: int) -> list[int]:
        """The rows of one shot that hold cases which drift and are not intended."""
        states, follows = self.judged().states, self.following()
        found: list[int] = np.flatnonzero(
            follows.case[:, column] & (self.table.grade[:, column] >= Grade.DRIFT)
        ).tolist()
        return [row for row in found if states.get((row, column)) is not State.INTENDED]

    def finding_cases(
        self, shots: Collection[str] | None = None, at_least: Grade = Grade.WITHIN
    ) -> list[Case]:
        """The cases of findings at or above a grade, in these shots (None: in all): what one decides on beside cells."""
        return [
            case
            for finding in self.findings
            for case in finding.cases
            if case.level >= at_least and (shots is None or case.shot in shots)
        ]

    def unsettled_cases(
        self, shots: Collection[str] | None = None, at_least: Grade = Grade.DRIFT
    ) -> list[Case]:
        """The cases of `finding_cases` that are not intended."""
        found = self.finding_cases(shots, at_least)
        return [case for case in found if case.state is not State.INTENDED]

    def tally(self, shots: Collection[str] | None = None, at_least: Grade = Grade.DRIFT) -> Tally:
        """How many cases at or above a grade are undecided, sent back and intended, in these shots (None: in all).

        Cases are cells and findings that one decides on; this is the count that every view and report gives. The gate
        passes when none of them is undecided or sent back.
        """
        every = self.tallies(at_least)
        if shots is None:
            return every.total()
        return every.total(np.array([shot in shots for shot in self.table.shots], dtype=np.bool_))

    def tallies(self, at_least: Grade = Grade.DRIFT) -> Tallies:
        """The `tally` of each shot."""
        judged, follows, shots = self.judged(), self.following(), len(self.table.shots)
        drifts = at_least is Grade.DRIFT
        every = follows.drifting if drifts else np.count_nonzero(self.case_mask(at_least), axis=0)

        def of(places: tuple[NDArray[np.intp], NDArray[np.intp]]) -> NDArray[np.intp]:
            are_cases = follows.case[places] & (follows.weight[places] >= at_least)
            return np.bincount(places[1][are_cases], minlength=shots)

        returned, intended = of(judged.returned), of(judged.intended)
        found = Tallies(every - returned - intended, returned, intended)
        for case in self.finding_cases(at_least=at_least):
            column = self.table.column(case.shot)
            if column is not None:
                found.add(column, case.state)
        return found

    def subjects(self, cells: Iterable[Cell]) -> list[Subject]:
        """The cells as what decisions are made on; those that follow from others are left out."""
        follows, version = self.following().mask, self.contents.sheet_versions.get
        found = []
        for row, column in cells:
            entry = self.table.entry(row, column)
            if entry is not None and not follows[row, column]:
                parameter, shot = self.table.rows[row].parameter, self.table.shots[column]
                found.append(Subject(shot, parameter, *self.table.bound(row, column), version(shot)))
        return found

    def subjects_of(self, cases: Iterable[Case]) -> list[Subject]:
        """The cases of findings as what decisions are made on."""
        version = self.contents.sheet_versions.get
        return [
            Subject(case.shot, case.parameter, case.value, case.master, version(case.shot)) for case in cases
        ]
