"""An opened sequence: sheets, master, policy, drift table and ledger held together."""

from __future__ import annotations

import getpass
from collections.abc import Callable, Sequence
from copy import copy
from dataclasses import dataclass, field
from pathlib import Path

from samelight.decisions.decision import NOT_GRABBED, Decision, Grabbed, Verb
from samelight.decisions.history import History
from samelight.decisions.ledger import DecisionError, Ledger, open_ledger
from samelight.drift.cells import Cell
from samelight.drift.table import Table
from samelight.drift.words import first_names
from samelight.findings.finding import Case
from samelight.findings.registry import Drawn, find_all
from samelight.sequence.cases import Cases
from samelight.sequence.contents import (
    CancelledError,
    Contents,
    Progress,
    SheetStore,
    ShotFilter,
    Trouble,
    read_contents,
)
from samelight.sequence.crew import Crew
from samelight.sequence.evidence import evidence_of
from samelight.sequence.keeping import first_comparison, is_large, keeping
from samelight.sequence.named_in_vain import named_in_vain
from samelight.sequence.prefetch import Prefetch
from samelight.sequence.references import Comparison, Reference, compare, compare_again
from samelight.sequence.stored_ledger import load_decisions
from samelight.sequence.troubles import failure
from samelight.sheets.garbage import set_aside, take_back, without_collection

__all__ = ["CancelledError", "Progress", "Session", "Trouble", "account_name", "open_session"]


@dataclass(slots=True)
class Session:
    """A sequence in memory. Everything that views show comes from here; nothing here knows a view.

    `contents` are what was read, `comparison` how it compares, `cases` what there is to decide on and how it stands.
    """

    contents: Contents
    comparison: Comparison
    ledger: Ledger
    at_once: bool = True
    """Whether findings are drawn as soon as anything changes. Otherwise who holds the session sets them when it likes."""
    keep: Callable[[], None] | None = field(default=None, repr=False, compare=False)
    """What `keeping` gives away."""
    table: Table = field(init=False, repr=False)
    """The drift table against what shots are compared with now."""
    cases: Cases = field(init=False, repr=False)
    troubles: list[Trouble] = field(init=False)
    history: History = field(init=False)
    crew: Crew = field(init=False, repr=False)
    """Who lights which shot."""
    _read: list[Trouble] = field(init=False, default_factory=list, repr=False)
    """The troubles but for those of findings."""

    def __post_init__(self) -> None:
        self.history = History(self.ledger)
        self.cases = Cases(self.contents, self.comparison, self.ledger)
        self.take(self.contents, self.comparison)

    def take(self, contents: Contents, comparison: Comparison) -> None:
        """Make what was read and compared, here or in another thread, the session's own."""
        if not self.at_once and not _alike(self.comparison.table, comparison.table):
            self.cases.take_findings([])  # their cells are those of another table
        self.contents, self.comparison, self.table = contents, comparison, comparison.table
        self.cases.contents, self.cases.comparison = contents, comparison
        failures = [failure(one.what, one.error, "worked out") for one in comparison.failed]
        self._read = [*contents.troubles, *named_in_vain(contents, comparison), *failures]
        self.troubles = self._read
        self.crew = Crew.of(contents.sequence.lighters, contents.shots)
        self._changed()

    def _changed(self) -> None:
        if self.at_once:
            self.refresh_findings()

    def hold_against(self, reference: Reference) -> None:
        """Compare with another reference. Decisions and findings are about the master, and rest meanwhile.

        Raises `NoReferenceError` when the reference is not there; the session is then as it was.
        """
        self.take(self.contents, compare(self.contents, reference))

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
        """What was decided and could not be written after all, in words. It is undecided again, and no longer to be undone."""
        said = []
        for decisions, why in self.ledger.take_failures():
            self.history.forget(decisions)
            shots = list(dict.fromkeys(decision.shot for decision in decisions))
            said.append(
                f"What was decided in {first_names(shots, 4)} is not on disk and does not stand: {why}"
            )
        return said

    def table_of(self, setup: Contents) -> Table:
        """The part of the table that is of a set-up; all of it where there is one."""
        places = zip(self.table.parts, self.contents.setups, strict=False)
        return next((part.table for part, own in places if own is setup), self.table)

    def unreadable(self) -> dict[str, Trouble]:
        """The shots whose sheet is missing or cannot be read, with what is wrong."""
        return {
            trouble.shot: trouble
            for trouble in self.troubles
            if trouble.shot and trouble.shot not in self.contents.sheets
        }

    def decide(  # noqa: PLR0913 - all that a decision says
        self,
        verb: Verb,
        cells: Sequence[Cell],
        who: str,
        reason: str = "",
        until: int | None = None,
        cases: Sequence[Case] = (),
        *,
        act: str = "",
        seen: Grabbed = NOT_GRABBED,
    ) -> list[Decision]:
        """Decide on cells and on cases of findings in one go; undo takes all of it back. `until` is the last master
        version it holds on.

        `act` and `seen` are as in `Ledger.decide`. Cells that follow from others are left out: they go with their causes. Raises as
        `Ledger.decide`, and
        `DecisionError` while shots are compared with another reference than the master, where all there is follows from
        others, and for an `until` before the master they are compared with: it would have lapsed as it was made.
        """
        if not self.cases.decidable:
            raise DecisionError(
                f"decisions are about the master: compare with it, not with {self.comparison.reference.text}"
            )
        subjects = [*self.cases.subjects(cells), *self.cases.subjects_of(cases)]
        newest = self.contents.version_held(one.shot for one in subjects)
        if until is not None and until < (newest or 0):
            raise DecisionError(
                f"a decision until master version {until} would hold on no cell: version {newest} is current"
            )
        following = self.cases.following()
        follower = next((cell for cell in cells if following.mask[cell]), None)
        if not subjects and follower is not None:
            raise DecisionError(following.text(*follower))
        made = self.ledger.decide(verb, subjects, who, reason, until, act, seen)
        self.history.did(made)
        return made

    def note(self, shot: str, text: str, who: str, seen: Grabbed = NOT_GRABBED) -> Decision:
        """Write a note on a shot; undo takes it back as it does a decision. Raises as `Ledger.note`."""
        made = self.ledger.note(shot, text, who, seen)
        self.history.did([made])
        return made

    def as_it_stands(self) -> Session:
        """The session for another thread: what this one takes in meanwhile changes nothing of it."""
        self.cases.judged()  # worked out here, where the ledger is not taken in meanwhile
        found = copy(self)
        found.cases = copy(self.cases)
        return found

    def keeping(self) -> Callable[[], None] | None:
        """What keeps, for another day, what was opened, whatever the session holds by then and in any thread; it is given
        away once. None where nothing is worth keeping."""
        keep, self.keep = self.keep, None
        return keep

    def refresh_findings(self) -> None:
        """Draw the findings anew, after sheets or decisions changed."""
        self.take_findings(find_all(evidence_of(self.cases)) if self.cases.decidable else Drawn([]))

    def take_findings(self, drawn: Drawn) -> None:
        """Make findings that were drawn, here or in another thread, the session's own, with what failed in drawing them."""
        self.cases.take_findings(drawn.findings, looked=self.cases.decidable and not drawn.failures)
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


def open_session(
    folder: Path,
    *,
    progress: Progress | None = None,
    cancelled: Callable[[], bool] | None = None,
    at_once: bool = True,
    policy: Path | None = None,
) -> Session:
    """Open a sequence folder. `policy` is one in the place of the sequence's own, which may lie anywhere; all else is as in
    `open_store`, which this raises as."""
    return open_store(SheetStore(folder, policy), progress=progress, cancelled=cancelled, at_once=at_once)


@without_collection()
def open_store(
    store: SheetStore,
    *,
    progress: Progress | None = None,
    cancelled: Callable[[], bool] | None = None,
    at_once: bool = True,
    shots: ShotFilter | None = None,
    prefetch: Prefetch | None = None,
) -> Session:
    """Open the sequence folder of a store.

    A sheet that cannot be read makes its shot a trouble and stops nothing else. Without `at_once` the table comes
    first: findings are left to be drawn, and what was read to be kept. `shots` and `prefetch` are as in `read_contents`.
    Raises `SheetError` when sequence.yaml or a policy is at fault, and `CancelledError`.
    """
    take_back()
    contents = read_contents(store, progress=progress, cancelled=cancelled, shots=shots, prefetch=prefetch)
    kept = load_decisions(contents.disk)
    ledger, opened = open_ledger(store.folder, kept.entries, kept.sound), first_comparison(contents)
    keep = keeping(opened, ledger, kept)
    session = Session(contents, opened.comparison, ledger, at_once, None if at_once else keep)
    if is_large(contents):
        set_aside()
    if at_once and keep is not None:
        keep()
    return session


def _alike(one: Table, other: Table) -> bool:
    """Whether two tables have the same rows and shots."""
    return one.shots == other.shots and [r.parameter for r in one.rows] == [r.parameter for r in other.rows]


def account_name() -> str:
    """The name of the user's account, for decisions."""
    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError):
        return "unknown"
