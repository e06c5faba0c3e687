"""What is chosen of what is said of a shot, and what a verdict is then about. Plain objects, no Qt."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from samelight.decisions.decision import Verb
from samelight.decisions.state import State
from samelight.drift.cells import Cell, Grade
from samelight.drift.words import counted
from samelight.findings.finding import Case
from samelight.findings.words import listed, parameter_text
from samelight.gui.review.shot_said import Said, ShotSaid, typed


@dataclass(frozen=True, slots=True)
class Choice:
    """One of the sentences on a shot; without one, or when it is no longer said, all of the shot is meant."""

    said: ShotSaid
    says: str

    def one(self) -> Said | None:
        """The sentence that was chosen, while it is said."""
        return next((one for one in self.said.drifts() if one.says == self.says), None) if self.says else None

    def to_decide(self) -> tuple[list[Cell], list[Case]]:
        """The cells that a verdict is about, and what findings say beside cells: of what is chosen, else all that is unsettled."""
        return self._among(self.said.unsettled_cells(), self.said.unsettled_cases())

    def mended(self) -> tuple[list[Cell], list[Case]]:
        """The cells and cases of the shot, or of what is chosen, that came back mended and may be closed."""
        session, shot = self.said.session, self.said.shot
        column, follows = session.table.column(shot), session.cases.following().mask
        cells = [
            (row, column)
            for row in (session.cases.judged().rows.get(column, ()) if column is not None else ())
            if column is not None and not follows[row, column] and session.cases.may(Verb.CLOSE, row, column)
        ]
        cases = [
            case
            for case in session.cases.finding_cases({shot}, Grade.NONE)
            if case.state is not State.UNDECIDED and case.may(Verb.CLOSE)
        ]
        return self._among(cells, cases)

    def _among(self, cells: list[Cell], cases: list[Case]) -> tuple[list[Cell], list[Case]]:
        one = self.one()
        if one is None:
            return cells, cases
        named = {(case.shot, case.parameter) for case in one.cases}
        return (
            [cell for cell in cells if cell in one.cells],
            [case for case in cases if (case.shot, case.parameter) in named],
        )

    def verdict_text(self, verb: Verb) -> str:
        """What a verdict would do here, for a tooltip."""
        cells, cases = self.to_decide()
        if not cells and not cases:
            return f"Nothing to decide or mend in {'what is chosen' if self.one() else 'this shot'}"
        rows = self.said.session.table.rows
        names = [*(parameter_text(rows[row]) for row, _ in cells), *(case.parameter for case in cases)]
        what = "Say that it is meant" if verb is Verb.INTEND else "Send it back"
        return f"{what}: {counted(len(names), 'case')} of {self.said.shot} ({listed(names, at_most=4)})"

    def traced(self) -> str:
        """The parameter whose trace says most now: of what is chosen, else of the worst here, else of the worst finding of all.

        Empty where nothing drifts.
        """
        session, one = self.said.session, self.one()
        told: list[Sequence[Cell]] = [one.cells] if one is not None else []
        told += [said.cells for said in self.said.drifts()]
        told += [finding.cells for finding in session.cases.findings]
        cells, table = next(filter(None, told), ()), session.table
        furthest = table.furthest_off(typed(table, cells) or cells)
        return table.rows[furthest[0]].parameter if furthest is not None else ""
