"""What could not be read of the sequence, before its findings: a line each, and a press opens the file where it is at fault."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtWidgets import QFrame, QListWidget, QListWidgetItem, QSizePolicy, QWidget

from samelight.drift.words import counted, first_names
from samelight.gui.paint import theme
from samelight.gui.widgets.plain_text import plain
from samelight.reports.shown import shown
from samelight.sequence.session import Session
from samelight.sequence.troubles import Trouble

_MOST_LINES = 3
"""As many as are in view at once; the findings below need the room."""
_NAMED = 20
"""Names of shots with the same fault that a tool tip tells."""
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
            for alike in _alike(found):
                self.addItem(_item(alike))
            self.updateGeometry()
        self.setVisible(bool(found))

    def sizeHint(self) -> QSize:
        lines = min(self.count(), _MOST_LINES)
        return QSize(0, lines * max(self.sizeHintForRow(0), 0) + 2 * self.frameWidth())

    def minimumSizeHint(self) -> QSize:
        return self.sizeHint()

    def _ask(self, item: QListWidgetItem) -> None:
        self.asked.emit(item.data(_TROUBLE))


def _alike(troubles: list[Trouble]) -> list[list[Trouble]]:
    """Troubles with those of other files that have the same fault in the same place, each kind where its first stands."""
    found: dict[object, list[Trouble]] = {}
    for trouble in troubles:
        same = [(fault.path, fault.expected, fault.found) for fault in trouble.faults]
        found.setdefault(tuple(same) or trouble.says, []).append(trouble)
    return list(found.values())


def _item(alike: list[Trouble]) -> QListWidgetItem:
    trouble, *others = alike
    count = f"{counted(len(alike), 'shot')} alike, first " if others else ""
    item = QListWidgetItem(shown(f"{count}{short_text(trouble)}"))
    does = "A press opens the file there." if trouble.faults else ""
    more = f"The same in {first_names([one.shot or '' for one in others], _NAMED)}." if others else ""
    item.setToolTip(plain("\n".join(part for part in (trouble.says, more, does) if part)))
    item.setData(_TROUBLE, trouble)
    return item


def short_text(trouble: Trouble) -> str:
    """The first line of what is wrong, with the name of the file instead of the whole path."""
    said = trouble.says.partition("\n")[0]
    for fault in trouble.faults:
        said = said.replace(fault.file, Path(fault.file).name)
    return said
