"""The mark of one shot in a plot: dot, triangle where it drifts, square where a lock breaks, as in the grid."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QColor, QPainter, QPen, QPolygonF

from samelight.drift.cells import Grade
from samelight.gui import theme


def draw_mark(painter: QPainter, at: QPointF, grade: int, fill: QColor, *, intended: bool) -> None:
    """A shot's mark: its shape is the grade, its colour the drift; hollow where the drift was intended."""
    if intended and grade >= Grade.DRIFT:
        painter.setPen(QPen(fill, 2))
        painter.setBrush(theme.CELL)
    else:
        # The scale's colours within tolerance are as dark as the ground.
        painter.setPen(_WITHIN_PEN if grade == Grade.WITHIN else _MARK_PEN)
        painter.setBrush(fill)
    if grade == Grade.BREAK:
        painter.drawRect(QRectF(at.x() - 4.5, at.y() - 4.5, 9, 9))
    elif grade == Grade.DRIFT:
        painter.drawPolygon(QPolygonF([at + corner for corner in _TRIANGLE]))
    else:
        painter.drawEllipse(at, 3.2, 3.2)


_TRIANGLE = (QPointF(-5.5, 4.5), QPointF(5.5, 4.5), QPointF(0.0, -5.5))
_WITHIN_PEN = QPen(theme.grey(190), 1)
_MARK_PEN = QPen(theme.grey(24), 1)
