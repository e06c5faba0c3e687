"""Since when the grid marks what is new, moved and mended: the last look, a moment, a saved check, or not at all."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

from PySide6.QtCore import QDateTime
from PySide6.QtWidgets import (
    QDateTimeEdit,
    QDialog,
    QDialogButtonBox,
    QFileDialog,
    QGridLayout,
    QPushButton,
    QRadioButton,
    QVBoxLayout,
    QWidget,
)

from samelight.gui.widgets.plain_text import PlainLabel
from samelight.reports.since import Since, since_check, since_moment
from samelight.sequence.session import Session
from samelight.sheets.errors import SamelightError


class SinceDialog(QDialog):
    """Asks since when. `since` is the answer once it is accepted; None marks nothing."""

    def __init__(self, session: Session, looked: Since | None, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle("What is new since")
        self.setMinimumWidth(480)
        self._session, self._looked = session, looked
        self.since: Since | None = None
        self.check: Path | None = None
        self.look = QRadioButton("&I last looked")
        self.look.setText("&" + looked.says if looked is not None else "&I last looked: not known yet")
        self.look.setEnabled(looked is not None)
        self.look.setToolTip("How the sequence stood when this window was last closed on it")
        self.moment = QRadioButton("A &moment")
        self.moment.setToolTip(
            "By the versions of shots and masters that were there then, and the decisions made by then"
        )
        self.when = QDateTimeEdit(QDateTime.fromSecsSinceEpoch(int(_yesterday().timestamp())))
        self.when.setCalendarPopup(True)
        self.when.setDisplayFormat("d MMMM yyyy, HH:mm")
        self.when.setAccessibleName("Which moment")
        self.when.setToolTip("The day and time that is looked back to")
        self.saved = QRadioButton("A saved &check")
        self.saved.setToolTip("A file that samelight check --format json wrote, as --since takes it")
        self.file = QPushButton("Choose a &file…")
        self.file.setToolTip("Choose the saved check")
        self.nothing = QRadioButton("&Nothing: mark nothing")
        self.nothing.setToolTip("Take the marks away")
        (self.look if looked is not None else self.moment).setChecked(True)
        self.said = PlainLabel()
        self.said.setWordWrap(True)
        rows = QGridLayout()
        for row, widgets in enumerate(
            ((self.look,), (self.moment, self.when), (self.saved, self.file), (self.nothing,))
        ):
            for column, widget in enumerate(widgets):
                rows.addWidget(widget, row, column)
        buttons = QDialogButtonBox(
            QDialogButtonBox.StandardButton.Ok | QDialogButtonBox.StandardButton.Cancel
        )
        self.ok = buttons.button(QDialogButtonBox.StandardButton.Ok)
        self.ok.setText("Mar&k it")
        buttons.accepted.connect(self._answer)
        buttons.rejected.connect(self.reject)
        layout = QVBoxLayout(self)
        layout.addLayout(rows)
        layout.addWidget(self.said)
        layout.addWidget(buttons)
        self.when.dateTimeChanged.connect(lambda *_: self.moment.setChecked(True))
        self.file.clicked.connect(self._choose)

    def _choose(self) -> None:
        name, _ = QFileDialog.getOpenFileName(
            self, "A saved check", str(self._session.contents.folder), "JSON (*.json)"
        )
        if name:
            self.check = Path(name)
            self.file.setText(self.check.name.replace("&", "&&"))
            self.saved.setChecked(True)

    def _answer(self) -> None:
        try:
            self.since = self._asked()
        except SamelightError as error:
            self.said.setText(str(error))
            return
        self.accept()

    def _asked(self) -> Since | None:
        if self.look.isChecked():
            return self._looked
        if self.moment.isChecked():
            seconds = self.when.dateTime().toSecsSinceEpoch()
            return since_moment(self._session, datetime.fromtimestamp(seconds).astimezone())
        if self.saved.isChecked():
            if self.check is None:
                raise SamelightError("Choose the file of a saved check.")
            return since_check(self._session, self.check)
        return None


def _yesterday() -> datetime:
    """The evening of the day before, when most people leave."""
    return (datetime.now().astimezone() - timedelta(days=1)).replace(
        hour=18, minute=0, second=0, microsecond=0
    )
