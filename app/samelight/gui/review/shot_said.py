"""What is said of a shot in the review, and what was decided on it. Plain objects, no Qt."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from samelight.decisions.decision import Decision
from samelight.decisions.state import State
from samelight.drift.cells import Cell, Grade
from samelight.drift.table import Table
from samelight.drift.words import drift_text
from samelight.findings.finding import Case, Concern, Finding
from samelight.findings.settled import worst
from samelight.findings.words import happening, parameter_text, sentence
from samelight.sequence.session import Session
from samelight.sheets.patterns import DISTANT, SUN
from samelight.sheets.vocabulary import COMPARED_SECTIONS

Rank = tuple[bool, int, bool, int, float]
"""Whether it was decided on, concern, whether it only follows from something else, grade and severity; the worst sorts first."""

_ORDER = (
    State.INTENDED,
    State.SENT_BACK,
    State.TAKEN_UP,
    State.TWO_OPINIONS,
    State.ASKS_AGAIN,
    State.MENDED,
    State.CLOSED,
    State.UNDECIDED,
)

_PUNCTUATION = ".,:;!?()\"'"
"""What may stand beside a name in a sentence."""


@dataclass(frozen=True, slots=True)
class Said:
    """One sentence on a shot. `drift` is the shot's own worst drift in it, in words; empty where no cell drifts.

    `is_finding` tells what a finding says from what is said of a cell alone, or of a sheet that cannot be read.
    """

    says: str
    do: str
    grade: Grade = Grade.NONE
    severity: float = 0.0
    drift: str = ""
    is_finding: bool = False
    state: State = State.UNDECIDED
    """What was decided on it."""
    cells: tuple[Cell, ...] = ()
    """The cells of the shot that it is about."""
    cases: tuple[Case, ...] = ()
    """What it says of the shot beside cells."""

    @property
    def handled(self) -> bool:
        """Whether nobody has to look at it now."""
        return self.state.is_handled


@dataclass(frozen=True, slots=True)
class Decided:
    """What was decided on some parameters of a shot in one go: by whom, when and why. `state` is what it comes to."""

    state: State
    parameters: tuple[str, ...]
    who: str
    when: datetime
    reason: str


@dataclass(frozen=True, slots=True)
class ShotSaid:
    """What there is to say of a shot of a sequence, always about the master."""

    session: Session
    shot: str

    @property
    def column(self) -> int | None:
        """The column of the shot, while something can be said of its cells."""
        return self.session.table.column(self.shot) if self.session.cases.decidable else None

    @property
    def resting(self) -> str:
        """Why nothing is said of drift now: the grid holds shots against something else than the master. Or empty."""
        if self.session.cases.decidable:
            return ""
        return (
            f"The grid compares the shots with {self.session.comparison.reference.text} now. "
            "Choose the master there to see what drifts."
        )

    def unsettled_cells(self) -> list[Cell]:
        """The cells of this shot that drift and that nobody called intended: what a verdict is about."""
        column = self.column
        return (
            [(row, column) for row in self.session.cases.unsettled_rows(column)] if column is not None else []
        )

    def unsettled_cases(self) -> list[Case]:
        """What findings say of this shot beside cells, and nobody called intended: a verdict is about it as well."""
        return self.session.cases.unsettled_cases([self.shot]) if self.column is not None else []

    def count_text(self) -> str:
        """How much of the shot is undecided, sent back and intended, as far as there is any."""
        if self.shot in self.session.unreadable():
            return "no readable sheet"
        column = self.column
        if column is None or self.session.contents.setup_of(self.shot).master is None:
            return ""
        parts = self.session.cases.tallies()[column].says.split(", ")
        return ", ".join(part for part in parts if not part.startswith("0 ")) or "matches the master"

    def drifts(self) -> list[Said]:
        """What is unsettled in this shot, in sentences, the worst first."""
        trouble = self.session.unreadable().get(self.shot)
        if trouble is not None:
            do = "" if trouble.unheld else "Publish a sheet that can be read."
            return [Said(trouble.says, do, Grade.BREAK, math.inf)]
        if self.resting:
            return [Said(self.resting, "")]
        opened, told = self.unsettled_cells(), set()
        ranked: list[tuple[Rank, Said]] = []
        for finding in self.session.cases.findings:
            if self.shot in finding.shots:
                column = self.session.table.column(self.shot)
                cells = [cell for cell in finding.cells if cell[1] == column]
                told.update(cells)
                ranked.append(self._ranked(finding, cells))
        for cell in opened:
            if cell not in told:
                said = Said(f"{self._happening(cell)}.", "", *self._worst([cell]), cells=(cell,))
                ranked.append(((False, Concern.ORDER, False, -said.grade, -said.severity), said))
        return [said for _, said in sorted(ranked, key=lambda pair: (pair[0], pair[1].says))]

    def named_in(self, text: str) -> list[Cell]:
        """The cells of the shot that a text names, by their whole name or by light and parameter, such as sun direction, and that may
        be sent back. A light alone names no cell: a word on it is a note."""
        words = f" {' '.join(word.strip(_PUNCTUATION) for word in text.lower().split())} "
        column = self.column
        if column is None:
            return []
        follows = self.session.cases.following().mask
        found = []
        for row in self.session.cases.unsettled_rows(column):
            what = self.session.table.rows[row]
            names = [
                what.parameter.lower(),
                *([f"{what.group} {what.leaf}".lower().strip()] if what.leaf else []),
            ]
            if not follows[row, column] and any(f" {name} " in words for name in names):
                found.append((row, column))
        return found

    def decisions(self) -> list[Decided]:
        """What was decided on this shot: what is meant first, then what was sent back or no longer holds."""
        made: dict[tuple[State, str], tuple[Decision, list[str]]] = {}
        column = self.column
        cells = (
            [(row, column) for row in self.session.cases.judged().rows.get(column, ())]
            if column is not None
            else []
        )
        for row, of_shot in cells:
            judgement = self.session.cases.judgement(row, of_shot)
            for decision in judgement.decisions:
                key = (judgement.state, decision.batch or decision.id)
                parameters = made.setdefault(key, (decision, []))[1]
                parameters.append(parameter_text(self.session.table.rows[row]))
        for case in self.session.cases.finding_cases([self.shot]) if column is not None else []:
            for decision in case.judgement.decisions:
                made.setdefault((case.state, decision.batch or decision.id), (decision, []))[1].append(
                    case.parameter
                )
        return [
            Decided(state, tuple(parameters), decision.who, decision.when, decision.why)
            for (state, _), (decision, parameters) in sorted(
                made.items(), key=lambda item: (_ORDER.index(item[0][0]), item[1][0].id)
            )
        ]

    def notes(self) -> list[Decision]:
        """The notes on this shot, the last first."""
        return self.session.ledger.notes(self.shot)[::-1]

    def _ranked(self, finding: Finding, cells: Sequence[Cell]) -> tuple[Rank, Said]:
        state = worst([case.state for case in finding.cases if case.shot == self.shot] or [finding.state])
        said = Said(
            finding.says,
            finding.do,
            *self._worst(cells),
            is_finding=True,
            state=state,
            cells=tuple(cells),
            cases=tuple(case for case in finding.cases if case.shot == self.shot),
        )
        # What follows from something else comes after it, and what was decided on after all.
        follows = bool(cells) and not typed(self.session.table, cells)
        return (said.handled, finding.concern, follows, -said.grade, -said.severity), said

    def _worst(self, cells: Sequence[Cell]) -> tuple[Grade, float, str]:
        table = self.session.table
        # Of a sun that moved, its own angle says more than what follows from it.
        furthest = table.furthest_off(typed(table, cells) or cells)
        if furthest is None:
            return Grade.NONE, 0.0, ""
        return (
            Grade(int(table.grade[furthest])),
            float(table.severity[furthest]),
            drift_text(table.cell(*furthest)),
        )

    def _happening(self, cell: Cell) -> str:
        row, entry = self.session.table.rows[cell[0]], self.session.table.entry(*cell)
        if entry is None:
            return sentence(parameter_text(row))
        distant = row.light_type in (DISTANT, SUN)
        return sentence(happening(row, entry, self.session.contents.sequence.conventions.north, distant))


def typed(table: Table, cells: Sequence[Cell]) -> list[Cell]:
    """The cells that stand in sheets: the others follow from them."""
    return [cell for cell in cells if table.rows[cell[0]].section in COMPARED_SECTIONS]
