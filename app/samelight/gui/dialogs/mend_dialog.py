"""Mending shots from the window: what the next version of each would say, as differences in its file's own text, then written."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from functools import partial
from pathlib import Path

from PySide6.QtCore import QSignalBlocker, Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QHBoxLayout,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QPlainTextEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from samelight.changes.mending import Mending, Way, mendings, signed, write
from samelight.drift.words import counted
from samelight.gui.background.background import Background
from samelight.gui.background.searching import AT_ONCE
from samelight.gui.paint import theme
from samelight.gui.widgets.plain_text import PlainLabel, plain
from samelight.sequence.session import Session
from samelight.sequence.troubles import Trouble
from samelight.sheets.errors import SamelightError

_WAYS = {
    Way.SET: "The master's values: the next version of the sheet, with what drifts put back",
    Way.ADOPT: "The current master: the next version of a shot that is behind, with what is intended kept",
}


class MendDialog(QDialog):
    """Lists the shots that can be mended; those that are ticked are copied as text, or written as the next versions."""

    def __init__(
        self,
        session: Session,
        who: str,
        shots: Collection[str],
        way: Way = Way.SET,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle("Mend shots")
        self.resize(1000, 600)
        self._session, self._wanted = session, shots
        self._background = Background(self)
        self._found: list[Mending] = []
        self.written: list[Path] = []
        self.way = QComboBox()
        self.way.addItems(list(_WAYS.values()))
        self.way.setCurrentIndex(list(_WAYS).index(way))
        self.way.setAccessibleName("What to set")
        self.way.setToolTip("What the next version of each shot takes from the master")
        self.who = QLineEdit(who)
        self.who.setAccessibleName("Signed")
        self.who.setToolTip("The name that stands in each new version; Samelight writes nothing without one")
        self.every = QCheckBox("&All of them")
        self.every.setToolTip("Tick every shot of the list, or none")
        self.shots = QListWidget()
        self.shots.setAccessibleName("Shots")
        self.shots.setToolTip("The shots that can be mended so; those that are ticked are written")
        self.shots.setFixedWidth(170)
        self.text = QPlainTextEdit()
        self.text.setReadOnly(True)
        self.text.setLineWrapMode(QPlainTextEdit.LineWrapMode.NoWrap)
        self.text.setAccessibleName("What would be written")
        self.text.setFont(theme.font(theme.DENSE))
        self.said = PlainLabel()
        self.said.setWordWrap(True)
        self._lay_out()
        self.way.currentIndexChanged.connect(self._look)
        self.who.textChanged.connect(self._enable)
        self.every.toggled.connect(self._tick_all)
        self.shots.currentRowChanged.connect(self._show)
        self.shots.itemChanged.connect(self._enable)
        self._look()

    def _lay_out(self) -> None:
        form = QFormLayout()
        form.addRow("&Set", self.way)
        form.addRow("S&igned", self.who)
        row = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        self.copy_button: QPushButton = row.addButton("&Copy as text", QDialogButtonBox.ButtonRole.ActionRole)
        self.copy_button.setToolTip("Put what to set in the ticked shots on the clipboard")
        self.write_button: QPushButton = row.addButton("&Write", QDialogButtonBox.ButtonRole.ActionRole)
        self.write_button.setToolTip(
            "Write the next version of each ticked shot. It is published then and stays; the version before stays too"
        )
        row.button(QDialogButtonBox.StandardButton.Close).setToolTip("Write nothing more (Esc)")
        self.copy_button.clicked.connect(self.copy)
        self.write_button.clicked.connect(self.write)
        row.rejected.connect(self.reject)
        left = QVBoxLayout()
        left.addWidget(self.every)
        left.addWidget(self.shots, 1)
        middle = QHBoxLayout()
        middle.addLayout(left)
        middle.addWidget(self.text, 1)
        layout = QVBoxLayout(self)
        layout.addLayout(form)
        layout.addLayout(middle, 1)
        layout.addWidget(self.said)
        layout.addWidget(row)

    @property
    def busy(self) -> bool:
        """Whether it is being worked out what could be written."""
        return self._background.busy

    def _look(self, *_: object) -> None:
        """Work out what could be written, beside the window for a film."""
        way = list(_WAYS)[self.way.currentIndex()]
        # The session itself may take in what others write meanwhile.
        failed: list[Trouble] = []
        looking = partial(mendings, self._session.as_it_stands(), way, None, failed)
        self._list([])
        if self._session.table.grade.size > AT_ONCE:
            self.said.setText("Looking for what can be written…")
            self._background.run("look", looking, partial(self._list, failed=failed), self.said.setText)
            return
        try:
            self._list(looking(), failed)
        except SamelightError as error:
            self.said.setText(str(error))

    def _list(self, found: list[Mending], failed: Sequence[Trouble] = ()) -> None:
        self._found = found
        self.shots.clear()
        for mending in found:
            item = QListWidgetItem(mending.shot)
            item.setToolTip(plain(str(mending.path)))
            item.setFlags(item.flags() | Qt.ItemFlag.ItemIsUserCheckable)
            is_wanted = mending.shot in self._wanted
            item.setCheckState(Qt.CheckState.Checked if is_wanted else Qt.CheckState.Unchecked)
            self.shots.addItem(item)
        first = next((row for row, one in enumerate(found) if one.shot in self._wanted), 0)
        self.shots.setCurrentRow(first if found else -1)
        none = [] if found or failed else ["No shot can be mended so: there is nothing to write."]
        self.said.setText("\n".join([*none, *(one.says for one in failed)]))
        self._show()
        self._enable()

    def _tick_all(self, on: bool) -> None:
        with QSignalBlocker(self.shots):  # thousands of a film are counted once
            for row in range(self.shots.count()):
                self.shots.item(row).setCheckState(Qt.CheckState.Checked if on else Qt.CheckState.Unchecked)
        self.shots.viewport().update()
        self._enable()

    def _ticked_rows(self) -> list[int]:
        return [
            row
            for row in range(len(self._found))
            if self.shots.item(row).checkState() is Qt.CheckState.Checked
        ]

    def _ticked(self) -> list[Mending]:
        return [self._found[row] for row in self._ticked_rows()]

    def _show(self, *_: object) -> None:
        row = self.shots.currentRow()
        self.text.setPlainText(_shown(self._found[row]) if 0 <= row < len(self._found) else "")

    def _enable(self, *_: object) -> None:
        ticked = len(self._ticked()) if self.shots.count() == len(self._found) else 0
        self.copy_button.setEnabled(bool(ticked))
        self.write_button.setEnabled(bool(ticked) and bool(self.who.text().strip()))
        self.write_button.setText(f"&Write {counted(ticked, 'version')}" if ticked else "&Write")

    def copy(self) -> None:
        """Put what to set in the ticked shots on the clipboard."""
        parts = ["\n".join([one.shot, *(f"  {line}" for line in one.lines)]) for one in self._ticked()]
        QGuiApplication.clipboard().setText("\n\n".join(parts) + "\n")
        self.said.setText(f"What to set in {counted(len(parts), 'shot')} is on the clipboard.")

    def write(self) -> None:
        """Write the ticked versions; one that cannot be written stops no other."""
        who, failed, count = self.who.text().strip(), list[str](), 0
        for row in self._ticked_rows():
            try:
                self.written.append(write(signed(self._found[row], who)))
                count += 1
            except SamelightError as error:
                failed.append(str(error))
            else:
                self.shots.item(row).setCheckState(
                    Qt.CheckState.Unchecked
                )  # to press again writes the others
        if failed:
            self.said.setText("\n".join([f"Written: {count}. Not written:", *failed]))
            self.write_button.setEnabled(False)
        else:
            self.accept()


def _shown(mending: Mending) -> str:
    """What is done to a shot, and how its file differs."""
    head = f"{mending.shot}, next version {mending.path.name}"
    return "\n".join([head, *(f"  {line}" for line in mending.lines), "", *mending.differences])
