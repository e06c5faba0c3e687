"""The ledger: a folder of decision files, only ever added to.

Each decision is one file, written whole and then renamed into place, so that a network share or git merges
ledgers without locks and a reader never sees half a decision.
"""

from __future__ import annotations

import json
from bisect import insort
from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from samelight.decisions.decision import VERDICTS, Decision, Verb, from_tree, new_id, to_tree
from samelight.decisions.state import OPEN, Judgement, judge, kept, live, notes, standing
from samelight.sheets.errors import Fault, SamelightError, SheetError
from samelight.sheets.trees import read_document
from samelight.sheets.values import Value
from samelight.sheets.writing import WriteError, write_whole, yaml_text

FOLDER = "decisions"


class DecisionError(SamelightError):
    """A decision that cannot be made as asked."""


@dataclass(frozen=True, slots=True)
class Subject:
    """The cell a decision is to be made on, with the values its maker sees."""

    shot: str
    parameter: str
    value: Value | None
    master: Value | None


Stamp = tuple[int, int, int]
"""When a file was last written, how long it is, and which file it is: another one under the name has another."""


@dataclass(frozen=True, slots=True)
class _File:
    """What one file of the folder held when it was last read."""

    path: Path
    stamp: Stamp
    decision: Decision | None
    faults: tuple[Fault, ...] = ()


@dataclass(slots=True)
class Ledger:
    """The decisions of a sequence, by cell. `faults` names the files that were skipped, which stay where they are."""

    folder: Path
    faults: tuple[Fault, ...] = ()
    _files: dict[str, _File] = field(default_factory=dict)
    _by_id: dict[str, Decision] = field(default_factory=dict)
    _by_cell: dict[tuple[str, str], list[Decision]] = field(default_factory=dict)

    def refresh(self) -> bool:
        """Read the files that are new or changed since the last time, forget those that are gone; whether any were.

        When the folder itself cannot be read, what is known stands and `faults` says so.
        """
        try:
            stamps = _stamps(self.folder)
        except OSError as error:
            self._index()
            reason = error.strerror or str(error)
            self.faults = (Fault(str(self.folder), "", "a readable folder", reason), *self.faults)
            return False
        before = self._files
        self._files = {
            name: known
            if (known := before.get(name)) and known.stamp == stamp
            else _read(self.folder / name, stamp)
            for name, stamp in stamps.items()
        }
        self._index()
        return self._files != before

    def _index(self) -> None:
        """Put the decisions of all files in order; of two that claim one id, the file named after it is believed."""
        self._by_id, self._by_cell = {}, {}
        faults = [fault for file in self._files.values() for fault in file.faults]
        for name, file in sorted(self._files.items(), key=_own_name_first):
            if file.decision is not None:
                known = self._by_id.setdefault(file.decision.id, file.decision)
                if known is file.decision:
                    self._by_cell.setdefault((known.shot, known.parameter), []).append(known)
                elif known != file.decision:
                    said = f"another decision with the id {known.id}"
                    faults.append(Fault(str(self.folder / name), "id", "an id of its own", said))
        for decisions in self._by_cell.values():
            decisions.sort(key=_id)
        self.faults = tuple(faults)

    def all(self) -> list[Decision]:
        """Every decision, in order of id (of time, as far as clocks agree)."""
        return sorted(self._by_id.values(), key=_id)

    def of_cell(self, shot: str, parameter: str) -> list[Decision]:
        """The decisions on one cell, in order of id."""
        return list(self._by_cell.get((shot, parameter), ()))

    def cells(self) -> Iterable[tuple[str, str]]:
        """Shot and parameter of every cell that a decision was made on."""
        return self._by_cell.keys()

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
        value: Value | None,
        master: Value | None,
        master_version: int | None = None,
    ) -> Judgement:
        """The state of a cell with these values, which come from that master version."""
        decisions = self._by_cell.get((shot, parameter))
        return judge(value, master, decisions, master_version) if decisions else OPEN

    def decide(
        self,
        verb: Verb,
        subjects: Sequence[Subject],
        who: str,
        reason: str = "",
        until: int | None = None,
    ) -> list[Decision]:
        """Write one decision for each subject; together they are one batch. `until` is the last master version it holds on.

        `withdraw` takes back every decision on a cell, so that it is open again. Raises `DecisionError` when
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
        return self._write_all(made, now)

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
            )
            for decision in decisions
        ]
        return self._write_all(withdrawals, now)

    def _write_all(self, decisions: Sequence[Decision], now: datetime) -> list[Decision]:
        """Write decisions as one batch. Where one cannot be written, those before it are taken out again."""
        batch = new_id(now) if len(decisions) > 1 else ""
        written: list[Decision] = []
        try:
            for decision in decisions:
                written.append(self.write(replace(decision, batch=batch)))
        except SamelightError:
            for decision in written:
                self._take_out(decision)
            self._index()
            raise
        return written

    def write(self, decision: Decision) -> Decision:
        """Add a decision to the folder and to what is known. Raises `WriteError`, and `DecisionError` as `decide`."""
        path = self.folder / f"{decision.id}.yaml"
        tree = to_tree(decision)
        _check_characters(tree)
        try:
            write_whole(path, yaml_text(tree), overwrite=False)
            stamp = _stamp(path)
        except OSError as error:
            raise WriteError(f"{path}: could not be written: {error.strerror or error}") from None
        self._files[path.name] = _File(path, stamp, decision)
        self._by_id[decision.id] = decision
        insort(self._by_cell.setdefault((decision.shot, decision.parameter), []), decision, key=_id)
        return decision

    def _take_out(self, decision: Decision) -> None:
        """Undo `write`, for a decision that nobody has been told of. Where that fails, it stands and is known."""
        path = self.folder / f"{decision.id}.yaml"
        with suppress(OSError):
            path.unlink()
            del self._files[path.name]


def open_ledger(sequence_folder: Path) -> Ledger:
    """The ledger of a sequence folder, read. Files that cannot be read are in its `faults`."""
    ledger = Ledger(sequence_folder / FOLDER)
    ledger.refresh()
    return ledger


def _check_characters(tree: dict[str, Any]) -> None:
    """Half a character, as a command line in another encoding leaves it, would make a file that nobody can read."""
    try:
        json.dumps(tree, ensure_ascii=False).encode()
    except UnicodeEncodeError as error:
        found = error.object[error.start : error.end]
        raise DecisionError(f"{found!a} is no whole character and cannot be kept") from None


def _read(path: Path, stamp: Stamp) -> _File:
    try:
        document = read_document(path)
        decision = from_tree(document.data, document.faults)
        document.faults.raise_if_any()
    except SheetError as error:
        return _File(path, stamp, None, error.faults)
    return _File(path, stamp, decision)


def _stamps(folder: Path) -> dict[str, Stamp]:
    """The decision files of a folder by name, sorted. Raises OSError when a folder is there and cannot be read."""
    try:
        entries = sorted(folder.iterdir())
    except FileNotFoundError:
        return {}
    stamps: dict[str, Stamp] = {}
    for path in entries:
        if path.suffix == ".yaml" and not path.name.startswith("."):
            try:
                stamps[path.name] = _stamp(path)
            except FileNotFoundError:
                # It went since the folder was listed; a link that leads nowhere stays, and is a fault.
                with suppress(FileNotFoundError):
                    stamps[path.name] = _stamp(path, follow=False)
    return stamps


def _stamp(path: Path, *, follow: bool = True) -> Stamp:
    stat = path.stat(follow_symlinks=follow)
    return stat.st_mtime_ns, stat.st_size, stat.st_ino


def _own_name_first(named: tuple[str, _File]) -> tuple[bool, str]:
    name, file = named
    return file.decision is None or name != f"{file.decision.id}.yaml", name


def _id(decision: Decision) -> str:
    return decision.id
