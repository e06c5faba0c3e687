"""An opened sequence: sheets, master, policy, drift table and ledger held together."""

from __future__ import annotations

import gc
import getpass
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from samelight.decisions.decision import Decision, Verb
from samelight.decisions.history import History
from samelight.decisions.judged import Judged, judge_all
from samelight.decisions.ledger import DecisionError, Ledger, Subject, open_ledger
from samelight.decisions.state import OPEN, Judgement, State
from samelight.decisions.tally import Tally
from samelight.drift.cells import Grade
from samelight.drift.computed.derived import key_sheet
from samelight.drift.follows import Following, following
from samelight.drift.policy import Policy
from samelight.drift.table import Table
from samelight.drift.words import first_names
from samelight.findings.finding import Case, Evidence, Finding
from samelight.findings.registry import Drawn, find_all
from samelight.findings.settled import settled
from samelight.sequence.contents import (
    CancelledError,
    Contents,
    Progress,
    SheetStore,
    ShotFilter,
    Trouble,
    read_contents,
)
from samelight.sequence.keeping import first_comparison, is_large, keeping
from samelight.sequence.prefetch import Prefetch
from samelight.sequence.references import MASTER, Comparison, Reference, compare, compare_again
from samelight.sequence.stored_ledger import load_decisions
from samelight.sequence.troubles import failure
from samelight.sheets.errors import nearest_name
from samelight.sheets.patterns import matches
from samelight.sheets.sequence import SequenceFile
from samelight.sheets.sheet import Sheet, without_collection

__all__ = ["CancelledError", "Progress", "Session", "Trouble", "account_name", "open_session"]


@dataclass(slots=True)
class Session:
    """A sequence in memory. Everything that views show comes from here; nothing here knows a view."""

    contents: Contents
    comparison: Comparison
    ledger: Ledger
    at_once: bool = True
    """Whether findings are drawn as soon as anything changes. Otherwise who holds the session sets them when it likes."""
    keep: Callable[[], None] | None = field(default=None, repr=False, compare=False)
    """What `keeping` gives away."""
    troubles: list[Trouble] = field(init=False)
    history: History = field(init=False)
    _read: list[Trouble] = field(init=False, default_factory=list, repr=False)
    """The troubles but for those of findings."""
    _drawn: list[Finding] = field(init=False, default_factory=list, repr=False)
    _settled: tuple[list[Finding], Judged | None, list[Finding]] | None = field(
        init=False, default=None, repr=False, compare=False
    )
    """Findings as they were drawn, what was decided, and the findings with what was decided on them."""
    _following: Following | None = field(init=False, default=None, repr=False, compare=False)
    _judged: Judged | None = field(init=False, default=None, repr=False, compare=False)

    def __post_init__(self) -> None:
        self.history = History(self.ledger)
        self.take(self.contents, self.comparison)

    def take(self, contents: Contents, comparison: Comparison) -> None:
        """Make what was read and compared, here or in another thread, the session's own."""
        if not self.at_once and not _alike(self.comparison.table, comparison.table):
            self._drawn = []  # their cells are those of another table
        self.contents, self.comparison = contents, comparison
        failures = [failure(one.what, one.error, "worked out") for one in comparison.failed]
        self._read = [*contents.troubles, *_idle_patterns(contents.own_policy, comparison.table), *failures]
        self.troubles = self._read
        self._changed()

    def _changed(self) -> None:
        if self.at_once:
            self.refresh_findings()

    @property
    def sequence(self) -> SequenceFile:
        """What sequence.yaml states."""
        return self.contents.sequence

    @property
    def policy(self) -> Policy:
        """The program's policy with the sequence's own on top."""
        return self.contents.policy

    @property
    def shots(self) -> tuple[str, ...]:
        """The shots in cut order."""
        return self.contents.shots

    @property
    def masters(self) -> dict[int, Sheet]:
        """Every readable master setup, by version."""
        return self.contents.masters

    @property
    def master_version(self) -> int | None:
        """The version of the master setup that shots are held against."""
        return self.contents.master_version

    @property
    def sheets(self) -> dict[str, Sheet]:
        """The sheet of every shot that has a readable one."""
        return self.contents.sheets

    @property
    def versions(self) -> dict[str, dict[int, Path]]:
        """Every published sheet of every shot, oldest first."""
        return self.contents.versions

    @property
    def table(self) -> Table:
        """The drift table against what shots are held against now."""
        return self.comparison.table

    def hold_against(self, reference: Reference) -> None:
        """Compare with another reference. Decisions and findings are about the master, and rest meanwhile.

        Raises `NoReferenceError` when the reference is not there; the session is then as it was.
        """
        self.take(self.contents, compare(self.contents, reference))

    @property
    def reference(self) -> Reference:
        """What shots are held against now."""
        return self.comparison.reference

    @property
    def decidable(self) -> bool:
        """Whether decisions can be made on what is compared now."""
        return self.reference == MASTER

    def reload(
        self, *, progress: Progress | None = None, cancelled: Callable[[], bool] | None = None
    ) -> bool:
        """Read what changed on disk; whether anything did. Undo and redo stay as they are.

        Raises as `open_session`; the session is then as it was.
        """
        contents = read_contents(self.contents.store, progress=progress, cancelled=cancelled)
        decided = self.refresh_ledger()
        if contents != self.contents:
            self.take(contents, compare_again(self.comparison, self.contents, contents))
            return True
        if decided:
            self._changed()
        return decided

    def refresh_ledger(self) -> bool:
        """Take in what was written to the ledger; whether its decisions or what is at fault in it are others now."""
        self.ledger.look()
        return self.take_in_decisions()

    def take_in_decisions(self) -> bool:
        """As `refresh_ledger`, of what was found by looking in another thread."""
        before = self.ledger.troubles()
        return self.ledger.take_in() or self.ledger.troubles() != before

    def unwritten(self) -> list[str]:
        """What was decided and could not be written after all, in words. It is open again, and no longer to be undone."""
        said = []
        for decisions, why in self.ledger.take_failures():
            self.history.forget(decisions)
            shots = list(dict.fromkeys(decision.shot for decision in decisions))
            said.append(
                f"What was decided in {first_names(shots, 4)} is not on disk and does not stand: {why}"
            )
        return said

    @property
    def folder(self) -> Path:
        """The sequence folder."""
        return self.sequence.folder

    @property
    def master(self) -> Sheet | None:
        """The master setup that shots are held against."""
        return self.contents.master

    @property
    def key_sheet(self) -> Sheet | None:
        """The sheet of the key shot, whose marks a light that moved may be held against."""
        return key_sheet(self.sequence.key_shot, self.master, self.sheets)

    def unreadable(self) -> dict[str, Trouble]:
        """The shots whose sheet is missing or cannot be read, with what is wrong."""
        return {
            trouble.shot: trouble
            for trouble in self.troubles
            if trouble.shot and trouble.shot not in self.sheets
        }

    @property
    def findings(self) -> list[Finding]:
        """Why cells differ, ranked, each with its level and with what was decided on it; the intended ones come last."""
        judged = self.judged()
        if judged is None:
            return self._drawn
        known = self._settled
        if known is None or known[0] is not self._drawn or known[1] is not judged:
            found = settled(
                self._drawn, self.table, judged.judgements, self.ledger.by_cell(), self.master_version
            )
            if known is not None and list(map(id, found)) == list(map(id, known[2])):
                found = known[2]
            known = self._settled = self._drawn, judged, found
        return known[2]

    @findings.setter
    def findings(self, drawn: list[Finding]) -> None:
        self._drawn = drawn

    def following(self) -> Following:
        """What follows from what in the table: which cells are cases, and which are decided on with others."""
        known = self._following
        if known is None or known.table is not self.table:
            known = self._following = following(self.table)
        return known

    def judged(self) -> Judged | None:
        """What was decided on the table's cells, worked out once; None while another reference is shown."""
        if not self.decidable:
            return None
        known = self._judged
        if known is None or not known.is_of(self.table, self.ledger, self.master_version):
            known = self._judged = judge_all(
                self.table, self.ledger, self.master_version, known, self.following()
            )
        return known

    def judgement(self, row: int, column: int) -> Judgement:
        """The state of a cell and the decisions on it; open while shots are held against another reference.

        A cell that follows from others has their state, and no decisions of its own.
        """
        found = self.judged()
        return found.judgements.get((row, column), OPEN) if found is not None else OPEN

    def state(self, row: int, column: int) -> State:
        """The state of a cell."""
        return self.judgement(row, column).state

    def decided_cells(self) -> Mapping[tuple[int, int], State]:
        """The state of every cell that was decided on and that the table still has, itself or with what it follows from."""
        found = self.judged()
        return found.states if found is not None else {}

    def needs_a_look(self, row: int, column: int) -> bool:
        """Whether a cell is a case that drifts and that nobody has said is meant."""
        is_case = self.following().case[row, column] and self.table.grade[row, column] >= Grade.DRIFT
        return bool(is_case) and self.state(row, column) is not State.INTENDED

    def case_mask(self, at_least: Grade = Grade.DRIFT) -> NDArray[np.bool_]:
        """Which cells are cases at or above a grade, shape (rows, shots): those that one decides on.

        A cell that follows from others is none; where it breaks a lock, its causes count as if they did.
        """
        follows = self.following()
        mask: NDArray[np.bool_] = follows.case & (follows.weight >= at_least)
        return mask

    def follows(self, row: int, column: int) -> tuple[str, ...]:
        """The parameters that a computed cell follows from in its shot, and is decided on with; none for a case."""
        return tuple(self.table.rows[cause].parameter for cause in self.following().causes(row, column))

    def open_mask(self, at_least: Grade = Grade.DRIFT) -> NDArray[np.bool_]:
        """Which cells are cases at or above a grade and not intended, shape (rows, shots)."""
        mask = self.case_mask(at_least)
        found = self.judged()
        if found is not None:
            mask[found.intended] = False
        return mask

    def open_cells(self, at_least: Grade = Grade.DRIFT) -> list[tuple[int, int]]:
        """Row and column of every case of `open_mask`, in cut order within a row. Cases of findings are in `open_cases`."""
        rows, columns = np.nonzero(self.open_mask(at_least))
        return list(zip(rows.tolist(), columns.tolist(), strict=True))

    def open_rows(self, column: int) -> list[int]:
        """The rows of one shot that hold cases which drift and are not intended."""
        states, follows = self.decided_cells(), self.following()
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

    def open_cases(self, shots: Collection[str] | None = None, at_least: Grade = Grade.DRIFT) -> list[Case]:
        """The cases of `finding_cases` that are not intended."""
        found = self.finding_cases(shots, at_least)
        return [case for case in found if case.state is not State.INTENDED]

    def tally(self, shots: Collection[str] | None = None, at_least: Grade = Grade.DRIFT) -> Tally:
        """How many cases at or above a grade are undecided, sent back and intended, in these shots (None: in all).

        Cases are cells and findings that one decides on; this is the count that every view and report gives. The gate is
        open when none of them is undecided or sent back.
        """
        columns = [column for column, shot in enumerate(self.table.shots) if shots is None or shot in shots]
        return sum(self.tallies(columns, at_least).values(), Tally())

    def tallies(
        self, columns: Sequence[int] | None = None, at_least: Grade = Grade.DRIFT
    ) -> dict[int, Tally]:
        """The `tally` of each of these columns of the table (None: of all)."""
        mask = self.case_mask(at_least)
        wanted = range(len(self.table.shots)) if columns is None else columns
        judged = self.judged()

        def of(places: tuple[NDArray[np.intp], NDArray[np.intp]]) -> NDArray[np.intp]:
            return np.bincount(places[1][mask[places]], minlength=mask.shape[1])

        none = np.zeros(mask.shape[1], dtype=np.intp)
        returned, intended = (none, none) if judged is None else (of(judged.returned), of(judged.intended))
        undecided = mask.sum(axis=0) - returned - intended
        found = {
            column: Tally(int(undecided[column]), int(returned[column]), int(intended[column]))
            for column in wanted
        }
        for case in self.finding_cases(at_least=at_least):
            of_case = self.table.column(case.shot)
            if of_case in found:
                found[of_case] += Tally.of([case.state])
        return found

    def decided_rows(self, column: int) -> Sequence[int]:
        """The rows of one shot that a decision was made on."""
        found = self.judged()
        return found.rows.get(column, ()) if found is not None else ()

    def subjects(self, cells: Iterable[tuple[int, int]]) -> list[Subject]:
        """The cells as what decisions are made on; those that follow from others are left out."""
        follows = self.following().mask
        found = []
        for row, column in cells:
            entry = self.table.entry(row, column)
            if entry is not None and not follows[row, column]:
                parameter, shot = self.table.rows[row].parameter, self.table.shots[column]
                found.append(Subject(shot, parameter, *self.table.bound(row, column)))
        return found

    def decide(
        self,
        verb: Verb,
        cells: Sequence[tuple[int, int]],
        who: str,
        reason: str = "",
        until: int | None = None,
        cases: Sequence[Case] = (),
        *,
        act: str = "",
    ) -> list[Decision]:
        """Decide on cells and on cases of findings in one go; undo takes all of it back. `until` is the last master
        version it holds on.

        `act` is as in `Ledger.decide`. Cells that follow from others are left out: they go with their causes. Raises as
        `Ledger.decide`, and
        `DecisionError` while shots are held against another reference than the master, where all there is follows from
        others, and for an `until` before the master they are held against: it would have lapsed as it was made.
        """
        if not self.decidable:
            raise DecisionError(
                f"decisions are about the master: compare with it, not with {self.reference.text}"
            )
        if until is not None and until < (self.master_version or 0):
            raise DecisionError(
                f"a decision until master version {until} would hold on no cell: version {self.master_version} is current"
            )
        subjects = self.subjects(cells)
        subjects += [Subject(case.shot, case.parameter, case.value, case.master) for case in cases]
        following = next((cell for cell in cells if self.following().mask[cell]), None)
        if not subjects and following is not None:
            raise DecisionError(self.follows_text(*following))
        made = self.ledger.decide(verb, subjects, who, reason, until, act)
        self.history.did(made)
        return made

    def follows_text(self, row: int, column: int) -> str:
        """Why a cell is not decided on, and where it is."""
        causes = first_names(
            [self.table.rows[cause].parameter for cause in self.following().deciding(row, column)], 4
        )
        shot = self.table.shots[column]
        return f"{self.table.rows[row].parameter} follows from {causes} in {shot}: decide there"

    def note(self, shot: str, text: str, who: str) -> Decision:
        """Write a note on a shot; undo takes it back as it does a decision. Raises as `Ledger.note`."""
        made = self.ledger.note(shot, text, who)
        self.history.did([made])
        return made

    def evidence(self) -> Evidence:
        """What findings are drawn from."""
        found = self.judged()
        return Evidence(
            table=self.table,
            sheets=self.sheets,
            master=self.master,
            masters=self.masters,
            policy=self.policy,
            judgements=found.judgements if found is not None else {},
            frame_rate=self.sequence.frame_rate,
            key_shot=self.sequence.key_shot,
        )

    def keeping(self) -> Callable[[], None] | None:
        """What keeps, for another day, what was opened, whatever the session holds by then and in any thread; it is given
        away once. None where nothing is worth keeping."""
        keep, self.keep = self.keep, None
        return keep

    def refresh_findings(self) -> None:
        """Draw the findings anew, after sheets or decisions changed."""
        self.take_findings(find_all(self.evidence()) if self.decidable else Drawn([]))

    def take_findings(self, drawn: Drawn) -> None:
        """Make findings that were drawn, here or in another thread, the session's own, with what failed in drawing them."""
        self._drawn = drawn.findings
        failures = [failure(f"The finding {one.finding!r}", one.error) for one in drawn.failures]
        self.troubles = [*self._read, *failures]

    @property
    def whole(self) -> bool:
        """Whether every decision is known and nothing failed in looking at what was read; where not, what is said leaves
        something out."""
        return not self.ledger.faults and not any(trouble.failed for trouble in self.troubles)

    @property
    def locked(self) -> bool:
        """Whether each lock of the sequence's own policy holds something."""
        return not any(trouble.unheld for trouble in self.troubles)


@without_collection()
def open_session(
    folder: Path,
    *,
    progress: Progress | None = None,
    cancelled: Callable[[], bool] | None = None,
    at_once: bool = True,
    policy: Path | None = None,
    shots: ShotFilter | None = None,
    prefetch: Prefetch | None = None,
) -> Session:
    """Open a sequence folder.

    A sheet that cannot be read makes its shot a trouble and stops nothing else. Without `at_once` the table comes
    first: findings are left to be drawn, and what was read to be kept. `policy` is one in the place of the sequence's own,
    which may lie anywhere; `shots` and `prefetch` are as in `read_contents`. Raises `SheetError` when sequence.yaml or a
    policy is at fault, and `CancelledError`.
    """
    if gc.get_freeze_count():  # another film, which may be let go by now
        gc.unfreeze()
        gc.collect()
    contents = read_contents(
        SheetStore(folder, policy), progress=progress, cancelled=cancelled, shots=shots, prefetch=prefetch
    )
    kept = load_decisions(contents.disk)
    ledger, opened = open_ledger(folder, kept), first_comparison(contents)
    keep = keeping(opened, ledger.known(), kept)
    session = Session(contents, opened.comparison, ledger, at_once, None if at_once else keep)
    if is_large(contents):
        gc.freeze()  # a film's millions of values are in no cycles, and looking for some holds up the window
    if at_once and keep is not None:
        keep()
    return session


def _alike(one: Table, other: Table) -> bool:
    """Whether two tables have the same rows and shots."""
    return one.shots == other.shots and [r.parameter for r in one.rows] == [r.parameter for r in other.rows]


def _idle_patterns(policy: Policy, table: Table) -> list[Trouble]:
    """The patterns of a sequence's own policy that meet no parameter: a name was misspelt. A lock then holds nothing."""
    names = [row.parameter for row in table.rows]

    def idle(patterns: Iterable[str]) -> str:
        found = []
        for pattern in dict.fromkeys(patterns):
            met = any(matches(pattern, row.parameter, row.light_type) for row in table.rows)
            if "." in pattern and names and not met:
                near = nearest_name(pattern, names)
                found.append(pattern + (f" (did you mean {near}?)" if near else ""))
        return ", ".join(found)

    others = idle([*(one.pattern for one in policy.tolerances), *(pattern for pattern, _ in policy.defaults)])
    locks = idle(lock.pattern for lock in policy.locks)
    found = [Trouble(f"The policy names what no parameter is called: {others}.")] if others else []
    if locks:
        says = f"The policy locks what no parameter is called, so that the lock holds nothing: {locks}."
        found.append(Trouble(says, unheld=True))
    return found


def account_name() -> str:
    """The name of the user's account, for decisions."""
    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError):
        return "unknown"
