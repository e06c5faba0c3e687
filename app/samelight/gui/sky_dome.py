"""The empty sky: horizon, rings of elevation, compass, and where the camera looks."""

from __future__ import annotations

import math

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPen, QPolygonF

from samelight.gui import theme
from samelight.gui.sky_data import EDGE, Frame, View, project
from samelight.light.directions import turn_between

HORIZON_ONLY = 1.14
"""The radius of the map while nothing lies below the horizon: room for the compass around it."""

_RINGS = (0, 30, 60)
_WORLD_NAMES = ("N", "E", "S", "W")
_CAMERA_NAMES = ("ahead", "right", "behind", "left")
_CENTRE = Qt.AlignmentFlag.AlignCenter


def pixel(view: View, x: float, y: float) -> QPointF:
    """A place of the map, in pixels."""
    left, top = view.to_pixels(np.array(x), np.array(y))
    return QPointF(float(left), float(top))


def pixel_of(view: View, azimuth: float, elevation: float) -> QPointF:
    """A direction, in pixels."""
    x, y = project(azimuth, elevation)
    return pixel(view, float(x), float(y))


def draw_dome(painter: QPainter, view: View, frame: Frame, heading: float) -> None:
    """Draw the sky, and in the world frame a wedge to where the camera looks; `heading` is NaN without one."""
    _draw_rings(painter, view)
    shows_camera = frame is Frame.WORLD and math.isfinite(heading)
    # The rings have their figures where the camera's wedge is not.
    beside = 160.0 if shows_camera and abs(turn_between(heading, -20.0)) < 50.0 else -20.0
    painter.setFont(theme.font(8.0))
    painter.setPen(theme.DIM_TEXT)
    for elevation in _RINGS:
        at = pixel_of(view, beside, elevation)
        painter.drawText(QRectF(at.x() - 14, at.y() - 14, 28, 14), _CENTRE, f"{elevation}°")
    _draw_compass(painter, view, frame)
    if shows_camera:
        _draw_camera(painter, view, heading)


def _draw_rings(painter: QPainter, view: View) -> None:
    centre = pixel(view, 0.0, 0.0)
    if view.extent > HORIZON_ONLY:
        painter.setPen(QPen(theme.EDGE, 1, Qt.PenStyle.DashLine))
        painter.setBrush(theme.grey(40))
        painter.drawEllipse(centre, EDGE * view.scale, EDGE * view.scale)
    painter.setPen(QPen(theme.grey(120), 1.4))
    painter.setBrush(theme.grey(58))
    painter.drawEllipse(centre, view.scale, view.scale)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(theme.EDGE, 1))
    for elevation in _RINGS[1:]:
        radius = float(project(0.0, elevation)[1]) * view.scale
        painter.drawEllipse(centre, radius, radius)


def _draw_compass(painter: QPainter, view: View, frame: Frame) -> None:
    centre = pixel(view, 0.0, 0.0)
    for azimuth in range(0, 360, 45):
        main = azimuth % 90 == 0
        outer = 1.03 if main else 1.0
        turn = math.radians(azimuth)
        painter.setPen(QPen(theme.EDGE if main else theme.grey(70), 1))
        painter.drawLine(centre, pixel(view, outer * math.sin(turn), outer * math.cos(turn)))
    painter.setFont(theme.font(10.0, bold=True))
    painter.setPen(theme.TEXT)
    names = _WORLD_NAMES if frame is Frame.WORLD else _CAMERA_NAMES
    for name, (x, y) in zip(names, ((0, 1), (1, 0), (0, -1), (-1, 0)), strict=True):
        at = pixel(view, x, y) + QPointF(12 * x, -12 * y)
        width = painter.fontMetrics().horizontalAdvance(name) + 2
        room = QRectF(at.x() - width / 2, at.y() - 9, width, 18)
        if len(name) > 1 and x:  # words at the sides stand inside the ring
            room.moveLeft(at.x() - width - 16 if x > 0 else at.x() + 16)
            room.moveTop(at.y() - 20)
        painter.drawText(room, _CENTRE, name)


def _draw_camera(painter: QPainter, view: View, heading: float) -> None:
    turn, middle = math.radians(heading), pixel(view, 0.0, 0.0)
    ahead = QPointF(math.sin(turn), -math.cos(turn))
    side = QPointF(-ahead.y(), ahead.x())
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(theme.grey(104))
    painter.drawPolygon(QPolygonF([middle, middle + ahead * 34 + side * 13, middle + ahead * 34 - side * 13]))
    painter.setPen(theme.DIM_TEXT)
    painter.setFont(theme.font(8.0))
    at = middle + ahead * 46
    painter.drawText(QRectF(at.x() - 26, at.y() - 8, 52, 16), _CENTRE, "camera")
