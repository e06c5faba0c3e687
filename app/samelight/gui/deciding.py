"""Asking for the reason of a decision: text, and Enter makes it."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QLabel,
    QLineEdit,
    QSpinBox,
    QVBoxLayout,
    QWidget,
)

from samelight.decisions.decision import Verb
from samelight.drift.words import counted, drift_text
from samelight.gui.reason_field import ReasonField
from samelight.session import Session

TITLES: dict[Verb, str] = {
    Verb.INTEND: "Mark as intended",
    Verb.RETURN: "Send back",
    Verb.WITHDRAW: "Withdraw the decision",
}
REASONS: tuple[str, ...] = (
    "Follows the character",
    "Asked for in dailies",
    "Works round a renderer's limit",
    "Hides a seam in the set",
)
_LISTED = 6


class ReasonDialog(QDialog):
    """What will be decided, by whom, and why."""

    def __init__(
        self,
        session: Session,
        verb: Verb,
        cells: Sequence[tuple[int, int]],
        who: str,
        earlier: Sequence[str] = (),
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle(TITLES[verb])
        self.setMinimumWidth(520)
        self._needs_reason = verb is Verb.INTEND
        layout = QVBoxLayout(self)
        preview = QLabel(preview_text(session, cells))
        preview.setTextFormat(Qt.TextFormat.PlainText)
        preview.setWordWrap(True)
        layout.addWidget(preview)
        form = QFormLayout()
        hint = "Why it is meant" if self._needs_reason else "What to mend"
        self.reason = ReasonField([*earlier, *REASONS], hint)
        self.who = QLineEdit(who)
        self.who.setAccessibleName("Who decides")
        form.addRow("&Reason", self.reason)
        form.addRow("", self.reason.offers)
        form.addRow("&Who", self.who)
        self.until_box = QSpinBox()
        # One below the current master stands for no end: a decision that ends earlier would hold nowhere.
        self.until_box.setRange((session.master_version or 1) - 1, 99_999)
        self.until_box.setSpecialValueText("no end")
        self.until_box.setPrefix("master v")
        self.until_box.setToolTip(
            "The last master version on which this holds; then it lapses and asks again"
        )
        self.until_box.setAccessibleName("Holds until")
        if self._needs_reason:
            form.addRow("Holds &until", self.until_box)
        layout.addLayout(form)
        buttons = QDialogButtonBox(
            QDialogButtonBox.StandardButton.Ok | QDialogButtonBox.StandardButton.Cancel
        )
        buttons.accepted.connect(self.accept)
        buttons.rejected.connect(self.reject)
        layout.addWidget(buttons)
        self._ok = buttons.button(QDialogButtonBox.StandardButton.Ok)
        self._ok.setText(TITLES[verb])
        self.reason.textChanged.connect(self._check)
        self.who.textChanged.connect(self._check)
        self._check()
        self.reason.setFocus()

    def _check(self) -> None:
        complete = bool(self.who.text().strip()) and (bool(self.reason_text()) or not self._needs_reason)
        self._ok.setEnabled(complete)

    def until(self) -> int | None:
        """The last master version on which the decision holds; None has no end."""
        box = self.until_box
        return box.value() if box.value() > box.minimum() else None

    def reason_text(self) -> str:
        """The reason as typed, without the space around it."""
        return self.reason.text().strip()


def preview_text(session: Session, cells: Sequence[tuple[int, int]]) -> str:
    """How many cells of which shots a decision would cover, and the first of them."""
    table = session.table
    shots = sorted({column for _, column in cells})
    names = ", ".join(table.shots[column] for column in shots[:_LISTED]) + (
        "…" if len(shots) > _LISTED else ""
    )
    lines = [f"{counted(len(cells), 'cell')} in {names}"]
    for row, column in list(cells)[:_LISTED]:
        cell = table.cell(row, column)
        lines.append(f"    {cell.shot}  {cell.parameter}  {drift_text(cell)}")
    if len(cells) > _LISTED:
        lines.append(f"    and {len(cells) - _LISTED} more")
    return "\n".join(lines)
