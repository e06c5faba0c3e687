"""The frame of the shot before or after, small, as a button that goes there."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QRect, QSize, Qt
from PySide6.QtGui import QEnterEvent, QFontMetrics, QPainter, QPaintEvent
from PySide6.QtWidgets import QAbstractButton, QSizePolicy, QWidget

from samelight.gui.background.frames import Frame
from samelight.gui.paint import theme
from samelight.gui.paint.drawn_text import draw_text
from samelight.gui.review.frame_paint import ASPECT, FramePainter
from samelight.gui.review.type_size import fitting, pixel_font
from samelight.gui.widgets.plain_text import plain


class Neighbour(QAbstractButton):
    """Its frame, its name and how much of it is unsettled."""

    def __init__(self, which: str, key: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._which, self._key = which, key
        self._shot, self._said = "", ""
        self._frame: Frame | None = None
        self._painter = FramePainter()
        self._pixels = 20
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Expanding)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.set_shot(None, "", None)

    def set_type(self, pixels: int) -> None:
        """Set the size of what is written in it."""
        self._pixels = pixels
        self.updateGeometry()
        self.update()

    def set_shot(self, shot: str | None, said: str, frame: Frame | None) -> None:
        """Show a shot; without one it is the end of the cut."""
        self._shot, self._said, self._frame = shot or "", said, frame
        self.setEnabled(shot is not None)
        words = f"{self._which}: {shot}, {said}" if shot else f"There is no {self._which.lower()}"
        self.setAccessibleName(words)
        self.setToolTip(plain(f"{words} ({self._key})"))
        self.update()

    def sizeHint(self) -> QSize:
        return QSize(6 * self._pixels, round(6 * self._pixels / ASPECT) + 3 * self._pixels)

    def minimumSizeHint(self) -> QSize:
        return QSize(60, 60)

    def paintEvent(self, event: QPaintEvent) -> None:
        if not self._shot:
            return
        painter = QPainter(self)
        line = QFontMetrics(pixel_font(self._pixels)).height()
        height = min(round(self.width() / ASPECT), max(self.height() - 2 * line, 1))
        within = QRect(0, max((self.height() - height - 2 * line) // 2, 0), self.width(), height)
        small = pixel_font(max(self._pixels // 2, 9))
        place = self._painter.draw(painter, within, self._frame, small, "Reading…", self.devicePixelRatioF())
        if self.underMouse() or self.hasFocus():
            painter.setPen(theme.BRIGHT)
            painter.drawRect(place.adjusted(0, 0, -1, -1))
        painter.setPen(theme.TEXT)
        below = QRect(0, place.bottom() + 1, self.width(), line)
        self._line(painter, below, self._shot)
        painter.setPen(theme.DIM_TEXT)
        self._line(painter, below.translated(0, line), self._said)
        painter.end()

    def _line(self, painter: QPainter, within: QRect, text: str) -> None:
        """What does not fit is written smaller; the whole is in the tool tip."""
        font, fitted = fitting(text, self._pixels, within.width())
        painter.setFont(font)
        draw_text(painter, within, Qt.AlignmentFlag.AlignCenter, fitted)

    def enterEvent(self, event: QEnterEvent) -> None:
        self.update()

    def leaveEvent(self, event: QEvent) -> None:
        self.update()
