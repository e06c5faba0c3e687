"""A tolerance from selected cells: for what, how much and why; what falls silent by it is seen before the policy is written."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from pathlib import Path

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import (
    QComboBox,
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QLineEdit,
    QPlainTextEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from samelight.changes.next_text import differences
from samelight.changes.tolerating import (
    ToleranceEffect,
    amount_for,
    amount_text,
    effect_of,
    patterns_for,
    policy_path,
    policy_texts,
    says,
    tolerance_in,
    write_policy,
)
from samelight.drift.cells import Cell
from samelight.gui.background.background import Background
from samelight.gui.paint import theme
from samelight.gui.widgets.plain_text import PlainLabel
from samelight.sequence.session import Session
from samelight.sheets.errors import SamelightError

_PAUSE = 250
"""Milliseconds after a key press until what it would do is worked out."""
_NO_REASON = "…"


class ToleranceDialog(QDialog):
    """Proposes a pattern and an amount for some cells of one kind, shows what they would do, and writes the policy.

    Raises `SamelightError` where nothing can be proposed for the cells.
    """

    def __init__(
        self, session: Session, cells: Sequence[Cell], who: str, parent: QWidget | None = None
    ) -> None:
        # First, since a dialog that is not to be would stay with its parent.
        patterns, amount = patterns_for(session, cells), amount_for(session, cells)
        super().__init__(parent)
        self.setWindowTitle("Set a tolerance")
        self.resize(860, 560)
        self._session, self._cells = session, tuple(cells)
        self._background = Background(self)
        self._texts: tuple[str, str] | None = None
        """The policy's text now and with the tolerance, once what is asked for is sound."""
        self.written: Path | None = None
        kind = session.table.rows[cells[0][0]].kind
        self.pattern = QComboBox()
        self.pattern.setEditable(True)
        self.pattern.addItems(patterns)
        self.pattern.setAccessibleName("For what")
        self.pattern.setToolTip(
            "The parameters that it is for: one, those of its name in all lights, or all of its kind"
        )
        self.amount = QLineEdit(amount_text(kind, amount))
        self.amount.setAccessibleName("How much")
        self.amount.setToolTip("As far as it may be off, with its unit")
        self.why = QLineEdit()
        self.why.setPlaceholderText("Why so much is fine")
        self.why.setAccessibleName("Reason")
        self.why.setToolTip("Why so much is fine; it stands in the policy")
        self.who = QLineEdit(who)
        self.who.setFont(theme.font(theme.DENSE))
        self.who.setAccessibleName("Signed")
        self.who.setToolTip("The name that stands with the reason")
        self.shown = QPlainTextEdit()
        self.shown.setReadOnly(True)
        self.shown.setAccessibleName("What it would do")
        self.shown.setFont(theme.font(theme.DENSE))
        self.said = PlainLabel()
        self.said.setWordWrap(True)
        self._lay_out()
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.setInterval(_PAUSE)
        self._soon.timeout.connect(self.look)
        for changed in (self.pattern.currentTextChanged, self.amount.textChanged):
            changed.connect(self._look_soon)
        for changed in (self.why.textChanged, self.who.textChanged):
            changed.connect(self._enable)
        self.look()

    def _lay_out(self) -> None:
        form = QFormLayout()
        form.addRow("&For", self.pattern)
        form.addRow("At &most", self.amount)
        form.addRow("&Reason", self.why)
        form.addRow("&Signed", self.who)
        row = QDialogButtonBox(QDialogButtonBox.StandardButton.Cancel)
        self.write_button: QPushButton = row.addButton(
            "&Write the policy", QDialogButtonBox.ButtonRole.AcceptRole
        )
        self.write_button.setToolTip("Write it into the sequence's policy, whose comments stay")
        row.button(QDialogButtonBox.StandardButton.Cancel).setToolTip("Write nothing (Esc)")
        row.accepted.connect(self.write)
        row.rejected.connect(self.reject)
        layout = QVBoxLayout(self)
        layout.addLayout(form)
        layout.addWidget(self.shown, 1)
        layout.addWidget(self.said)
        layout.addWidget(row)

    @property
    def busy(self) -> bool:
        """Whether it is being worked out what it would do."""
        return self._background.busy or self._soon.isActive()

    def _look_soon(self, *_: object) -> None:
        """Something else is asked for: nothing is written before what it would do is seen."""
        self._texts = None
        self._enable()
        self._soon.start()

    def look(self) -> None:
        """Work out what the tolerance would do, beside the window."""
        self._texts = None
        self._enable()
        pattern, amount = self.pattern.currentText().strip(), self.amount.text().strip()
        try:
            before, after = policy_texts(
                self._session, pattern, amount, _NO_REASON, self.who.text().strip() or _NO_REASON
            )
            tolerance = tolerance_in(after, pattern)
        except SamelightError as error:
            self._background.cancel("effect")
            self.shown.clear()
            self.said.setText(str(error))
            return
        self.said.setText("")
        self.shown.setPlainText("Looking for what it would do…")
        # The session itself may take in what others write meanwhile.
        work = partial(effect_of, self._session.as_it_stands(), tolerance, self._cells)
        self._background.run("effect", work, partial(self._show, before, after), self.said.setText)

    def _show(self, before: str, after: str, effect: ToleranceEffect) -> None:
        self._texts = before, after
        file = policy_path(self._session)
        self.shown.setPlainText("\n".join([*says(effect), "", str(file), *differences(before, after)]))
        self._enable()

    def _enable(self, *_: object) -> None:
        named = bool(self.why.text().strip()) and bool(self.who.text().strip())
        self.write_button.setEnabled(self._texts is not None and named)

    def write(self) -> None:
        """Write the policy with the reason that was given."""
        if self._texts is None or not self.write_button.isEnabled():
            return
        try:
            before, after = policy_texts(
                self._session,
                self.pattern.currentText().strip(),
                self.amount.text().strip(),
                self.why.text(),
                self.who.text(),
            )
            if before != self._texts[0]:
                self.look()
                self.said.setText("The policy changed on disk meanwhile: look at what it would do now.")
                return
            self.written = write_policy(self._session, before, after)
        except SamelightError as error:
            self.said.setText(str(error))
            return
        self.accept()
