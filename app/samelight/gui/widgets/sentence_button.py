"""A sentence that can be pressed, in one line that gives way at its end."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QSize, Qt
from PySide6.QtGui import QEnterEvent, QFont, QPainter, QPaintEvent
from PySide6.QtWidgets import QAbstractButton, QSizePolicy, QWidget

from samelight.gui.paint import theme
from samelight.gui.paint.drawn_text import draw_text
from samelight.gui.widgets.plain_text import plain
from samelight.reports.shown import clean_lines

_MARGIN = 8
_LEAST = 60
_LEFT = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter


class SentenceButton(QAbstractButton):
    """Says something, and goes where it speaks of. Its whole text is its tool tip, before what a press does."""

    def __init__(self, does: str, face: QFont, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._does = does
        self._says = ""
        self.setFont(face)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)

    def say(self, text: str) -> None:
        """Say something else."""
        if text == self._says:
            return
        self._says = clean_lines(text)
        self.setAccessibleName(self._says)
        self.setToolTip(plain("\n".join(part for part in (text, self._does) if part)))
        self.update()

    def said(self) -> str:
        """The whole of what it says."""
        return self._says

    def shown_text(self) -> str:
        """The text as it is drawn."""
        room = max(self.width() - 2 * _MARGIN, 0)
        return self.fontMetrics().elidedText(self._says, Qt.TextElideMode.ElideRight, room)

    def sizeHint(self) -> QSize:
        return QSize(self.fontMetrics().horizontalAdvance(self._says) + 2 * _MARGIN, self._high())

    def minimumSizeHint(self) -> QSize:
        return QSize(_LEAST, self._high())

    def _high(self) -> int:
        return self.fontMetrics().height() + 8

    def enterEvent(self, event: QEnterEvent) -> None:
        super().enterEvent(event)
        self.update()

    def leaveEvent(self, event: QEvent) -> None:
        super().leaveEvent(event)
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        lit = self.isEnabled() and (self.underMouse() or self.isDown())
        painter.fillRect(self.rect(), theme.HIGHLIGHT if lit else theme.PANEL)
        painter.setFont(self.font())
        painter.setPen(theme.BRIGHT if self.isEnabled() else theme.TEXT)
        draw_text(painter, self.rect().adjusted(_MARGIN, 0, -_MARGIN, 0), _LEFT, self.shown_text())
        if self.hasFocus():
            painter.setPen(theme.TEXT)
            painter.drawRect(self.rect().adjusted(0, 0, -1, -1))
        painter.end()
