"""What a report says of an session sequence, as plain data: every document is made of this."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime

import numpy as np

from samelight.decisions.decision import Decision
from samelight.decisions.state import Judgement, State
from samelight.decisions.tally import Tally
from samelight.drift.cells import Cell, ComparedCell, Grade
from samelight.drift.table import Table
from samelight.findings.finding import Case, Finding
from samelight.light.directions import Vector
from samelight.light.noise import SORTED_BY, figure
from samelight.reports.held import HeldShots, held_shots
from samelight.reports.render_plan import RenderPlan, render_plan
from samelight.sequence.crew import Crew
from samelight.sequence.session import Session
from samelight.sequence.troubles import Trouble, apart, failure


@dataclass(frozen=True, slots=True)
class ReportLine:
    """A cell that is not the master's. `severity` is its drift over its tolerance; `decisions` are those it stands under.

    `weight` is its level as a case (see `Following`); `follows` are the parameters that it follows from where it is none.
    """

    row: int
    cell: ComparedCell
    severity: float
    state: State
    decisions: tuple[Decision, ...] = ()
    weight: Grade = Grade.NONE
    follows: tuple[str, ...] = ()

    @property
    def needs_a_look(self) -> bool:
        """Whether the cell is a case that drifts and nobody has said that it is meant."""
        return self.is_unsettled(Grade.DRIFT)

    def is_unsettled(self, at_least: Grade) -> bool:
        """Whether the cell is a case at or above a level and not intended."""
        return not self.follows and self.weight >= at_least and self.state is not State.INTENDED


@dataclass(frozen=True, slots=True)
class Told:
    """What is decided on of a finding in one shot, and the finding's sentence."""

    case: Case
    says: str

    def is_unsettled(self, at_least: Grade) -> bool:
        """Whether it is at or above a level and not intended."""
        return self.case.level >= at_least and self.case.state is not State.INTENDED

    @property
    def needs_a_look(self) -> bool:
        """Whether it is at or above the level drift and not intended."""
        return self.is_unsettled(Grade.DRIFT)

    @property
    def breaks(self) -> bool:
        """Whether it is as bad as a broken lock and not intended."""
        return self.is_unsettled(Grade.BREAK)


@dataclass(frozen=True, slots=True)
class ShotPart:
    """One shot. `lines` are its cells that are not the master's: unsettled ones first, the furthest out of tolerance first;
    `unsettled` are those that need a look. `told` are the findings that are decided on by themselves there; `tally` counts
    the cases of both that drift. `findings` are all that are about the shot, ranked; `lighter` is whose it is, empty where
    it is nobody's.

    `version` is that of its sheet, `on_master` the master that the sheet names; `trouble` says why there is no sheet. `setup`
    is the name of its set-up, where there are several; `is_held` says whether there is something that it is compared with.
    """

    name: str
    column: int
    version: int | None
    on_master: int | None
    frames: tuple[int, int] | None
    lines: tuple[ReportLine, ...]
    unsettled: tuple[ReportLine, ...]
    told: tuple[Told, ...]
    tally: Tally
    trouble: str = ""
    setup: str = ""
    is_held: bool = True
    lighter: str = ""
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class Report:
    """A sequence against its master at one moment. `unread` are those of the troubles that keep decisions from being known,
    `ledger` is the receipt of those that are. `plan` is None where working it out failed; `failed` are those of
    the troubles that say so. `held` are the set-ups where there are several."""

    title: str
    master: int | None
    made: datetime
    north: Vector
    shots: tuple[ShotPart, ...]
    findings: tuple[Finding, ...]
    counts: Mapping[str, int]
    tally: Tally
    troubles: tuple[str, ...]
    unread: tuple[str, ...]
    ledger: str
    table: Table
    states: Mapping[Cell, State]
    plan: RenderPlan | None
    failed: tuple[str, ...] = ()
    held: tuple[HeldShots, ...] = ()
    crew: Crew = field(default_factory=Crew)

    @property
    def tallies(self) -> dict[str, Tally]:
        """How the cases of each shot that is reported stand."""
        return {shot.name: shot.tally for shot in self.shots}

    @property
    def columns(self) -> list[int]:
        """The table's columns of the shots that are reported, in cut order."""
        return [shot.column for shot in self.shots]


def make_report(session: Session, *, shots: Collection[str] | None = None, made: datetime) -> Report:
    """Everything a document says, of these shots (None: of all)."""
    table = session.table
    chosen = [shot for shot in session.contents.shots if shots is None or shot in shots]
    troubles = [
        trouble.says for trouble in session.troubles if trouble.shot is None or trouble.shot in chosen
    ]
    unread = tuple(session.ledger.troubles())
    apart_from: list[Trouble] = []
    parts = tuple(shot_parts(session, chosen, apart_from))
    findings = tuple(f for f in session.cases.findings if shots is None or set(f.shots) & set(chosen))
    plan = _plan(session, chosen, apart_from)
    failed = tuple(one.says for one in apart_from)
    return Report(
        title=session.contents.sequence.title,
        master=session.contents.master_version,
        made=made,
        north=session.contents.sequence.conventions.north,
        shots=parts,
        findings=findings,
        counts=table.counts([part.name for part in parts]),
        tally=sum((part.tally for part in parts), Tally()),
        troubles=(*failed, *troubles, *unread, *session.ledger.remarks()),
        unread=unread,
        ledger=session.ledger.receipt,
        table=table,
        states=session.cases.judged().states,
        plan=plan,
        failed=failed,
        held=held_shots(session, chosen),
        crew=session.crew,
    )


def _plan(session: Session, shots: Sequence[str], failed: list[Trouble]) -> RenderPlan | None:
    """The render plan; None where working it out fails, and why among what failed."""
    try:
        sheets = {shot: session.contents.sheets[shot] for shot in shots if shot in session.contents.sheets}
        return render_plan(sheets, session.cases.findings, failed)
    except Exception as error:  # noqa: BLE001 - the rest of the report is told
        failed.append(failure("The render plan", error, "worked out"))
        return None


def shot_parts(
    session: Session, shots: Sequence[str], failed: list[Trouble] | None = None
) -> Iterator[ShotPart]:
    """One shot after another; a shot that the table does not have is left out. One that fails has no lines: why is its trouble,
    and is added to `failed`, without which it is raised."""
    table, decided, unreadable = session.table, session.cases.judged().states, session.unreadable()
    tallies = session.cases.tallies()
    told: dict[str, list[Told]] = defaultdict(list)
    about: dict[str, list[Finding]] = defaultdict(list)
    for finding in session.cases.findings:
        for shot in finding.shots:
            about[shot].append(finding)
        for case in finding.cases:
            told[case.shot].append(Told(case, finding.says))
    for shot in shots:
        column = table.column(shot)
        if column is None:
            continue
        sheet, trouble = session.contents.sheets.get(shot), unreadable.get(shot)
        lines: tuple[ReportLine, ...] = ()
        with apart(shot, failed):
            lines = _lines(session, column, decided)
        if failed and failed[-1].shot == shot:
            trouble = failed[-1]
        yield ShotPart(
            name=shot,
            column=column,
            version=sheet.version if sheet else None,
            on_master=sheet.master if sheet else None,
            frames=sheet.frames if sheet else None,
            lines=lines,
            unsettled=tuple(line for line in lines if line.needs_a_look),
            told=tuple(told.get(shot, ())),
            tally=tallies[column],
            trouble=trouble.says if trouble else "",
            setup=session.contents.setup_of(shot).name,
            is_held=session.contents.setup_of(shot).master is not None,
            lighter=session.crew.who(shot),
            findings=tuple(about.get(shot, ())),
        )


def shot_tallies(session: Session, shots: Sequence[str]) -> dict[str, Tally]:
    """How the cases of each of these shots stand."""
    columns = {shot: column for shot in shots if (column := session.table.column(shot)) is not None}
    tallies = session.cases.tallies()
    return {shot: tallies[column] for shot, column in columns.items()}


def _lines(session: Session, column: int, decided: Mapping[Cell, State]) -> tuple[ReportLine, ...]:
    table, follows, lines = session.table, session.cases.following(), list[ReportLine]()
    for row in np.flatnonzero(table.grade[:, column] > Grade.SAME).tolist():
        judged = (
            session.cases.judgement(row, column) if (row, column) in decided else Judgement(State.UNDECIDED)
        )
        lines.append(
            ReportLine(
                row,
                table.cell(row, column),
                float(table.severity[row, column]),
                judged.state,
                judged.decisions,
                Grade(follows.weight[row, column]),
                session.cases.following().parameters(row, column),
            )
        )
    lines.sort(
        key=lambda line: (
            not line.needs_a_look,
            -line.cell.grade,
            -figure(line.severity, SORTED_BY),
            line.row,
        )
    )
    return tuple(lines)
