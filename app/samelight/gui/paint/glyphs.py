"""The mark of one shot in a plot: dot, triangle where it drifts, square where a lock breaks, as in the grid."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from typing import NamedTuple

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QColor, QPainter, QPen, QPolygonF

from samelight.drift.cells import Grade
from samelight.gui.paint import theme

Mark = tuple[float, float, int, QColor, bool]
"""Where the mark of a shot stands (pixels), its grade, the colour of its drift, and whether that was intended."""


def draw_mark(painter: QPainter, at: QPointF, grade: int, fill: QColor, *, intended: bool) -> None:
    """A shot's mark: its shape is the grade, its colour the drift; hollow where the drift was intended."""
    draw_marks(painter, [(at.x(), at.y(), grade, fill, intended)])


def draw_marks(painter: QPainter, marks: Iterable[Mark], size: float = 1.0) -> None:
    """Many marks, the later over the earlier; `size` is beside the usual one."""
    shape = _shape(size)
    before: QPen | None = None
    for x, y, grade, fill, intended in marks:
        if intended and grade >= Grade.DRIFT:
            pen, brush = QPen(fill, 2 * size), theme.CELL
        else:
            # The scale's colours within tolerance are as dark as the ground.
            pen, brush = shape.within_pen if grade == Grade.WITHIN else shape.pen, fill
        if pen is not before:
            painter.setPen(pen)
            before = pen
        painter.setBrush(brush)
        if grade == Grade.BREAK:
            painter.drawRect(shape.square.translated(x, y))
        elif grade == Grade.DRIFT:
            painter.drawPolygon(shape.triangle.translated(x, y))
        else:
            painter.drawEllipse(QPointF(x, y), shape.radius, shape.radius)


class _Shape(NamedTuple):
    """What marks of one size are drawn with, around the point (0, 0)."""

    square: QRectF
    triangle: QPolygonF
    radius: float
    pen: QPen
    within_pen: QPen


@lru_cache(maxsize=8)
def _shape(size: float) -> _Shape:
    corners = ((-5.5, 4.5), (5.5, 4.5), (0.0, -5.5))
    return _Shape(
        QRectF(-4.5 * size, -4.5 * size, 9 * size, 9 * size),
        QPolygonF([QPointF(x, y) * size for x, y in corners]),
        3.2 * size,
        _wide(_MARK_PEN, size),
        _wide(WITHIN_PEN, size),
    )


def _wide(pen: QPen, width: float) -> QPen:
    sized = QPen(pen)
    sized.setWidthF(width)
    return sized


WITHIN_PEN = QPen(theme.grey(190), 1)
_MARK_PEN = QPen(theme.grey(24), 1)
