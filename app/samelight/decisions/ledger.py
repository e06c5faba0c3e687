"""The ledger: a folder of decision files, only ever added to.

Each decision is one file, written whole and then renamed into place, so that a network share or git merges
ledgers without locks and a reader never sees half a decision.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from samelight.decisions.decision import VERDICTS, Decision, Verb, from_tree, new_id, to_tree
from samelight.decisions.state import OPEN, Judgement, judge, kept, live, notes, standing
from samelight.sheets.errors import Fault, SamelightError, SheetError
from samelight.sheets.stamps import Stamp, stamp_of
from samelight.sheets.trees import read_document
from samelight.sheets.values import Bound
from samelight.sheets.writing import WriteError, write_new, yaml_text

FOLDER = "decisions"


class DecisionError(SamelightError):
    """A decision that cannot be made as asked."""


@dataclass(frozen=True, slots=True)
class Subject:
    """The cell, or the case of a finding, a decision is to be made on, with the values its maker sees."""

    shot: str
    parameter: str
    value: Bound | None
    master: Bound | None


Known = tuple[Stamp, Decision]
"""What a sound file was known by, and what it held."""


@dataclass(frozen=True, slots=True)
class _File:
    """What one file of the folder held when it was last read."""

    path: Path
    stamp: Stamp
    decision: Decision | None
    faults: tuple[Fault, ...] = ()


@dataclass(slots=True)
class Ledger:
    """The decisions of a sequence, by cell. `faults` names the files that were skipped, which stay where they are.

    `revision` grows whenever the decisions do, or change otherwise.
    """

    folder: Path
    faults: tuple[Fault, ...] = ()
    revision: int = 0
    _files: dict[str, _File] = field(default_factory=dict)
    _skipped: tuple[Fault, ...] = ()
    _by_id: dict[str, Decision] = field(default_factory=dict)
    _by_cell: dict[tuple[str, str], tuple[Decision, ...]] = field(default_factory=dict)

    def refresh(self) -> bool:
        """Read the files that are new or changed since the last time, forget those that are gone; whether any were.

        When the folder itself cannot be read, what is known stands and `faults` says so.
        """
        try:
            stamps = _stamps(self.folder)
        except OSError as error:
            reason = error.strerror or str(error)
            self.faults = (Fault(str(self.folder), "", "a readable folder", reason), *self._skipped)
            return False
        known, read = self._files, {}
        for name, stamp in stamps.items():
            file = known.get(name)
            if file is None or file.stamp != stamp:
                read[name] = _read(self.folder / name, stamp)
        gone = known.keys() - stamps.keys()
        for name in gone:
            del known[name]
        if read or gone:
            self._take_in(read, only_added=not gone)
        self.faults = self._skipped
        return bool(read or gone)

    def believe(self, known: Mapping[str, Known]) -> None:
        """Take decisions as they were known by their files' names, until `refresh` finds that they are not."""
        self._take_in(
            {name: _File(self.folder / name, stamp, decision) for name, (stamp, decision) in known.items()}
        )

    def _take_in(self, files: Mapping[str, _File], *, only_added: bool = True) -> None:
        """Know these files; what is simply one decision more is put in its place, without a look at the others."""
        made = [file.decision for file in files.values() if file.decision is not None]
        ids = {decision.id for decision in made}
        simple = (
            len(ids) == len(files) and ids.isdisjoint(self._by_id) and files.keys().isdisjoint(self._files)
        )
        self._files.update(files)
        self.revision += 1
        if only_added and simple:
            for decision in made:
                self._by_id[decision.id] = decision
                cell = (decision.shot, decision.parameter)
                self._by_cell[cell] = tuple(sorted((*self._by_cell.get(cell, ()), decision), key=_id))
        else:
            self._index()

    def _index(self) -> None:
        """Put the decisions of all files in order; of two that claim one id, the file named after it is believed."""
        self._by_id = {}
        by_cell: dict[tuple[str, str], list[Decision]] = {}
        files = sorted(self._files.items())
        faults = [fault for _, file in files for fault in file.faults]
        for name, file in sorted(files, key=_own_name_first):
            if file.decision is not None:
                known = self._by_id.setdefault(file.decision.id, file.decision)
                if known is file.decision:
                    by_cell.setdefault((known.shot, known.parameter), []).append(known)
                elif known != file.decision:
                    said = f"another decision with the id {known.id}"
                    faults.append(Fault(str(self.folder / name), "id", "an id of its own", said))
        self._by_cell = {cell: tuple(sorted(decisions, key=_id)) for cell, decisions in by_cell.items()}
        self._skipped = tuple(faults)

    def troubles(self) -> list[str]:
        """What keeps the decisions from being known whole, a sentence each; empty where all were read."""
        return [f"Decision skipped: {fault}" for fault in self.faults]

    def known(self) -> dict[str, Known]:
        """Every file that holds a decision and nothing at fault, by its name."""
        return {
            name: (file.stamp, file.decision)
            for name, file in self._files.items()
            if file.decision is not None and not file.faults
        }

    def all(self) -> list[Decision]:
        """Every decision, in order of id (of time, as far as clocks agree)."""
        return sorted(self._by_id.values(), key=_id)

    def of_cell(self, shot: str, parameter: str) -> list[Decision]:
        """The decisions on one cell, in order of id."""
        return list(self._by_cell.get((shot, parameter), ()))

    def by_cell(self) -> Mapping[tuple[str, str], Sequence[Decision]]:
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
        """Write decisions as one batch."""
        batch = new_id(now) if len(decisions) > 1 else ""
        return self.write([replace(decision, batch=batch) for decision in decisions])

    def write(self, decisions: list[Decision]) -> list[Decision]:
        """Add decisions, each a file of its own: all of them, or none where one cannot be written.

        Where what was written cannot be removed again either, it is read later, as if from somebody else. Raises
        `WriteError`, and `DecisionError` as `decide`.
        """
        paths = [self.folder / f"{decision.id}.yaml" for decision in decisions]
        write_new(dict(zip(paths, _texts(decisions), strict=True)))
        try:
            stamps = [stamp_of(path) for path in paths]
        except OSError as error:
            for path in paths:
                with suppress(OSError):
                    path.unlink()
            raise WriteError(f"{self.folder}: could not be written: {error.strerror or error}") from None
        written = zip(paths, stamps, decisions, strict=True)
        self._take_in({path.name: _File(path, stamp, decision) for path, stamp, decision in written})
        return decisions


def open_ledger(sequence_folder: Path, known: Mapping[str, Known] | None = None) -> Ledger:
    """The ledger of a sequence folder, read. Files that cannot be read are in its `faults`.

    Files that are as they were `known`, by their names, need not be read.
    """
    ledger = Ledger(sequence_folder / FOLDER)
    if known:
        ledger.believe(known)
    ledger.refresh()
    return ledger


def _texts(decisions: Sequence[Decision]) -> Iterator[str]:
    """The file of each decision, as `yaml_text` has it. Raises `DecisionError`.

    Decisions made in one go have most of their lines in common, and each such line is made once.
    """
    lines: dict[tuple[str, str], str] = {}
    for decision in decisions:
        text = ""
        for key, value in to_tree(decision).items():
            said = key, repr(value)  # equal numbers may be written differently
            line = lines.get(said)
            if line is None:
                line = lines[said] = _line(key, value)
            text += line
        yield text


def _line(key: str, value: Any) -> str:
    tree = {key: value}
    try:
        # Half a character, as a command line in another encoding leaves it, would make a file that nobody can read.
        json.dumps(tree, ensure_ascii=False).encode()
    except UnicodeEncodeError as error:
        found = error.object[error.start : error.end]
        raise DecisionError(f"{found!a} is no whole character and cannot be kept") from None
    return yaml_text(tree)


def _read(path: Path, stamp: Stamp) -> _File:
    try:
        document = read_document(path)
        decision = from_tree(document.data, document.faults)
        document.faults.raise_if_any()
    except SheetError as error:
        return _File(path, stamp, None, error.faults)
    return _File(path, stamp, decision)


def _stamps(folder: Path) -> dict[str, Stamp]:
    """The decision files of a folder by name. Raises OSError when a folder is there and cannot be read."""
    try:
        with os.scandir(folder) as entries:
            found = [(entry.name, entry.path) for entry in entries]
    except FileNotFoundError:
        return {}
    stamps: dict[str, Stamp] = {}
    for name, path in found:
        if name.endswith(".yaml") and not name.startswith("."):
            try:
                stamps[name] = stamp_of(path)
            except FileNotFoundError:
                # It went since the folder was listed; a link that leads nowhere stays, and is a fault.
                with suppress(FileNotFoundError):
                    stamps[name] = stamp_of(path, follow=False)
    return stamps


def _own_name_first(named: tuple[str, _File]) -> tuple[bool, str]:
    name, file = named
    return file.decision is None or name != f"{file.decision.id}.yaml", name


def _id(decision: Decision) -> str:
    return decision.id
