"""Asking for the reason of a decision: text, and Enter makes it. Earlier reasons are remembered by what was decided."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from PySide6.QtWidgets import (
    QCheckBox,
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QLineEdit,
    QSpinBox,
    QVBoxLayout,
    QWidget,
)

from samelight.decisions.decision import Verb
from samelight.decisions.ledger import Subject
from samelight.drift.cells import Cell, CellName, ComparedCell
from samelight.drift.words import counted, drift_text, first_names
from samelight.findings.finding import Case
from samelight.gui.paint import theme
from samelight.gui.state.found_again import finding_of
from samelight.gui.widgets.boxes import warn
from samelight.gui.widgets.plain_text import PlainLabel
from samelight.gui.widgets.reason_field import ReasonField
from samelight.gui.widgets.settings import Settings
from samelight.sequence.session import Session
from samelight.sheets.values import Named

TITLES: dict[Verb, str] = {
    Verb.INTEND: "Mark as intended",
    Verb.RETURN: "Send back",
    Verb.TAKE_UP: "Take up",
    Verb.CLOSE: "Close",
    Verb.WITHDRAW: "Withdraw the decision",
}
REASONS: dict[Verb, tuple[str, ...]] = {
    Verb.INTEND: (
        "Follows the character",
        "Asked for in dailies",
        "Works round a renderer's limit",
        "Hides a seam in the set",
    ),
    Verb.RETURN: (
        "Set it back to the master's value",
        "Match the shot before",
        "Bring in the master setup again",
    ),
}
"""What is offered until there are enough earlier reasons."""

_REASONS_KEPT = 6
_LISTED = 6
_THEN = "then go on"


class ReasonDialog(QDialog):
    """What will be decided, by whom, and why."""

    def __init__(
        self,
        session: Session,
        verb: Verb,
        cells: Sequence[Cell],
        who: str,
        earlier: Sequence[str] = (),
        parent: QWidget | None = None,
        cases: Sequence[Case] = (),
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle(TITLES[verb])
        self.setMinimumWidth(520)
        shots = {session.table.shots[column] for _, column in cells} | {case.shot for case in cases}
        self.reason = ReasonField(offered_reasons(session, verb, cells, cases, earlier), HINTS.get(verb, ""))
        self.whom = PlainLabel(session.crew.to(shots) if verb is Verb.RETURN else "")
        self.whom.setWordWrap(True)
        self.whom.setAccessibleName("Whom it goes to")
        self.who = QLineEdit(who)
        self.who.setAccessibleName("Who decides")
        self.who.setToolTip("The name under which it is decided, remembered for the next time")
        self.until_box = QSpinBox()
        # One below the current master stands for no end: a decision that ends earlier would hold nowhere.
        self.until_box.setRange((session.contents.version_held(shots) or 1) - 1, 99_999)
        self.until_box.setSpecialValueText("no end")
        self.until_box.setPrefix("master v")
        self.until_box.setToolTip(
            "The last master version on which this holds; with the next one it asks again"
        )
        self.until_box.setAccessibleName("Holds until")
        self.then_on = QCheckBox("Then go to the &next")
        self.then_on.setToolTip(
            "After a decision the cursor goes to what is to be decided on next; else it stays. Remembered for the next time"
        )
        self.then_on.setAccessibleName("Then go to the next")
        self.then_on.setVisible(verb is not Verb.WITHDRAW)  # what is taken back is looked at again
        self._lay_out(verb, preview_text(session, cells, cases))
        self.reason.textChanged.connect(self._check)
        self.who.textChanged.connect(self._check)
        self._check()
        self.reason.setFocus()

    def _lay_out(self, verb: Verb, preview: str) -> None:
        said = PlainLabel(preview)
        said.setWordWrap(True)
        form = QFormLayout()
        if self.whom.text():
            form.addRow("To:", self.whom)
        form.addRow("&Reason", self.reason)
        form.addRow("", self.reason.offers)
        if verb is Verb.RETURN:
            self.who.setFont(theme.font(theme.DENSE))
        form.addRow("&Signed" if verb is Verb.RETURN else "&Who", self.who)
        if verb is Verb.INTEND:
            form.addRow("Holds &until", self.until_box)
        buttons = QDialogButtonBox(
            QDialogButtonBox.StandardButton.Ok | QDialogButtonBox.StandardButton.Cancel
        )
        buttons.accepted.connect(self.accept)
        buttons.rejected.connect(self.reject)
        self.ok = buttons.button(QDialogButtonBox.StandardButton.Ok)
        self.ok.setText(TITLES[verb])
        layout = QVBoxLayout(self)
        layout.addWidget(said)
        layout.addLayout(form)
        layout.addStretch(1)
        layout.addWidget(self.then_on)
        layout.addWidget(buttons)

    def _check(self) -> None:
        self.ok.setEnabled(bool(self.who.text().strip()) and bool(self.reason_text()))

    def until(self) -> int | None:
        """The last master version on which the decision holds; None has no end."""
        box = self.until_box
        return box.value() if box.value() > box.minimum() else None

    def reason_text(self) -> str:
        """The reason as typed, without the space around it."""
        return self.reason.text().strip()


@dataclass(frozen=True, slots=True)
class Answer:
    """What was decided, and on which cells of the table and cases of findings there are now. `until` is the last master
    version it holds on."""

    cells: list[Cell]
    who: str
    reason: str = ""
    until: int | None = None
    cases: tuple[Case, ...] = ()

    @property
    def covers(self) -> str:
        """On how much."""
        return counted_text(len(self.cells), len(self.cases))


@dataclass(frozen=True)
class Question:
    """What a decision is asked about, so that the answer is given on that and on nothing else."""

    session: Session
    names: list[CellName]
    seen: list[Subject]
    cases: dict[CellName, tuple[Named, Named | None]]

    @classmethod
    def about(cls, session: Session, cells: Sequence[Cell], cases: Sequence[Case]) -> Question:
        """The question about some cells and cases as they stand now."""
        table = session.table
        names = [(table.shots[column], table.rows[row].parameter) for row, column in cells]
        asked = {(case.shot, case.parameter): (case.value, case.master) for case in cases}
        return cls(session, names, session.cases.subjects(cells), asked)

    def still(self) -> tuple[list[Cell], tuple[Case, ...]] | None:
        """The cells and cases there are now; None where they are no longer what was asked about."""
        session = self.session
        found = session.table.places(self.names)
        now = tuple(
            case for case in session.cases.finding_cases() if (case.shot, case.parameter) in self.cases
        )
        still = {(case.shot, case.parameter): (case.value, case.master) for case in now} == self.cases
        return (found, now) if still and session.cases.subjects(found) == self.seen else None


CHANGED = "These values changed on disk while you were deciding. Look at them again."


def goes_on(settings: Settings) -> bool:
    """Whether the cursor goes to what is to be decided on next, once something was decided; else it stays."""
    return bool(settings.number(_THEN, 1))


def earlier_reasons(settings: Settings, verb: Verb) -> list[str]:
    """The reasons that were given last, the latest first."""
    return settings.names(f"reasons to {verb}")


def keep_reason(settings: Settings, verb: Verb, reason: str) -> None:
    """Offer a reason again the next time."""
    if reason:
        others = (other for other in earlier_reasons(settings, verb) if other != reason)
        settings.keep(f"reasons to {verb}", [reason, *others][:_REASONS_KEPT])


def offered_reasons(
    session: Session, verb: Verb, cells: Sequence[Cell], cases: Sequence[Case], earlier: Sequence[str]
) -> list[str]:
    """The reasons that are offered: what the findings advise, then earlier ones, then common ones."""
    advised = advice(session, cells, cases) if verb is Verb.RETURN else []
    return [*advised, *earlier, *REASONS.get(verb, ())]


HINTS: dict[Verb, str] = {Verb.INTEND: "Why it is meant", Verb.RETURN: "What to mend"}


def ask(
    session: Session,
    verb: Verb,
    cells: Sequence[Cell],
    who: str,
    settings: Settings,
    parent: QWidget,
    *,
    cases: Sequence[Case] = (),
    is_shown: Callable[[], bool],
) -> Answer | None:
    """Ask for the reason of a decision and remember it; None where it is not to be made.

    The folder is followed while the question stands: where the cells are no longer what was asked about, or `is_shown`
    says that their sequence is not, the user is told and nothing is decided.
    """
    question = Question.about(session, cells, cases)
    dialog = ReasonDialog(session, verb, cells, who, earlier_reasons(settings, verb), parent, cases)
    dialog.then_on.setChecked(goes_on(settings))
    agreed = dialog.exec() == QDialog.DialogCode.Accepted
    dialog.deleteLater()  # or the window would keep it to its own end
    if not agreed:
        return None
    reason = dialog.reason_text()
    keep_reason(settings, verb, reason)
    settings.keep(_THEN, int(dialog.then_on.isChecked()))
    found = question.still() if is_shown() else None
    if found is None:
        warn(parent, f"{TITLES[verb]}: not done", CHANGED)
        return None
    return Answer(found[0], dialog.who.text().strip(), reason, dialog.until(), found[1])


def advice(session: Session, cells: Sequence[Cell], cases: Sequence[Case] = ()) -> list[str]:
    """What the findings about some cells and cases say is to be done, the most harmful first: what a lighter can do.

    One that only asks for a decision advises nothing.
    """
    asked, named = set(cells), {(case.shot, case.parameter) for case in cases}
    found = []
    for finding in session.cases.findings:
        of_cases = any((case.shot, case.parameter) in named for case in finding.cases)
        if (of_cases or asked & set(finding.cells)) and finding.advice:
            found.append(finding.advice)
    return list(dict.fromkeys(found))[:_ADVISED]


_ADVISED = 3


def counted_text(cells: int, findings: int) -> str:
    """How many cells and findings, as far as there are any.

    >>> counted_text(2, 0), counted_text(1, 1), counted_text(0, 3)
    ('2 cells', '1 cell, 1 finding', '3 findings')
    """
    parts = [counted(cells, "cell") if cells else "", counted(findings, "finding") if findings else ""]
    return ", ".join(part for part in parts if part)


def preview_text(session: Session, cells: Sequence[Cell], cases: Sequence[Case] = ()) -> str:
    """How many cells and findings of which shots a decision would cover, and the first of them."""
    table = session.table
    named = {table.shots[column] for _, column in cells} | {case.shot for case in cases}
    names = first_names([shot for shot in table.shots if shot in named], _LISTED)
    said = [f"{cell.shot}  {cell.parameter}  {drift_text(cell)}" for cell in _first(session, cells)]
    for case in cases[: _LISTED - len(said)]:
        finding = finding_of((case.shot, case.parameter), session.cases.findings)
        said.append(f"{case.shot}  {case.level.word}: {case.parameter if finding is None else finding.says}")
    lines = [f"{counted_text(len(cells), len(cases))} in {names}"]
    lines += [f"    {line}" for line in said]
    more = len(cells) + len(cases) - _LISTED
    return "\n".join([*lines, f"    and {more} more"] if more > 0 else lines)


def _first(session: Session, cells: Sequence[Cell]) -> list[ComparedCell]:
    return [session.table.cell(*cell) for cell in list(cells)[:_LISTED]]
