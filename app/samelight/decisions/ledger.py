"""The ledger: a folder of decision files, only ever added to.

Each decision is one file, written whole and then renamed into place, so that a network share or git merges
ledgers without locks and a reader never sees half a decision. Each names the latest entries that its maker had seen, so
that one that is missing or altered is told; those that were made in one go stand together or not at all.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Mapping, Sequence
from concurrent.futures import Executor, Future
from concurrent.futures import TimeoutError as NotYetError
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from operator import attrgetter
from pathlib import Path

from samelight.decisions.acts import Act, DecisionError, check_act, compose, id_in_act
from samelight.decisions.chain import Chain, breaks, lacking, unfinished
from samelight.decisions.decision import VERDICTS, Decision, Verb, new_id
from samelight.decisions.entries import LedgerEntry, receipt_of
from samelight.decisions.folder import Folder, News
from samelight.decisions.state import UNDECIDED, Judgement, judge, kept, live, notes, standing
from samelight.drift.cells import CellName
from samelight.sheets.errors import Fault, SamelightError
from samelight.sheets.values import Bound
from samelight.sheets.writing import WriteError

__all__ = ["FOLDER", "DecisionError", "Ledger", "Subject", "open_ledger"]

FOLDER = "decisions"

PATIENCE = 0.1
"""Seconds that are waited for a decision to be on disk before it is shown as one that is being written."""

_NAMED = 4

_id = attrgetter("id")


@dataclass(frozen=True, slots=True)
class Subject:
    """The cell, or the case of a finding, a decision is to be made on, with the values its maker sees."""

    shot: str
    parameter: str
    value: Bound | None
    master: Bound | None


@dataclass(slots=True)
class Ledger:
    """The decisions of a sequence, by cell. `faults` names what cannot be relied on, which stays where it is: files that
    were skipped, batches of which some are not there, entries that are missing or were altered since others saw them.
    `unlisted` says why the folder itself cannot be looked at; it is the first of `faults`, and what is known stands.

    `revision` grows whenever the decisions do, or change otherwise. All but `look` is for one thread. With a `writer`
    decisions are written beside that thread, and `told` is called, in any thread, when one could not be.
    """

    folder: Path
    faults: tuple[Fault, ...] = ()
    unlisted: Fault | None = None
    revision: int = 0
    writer: Executor | None = field(default=None, repr=False)
    told: Callable[[], None] = field(default=lambda: None, repr=False)
    files: Folder = field(init=False)
    _entries: dict[str, LedgerEntry] = field(default_factory=dict)
    _news: deque[News] = field(default_factory=deque)
    _failed: deque[tuple[Act, str]] = field(default_factory=deque)
    _lost: set[str] = field(default_factory=set)
    _vanished: dict[str, str] = field(default_factory=dict)
    _skipped: tuple[Fault, ...] = ()
    _chain: Chain = field(default_factory=Chain)
    _by_id: dict[str, Decision] = field(default_factory=dict)
    _by_cell: dict[CellName, tuple[Decision, ...]] = field(default_factory=dict)
    _receipt: tuple[int, str] = (-1, "")

    def __post_init__(self) -> None:
        self.files = Folder(self.folder)

    def refresh(self) -> bool:
        """Read the files that are new or changed since the last time, forget those that are gone; whether any were.

        What is gone is named from then on. When the folder itself cannot be read, or the sequence's own folder is not
        there, what is known stands and `faults` says so.
        """
        self.look()
        return self.take_in()

    def look(self, *, thoroughly: bool = True, touched: Iterable[str] = ()) -> bool:
        """Look at the folder as `Folder.look` does, in any thread; whether there is something to `take_in`."""
        before = self.files.fault
        found = self.files.look(thoroughly=thoroughly, touched=frozenset(touched))
        if found.came or found.gone:
            self._news.append(found)
        return bool(found.came or found.gone) or self.files.fault != before

    def take_in(self) -> bool:
        """Make what was found in looking the ledger's own; whether there was anything."""
        changed = False
        while self._news:
            found = self._news.popleft()
            changed = self._take(found.came, found.gone) or changed
        fault = self.unlisted = self.files.fault
        self.faults = (fault, *self._skipped) if fault is not None else self._skipped
        return changed

    def take_failures(self) -> list[tuple[Sequence[Decision], str]]:
        """The acts that could not be written after all, and why. They are forgotten, as if they had never been made."""
        found: list[tuple[Sequence[Decision], str]] = []
        while self._failed:
            act, why = self._failed.popleft()
            for name in act.texts:
                self._entries.pop(name, None)
            found.append((act.decisions, why))
        if found:
            self.revision += 1
            self._index()
            self.take_in()
        return found

    def _take(self, came: Mapping[str, LedgerEntry], gone: Iterable[str]) -> bool:
        """Know these entries; what is simply some decisions more is put in its place, without a look at the others."""
        known = self._entries
        new = {
            name: entry for name, entry in came.items() if name not in known or not _same(known[name], entry)
        }
        left = [name for name in gone if name in self._entries]
        for name in left:
            decision = self._entries.pop(name).decision
            if decision is not None:
                self._vanished[name] = decision.id
        for name in new:
            self._vanished.pop(name, None)
        made = [entry.decision for entry in new.values() if entry.decision is not None]
        ids = {decision.id for decision in made}
        simple = (
            len(ids) == len(new)
            and ids.isdisjoint(self._by_id)
            and new.keys().isdisjoint(self._entries)
            and not (left or self._skipped or lacking(new.values()))
        )
        self._entries.update(came)
        if not new and not left:
            return False
        self.revision += 1
        if simple and self._chain.add(list(new.values())):
            self._by_id.update((decision.id, decision) for decision in made)
            for cell, decisions in _by_cell(made).items():
                self._by_cell[cell] = tuple(sorted((*self._by_cell.get(cell, ()), *decisions), key=_id))
        else:
            self._index()
        return True

    def _index(self) -> None:
        """Put the decisions of all files in order; of two that claim one id, the file named after it is believed."""
        files = sorted(self._entries.items())
        faults = [fault for _, entry in files for fault in entry.faults]
        incomplete, unfinished_faults = unfinished(self._entries, self.folder)
        self._by_id, self._chain = {}, Chain()
        stand = [
            (name, entry, entry.decision)
            for name, entry in sorted(files, key=_own_name_first)
            if entry.decision is not None
            and (entry.decision.of is None or entry.decision.batch not in incomplete)
        ]
        # Later entries do not name what nobody may ever complete, so that it can be removed.
        self._chain.add([entry for _, entry, _ in stand])
        counted = []
        for name, _, decision in stand:
            known = self._by_id.setdefault(decision.id, decision)
            if known is decision:
                counted.append(known)
            elif known != decision:
                said = f"another decision with the id {known.id}"
                faults.append(Fault(str(self.folder / name), "id", "an id of its own", said))
        self._by_cell = {
            cell: tuple(sorted(decisions, key=_id)) for cell, decisions in _by_cell(counted).items()
        }
        self._skipped = (*faults, *unfinished_faults, *breaks(self._entries, self.folder))

    def troubles(self) -> list[str]:
        """What keeps the decisions from being known whole, a sentence each; empty where all were read."""
        said = [f"Decisions cannot be read: {self.unlisted}"] if self.unlisted is not None else []
        said += [f"Decision skipped: {fault}" for fault in self.faults if fault is not self.unlisted]
        gone = self.gone
        if gone:
            more = f" and {len(gone) - _NAMED} more" if len(gone) > _NAMED else ""
            first = ", ".join(gone[:_NAMED])
            said.append(f"Decisions have gone from {self.folder}, which only ever grows: {first}{more}")
        return said

    @property
    def gone(self) -> list[str]:
        """The ids of decisions that were known here, and whose files have gone since."""
        return sorted(self._vanished.values())

    def remarks(self) -> list[str]:
        """What is worth saying of the folder, and keeps nothing from being known."""
        left = self.files.leftovers
        if not left:
            return []
        return [
            f"{len(left)} left behind in {self.folder} by a writer who was stopped, which the next decision removes: {left[0]}"
        ]

    @property
    def receipt(self) -> str:
        """One short digest of all the decisions that stand, as `receipt_of` makes it."""
        if self._receipt[0] != self.revision:
            stand = (
                e for e in self._entries.values() if e.decision is not None and e.decision.id in self._by_id
            )
            self._receipt = self.revision, receipt_of(stand)
        return self._receipt[1]

    def known(self) -> dict[str, LedgerEntry]:
        """Every entry on disk that holds a decision and nothing at fault, by the name of its file."""
        return {
            name: entry
            for name, entry in self._entries.items()
            if entry.decision is not None and not entry.faults and any(entry.stamp)
        }

    def all(self) -> list[Decision]:
        """Every decision, in order of id (of time, as far as clocks agree)."""
        return sorted(self._by_id.values(), key=_id)

    def of_cell(self, shot: str, parameter: str) -> list[Decision]:
        """The decisions on one cell, in order of id."""
        return list(self._by_cell.get((shot, parameter), ()))

    def by_cell(self) -> Mapping[CellName, Sequence[Decision]]:
        """The decisions on every such cell, in order of id. What it gives for a cell never changes."""
        return self._by_cell

    def kept(self) -> list[Decision]:
        """Every decision and note that nobody has taken back, in order of id."""
        return sorted((one for decisions in self._by_cell.values() for one in kept(decisions)), key=_id)

    def notes(self, shot: str) -> list[Decision]:
        """The notes on a shot and on its parameters that nobody has taken back, in order of id."""
        of_shot = (decisions for (of, _), decisions in self._by_cell.items() if of == shot)
        return sorted((note for decisions in of_shot for note in notes(decisions)), key=_id)

    def judgement(
        self,
        shot: str,
        parameter: str,
        value: Bound | None,
        master: Bound | None,
        master_version: int | None = None,
    ) -> Judgement:
        """The state of a cell with these values, which come from that master version."""
        decisions = self._by_cell.get((shot, parameter))
        return judge(value, master, decisions, master_version) if decisions else UNDECIDED

    def decide(
        self,
        verb: Verb,
        subjects: Sequence[Subject],
        who: str,
        reason: str = "",
        until: int | None = None,
        act: str = "",
    ) -> list[Decision]:
        """Write one decision for each subject; together they are one batch. `until` is the last master version it holds on.

        `act` is a name for doing it once: what was made under it before is given back, and what a writer who was stopped
        left out of it is added.

        `withdraw` takes back every decision on a cell, so that it is undecided again. Raises `DecisionError` when
        `intend` has no reason or a note no text, nobody decides, `until` is no version, there is nothing to take
        back or a text cannot be written as Unicode, and `WriteError` when a file cannot be written; nothing of the batch then stands.
        """
        reason, who = reason.strip(), who.strip()
        if verb is Verb.INTEND and not reason:
            raise DecisionError("a reason is needed: say why the difference is meant")
        if verb is Verb.NOTE and not reason:
            raise DecisionError("a note needs a text")
        if not who:
            raise DecisionError("a decision needs the name of who makes it")
        if until is not None and until < 1:
            raise DecisionError(f"a decision holds until a master version, 1 or above; found {until}")
        now = datetime.now(UTC)
        made = [
            decision
            for subject in subjects
            for decision in self._decisions_on(subject, verb, who, reason, now, until)
        ]
        if verb is Verb.WITHDRAW and not made:
            raise DecisionError("there is no decision here to withdraw")
        return self._write_act(made, act) if act else self._write_all(made, now)

    def made_in(self, act: str) -> list[Decision]:
        """The decisions that were made under the name of an act, in order of id; none where they are not all there."""
        return [decision for decision in self.all() if decision.batch == act]

    def _write_act(self, made: Sequence[Decision], act: str) -> list[Decision]:
        """Write what of an act is not there yet."""
        check_act(act)
        made = [replace(one, id=id_in_act(act, one), batch=act, of=len(made)) for one in made]
        there = {
            e.decision.id: e.decision
            for e in self._entries.values()
            if e.decision and e.decision.batch == act
        }
        if there.keys() - {one.id for one in made} or any(one.of != len(made) for one in there.values()):
            raise DecisionError(f"under the name {act} other decisions were made before: nothing is written")
        try:
            self.write([one for one in made if one.id not in there])
        except WriteError:
            self.refresh()  # another may have written the same act meanwhile
            if len(self.made_in(act)) != len(made):
                raise
        return [self._by_id[one.id] for one in made]

    def _decisions_on(
        self, subject: Subject, verb: Verb, who: str, reason: str, now: datetime, until: int | None
    ) -> Iterable[Decision]:
        known = self.of_cell(subject.shot, subject.parameter)
        targets = [decision.id for decision in live(known)] if verb is Verb.WITHDRAW else [None]
        follows = tuple(head.id for head in standing(known)) if verb in VERDICTS else ()
        for target in targets:
            yield Decision(
                id=new_id(now),
                verb=verb,
                shot=subject.shot,
                parameter=subject.parameter,
                value=subject.value,
                master=subject.master,
                reason=reason,
                who=who,
                when=now.replace(microsecond=0),
                follows=follows,
                withdraws=target,
                until=until if verb in VERDICTS else None,
            )

    def note(self, shot: str, text: str, who: str) -> Decision:
        """Write a note on a shot; it changes no cell's state. Raises as `decide`."""
        return self.decide(Verb.NOTE, [Subject(shot, "", None, None)], who, text)[0]

    def take_back(self, decisions: Sequence[Decision], who: str, reason: str = "") -> list[Decision]:
        """Withdraw exactly these decisions (a withdrawal too), as undo and redo do. Raises as `decide`."""
        now = datetime.now(UTC)
        withdrawals = [
            replace(
                decision,
                id=new_id(now),
                verb=Verb.WITHDRAW,
                reason=reason,
                who=who,
                when=now.replace(microsecond=0),
                follows=(),
                withdraws=decision.id,
                until=None,
                saw=None,
            )
            for decision in decisions
        ]
        return self._write_all(withdrawals, now)

    def _write_all(self, decisions: Sequence[Decision], now: datetime) -> list[Decision]:
        """Write decisions as one batch."""
        batch, of = (new_id(now), len(decisions)) if len(decisions) > 1 else ("", None)
        return self.write([replace(decision, batch=batch, of=of) for decision in decisions])

    def write(self, decisions: Sequence[Decision]) -> list[Decision]:
        """Add decisions, each a file of its own: all of them, or none where one cannot be written.

        Each gets the names of the latest entries that are known here. With a `writer` they stand at once, also where they
        are not on disk yet; where that fails later, `take_failures` says so. Where what was written cannot be removed again
        either, it is read later, as if from somebody else. Raises `WriteError`, `OfflineError` where the sequence's own
        folder is not there, and `DecisionError` as `decide`.
        """
        act = compose(decisions, self._chain.heads())
        if self.writer is None:
            self._take({entry.name: entry for entry in act.write(self.files)}, ())
        elif act.texts:
            self._write_beside(act, self.writer)
        return list(act.decisions)

    def _write_beside(self, act: Act, writer: Executor) -> None:
        def write() -> list[LedgerEntry]:
            if self._lost.intersection(act.rests_on()):
                raise WriteError("what was decided before it could not be written")
            return act.write(self.files)

        writing = writer.submit(write)
        try:
            self._take({entry.name: entry for entry in writing.result(timeout=PATIENCE)}, ())
        except NotYetError:
            self._take({entry.name: entry for entry in act.pending()}, ())
            writing.add_done_callback(lambda done: self._was_written(act, done))

    def _was_written(self, act: Act, done: Future[list[LedgerEntry]]) -> None:
        error = done.exception()
        if error is None:
            self._news.append(News({entry.name: entry for entry in done.result()}))
        else:
            self._lost.update(decision.id for decision in act.decisions)
            why = str(error) if isinstance(error, SamelightError) else f"{type(error).__name__}: {error}"
            self._failed.append((act, why))
        self.told()


def open_ledger(sequence_folder: Path, known: Mapping[str, LedgerEntry] | None = None) -> Ledger:
    """The ledger of a sequence folder, read. Files that cannot be read are in its `faults`.

    Files that are as they were `known`, by their names, need not be read.
    """
    ledger = Ledger(sequence_folder / FOLDER)
    if known:
        ledger.files.believe(known)
    ledger.refresh()
    return ledger


def _same(known: LedgerEntry, entry: LedgerEntry) -> bool:
    """Whether nothing is told by an entry but when its file was written."""
    return known.digest == entry.digest and known.decision == entry.decision and known.faults == entry.faults


def _by_cell(decisions: Iterable[Decision]) -> dict[CellName, list[Decision]]:
    found: dict[tuple[str, str], list[Decision]] = {}
    for decision in decisions:
        found.setdefault((decision.shot, decision.parameter), []).append(decision)
    return found


def _own_name_first(named: tuple[str, LedgerEntry]) -> tuple[bool, str]:
    name, entry = named
    return entry.decision is None or name != f"{entry.decision.id}.yaml", name
