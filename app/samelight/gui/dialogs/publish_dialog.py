"""Publishing a master setup: what it would do to every shot, before it is done."""

from __future__ import annotations

from functools import partial
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtGui import QPixmap
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QHBoxLayout,
    QHeaderView,
    QLineEdit,
    QTreeWidget,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from samelight.changes.publish_words import changes_of, counted_text, findings_of
from samelight.changes.publishing import Candidate, Follows, Preview, candidate_from, preview, publish
from samelight.drift.words import counted, first_names
from samelight.gui.background.background import Background
from samelight.gui.background.frames import Frame, load
from samelight.gui.background.searching import AT_ONCE
from samelight.gui.widgets.plain_text import PlainLabel, plain
from samelight.reports.shown import clean, shown
from samelight.sequence.contents import key_shots
from samelight.sequence.session import Session
from samelight.sheets.errors import SamelightError

_NAMED = 100
"""Shots that a line names, of the thousands of a film."""
_PICTURE, _HEIGHT = 320, 92
"""Pixels: the longer side of the key shot's frame as it is read, and how high it stands in the dialog."""
_LONGEST = 60
"""Characters of a value in a line; the whole stands in its tool tip."""


class PublishDialog(QDialog):
    """Chooses the shot, shows the preview, and publishes when told to."""

    def __init__(self, session: Session, who: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle("Publish a master setup")
        self.resize(940, 600)
        self._session = session
        self._candidate: Candidate | None = None
        """What is shown, and would be published."""
        self._background = Background(self)
        self.published: Path | None = None
        self.shot = QComboBox()
        for shot in session.contents.shots:
            if shot in session.contents.sheets:
                self.shot.addItem(clean(shot), shot)
        self.shot.setAccessibleName("Key shot")
        self.shot.setToolTip("The shot whose lighting becomes the master")
        key_shot = next((key for key in key_shots(session.contents.sequence) if key), None)
        if (place := self.shot.findData(key_shot)) >= 0:
            self.shot.setCurrentIndex(place)
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
        self.effects.setHeaderLabels(["parameter", "now", "then", "shots", "cost or noise"])
        for column in (0, 1, 2, 3):
            self.effects.header().setSectionResizeMode(column, QHeaderView.ResizeMode.ResizeToContents)
        self.effects.setAccessibleName("What it would do")
        self.effects.setToolTip(
            "What becomes of each parameter that the new master changes, and in which shots"
        )
        self.about = PlainLabel()
        self.about.setWordWrap(True)
        self.about.setAccessibleName("What is said of the key shot")
        self.picture = PlainLabel()
        self.picture.setAccessibleName("The key shot's frame")
        self.picture.setAlignment(Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignRight)
        self._lay_out()
        self.shot.currentIndexChanged.connect(self._try)
        self.despite.toggled.connect(self._try)
        self.who.textChanged.connect(self._enable)
        self._try()

    def _lay_out(self) -> None:
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
        above = QHBoxLayout()
        above.addLayout(form, 1)
        above.addWidget(self.picture)
        layout.addLayout(above)
        layout.addWidget(self.about)
        layout.addWidget(self.said)
        layout.addWidget(self.effects, 1)
        layout.addWidget(buttons)

    def _try(self, *_: object) -> None:
        self.effects.clear()
        self._candidate = None
        self._background.cancel("trial")
        shot: str | None = self.shot.currentData()
        if shot is None:
            self.said.setText("No shot has a sheet that can be read, of which a master could be made.")
            self._enable()
            return
        self._tell_of(shot)
        try:
            candidate = candidate_from(
                self._session,
                shot,
                self.who.text().strip(),
                despite_breaks=self.despite.isChecked(),
            )
            # The session itself may take in what others write while this is tried.
            trying = partial(preview, self._session.as_it_stands(), candidate.sheet, candidate.setup)
            if self._session.table.grade.size <= AT_ONCE:
                self._show(candidate, trying())
            else:
                self.said.setText(f"Trying {candidate.text} on every shot…")
                self._background.run("trial", trying, partial(self._show, candidate), self.said.setText)
        except SamelightError as error:
            self.said.setText(str(error))
        self._enable()

    @property
    def busy(self) -> bool:
        """Whether something is still read or tried."""
        return self._background.busy

    def _tell_of(self, shot: str) -> None:
        """Say what is known of the shot that is to become the master, and show its frame."""
        found = findings_of(self._session, shot)
        said = [f"• {finding.says}" for finding in found]
        self.about.setText("\n".join([f"Look at {shot} first:", *said]) if said else "")
        self.about.setVisible(bool(said))
        self.picture.clear()
        reading = partial(load, self._session.contents.folder, shot, _PICTURE, 0.0)
        self._background.run("frame", reading, self._show_frame)

    def _show_frame(self, frame: Frame) -> None:
        if frame.image is None:
            self.picture.setText("no frame" if frame.stamp is None else "its frame cannot be shown")
            return
        picture = QPixmap.fromImage(frame.image)
        self.picture.setPixmap(picture.scaledToHeight(_HEIGHT, Qt.TransformationMode.SmoothTransformation))

    def _show(self, candidate: Candidate, found: Preview) -> None:
        self._candidate = candidate
        self._list(candidate, found)
        verb = "changes" if candidate.tried is not None else "states"
        changes = f"{verb} {counted(len(found.changed), 'parameter')}" if found.changed else "changes nothing"
        lapsing = found.lapsing()
        lapses = f" {counted(len(lapsing), 'decision')} would ask again." if lapsing else ""
        text = candidate.text[:1].upper() + candidate.text[1:] if not candidate.setup else candidate.text
        heirs = f" {found.heirs_text}" if found.heirs else ""
        self.said.setText(f"{text}, {candidate.tried_text}, {changes}.{heirs}{lapses}")
        self._enable()

    def _enable(self) -> None:
        self.go.setEnabled(self._candidate is not None and bool(self.who.text().strip()))

    def _list(self, candidate: Candidate, found: Preview) -> None:
        """A line a parameter, with one below it for the shots that do one and the same with it."""
        for change in changes_of(self._session, candidate, found):
            counts = [counted_text(kind, len(own)) for kind in Follows if (own := change.shots.get(kind))]
            said = ", ".join(counts) if candidate.tried is not None else ""
            item = QTreeWidgetItem(
                [clean(change.parameter), _short(change.now), _short(change.then), said, clean(change.cost)]
            )
            item.setToolTip(1, plain(change.now))
            item.setToolTip(2, plain(change.then))
            self.effects.addTopLevelItem(item)
            for kind in Follows if candidate.tried is not None else ():
                if own := change.shots.get(kind):
                    below = QTreeWidgetItem(["", "", "", f"{kind}: {first_names(own, _NAMED)}"])
                    below.setToolTip(3, plain(first_names(own, _NAMED)))
                    item.addChild(below)
        for effect in found.lapsing():
            self.effects.addTopLevelItem(
                QTreeWidgetItem([clean(effect.parameter), "", "", f"the decision asks again: {effect.shot}"])
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


def _short(text: str) -> str:
    return shown(text, _LONGEST)
