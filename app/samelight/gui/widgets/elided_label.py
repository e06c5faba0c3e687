"""A line of text that gives way: where it does not fit, its middle is left out and the whole of it is its tool tip."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QWidget

from samelight.gui.widgets.plain_text import PlainLabel, plain

_LEAST = 6
"""How many letters stay in the narrowest place."""


class ElidedLabel(PlainLabel):
    """A label of plain text in one line. `tip` is said where the text fits, before the text where it does not."""

    def __init__(self, tip: str = "", parent: QWidget | None = None) -> None:
        super().__init__(parent=parent)
        self._tip = tip
        self.setToolTip(plain(tip))

    def setText(self, text: str) -> None:
        super().setText(text)
        self._say()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._say()

    def minimumSizeHint(self) -> QSize:
        least = self.fontMetrics().averageCharWidth() * min(_LEAST, len(self.text()))
        margins = self.contentsMargins()
        return QSize(least + margins.left() + margins.right(), super().minimumSizeHint().height())

    def shown_text(self) -> str:
        """The text as it is drawn."""
        width = self.contentsRect().width()
        return self.fontMetrics().elidedText(self.text(), Qt.TextElideMode.ElideMiddle, width)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        self.style().drawItemText(
            painter,
            self.contentsRect(),
            int(self.alignment()),
            self.palette(),
            self.isEnabled(),
            self.shown_text(),
            self.foregroundRole(),
        )
        painter.end()

    def _say(self) -> None:
        fits = self.shown_text() == self.text()
        self.setToolTip(
            plain(self._tip if fits else ": ".join(part for part in (self._tip, self.text()) if part))
        )
