"""What could not be read of the sequence, before its findings: a line each, and a press opens the file where it is at fault."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtWidgets import QFrame, QListWidget, QListWidgetItem, QSizePolicy, QWidget

from samelight.gui.paint import theme
from samelight.gui.widgets.plain_text import plain
from samelight.reports.shown import shown
from samelight.sequence.session import Session
from samelight.sequence.troubles import Trouble

_MOST_LINES = 3
"""As many as are in view at once; the findings below need the room."""
_TROUBLE = Qt.ItemDataRole.UserRole + 1


class TroubleList(QListWidget):
    """Not there while all could be read."""

    asked = Signal(object)
    """A `Trouble` was pressed."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._shown: list[Trouble] = []
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setFont(theme.font(theme.DENSE))
        self.setTextElideMode(Qt.TextElideMode.ElideRight)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("What could not be read")
        self.itemClicked.connect(self._ask)
        self.itemActivated.connect(self._ask)
        self.hide()

    def show_session(self, session: Session) -> None:
        """List what could not be read: shots first, then what else is wrong, then decisions."""
        found = sorted(session.troubles, key=lambda trouble: not trouble.faults)
        found += [Trouble(says) for says in session.ledger.troubles()]
        found = list({trouble.says: trouble for trouble in reversed(found)}.values())[::-1]  # each once
        if found != self._shown:
            self._shown = found
            self.clear()
            for trouble in found:
                self.addItem(_item(trouble))
            self.updateGeometry()
        self.setVisible(bool(found))

    def sizeHint(self) -> QSize:
        lines = min(self.count(), _MOST_LINES)
        return QSize(0, lines * max(self.sizeHintForRow(0), 0) + 2 * self.frameWidth())

    def minimumSizeHint(self) -> QSize:
        return self.sizeHint()

    def _ask(self, item: QListWidgetItem) -> None:
        self.asked.emit(item.data(_TROUBLE))


def _item(trouble: Trouble) -> QListWidgetItem:
    item = QListWidgetItem(shown(short_text(trouble)))
    does = "A press opens the file there." if trouble.faults else ""
    item.setToolTip(plain("\n".join(part for part in (trouble.says, does) if part)))
    item.setData(_TROUBLE, trouble)
    return item


def short_text(trouble: Trouble) -> str:
    """The first line of what is wrong, with the name of the file instead of the whole path."""
    said = trouble.says.partition("\n")[0]
    for fault in trouble.faults:
        said = said.replace(fault.file, Path(fault.file).name)
    return said
