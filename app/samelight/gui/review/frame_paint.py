"""Draws a frame into a rectangle, or says in its place why there is none."""

from __future__ import annotations

from collections import OrderedDict

from PySide6.QtCore import QRect, QSize, Qt
from PySide6.QtGui import QFont, QPainter, QPixmap

from samelight.gui.background.frames import Frame
from samelight.gui.paint import theme
from samelight.gui.paint.drawn_text import draw_text

ASPECT = 2.39
"""Width over height of the place of a frame that is not there."""

_KEPT = 6


class FramePainter:
    """Draws frames; keeps the last few at the size they were drawn, so that a wipe follows the hand."""

    def __init__(self) -> None:
        self._scaled: OrderedDict[tuple[int, int, int], QPixmap] = OrderedDict()

    def place(self, frame: Frame | None, within: QRect) -> QRect:
        """Where a frame lies in a rectangle: as large as fits, in the middle."""
        image = frame.image if frame is not None else None
        size = image.size() if image is not None else QSize(round(1000 * ASPECT), 1000)
        fitted = size.scaled(within.size(), Qt.AspectRatioMode.KeepAspectRatio)
        place = QRect(within.topLeft(), fitted)
        place.moveCenter(within.center())
        return place

    def draw(
        self,
        painter: QPainter,
        within: QRect,
        frame: Frame | None,
        font: QFont,
        waiting: str,
        ratio: float,
        seen: QRect | None = None,
    ) -> QRect:
        """Draw a frame, or `waiting` while it is read for the first time; returns where.

        `ratio` is the screen's; `seen` the part of the place that is not covered, where words have to stand.
        """
        place = self.place(frame, within)
        if frame is not None and frame.image is not None:
            painter.drawPixmap(place, self._pixmap(frame, place.size() * ratio))
            return place
        painter.fillRect(place, theme.FIELD)
        painter.setPen(theme.EDGE)
        painter.drawRect(place.adjusted(0, 0, -1, -1))
        painter.setPen(theme.TEXT)
        painter.setFont(font)
        flags = Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap
        margin = max(place.width() // 30, 4)
        inside = (place if seen is None else place & seen).adjusted(margin, margin, -margin, -margin)
        draw_text(painter, inside, flags, frame.problem if frame is not None else waiting)
        return place

    def _pixmap(self, frame: Frame, size: QSize) -> QPixmap:
        assert frame.image is not None
        key = (frame.image.cacheKey(), size.width(), size.height())
        known = self._scaled.get(key)
        if known is None:
            mode = Qt.TransformationMode.SmoothTransformation
            scaled = frame.image.scaled(size, Qt.AspectRatioMode.IgnoreAspectRatio, mode)
            known = self._scaled[key] = QPixmap.fromImage(scaled)
        self._scaled.move_to_end(key)
        while len(self._scaled) > _KEPT:
            self._scaled.popitem(last=False)
        return known
