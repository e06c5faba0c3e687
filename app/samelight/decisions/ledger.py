"""The ledger: a folder of decision files, only ever added to.

Each decision is one file, written whole and then renamed into place, so that a network share or git merges
ledgers without locks and a reader never sees half a decision.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

from samelight.decisions.decision import Decision, Verb, from_tree, new_id, to_tree
from samelight.decisions.state import OPEN, Judgement, judge, standing
from samelight.sheets.errors import Fault, SamelightError, SheetError
from samelight.sheets.trees import read_document
from samelight.sheets.values import Value
from samelight.sheets.writing import write_whole, yaml_text

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


@dataclass(slots=True)
class Ledger:
    """The decisions of a sequence, by cell. `faults` names the files that were skipped, which stay where they are."""

    folder: Path
    faults: tuple[Fault, ...] = ()
    _by_id: dict[str, Decision] = field(default_factory=dict)
    _by_cell: dict[tuple[str, str], list[Decision]] = field(default_factory=lambda: defaultdict(list))
    _files: dict[str, tuple[int, int]] = field(default_factory=dict)
    _bad: dict[str, tuple[Fault, ...]] = field(default_factory=dict)

    def refresh(self) -> bool:
        """Read the files that are new or changed since the last time; whether anything was."""
        changed = False
        for path in _decision_files(self.folder):
            try:
                stat = path.stat()
            except OSError:
                continue
            stamp = (stat.st_mtime_ns, stat.st_size)
            if self._files.get(path.name) == stamp:
                continue
            self._files[path.name] = stamp
            changed = True
            self._read(path)
        self.faults = tuple(fault for faults in self._bad.values() for fault in faults)
        return changed

    def _read(self, path: Path) -> None:
        self._bad.pop(path.name, None)
        try:
            document = read_document(path)
            decision = from_tree(document.data, document.faults)
            document.faults.raise_if_any()
        except SheetError as error:
            self._bad[path.name] = error.faults
            return
        if decision is not None:
            self._add(decision, path)

    def _add(self, decision: Decision, path: Path) -> None:
        known = self._by_id.get(decision.id)
        if known is not None and known != decision:
            said = f"another decision with the id {decision.id}"
            self._bad[path.name] = (Fault(str(path), "id", "an id of its own", said),)
            return
        if known is None:
            self._by_id[decision.id] = decision
            self._by_cell[decision.shot, decision.parameter].append(decision)

    def all(self) -> list[Decision]:
        """Every decision, in order of id (of time, as far as clocks agree)."""
        return sorted(self._by_id.values(), key=lambda decision: decision.id)

    def of_cell(self, shot: str, parameter: str) -> list[Decision]:
        """The decisions on one cell, in order of id."""
        return sorted(self._by_cell.get((shot, parameter), ()), key=lambda decision: decision.id)

    def cells(self) -> Iterable[tuple[str, str]]:
        """Shot and parameter of every cell that a decision was made on."""
        return self._by_cell.keys()

    def judgement(self, shot: str, parameter: str, value: Value | None, master: Value | None) -> Judgement:
        """The state of a cell with these values."""
        decisions = self._by_cell.get((shot, parameter))
        return judge(value, master, decisions) if decisions else OPEN

    def decide(self, verb: Verb, subjects: Sequence[Subject], who: str, reason: str = "") -> list[Decision]:
        """Write one decision for each subject; together they are one batch.

        Raises `DecisionError` when `intend` has no reason or `withdraw` has nothing to take back, and
        `WriteError` when a file cannot be written; those written before it then stand.
        """
        reason = reason.strip()
        if verb is Verb.INTEND and not reason:
            raise DecisionError("a reason is needed: say why the difference is meant")
        if not who.strip():
            raise DecisionError("a decision needs the name of who makes it")
        now = datetime.now(UTC)
        batch = new_id(now) if len(subjects) > 1 else ""
        made: list[Decision] = []
        for subject in subjects:
            made.extend(self._decide_one(verb, subject, who, reason, now, batch))
        if verb is Verb.WITHDRAW and not made:
            raise DecisionError("there is no decision here to withdraw")
        return made

    def _decide_one(
        self, verb: Verb, subject: Subject, who: str, reason: str, now: datetime, batch: str
    ) -> list[Decision]:
        heads = standing(self.of_cell(subject.shot, subject.parameter))
        targets: list[str | None] = [head.id for head in heads] if verb is Verb.WITHDRAW else [None]
        follows = () if verb is Verb.WITHDRAW else tuple(head.id for head in heads)
        return [
            self.write(
                Decision(
                    id=new_id(now),
                    verb=verb,
                    shot=subject.shot,
                    parameter=subject.parameter,
                    value=subject.value,
                    master=subject.master,
                    reason=reason,
                    who=who,
                    when=now,
                    follows=follows,
                    withdraws=target,
                    batch=batch,
                )
            )
            for target in targets
        ]

    def take_back(self, decisions: Sequence[Decision], who: str, reason: str = "") -> list[Decision]:
        """Withdraw exactly these decisions (a withdrawal too), as undo and redo do."""
        now = datetime.now(UTC)
        batch = new_id(now) if len(decisions) > 1 else ""
        return [
            self.write(
                Decision(
                    id=new_id(now),
                    verb=Verb.WITHDRAW,
                    shot=decision.shot,
                    parameter=decision.parameter,
                    value=decision.value,
                    master=decision.master,
                    reason=reason,
                    who=who,
                    when=now,
                    withdraws=decision.id,
                    batch=batch,
                )
            )
            for decision in decisions
        ]

    def write(self, decision: Decision) -> Decision:
        """Add a decision to the folder and to what is known. Raises `WriteError`."""
        path = self.folder / f"{decision.id}.yaml"
        write_whole(path, yaml_text(to_tree(decision)), overwrite=False)
        stat = path.stat()
        self._files[path.name] = (stat.st_mtime_ns, stat.st_size)
        self._add(decision, path)
        return decision


def open_ledger(sequence_folder: Path) -> Ledger:
    """The ledger of a sequence folder, read. Files that cannot be read are in its `faults`."""
    ledger = Ledger(sequence_folder / FOLDER)
    ledger.refresh()
    return ledger


def _decision_files(folder: Path) -> list[Path]:
    try:
        entries = list(folder.iterdir())
    except OSError:
        return []
    return sorted(path for path in entries if path.suffix == ".yaml" and not path.name.startswith("."))
