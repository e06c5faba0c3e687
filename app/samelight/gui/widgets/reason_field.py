"""A line for a reason, with earlier reasons offered under it."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QLineEdit, QListWidget, QListWidgetItem, QSizePolicy

_LONGEST = 2000
_LISTED = 6
_STEPS = {Qt.Key.Key_Down: 1, Qt.Key.Key_Up: -1}


class _Offers(QListWidget):
    """As high as all that could be offered, whatever is offered now."""

    def __init__(self, most: int) -> None:
        super().__init__()
        self._most = most
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("Earlier reasons")
        self.setToolTip("Earlier reasons: up and down take one, Enter decides")
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)

    def sizeHint(self) -> QSize:
        lines = (self.fontMetrics().height() + 1) * min(self._most, _LISTED)
        return QSize(super().sizeHint().width(), lines + 2 * self.frameWidth() + 4)


class ReasonField(QLineEdit):
    """Text is typed; the arrow keys take one of the earlier reasons that hold the typed words, or go back to the text."""

    def __init__(self, earlier: Sequence[str], hint: str) -> None:
        super().__init__()
        self._typed = ""
        self.setMaxLength(_LONGEST)
        self.setAccessibleName("Reason")
        self.setToolTip("Up and down take one of the offered reasons, Enter decides, Esc lets it be")
        self.setAccessibleDescription("Up and down take one of the earlier reasons")
        self._earlier = list(dict.fromkeys(earlier))
        self.offers = _Offers(len(self._earlier))
        self.offers.itemClicked.connect(self._take)
        self.textEdited.connect(self._offer)
        self.offer(earlier, hint)

    def offer(self, earlier: Sequence[str], hint: str) -> None:
        """Begin anew with other reasons and another hint."""
        self._earlier = list(dict.fromkeys(earlier))
        self.setPlaceholderText(hint)
        self.clear()
        self._offer("")

    def suggest(self, reason: str) -> None:
        """Hold a reason to begin with, which typing replaces; it is read from its start however long it is."""
        self.setText(reason)
        self.setSelection(len(reason), -len(reason))

    def _offer(self, typed: str) -> None:
        self._typed = typed
        words = typed.lower().split()
        self.offers.clear()
        self.offers.addItems([text for text in self._earlier if all(word in text.lower() for word in words)])

    def _take(self, item: QListWidgetItem) -> None:
        self.setText(item.text())
        self.setFocus()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        step = _STEPS.get(Qt.Key(event.key()))
        if step is None:
            super().keyPressEvent(event)
            return
        # The row above the first stands for what was typed.
        row = min(max(self.offers.currentRow() + step, -1), self.offers.count() - 1)
        self.offers.setCurrentRow(row)
        item = self.offers.item(row)
        self.setText(item.text() if item is not None else self._typed)
