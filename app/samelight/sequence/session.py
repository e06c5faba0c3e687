"""An opened sequence: sheets, master, policy, drift table and ledger held together."""

from __future__ import annotations

import getpass
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from samelight.decisions.decision import Decision, Verb
from samelight.decisions.history import History
from samelight.decisions.ledger import DecisionError, open_ledger
from samelight.decisions.state import Judgement
from samelight.drift.cells import Cell
from samelight.drift.computed.derived import key_sheet
from samelight.drift.policy import Policy
from samelight.drift.table import Table, TablePart
from samelight.drift.words import first_names
from samelight.findings.finding import Case, Evidence
from samelight.findings.of_setups import judgements_in
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
from samelight.sequence.keeping import first_comparison, is_large, keeping
from samelight.sequence.prefetch import Prefetch
from samelight.sequence.references import Comparison, Reference, compare, compare_again
from samelight.sequence.stored_ledger import load_decisions
from samelight.sequence.troubles import failure
from samelight.sheets.errors import SamelightError, nearest_name
from samelight.sheets.garbage import set_aside, take_back, without_collection
from samelight.sheets.patterns import matches
from samelight.sheets.sequence import SequenceFile
from samelight.sheets.sheet import Sheet

__all__ = ["CancelledError", "Progress", "Session", "Trouble", "account_name", "open_session"]


@dataclass(slots=True)
class Session(Cases):
    """A sequence in memory. Everything that views show comes from here; nothing here knows a view."""

    at_once: bool = True
    """Whether findings are drawn as soon as anything changes. Otherwise who holds the session sets them when it likes."""
    keep: Callable[[], None] | None = field(default=None, repr=False, compare=False)
    """What `keeping` gives away."""
    troubles: list[Trouble] = field(init=False)
    history: History = field(init=False)
    crew: Crew = field(init=False, repr=False)
    """Who lights which shot."""
    _read: list[Trouble] = field(init=False, default_factory=list, repr=False)
    """The troubles but for those of findings."""

    def __post_init__(self) -> None:
        self.history = History(self.ledger)
        self.take(self.contents, self.comparison)

    def take(self, contents: Contents, comparison: Comparison) -> None:
        """Make what was read and compared, here or in another thread, the session's own."""
        if not self.at_once and not _alike(self.comparison.table, comparison.table):
            self._drawn, self._looked = [], False  # their cells are those of another table
        self.contents, self.comparison = contents, comparison
        failures = [failure(one.what, one.error, "worked out") for one in comparison.failed]
        self._read = [*contents.troubles, *_idle(contents, comparison), *failures]
        self.troubles = self._read
        self.crew = Crew.of(contents.sequence.lighters, contents.shots)
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
        """The version of the master setup that shots are compared with."""
        return self.contents.master_version

    @property
    def sheets(self) -> dict[str, Sheet]:
        """The sheet of every shot that has a readable one."""
        return self.contents.sheets

    @property
    def versions(self) -> dict[str, dict[int, Path]]:
        """Every published sheet of every shot, oldest first."""
        return self.contents.versions

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

    @property
    def folder(self) -> Path:
        """The sequence folder."""
        return self.sequence.folder

    @property
    def master(self) -> Sheet | None:
        """The master setup that shots are compared with."""
        return self.contents.master

    @property
    def key_sheet(self) -> Sheet | None:
        """The sheet of the key shot, whose marks a light that moved may be compared with."""
        return key_sheet(self.sequence.key_shot, self.master, self.sheets)

    def setup_of(self, shot: str) -> Contents:
        """The set-up that a shot belongs to, with its masters, policy and key shot; the whole where it is one."""
        return self.contents.setup_of(shot)

    def table_of(self, setup: Contents) -> Table:
        """The part of the table that is of a set-up; all of it where there is one."""
        places = zip(self.table.parts, self.contents.setups, strict=False)
        return next((part.table for part, own in places if own is setup), self.table)

    def setup_called(self, name: str) -> Contents:
        """A set-up by its name, "" where the sequence states none. Raises `SamelightError`."""
        found = self.contents.setup_called(name)
        if found is None:
            names = list(dict.fromkeys(setup.name for setup in self.contents.parts if setup.name))
            near = nearest_name(name, names)
            hint = f"; did you mean {near}?" if near else f"; there are {', '.join(names)}" if names else ""
            raise SamelightError(f"the sequence states no set-up {name}{hint}")
        return found

    def version_held(self, shots: Iterable[str]) -> int | None:
        """The newest version of the masters that these shots are compared with."""
        versions = {self.setup_of(shot).master_version for shot in shots} or {self.master_version}
        return max((version for version in versions if version is not None), default=None)

    @property
    def has_master(self) -> bool:
        """Whether there is something that shots are compared with."""
        return any(setup.master is not None for setup in self.contents.parts)

    def unreadable(self) -> dict[str, Trouble]:
        """The shots whose sheet is missing or cannot be read, with what is wrong."""
        return {
            trouble.shot: trouble
            for trouble in self.troubles
            if trouble.shot and trouble.shot not in self.sheets
        }

    def decide(
        self,
        verb: Verb,
        cells: Sequence[Cell],
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
        `DecisionError` while shots are compared with another reference than the master, where all there is follows from
        others, and for an `until` before the master they are compared with: it would have lapsed as it was made.
        """
        if not self.decidable:
            raise DecisionError(
                f"decisions are about the master: compare with it, not with {self.reference.text}"
            )
        subjects = self.subjects(cells)
        subjects += self.subjects_of(cases)
        newest = self.version_held(one.shot for one in subjects)
        if until is not None and until < (newest or 0):
            raise DecisionError(
                f"a decision until master version {until} would hold on no cell: version {newest} is current"
            )
        following = next((cell for cell in cells if self.following().mask[cell]), None)
        if not subjects and following is not None:
            raise DecisionError(self.follows_text(*following))
        made = self.ledger.decide(verb, subjects, who, reason, until, act)
        self.history.did(made)
        return made

    def note(self, shot: str, text: str, who: str) -> Decision:
        """Write a note on a shot; undo takes it back as it does a decision. Raises as `Ledger.note`."""
        made = self.ledger.note(shot, text, who)
        self.history.did([made])
        return made

    def evidence(self) -> Evidence:
        """What findings are drawn from."""
        found = self.judged()
        judgements = found.judgements if found is not None else {}
        whole = _evidence(self.contents, self.table, self.sheets, judgements)
        places = zip(self.table.parts, self.contents.setups, strict=False)
        return replace(whole, parts=tuple((part, _of_setup(part, own, judgements)) for part, own in places))

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
        self._drawn, self._looked = drawn.findings, self.decidable and not drawn.failures
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
    shots: ShotFilter | None = None,
    prefetch: Prefetch | None = None,
) -> Session:
    """Open a sequence folder. `policy` is one in the place of the sequence's own, which may lie anywhere; all else is as in
    `open_store`, which this raises as."""
    return open_store(
        SheetStore(folder, policy),
        progress=progress,
        cancelled=cancelled,
        at_once=at_once,
        shots=shots,
        prefetch=prefetch,
    )


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


def _evidence(
    contents: Contents,
    table: Table,
    sheets: Mapping[str, Sheet],
    judgements: Mapping[Cell, Judgement],
) -> Evidence:
    return Evidence(
        table=table,
        sheets=sheets,
        master=contents.master,
        masters=contents.masters,
        policy=contents.policy,
        measured=contents.measured,
        judgements=judgements,
        frame_rate=contents.sequence.frame_rate,
        key_shot=contents.sequence.key_shot,
        lighters=contents.sequence.lighters,
        setup=contents.name,
    )


def _of_setup(part: TablePart, setup: Contents, judgements: Mapping[Cell, Judgement]) -> Evidence:
    """The evidence of one set-up: its own shots, and the key shot, which may be of another."""
    shown = {*setup.shots, setup.sequence.key_shot}
    sheets = {shot: sheet for shot, sheet in setup.sheets.items() if shot in shown}
    apart = np.flatnonzero(np.diff(part.columns) != 1).tolist()
    found = _evidence(setup, part.table, sheets, judgements_in(part, judgements))
    return replace(found, apart=frozenset(apart))


def _alike(one: Table, other: Table) -> bool:
    """Whether two tables have the same rows and shots."""
    return one.shots == other.shots and [r.parameter for r in one.rows] == [r.parameter for r in other.rows]


def _idle(contents: Contents, comparison: Comparison) -> list[Trouble]:
    """What the policies name in vain: that of the sequence in all shots, that of a set-up in its own."""
    found = _idle_patterns(contents.own_policy, comparison.table)
    above = contents.own_policy
    for part, compared in zip(contents.setups, comparison.parts, strict=False):
        if part.shots and not part.follows:
            tolerances = tuple(one for one in part.own_policy.tolerances if one not in above.tolerances)
            locks = tuple(one for one in part.own_policy.locks if one not in above.locks)
            defaults = tuple(one for one in part.own_policy.defaults if one not in above.defaults)
            found += _idle_patterns(Policy(tolerances, locks, defaults=defaults), compared.table)
    return found


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
