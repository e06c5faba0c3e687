"""Publishing a master setup: what it would do to every shot, before it is done."""

from __future__ import annotations

from copy import copy
from functools import partial
from pathlib import Path

from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QHeaderView,
    QLineEdit,
    QTreeWidget,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from samelight.changes.publishing import Candidate, Follows, Preview, candidate_from, preview, publish
from samelight.drift.words import counted, first_names
from samelight.gui.background.background import Background
from samelight.gui.background.searching import AT_ONCE
from samelight.gui.widgets.plain_text import PlainLabel, plain
from samelight.sequence.contents import key_shots
from samelight.sequence.session import Session
from samelight.sheets.errors import SamelightError

_NAMED = 100
"""Shots that a line names, of the thousands of a film."""


class PublishDialog(QDialog):
    """Chooses the shot, shows the preview, and publishes when told to."""

    def __init__(self, session: Session, who: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle("Publish a master setup")
        self.resize(760, 520)
        self._session = session
        self._candidate: Candidate | None = None
        """What is shown, and would be published."""
        self._background = Background(self)
        self.published: Path | None = None
        self.shot = QComboBox()
        self.shot.addItems([shot for shot in session.shots if shot in session.sheets])
        self.shot.setAccessibleName("Key shot")
        self.shot.setToolTip("The shot whose lighting becomes the master")
        key_shot = next((key for key in key_shots(session.sequence) if key), None)
        if key_shot:
            self.shot.setCurrentText(key_shot)
        self.who = QLineEdit(who)
        self.who.setAccessibleName("Who publishes")
        self.who.setToolTip("The name of who publishes; Samelight publishes nothing without one")
        self.despite = QCheckBox("also when the shot itself breaks a &lock")
        self.despite.setToolTip(
            "Unless this is ticked, Samelight refuses a shot with breaks that nobody marked as intended, and any shot while the "
            "current master cannot be read"
        )
        self.said = PlainLabel()
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
        self.who.textChanged.connect(self._enable)
        self._try()

    def _try(self, *_: object) -> None:
        self.effects.clear()
        self._candidate = None
        self._background.cancel("trial")
        try:
            candidate = candidate_from(
                self._session,
                self.shot.currentText(),
                self.who.text().strip(),
                despite_breaks=self.despite.isChecked(),
            )
        except SamelightError as error:
            self.said.setText(str(error))
        else:
            self._session.decided_cells()  # works out here what was decided, so that the copy has it
            # The session itself may take in what others write while this is tried.
            trying = partial(preview, copy(self._session), candidate.sheet, candidate.setup)
            if self._session.table.grade.size <= AT_ONCE:
                self._show(candidate, trying())
            else:
                self.said.setText(f"Trying {candidate.text} on every shot…")
                self._background.run("trial", trying, partial(self._show, candidate), self.said.setText)
        self._enable()

    def _show(self, candidate: Candidate, found: Preview) -> None:
        self._candidate = candidate
        self._list(found)
        changes = (
            f"changes {counted(len(found.changed), 'parameter')}" if found.changed else "changes nothing"
        )
        lapsing = found.lapsing()
        lapses = f" {counted(len(lapsing), 'decision')} would ask again." if lapsing else ""
        against = f"tried against {candidate.tried_text}"
        text = candidate.text[:1].upper() + candidate.text[1:] if not candidate.setup else candidate.text
        heirs = f" {found.heirs_text}" if found.heirs else ""
        self.said.setText(f"{text}, {against}, {changes}.{heirs}{lapses}")
        self._enable()

    def _enable(self) -> None:
        self.go.setEnabled(self._candidate is not None and bool(self.who.text().strip()))

    def _list(self, found: Preview) -> None:
        shots: dict[tuple[str, Follows], list[str]] = {}
        for effect in found.effects:
            shots.setdefault((effect.parameter, effect.follows), []).append(effect.shot)
        for parameter in found.changed:
            for follows in Follows:
                if there := shots.get((parameter, follows)):
                    said = f"{follows}: {first_names(there, _NAMED)}"
                    item = QTreeWidgetItem([parameter, str(len(there)), said])
                    item.setToolTip(2, plain(first_names(there, _NAMED)))
                    self.effects.addTopLevelItem(item)
        for effect in found.lapsing():
            self.effects.addTopLevelItem(
                QTreeWidgetItem([effect.parameter, "1", f"the decision asks again: {effect.shot}"])
            )

    def _publish(self) -> None:
        if self._candidate is None:
            return
        try:
            self.published = publish(self._candidate.by(self.who.text().strip()))
        except SamelightError as error:
            self.said.setText(str(error))
            self.go.setEnabled(False)
            return
        self.accept()
