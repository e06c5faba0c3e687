"""What the review window shows of a sequence: where it stands in the cut and what is said there. Plain objects, no Qt."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

import numpy as np

from samelight.decisions.decision import Decision, Verb
from samelight.decisions.state import State
from samelight.drift.cells import Cell, Grade
from samelight.drift.joined_traces import row_traces
from samelight.drift.table import Table
from samelight.drift.traces import Trace
from samelight.drift.words import counted, drift_text
from samelight.findings.finding import Case, Concern, Finding
from samelight.findings.settled import worst
from samelight.findings.words import happening, listed, parameter_text, sentence
from samelight.sequence.session import Session
from samelight.sheets.patterns import DISTANT, SUN
from samelight.sheets.vocabulary import COMPARED_SECTIONS

LENGTH = 2.0
"""Seconds for which a shot is shown whose length nobody states."""

Rank = tuple[bool, int, bool, int, float]
"""Whether it was decided on, concern, whether it only follows from something else, grade and severity; the worst sorts first."""


class Compare(StrEnum):
    """How a frame stands against another."""

    ALONE = "alone"
    WIPE = "wipe"
    SIDE = "side by side"


class Other(StrEnum):
    """Which frame it is compared with."""

    KEY = "key shot"
    BEFORE = "shot before"
    AFTER = "shot after"
    RENDERED = "as rendered"


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
class CutTrace:
    """A trace over `shots`, under a row's name, and the drift over tolerance in each of them."""

    title: str
    trace: Trace
    shots: tuple[str, ...]
    severity: tuple[float, ...]


class ReviewState:
    """A sequence and the shot that is looked at. What is said is always about the master."""

    def __init__(self, session: Session, shot: str = "") -> None:
        self.session = session
        self.shot = shot
        self._chosen = ""
        self._traced: tuple[Table, str, CutTrace | None] | None = None
        self.take(session)

    def take(self, session: Session) -> None:
        """Show a session, or what changed in it: the same shot as before where it is still in the cut."""
        self.session = session
        if self.shot not in self.shots:
            self.shot = self.shots[0] if self.shots else ""

    @property
    def shots(self) -> tuple[str, ...]:
        """The cut."""
        return self.session.contents.shots

    # Where to go

    def go(self, shot: str) -> bool:
        """Look at a shot; whether that is another one than before."""
        if shot not in self.shots or shot == self.shot:
            return False
        self.shot, self._chosen = shot, ""
        return True

    def length(self) -> float:
        """How long the shot is, in seconds; `LENGTH` where its sheet does not say."""
        sheet = self.session.contents.sheets.get(self.shot)
        frames = sheet.typed.get("frames") if sheet is not None else None
        match frames:
            case [int(first), int(last)] if last >= first:
                return (last - first + 1) / self.session.contents.sequence.frame_rate
        return LENGTH

    def step(self, by: int) -> bool:
        """Go on in the cut, or back; it ends at its ends. Whether that led anywhere."""
        place = min(max(self._place() + by, 0), len(self.shots) - 1)
        return bool(self.shots) and self.go(self.shots[place])

    def to_end(self, *, last: bool) -> bool:
        """Go to the first or the last shot."""
        return self.step(len(self.shots) if last else -len(self.shots))

    def to_unsettled(self, by: int) -> bool:
        """Go to the next shot with something unsettled, or the one before, round and round.

        What a finding says beside cells, such as a moving camera, counts as well.
        """
        wanted = self.unsettled_shots()
        here, count = self._place(), len(self.shots)
        ahead = (self.shots[(here + by * away) % count] for away in range(1, count))
        return self.go(next((shot for shot in ahead if shot in wanted), self.shot))

    def _place(self) -> int:
        return self.shots.index(self.shot) if self.shot in self.shots else 0

    def beside(self, by: int) -> str | None:
        """The shot before or after in the cut."""
        place = self._place() + by
        return self.shots[place] if 0 <= place < len(self.shots) else None

    @property
    def key_shot(self) -> str | None:
        """The shot that the master setup was lit on, as the sequence or else the master says."""
        return self.session.contents.setup_of(self.shot).lit_on

    def other(self, which: Other) -> str | None:
        """The shot whose frame this one's is compared with; None where there is none, or it is this one. As rendered it is itself."""
        if which is Other.RENDERED:
            return self.shot or None
        shot = {Other.KEY: self.key_shot, Other.BEFORE: self.beside(-1), Other.AFTER: self.beside(1)}[which]
        return None if shot == self.shot else shot

    def other_title(self, which: Other) -> str:
        """What the other frame is, in words; or why there is none."""
        shot = self.other(which)
        if shot is not None:
            return f"{shot}, {which}"
        if which is Other.KEY:
            return "This is the key shot" if self.key_shot else "No key shot is named in sequence.yaml"
        return f"There is no {which}"

    def traced(self) -> str:
        """The parameter whose trace says most now: of what is chosen, else of the worst here, else of the worst finding of all.

        Empty where nothing drifts.
        """
        chosen = self.chosen()
        said = ([chosen] if chosen is not None else []) + self.drifts()
        cells = next((one.cells for one in said if one.cells), ()) or next(
            (finding.cells for finding in self.session.cases.findings if finding.cells), ()
        )
        typed, table = self._typed(cells) or cells, self.session.table
        furthest = table.furthest_off(typed)
        return table.rows[furthest[0]].parameter if furthest is not None else ""

    def cut_trace(self, parameter: str) -> CutTrace | None:
        """The trace of a parameter over the cut; of a direction the angle that goes furthest from its master. It is worked out once,
        and not for each shot of a cut that plays."""
        table = self.session.table
        if self._traced is None or self._traced[0] is not table or self._traced[1] != parameter:
            self._traced = table, parameter, self._cut_trace(table, parameter)
        return self._traced[2]

    def _cut_trace(self, table: Table, parameter: str) -> CutTrace | None:
        row = table.row(parameter) if self.session.cases.decidable else None
        found = (
            row_traces(table, row, self.session.contents.sequence.conventions.north)
            if row is not None
            else []
        )
        if row is None or not found:
            return None
        trace = max(found, key=_furthest)
        severity = tuple(float(one) for one in table.severity[row])
        title = f"{table.rows[row].group} {trace.title}"
        return CutTrace(title, trace, tuple(table.shots), severity)

    # What is said

    @property
    def resting(self) -> str:
        """Why nothing is said of drift now: the grid holds shots against something else than the master. Or empty."""
        if self.session.cases.decidable:
            return ""
        return (
            f"The grid compares the shots with {self.session.comparison.reference.text} now. "
            "Choose the master there to see what drifts."
        )

    def unsettled_shots(self) -> set[str]:
        """The shots with an unsettled case."""
        if not self.session.cases.decidable:
            return set()
        shots = self.session.table.shots
        return {shots[column] for column, tally in self.session.cases.tallies().items() if tally.unsettled}

    def _column(self, shot: str) -> int | None:
        """The column of a shot, while something can be said of its cells."""
        return self.session.table.column(shot) if self.session.cases.decidable else None

    def unsettled_cells(self) -> list[Cell]:
        """The cells of this shot that drift and that nobody called intended: what a verdict is about."""
        column = self._column(self.shot)
        return (
            [(row, column) for row in self.session.cases.unsettled_rows(column)] if column is not None else []
        )

    def unsettled_cases(self) -> list[Case]:
        """What findings say of this shot beside cells, and nobody called intended: a verdict is about it as well."""
        return self.session.cases.unsettled_cases([self.shot]) if self._column(self.shot) is not None else []

    def place_text(self) -> str:
        """Where the shot stands, and whose it is: "5 of 24, against master 3, Ines"."""
        setup = self.session.contents.setup_of(self.shot)
        master = setup.master_version
        against = (
            f"against {setup.name} master {master}".replace("  ", " ") if master is not None else "no master"
        )
        if setup.follows:
            against = f"against {setup.follows}"
        whose = self.session.crew.who(self.shot)
        said = ", ".join(part for part in (against, whose) if part)
        return f"{self._place() + 1} of {len(self.shots)}, {said}" if self.shots else "no shots"

    def count_text(self, shot: str | None = None) -> str:
        """How much of a shot is undecided, sent back and intended, as far as there is any."""
        name = self.shot if shot is None else shot
        if name in self.session.unreadable():
            return "no readable sheet"
        column = self._column(name)
        if column is None or self.session.contents.setup_of(name).master is None:
            return ""
        parts = self.session.cases.tallies([column])[column].says.split(", ")
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

    # What is chosen of it

    def choose(self, place: int) -> Said | None:
        """Choose one of the sentences on the shot by its place from 0, or let go of it if it is chosen; what is chosen then."""
        said = self.drifts()
        if place < len(said):
            self._chosen = "" if said[place].says == self._chosen else said[place].says
        return self.chosen()

    def chosen(self) -> Said | None:
        """The sentence that was chosen, while it is said."""
        return (
            next((one for one in self.drifts() if one.says == self._chosen), None) if self._chosen else None
        )

    def verdict_cells(self) -> list[Cell]:
        """The cells that a verdict is about: those of what is chosen, else all that are unsettled in the shot."""
        chosen, cells = self.chosen(), self.unsettled_cells()
        return cells if chosen is None else [cell for cell in cells if cell in chosen.cells]

    def verdict_cases(self) -> list[Case]:
        """What findings say beside cells that a verdict is about, in the same way."""
        chosen, cases = self.chosen(), self.unsettled_cases()
        named = None if chosen is None else {(case.shot, case.parameter) for case in chosen.cases}
        return [case for case in cases if named is None or (case.shot, case.parameter) in named]

    def named_in(self, text: str) -> list[Cell]:
        """The cells of the shot that a text names, by their whole name or by light and parameter, such as sun direction, and that may
        be sent back. A light alone names no cell: a word on it is a note."""
        words = f" {' '.join(word.strip(_PUNCTUATION) for word in text.lower().split())} "
        column = self.session.table.column(self.shot)
        if column is None or not self.session.cases.decidable:
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

    def mended(self) -> tuple[list[Cell], list[Case]]:
        """The cells and cases of the shot, or of what is chosen, that came back mended and may be closed."""
        session, column, chosen = self.session, self.session.table.column(self.shot), self.chosen()
        follows = session.cases.following().mask
        rows = session.cases.judged().rows.get(column, ()) if column is not None else ()
        cells = [
            (row, column)
            for row in rows
            if column is not None and not follows[row, column] and session.cases.may(Verb.CLOSE, row, column)
        ]
        cases = [
            case
            for case in session.cases.finding_cases({self.shot}, Grade.NONE)
            if case.state is not State.UNDECIDED and case.may(Verb.CLOSE)
        ]
        if chosen is not None:
            named = {(case.shot, case.parameter) for case in chosen.cases}
            cells = [cell for cell in cells if cell in chosen.cells]
            cases = [case for case in cases if (case.shot, case.parameter) in named]
        return cells, cases

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
        follows = bool(cells) and not self._typed(cells)
        return (said.handled, finding.concern, follows, -said.grade, -said.severity), said

    def _typed(self, cells: Sequence[Cell]) -> list[Cell]:
        return [cell for cell in cells if self.session.table.rows[cell[0]].section in COMPARED_SECTIONS]

    def _worst(self, cells: Sequence[Cell]) -> tuple[Grade, float, str]:
        table = self.session.table
        # Of a sun that moved, its own angle says more than what follows from it.
        furthest = table.furthest_off(self._typed(cells) or cells)
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

    def decisions(self) -> list[Decided]:
        """What was decided on this shot: what is meant first, then what was sent back or no longer holds."""
        made: dict[tuple[State, str], tuple[Decision, list[str]]] = {}
        column = self._column(self.shot)
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
        order = _ORDER
        return [
            Decided(state, tuple(parameters), decision.who, decision.when, decision.reason)
            for (state, _), (decision, parameters) in sorted(
                made.items(), key=lambda item: (order.index(item[0][0]), item[1][0].id)
            )
        ]

    def notes(self) -> list[Decision]:
        """The notes on this shot, the last first."""
        return self.session.ledger.notes(self.shot)[::-1]

    def verdict_text(self, verb: Verb) -> str:
        """What a verdict would do here, for a tooltip."""
        cells, cases = self.verdict_cells(), self.verdict_cases()
        if not cells and not cases:
            return f"Nothing to decide or mend in {'what is chosen' if self.chosen() else 'this shot'}"
        said = [parameter_text(self.session.table.rows[row]) for row, _ in cells]
        names = listed([*said, *(case.parameter for case in cases)], at_most=4)
        what = "Say that it is meant" if verb is Verb.INTEND else "Send it back"
        return f"{what}: {counted(len(cells) + len(cases), 'case')} of {self.shot} ({names})"


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


def _furthest(trace: Trace) -> float:
    """How many of its tolerances a trace goes from its master at most, as plotted."""
    apart = np.abs(trace.from_master().values)
    apart = apart[np.isfinite(apart)]
    return float(apart.max(initial=0.0)) / max((trace.high - trace.low) / 2, 1e-12) if apart.size else 0.0
