"""An opened sequence: sheets, master, policy, drift table and ledger held together."""

from __future__ import annotations

import getpass
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from samelight.decisions.decision import Decision, Verb
from samelight.decisions.history import History
from samelight.decisions.ledger import Ledger, Subject, open_ledger
from samelight.decisions.state import Judgement, State
from samelight.drift.cells import Grade
from samelight.drift.policy import Policy, default_policy, read_policy
from samelight.drift.table import Table, build_table
from samelight.findings.finding import Evidence, Finding
from samelight.findings.registry import find_all
from samelight.sheets.errors import Fault, SamelightError, SheetError
from samelight.sheets.sequence import (
    SequenceFile,
    master_versions,
    read_sequence,
    shot_folders,
    shot_versions,
)
from samelight.sheets.sheet import Sheet, read_sheet
from samelight.sheets.values import Value

Progress = Callable[[int, int, str], None]
"""Called with how many files are read, how many there are, and the name of the next."""


class CancelledError(SamelightError):
    """The user stopped the loading."""


@dataclass(frozen=True, slots=True)
class Trouble:
    """Something about the sequence that the user must know: what, and the shot it concerns, if one."""

    says: str
    shot: str | None = None
    faults: tuple[Fault, ...] = ()


@dataclass(slots=True)
class Session:
    """A sequence in memory. Everything that views show comes from here; nothing here knows a view."""

    sequence: SequenceFile
    policy: Policy
    shots: tuple[str, ...]
    masters: dict[int, Sheet]
    master_version: int | None
    sheets: dict[str, Sheet]
    versions: dict[str, dict[int, Path]]
    troubles: list[Trouble]
    ledger: Ledger
    table: Table
    history: History = field(init=False)
    findings: list[Finding] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.history = History(self.ledger)
        self.refresh_findings()

    @property
    def folder(self) -> Path:
        """The sequence folder."""
        return self.sequence.folder

    @property
    def master(self) -> Sheet | None:
        """The master setup that shots are held against."""
        return None if self.master_version is None else self.masters.get(self.master_version)

    def unreadable(self) -> dict[str, Trouble]:
        """The shots whose sheet is missing or cannot be read, with what is wrong."""
        return {
            trouble.shot: trouble
            for trouble in self.troubles
            if trouble.shot and trouble.shot not in self.sheets
        }

    def judgement(self, row: int, column: int) -> Judgement:
        """The state of a cell and the decisions behind it."""
        entry = self.table.entries[row][column]
        value, master = (entry.value, entry.master) if entry else (None, None)
        return self.ledger.judgement(self.table.shots[column], self.table.rows[row].parameter, value, master)

    def state(self, row: int, column: int) -> State:
        """The state of a cell."""
        return self.judgement(row, column).state

    def decided_cells(self) -> dict[tuple[int, int], State]:
        """The state of every cell that a decision was made on and that the table still has."""
        states: dict[tuple[int, int], State] = {}
        for shot, parameter in self.ledger.cells():
            row, column = self.table.row(parameter), self.table.column(shot)
            if row is not None and column is not None:
                states[row, column] = self.state(row, column)
        return states

    def needs_a_look(self, row: int, column: int) -> bool:
        """Whether a cell drifts and nobody has said that it is meant."""
        return self.table.grade[row, column] >= Grade.DRIFT and self.state(row, column) is not State.INTENDED

    def open_cells(self, at_least: Grade = Grade.DRIFT) -> list[tuple[int, int]]:
        """Row and column of every cell at or above a grade that is not intended, in cut order within a row."""
        intended = {cell for cell, state in self.decided_cells().items() if state is State.INTENDED}
        return [
            (row, column)
            for row in range(len(self.table.rows))
            for column in range(len(self.table.shots))
            if self.table.grade[row, column] >= at_least and (row, column) not in intended
        ]

    def subjects(self, cells: Iterable[tuple[int, int]]) -> list[Subject]:
        """The cells as what decisions are made on."""
        found = []
        for row, column in cells:
            entry = self.table.entries[row][column]
            if entry is not None:
                parameter, shot = self.table.rows[row].parameter, self.table.shots[column]
                found.append(Subject(shot, parameter, entry.value, entry.master))
        return found

    def decide(
        self, verb: Verb, cells: Sequence[tuple[int, int]], who: str, reason: str = ""
    ) -> list[Decision]:
        """Decide on cells in one go; undo takes all of it back. Raises as `Ledger.decide`."""
        made = self.ledger.decide(verb, self.subjects(cells), who, reason)
        self.history.did(made)
        return made

    def versions_of(self, shot: str, section: str, group: str, leaf: str) -> list[tuple[int, Value | None]]:
        """A parameter in every readable version of a shot's sheet, oldest first; read from disk when asked."""
        found: list[tuple[int, Value | None]] = []
        for version, path in self.versions.get(shot, {}).items():
            sheet = self.sheets.get(shot)
            if sheet is None or sheet.version != version:
                try:
                    sheet = self._read(path, shot, version)
                except SheetError:
                    continue
            found.append((version, sheet.value(section, group, leaf)))
        return found

    def _read(self, path: Path, shot: str, version: int) -> Sheet:
        given = self.sequence.conventions
        return read_sheet(path, shot=shot, version=version, given=given, kinds=self.policy.kinds)

    def evidence(self) -> Evidence:
        """What findings are drawn from."""
        return Evidence(
            table=self.table,
            sheets=self.sheets,
            master=self.master,
            masters=self.masters,
            policy=self.policy,
            judgements={cell: self.judgement(*cell) for cell in self.decided_cells()},
            frame_rate=self.sequence.frame_rate,
        )

    def refresh_findings(self) -> None:
        """Draw the findings anew, after sheets or decisions changed."""
        self.findings = find_all(self.evidence())


def open_session(
    folder: Path,
    *,
    progress: Progress | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> Session:
    """Open a sequence folder.

    A sheet that cannot be read makes its shot a trouble and stops nothing else. Raises `SheetError` when
    sequence.yaml or a policy is at fault, and `CancelledError`.
    """
    sequence = read_sequence(folder)
    policy = default_policy()
    if sequence.policy is not None:
        policy = read_policy(sequence.policy, policy)
    troubles: list[Trouble] = []
    shots = _cut_order(sequence, troubles)
    master_files = master_versions(folder)
    versions = {shot: shot_versions(folder, shot) for shot in shots}
    total, done = len(master_files) + len(shots), 0

    def step(name: str) -> None:
        nonlocal done
        if cancelled is not None and cancelled():
            raise CancelledError("loading was stopped")
        if progress is not None:
            progress(done, total, name)
        done += 1

    masters: dict[int, Sheet] = {}
    for version, path in master_files.items():
        step(path.name)
        sheet = _try_sheet(path, "", version, sequence, policy, troubles)
        if sheet is not None:
            masters[version] = sheet
    sheets: dict[str, Sheet] = {}
    for shot in shots:
        step(shot)
        chosen = _chosen_version(shot, versions[shot], sequence.pinned, troubles)
        if chosen is not None:
            sheet = _try_sheet(versions[shot][chosen], shot, chosen, sequence, policy, troubles)
            if sheet is not None:
                sheets[shot] = sheet
    if progress is not None:
        progress(total, total, "")
    reference = _reference_version(sequence, master_files, masters, troubles)
    ledger = open_ledger(folder)
    master = masters.get(reference) if reference is not None else None
    table = build_table(shots, sheets, master, policy)
    return Session(sequence, policy, shots, masters, reference, sheets, versions, troubles, ledger, table)


def _cut_order(sequence: SequenceFile, troubles: list[Trouble]) -> tuple[str, ...]:
    on_disk = shot_folders(sequence.folder)
    if not sequence.cut:
        return tuple(on_disk)
    outside = [shot for shot in on_disk if shot not in sequence.cut]
    if outside:
        troubles.append(Trouble(f"Not in the cut, and so not shown: {', '.join(outside)}."))
    return sequence.cut


def _chosen_version(
    shot: str, versions: Mapping[int, Path], pinned: Mapping[str, int], troubles: list[Trouble]
) -> int | None:
    if not versions:
        troubles.append(Trouble(f"{shot} has no published sheet.", shot))
        return None
    pin = pinned.get(shot)
    if pin is not None and pin not in versions:
        troubles.append(Trouble(f"{shot} is pinned to version {pin}, which is not there.", shot))
        return None
    return pin if pin is not None else max(versions)


def _try_sheet(
    path: Path, shot: str, version: int, sequence: SequenceFile, policy: Policy, troubles: list[Trouble]
) -> Sheet | None:
    try:
        sheet = read_sheet(
            path, shot=shot or None, version=version, given=sequence.conventions, kinds=policy.kinds
        )
    except SheetError as error:
        subject = f"{shot} is unreadable" if shot else f"Master version {version} is unreadable"
        count = len(error.faults)
        more = f" (and {count - 1} more)" if count > 1 else ""
        troubles.append(Trouble(f"{subject}: {error.faults[0]}{more}", shot or None, error.faults))
        return None
    troubles.extend(Trouble(remark, shot or None) for remark in sheet.remarks)
    return sheet


def _reference_version(
    sequence: SequenceFile, files: Mapping[int, Path], masters: Mapping[int, Sheet], troubles: list[Trouble]
) -> int | None:
    if not files:
        troubles.append(Trouble("No master setup is published yet: there is nothing to compare with."))
        return None
    wanted = sequence.master if sequence.master is not None else max(files)
    if wanted not in masters:
        if wanted not in files:
            troubles.append(Trouble(f"Master version {wanted} is asked for and not there."))
        return None
    return wanted


def account_name() -> str:
    """The name of the user's account, for decisions."""
    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError):
        return "unknown"
