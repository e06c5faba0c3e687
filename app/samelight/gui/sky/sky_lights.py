"""Draws the lights of the sky: the marks of their shots, the way from shot to shot, the tolerance around the master's."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPen, QPolygonF

from samelight.drift.cells import Grade
from samelight.drift.table import Table
from samelight.gui.paint import drift_scale, theme
from samelight.gui.paint.drawn_text import draw_text
from samelight.gui.paint.glyphs import draw_marks
from samelight.gui.sky.dome import pixel, pixel_of
from samelight.gui.state.sky_data import TOGETHER, Array, MapView, Spots, cap_outline

_BESIDE = 0.7
"""How large the marks of the other lights are, beside those of the light that is looked at."""
_ROOM_TO_SAY = 40.0
"""A tolerance drawn wider than this (pixels) has its figure beside it."""
_ROOM_FOR_ARROW = 26.0
"""A step longer than this (pixels) has an arrow."""


def draw_tolerance(
    painter: QPainter, view: MapView, held: tuple[float, float], tolerance: float
) -> list[QRectF]:
    """Draw what is within tolerance (degrees) of the azimuth and elevation of the master's.

    Returns where its figure stands, if it has one.
    """
    x, y = view.to_pixels(*cap_outline(*held, tolerance))
    painter.setPen(QPen(theme.BRIGHT, 1.2))
    painter.setBrush(theme.grey(92))
    painter.drawPolygon(_polygon(x, y))
    at = pixel_of(view, *held)
    words = []
    if float(x.max() - x.min()) > _ROOM_TO_SAY:
        painter.setFont(theme.font(theme.SMALL))
        painter.setPen(theme.DIM_TEXT)
        metrics, text = painter.fontMetrics(), f"tolerance {tolerance:g}°"
        room = QRectF(x.min(), y.max() + 3.0, metrics.horizontalAdvance(text) + 2.0, metrics.height())
        draw_text(painter, room, Qt.AlignmentFlag.AlignLeft, text)
        words.append(room)
    painter.setPen(QPen(theme.BRIGHT, 1.6))
    for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1)):
        step = QPointF(dx, dy)
        painter.drawLine(at + step * 8, at + step * 15)
    return words


def draw_path(painter: QPainter, view: MapView, spots: Spots) -> None:
    """The way from shot to shot in cut order, each step once, with an arrow where there is room."""
    start, end = _steps(view, spots)
    if not start.size:
        return
    step = end - start
    length = np.hypot(*step)
    roomy = length > _ROOM_FOR_ARROW
    along = step[:, roomy] / length[roomy]
    # A little beyond the middle, so that the arrows of a way there and back lie apart.
    tip, side = start[:, roomy] + step[:, roomy] * 0.58, np.array((-along[1], along[0]))
    back = tip - along * 7
    painter.setPen(QPen(theme.grey(186), 1.3))
    painter.drawLines([*_lines(start, end), *_lines(tip, back + side * 4), *_lines(tip, back - side * 4)])


def _steps(view: MapView, spots: Spots) -> tuple[Array, Array]:
    """Where the steps of a way start and end, in pixels; both of the shape (2, n)."""
    known = np.flatnonzero(np.isfinite(spots.x))
    places = np.array((spots.x[known], spots.y[known]))
    before, after = places[:, :-1], places[:, 1:]
    moved = (np.abs(after - before) > TOGETHER).any(axis=0)
    steps = dict.fromkeys(zip(*np.round(np.concatenate((before, after))[:, moved], 4).tolist(), strict=True))
    ends = np.array([*steps], dtype=np.float64).reshape(-1, 4).T
    return np.array(view.to_pixels(ends[0], ends[1])), np.array(view.to_pixels(ends[2], ends[3]))


def draw_spots(
    painter: QPainter, view: MapView, spots: Spots, table: Table, intended: NDArray[np.bool_], *, chosen: bool
) -> None:
    """The marks of a light in every place that it comes from, what drifts most on top; `intended` has one figure a shot."""
    row, shots = spots.track.row, spots.worst
    left, top = view.to_pixels(spots.x[shots], spots.y[shots])
    grades, severity, meant = table.grade[row, shots], table.severity[row, shots], intended[shots]
    plain = grades <= Grade.SAME
    pen = QPen(theme.grey(176 if chosen else 132), 7.0 if chosen else 4.5)
    pen.setCapStyle(Qt.PenCapStyle.RoundCap)
    painter.setPen(pen)
    painter.drawPoints(_polygon(left[plain], top[plain]))
    order = np.lexsort((severity, ~meant))
    order = order[~plain[order]]
    places = left[order].tolist(), top[order].tolist()
    fills = drift_scale.colours(severity[order])
    marks = zip(*places, grades[order].tolist(), fills, meant[order].tolist(), strict=True)
    draw_marks(painter, marks, 1.0 if chosen else _BESIDE)


def draw_ring(painter: QPainter, view: MapView, x: float, y: float) -> None:
    """The ring around a shot's place on the map."""
    at = pixel(view, x, y)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(theme.grey(16), 4))
    painter.drawEllipse(at, 9.5, 9.5)
    painter.setPen(QPen(theme.BRIGHT, 2))
    painter.drawEllipse(at, 9.5, 9.5)


def _lines(start: Array, end: Array) -> list[QLineF]:
    return [QLineF(*ends) for ends in np.concatenate((start, end)).T.tolist()]


def _polygon(x: Array, y: Array) -> QPolygonF:
    return QPolygonF([QPointF(left, top) for left, top in zip(x.tolist(), y.tolist(), strict=True)])
