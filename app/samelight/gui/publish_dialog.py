"""Publishing a master setup: what it would do to every shot, before it is done."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QHeaderView,
    QLabel,
    QLineEdit,
    QTreeWidget,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from samelight.drift.words import counted
from samelight.publishing import Candidate, Follows, Preview, candidate_from, preview, publish
from samelight.session import Session
from samelight.sheets.errors import SamelightError


class PublishDialog(QDialog):
    """Chooses the shot, shows the preview, and publishes when told to."""

    def __init__(self, session: Session, who: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle("Publish a master setup")
        self.resize(760, 520)
        self._session = session
        self._candidate: Candidate | None = None
        self.published: Path | None = None
        self.shot = QComboBox()
        self.shot.addItems([shot for shot in session.shots if shot in session.sheets])
        self.shot.setAccessibleName("Key shot")
        self.shot.setToolTip("The shot whose lighting becomes the master")
        if session.sequence.key_shot:
            self.shot.setCurrentText(session.sequence.key_shot)
        self.who = QLineEdit(who)
        self.who.setAccessibleName("Who publishes")
        self.who.setToolTip("Whose master setup it is; without a name nothing is published")
        self.despite = QCheckBox("also when the shot itself breaks a &lock")
        self.despite.setToolTip("A shot with open breaks is refused unless this is ticked")
        self.said = QLabel()
        self.said.setWordWrap(True)
        self.effects = QTreeWidget()
        self.effects.setHeaderLabels(["parameter", "shots", "what they would do"])
        for column in (0, 1):
            self.effects.header().setSectionResizeMode(column, QHeaderView.ResizeMode.ResizeToContents)
        self.effects.setAccessibleName("What it would do")
        self.effects.setToolTip(
            "What becomes of each parameter that the new master changes, and in which shots"
        )
        self.effects.setRootIsDecorated(False)
        form = QFormLayout()
        form.addRow("&Key shot", self.shot)
        form.addRow("&Who", self.who)
        form.addRow("", self.despite)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Cancel)
        self.go = buttons.addButton("&Publish", QDialogButtonBox.ButtonRole.AcceptRole)
        self.go.setToolTip("Write the master setup; shots go on as they are until they take it over")
        buttons.button(QDialogButtonBox.StandardButton.Cancel).setToolTip("Publish nothing (Esc)")
        buttons.accepted.connect(self._publish)
        buttons.rejected.connect(self.reject)
        layout = QVBoxLayout(self)
        layout.addLayout(form)
        layout.addWidget(self.said)
        layout.addWidget(self.effects, 1)
        layout.addWidget(buttons)
        self.shot.currentTextChanged.connect(self._try)
        self.despite.toggled.connect(self._try)
        self.who.textChanged.connect(self._try)
        self._try()

    def _try(self, *_: object) -> None:
        self.effects.clear()
        self._candidate = None
        try:
            candidate = candidate_from(
                self._session,
                self.shot.currentText(),
                self.who.text().strip(),
                despite_breaks=self.despite.isChecked(),
            )
        except SamelightError as error:
            self.said.setText(str(error))
            self.go.setEnabled(False)
            return
        self._candidate = candidate
        found = preview(self._session, candidate.sheet)
        self._list(found)
        changes = (
            f"changes {counted(len(found.changed), 'parameter')}" if found.changed else "changes nothing"
        )
        lapsing = found.lapsing()
        lapses = f" {counted(len(lapsing), 'decision')} would lapse." if lapsing else ""
        self.said.setText(f"Master v{candidate.version:03d} {changes}.{lapses}")
        self.go.setEnabled(bool(self.who.text().strip()))

    def _list(self, found: Preview) -> None:
        for parameter in found.changed:
            for follows in Follows:
                shots = [
                    effect.shot
                    for effect in found.effects
                    if effect.parameter == parameter and effect.follows is follows
                ]
                if shots:
                    item = QTreeWidgetItem([parameter, str(len(shots)), f"{follows}: {', '.join(shots)}"])
                    item.setToolTip(2, ", ".join(shots))
                    self.effects.addTopLevelItem(item)
        for effect in found.lapsing():
            self.effects.addTopLevelItem(
                QTreeWidgetItem([effect.parameter, "1", f"the decision lapses: {effect.shot}"])
            )

    def _publish(self) -> None:
        if self._candidate is None:
            return
        try:
            self.published = publish(self._candidate)
        except SamelightError as error:
            self.said.setText(str(error))
            self.go.setEnabled(False)
            return
        self.accept()
