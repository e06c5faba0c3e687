"""A part of the sky's picture that is painted once and kept while what it shows stays as it is."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QPointF, QSize, Qt
from PySide6.QtGui import QPainter, QPixmap
from PySide6.QtWidgets import QWidget


class KeptPicture:
    """As large as a widget, and as sharp as if it were painted there."""

    def __init__(self) -> None:
        self._picture = QPixmap()
        self._shows: tuple[object, ...] = ()

    def draw(
        self,
        painter: QPainter,
        widget: QWidget,
        shows: tuple[object, ...],
        paint: Callable[[QPainter], None],
    ) -> None:
        """Draw the picture on a widget; `paint` is called only where it is to show something else than the last time."""
        ratio = widget.devicePixelRatioF()
        aside = _aside(painter) / ratio
        shows = (*shows, widget.size(), ratio, aside)
        if shows != self._shows:
            self._picture = QPixmap(widget.size() * ratio + QSize(1, 1))
            self._picture.setDevicePixelRatio(ratio)
            self._picture.fill(Qt.GlobalColor.transparent)
            inside = QPainter(self._picture)
            inside.setRenderHint(QPainter.RenderHint.Antialiasing)
            inside.translate(aside)
            paint(inside)
            inside.end()
            self._shows = shows
        painter.drawPixmap(-aside, self._picture)


def _aside(painter: QPainter) -> QPointF:
    """How far right of and below a whole pixel of the screen a widget starts, which at 150 % can be half of one."""
    origin = painter.deviceTransform().map(QPointF())
    return QPointF(origin.x() % 1.0, origin.y() % 1.0)
