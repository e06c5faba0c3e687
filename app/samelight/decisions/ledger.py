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
from pathlib import Path

from samelight.decisions.acts import Act, DecisionError, check_act, compose, id_in_act
from samelight.decisions.decision import (
    NOT_GRABBED,
    STEPS,
    VERDICTS,
    Decision,
    Grabbed,
    Verb,
    new_id,
)
from samelight.decisions.entries import LedgerEntry
from samelight.decisions.folder import News
from samelight.decisions.known_decisions import KnownDecisions
from samelight.decisions.sound import SoundLedger
from samelight.decisions.state import live, standing
from samelight.sheets.errors import SamelightError
from samelight.sheets.values import Bound
from samelight.sheets.writing import WriteError

__all__ = ["FOLDER", "DecisionError", "Ledger", "Subject", "open_ledger"]

FOLDER = "decisions"

PATIENCE = 0.1
"""Seconds that are waited for a decision to be on disk before it is shown as one that is being written."""


@dataclass(frozen=True, slots=True)
class Subject:
    """The cell, or the case of a finding, a decision is to be made on, with the values its maker sees."""

    shot: str
    parameter: str
    value: Bound | None
    master: Bound | None
    version: int | None = None
    """That of the shot's sheet; None where it is not known."""


@dataclass(slots=True)
class Ledger(KnownDecisions):
    """The decisions of a sequence, and the making of new ones.

    With a `writer` decisions are written beside the thread that makes them, and `told` is called, in any thread, when one
    could not be.
    """

    writer: Executor | None = field(default=None, repr=False)
    told: Callable[[], None] = field(default=lambda: None, repr=False)
    _failed: deque[tuple[Act, str]] = field(default_factory=deque)
    _lost: set[str] = field(default_factory=set)

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

    def decide(
        self,
        verb: Verb,
        subjects: Sequence[Subject],
        who: str,
        reason: str = "",
        until: int | None = None,
        act: str = "",
        seen: Grabbed = NOT_GRABBED,
    ) -> list[Decision]:
        """Write one decision for each subject; together they are one batch. `until` is the last master version it holds on.

        `act` is a name for doing it once: what was made under it before is given back, and what a writer who was stopped
        left out of it is added. `seen` is what was on the screen.

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
            for decision in self._decisions_on(subject, verb, who, reason, now, until, seen)
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
        return [self._by_id[one.id].made() for one in made]

    def _decisions_on(
        self,
        subject: Subject,
        verb: Verb,
        who: str,
        reason: str,
        now: datetime,
        until: int | None,
        seen: Grabbed,
    ) -> Iterable[Decision]:
        known = self.of_cell(subject.shot, subject.parameter)
        targets = [decision.id for decision in live(known)] if verb is Verb.WITHDRAW else [None]
        follows = tuple(head.id for head in standing(known)) if verb in STEPS else ()
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
                version=subject.version if verb in STEPS else None,
                seen=seen,
            )

    def note(self, shot: str, text: str, who: str, seen: Grabbed = NOT_GRABBED) -> Decision:
        """Write a note on a shot; it changes no cell's state. Raises as `decide`."""
        return self.decide(Verb.NOTE, [Subject(shot, "", None, None)], who, text, seen=seen)[0]

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
                version=None,
                seen=NOT_GRABBED,
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


def open_ledger(
    sequence_folder: Path,
    known: Mapping[str, LedgerEntry] | None = None,
    sound: SoundLedger | None = None,
) -> Ledger:
    """The ledger of a sequence folder, read. Files that cannot be read are in its `faults`.

    Files that are as they were `known`, by their names, need not be read; `sound` is as in `Folder.believe`.
    """
    ledger = Ledger(sequence_folder / FOLDER)
    if known:
        ledger.files.believe(known, sound)
    ledger.refresh()
    return ledger
