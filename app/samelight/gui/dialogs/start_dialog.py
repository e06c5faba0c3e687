"""The dialog that makes a sequence of a folder that is none: what was found there, and the key shot."""

from __future__ import annotations

from collections.abc import Iterator

from PySide6.QtWidgets import (
    QComboBox,
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QLineEdit,
    QVBoxLayout,
    QWidget,
)

from samelight.changes.starting import Start, begin, found_lines
from samelight.drift.words import counted
from samelight.gui.widgets.plain_text import PlainLabel, plain
from samelight.reports.shown import clean
from samelight.sheets.errors import SamelightError

_WIDTH = 560


class StartDialog(QDialog):
    """Says what a folder has, asks for the key shot, and writes sequence.yaml when it is accepted."""

    def __init__(self, start: Start, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._start = start
        self.setWindowTitle("Make a sequence of this folder")
        self.found = PlainLabel(f"{start.folder}\n\n" + "\n".join((*found_lines(start), *_then(start))))
        self.found.setWordWrap(True)
        self.key_shot = QComboBox()
        for shot in start.shots:
            self.key_shot.addItem(clean(shot), shot)
        self.key_shot.setToolTip("The shot that is lit first; its lights become the master of all")
        self.key_shot.setAccessibleName("Key shot")
        self.title = QLineEdit(start.folder.resolve().name)
        self.title.setAccessibleName("Title")
        self.title.setToolTip("What the sequence is called")
        self.said = PlainLabel()
        self.said.setWordWrap(True)
        form = QFormLayout()
        form.addRow("&Key shot", self.key_shot)
        form.addRow("&Title", self.title)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Cancel)
        does = "&Write sequence.yaml and capture" if start.scenes else "&Write sequence.yaml"
        make = buttons.addButton(does, QDialogButtonBox.ButtonRole.AcceptRole)
        make.setToolTip(plain("Nothing that is there is written over"))
        buttons.accepted.connect(self.write)
        buttons.rejected.connect(self.reject)
        column = QVBoxLayout(self)
        column.addWidget(self.found)
        column.addLayout(form)
        column.addWidget(self.said)
        column.addStretch()
        column.addWidget(buttons)
        self.resize(_WIDTH, column.totalHeightForWidth(_WIDTH))
        self.key_shot.setFocus()

    def write(self) -> None:
        """Write sequence.yaml; where it cannot be, say why and stay."""
        try:
            begin(self._start, self.key_shot.currentData(), title=self.title.text().strip())
        except SamelightError as error:
            self.said.setText(str(error))
        else:
            self.accept()


def _then(start: Start) -> Iterator[str]:
    """What the window does next with what was found."""
    if start.scenes:
        scenes = counted(len(start.scene_shots), "scene")
        yield f"Next, the window makes sheets of the {scenes}; one that you stop goes on the next time"
