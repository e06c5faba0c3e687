"""The empty sky: horizon, rings of elevation, compass, and where the camera looks."""

from __future__ import annotations

import math

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QImage, QPainter, QPainterPath, QPen, QPolygonF

from samelight.gui.paint import theme
from samelight.gui.paint.drawn_text import draw_text
from samelight.gui.state.sky_data import EDGE, MapFrame, MapView, project
from samelight.light.directions import turn_between

HORIZON_ONLY = 1.14
"""The radius of the map while nothing lies below the horizon: room for the compass around it."""

_GAP = 3.0
"""Pixels between the horizon and the words of the compass."""

_RINGS = (0, 30, 60)
_WORLD_NAMES = ("N", "E", "S", "W")
_CAMERA_NAMES = ("ahead", "right", "behind", "left")
_CENTRE = Qt.AlignmentFlag.AlignCenter

_ROOMY = 18.0
"""A map less high than this many lines of its smallest type (about 250 pixels) has no room for more words than the
compass and the names of the lights."""


def pixel(view: MapView, x: float, y: float) -> QPointF:
    """A place of the map, in pixels."""
    left, top = view.to_pixels(np.array(x), np.array(y))
    return QPointF(float(left), float(top))


def pixel_of(view: MapView, azimuth: float, elevation: float) -> QPointF:
    """A direction, in pixels."""
    x, y = project(azimuth, elevation)
    return pixel(view, float(x), float(y))


def compass_margin() -> float:
    """How much room the words of the compass need around the horizon, in pixels."""
    return _GAP + QFontMetricsF(_compass_font()).height()


def draw_dome(
    painter: QPainter, view: MapView, frame: MapFrame, heading: float, picture: QImage | None = None
) -> list[QRectF]:
    """Draw the sky, with the picture of it where there is one, and in the world frame a wedge to where the camera looks;
    `heading` is NaN without one.

    Returns where words stand, which no other may cover.
    """
    _draw_rings(painter, view, picture)
    shows_camera = frame is MapFrame.WORLD and math.isfinite(heading)
    roomy = min(view.width, view.height) >= _ROOMY * QFontMetricsF(_small_font()).height()
    words: list[QRectF] = []
    if roomy:
        words += _draw_figures(painter, view, heading if shows_camera else math.nan)
    words += _draw_compass(painter, view, frame)
    if shows_camera:
        words += _draw_camera(painter, view, heading, named=roomy)
    return words


def _small_font() -> QFont:
    return theme.font(theme.SMALL)


def _compass_font() -> QFont:
    return theme.font(bold=True)


def _word(painter: QPainter, middle: QPointF, text: str) -> QRectF:
    """Draw a word around a point; returns where it stands."""
    room = _room_of(painter, middle, text)
    draw_text(painter, room, _CENTRE, text)
    return room


def _room_of(painter: QPainter, middle: QPointF, text: str) -> QRectF:
    metrics = QFontMetricsF(painter.font())
    width, height = metrics.horizontalAdvance(text) + 2.0, metrics.height()
    return QRectF(middle.x() - width / 2, middle.y() - height / 2, width, height)


def _draw_figures(painter: QPainter, view: MapView, heading: float) -> list[QRectF]:
    """The elevation of each ring, where the camera's wedge is not."""
    beside = 160.0 if math.isfinite(heading) and abs(turn_between(heading, -20.0)) < 50.0 else -20.0
    painter.setFont(_small_font())
    painter.setPen(theme.DIM_TEXT)
    above = QPointF(0.0, QFontMetricsF(painter.font()).height() / 2)
    return [
        _word(painter, pixel_of(view, beside, elevation) - above, f"{elevation}°") for elevation in _RINGS
    ]


def _draw_rings(painter: QPainter, view: MapView, picture: QImage | None) -> None:
    centre = pixel(view, 0.0, 0.0)
    if view.extent > HORIZON_ONLY:
        painter.setPen(QPen(theme.EDGE, 1, Qt.PenStyle.DashLine))
        painter.setBrush(theme.grey(40))
        painter.drawEllipse(centre, EDGE * view.scale, EDGE * view.scale)
    painter.setPen(QPen(theme.grey(120), 1.4))
    painter.setBrush(theme.grey(58))
    painter.drawEllipse(centre, view.scale, view.scale)
    if picture is not None:
        whole = QPainterPath()
        reach = EDGE if view.extent > HORIZON_ONLY else 1.0
        whole.addEllipse(centre, reach * view.scale, reach * view.scale)
        painter.save()
        painter.setClipPath(whole)
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        half = QPointF(EDGE * view.scale, EDGE * view.scale)
        painter.drawImage(QRectF(centre - half, centre + half), picture)
        painter.restore()
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawEllipse(centre, view.scale, view.scale)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(theme.EDGE, 1))
    for elevation in _RINGS[1:]:
        radius = float(project(0.0, elevation)[1]) * view.scale
        painter.drawEllipse(centre, radius, radius)


def _draw_compass(painter: QPainter, view: MapView, frame: MapFrame) -> list[QRectF]:
    centre = pixel(view, 0.0, 0.0)
    for azimuth in range(0, 360, 45):
        main = azimuth % 90 == 0
        outer = 1.03 if main else 1.0
        turn = math.radians(azimuth)
        painter.setPen(QPen(theme.EDGE if main else theme.grey(70), 1))
        painter.drawLine(centre, pixel(view, outer * math.sin(turn), outer * math.cos(turn)))
    painter.setFont(_compass_font())
    painter.setPen(theme.TEXT)
    names = _WORLD_NAMES if frame is MapFrame.WORLD else _CAMERA_NAMES
    away = _GAP + QFontMetricsF(painter.font()).height() / 2
    words = []
    for name, (x, y) in zip(names, ((0, 1), (1, 0), (0, -1), (-1, 0)), strict=True):
        at = pixel(view, x, y) + QPointF(away * x, -away * y)
        if len(name) > 1 and x:  # words at the sides stand inside the ring, or outside where that is small
            room = _room_of(painter, at, name)
            side = -1.0 if room.width() < view.scale * 0.8 else 1.0
            beside = QPointF(side * (_GAP + room.width() / 2) * x, -room.height() / 2 - 2.0)
            at = pixel(view, x, y) + beside
        words.append(_word(painter, at, name))
    return words


def _draw_camera(painter: QPainter, view: MapView, heading: float, *, named: bool) -> list[QRectF]:
    turn, middle = math.radians(heading), pixel(view, 0.0, 0.0)
    ahead = QPointF(math.sin(turn), -math.cos(turn))
    side = QPointF(-ahead.y(), ahead.x())
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(theme.grey(104))
    painter.drawPolygon(QPolygonF([middle, middle + ahead * 34 + side * 13, middle + ahead * 34 - side * 13]))
    if not named:
        return []
    painter.setPen(theme.DIM_TEXT)
    painter.setFont(_small_font())
    room = _room_of(painter, middle, "camera")
    # As far out as keeps the word clear of the wedge, whichever way that points.
    reach = abs(ahead.x()) * room.width() / 2 + abs(ahead.y()) * room.height() / 2
    return [_word(painter, middle + ahead * (36 + reach), "camera")]
