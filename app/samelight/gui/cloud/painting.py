"""Draws a cloud of colours on its chart: axes, the black body, tolerances, points, and the names of those to look at."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, QSizeF, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QPainter, QPen, QPolygonF

from samelight.gui.cloud.chart import KELVINS, Chart, black_body, colour_of, ticks
from samelight.gui.paint import drift_scale, theme
from samelight.gui.paint.drawn_text import draw_text
from samelight.light.colour import planckian_uv
from samelight.reports.colour_cloud import Cloud, CloudPoint

_SIZE = 4.5
"""Pixels: half a point's breadth."""
_NAMED = 12
"""As many names as are written at points; the others are read out below."""
_A_TICK = 70.0


@dataclass(frozen=True, slots=True)
class CloudPicture:
    """What is drawn: a cloud on a chart, the `shot` whose points are ringed, the point `at` which is read out (-1 for none), in a
    widget of a size."""

    cloud: Cloud
    chart: Chart
    shot: str
    at: int
    size: QSizeF


def plot_room(size: QSizeF) -> QRectF:
    """Where the diagram is drawn in a widget: beside its numbers."""
    metrics = QFontMetricsF(_font())
    left, below = metrics.horizontalAdvance("0.0000") + 6.0, metrics.height() + 2.0
    return QRectF(left, 2.0, max(size.width() - left - 4.0, 1.0), max(size.height() - below - 4.0, 1.0))


def _font(*, bold: bool = False) -> QFont:
    return theme.font(theme.SMALL, bold=bold)


def point_place(chart: Chart, point: CloudPoint) -> QPointF:
    """Where a point is on the screen."""
    return chart.at(point.u, point.v)


def draw_cloud(painter: QPainter, drawn: CloudPicture) -> None:
    """Draw all of it."""
    chart, place = drawn.chart, drawn.chart.place
    painter.fillRect(place, theme.FIELD)
    _draw_axes(painter, drawn)
    painter.setClipRect(place)
    _draw_black_body(painter, chart)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(theme.DIM_TEXT, 1.2, Qt.PenStyle.DashLine))
    for ring in drawn.cloud.rings:
        radius = ring.radius / chart.a_pixel
        painter.drawEllipse(chart.at(ring.u, ring.v), radius, radius)
    for point in drawn.cloud.points:
        _draw_point(painter, drawn, point)
    _draw_names(painter, drawn)


def _draw_axes(painter: QPainter, drawn: CloudPicture) -> None:
    place, chart = drawn.chart.place, drawn.chart
    painter.setFont(_font())
    left, top = chart.of(place.topLeft())
    right, bottom = chart.of(place.bottomRight())
    line, middle = QPen(theme.grey(52), 1), Qt.AlignmentFlag.AlignVCenter
    for u in ticks(left, right, int(place.width() / _A_TICK)):
        x = chart.at(u, chart.v).x()
        painter.setPen(line)
        painter.drawLine(QPointF(x, place.top()), QPointF(x, place.bottom()))
        painter.setPen(theme.DIM_TEXT)
        room = QRectF(x - 30, place.bottom() + 1, 60, drawn.size.height() - place.bottom())
        if room.right() < drawn.size.width() and room.left() > place.left():
            draw_text(painter, room, Qt.AlignmentFlag.AlignHCenter, f"{u:g}")
    for v in ticks(bottom, top, int(place.height() / _A_TICK)):
        y = chart.at(chart.u, v).y()
        painter.setPen(line)
        painter.drawLine(QPointF(place.left(), y), QPointF(place.right(), y))
        painter.setPen(theme.DIM_TEXT)
        room = QRectF(0, y - 10, place.left() - 4, 20)
        draw_text(painter, room, Qt.AlignmentFlag.AlignRight | middle, f"{v:g}")
    painter.setPen(theme.TEXT)
    corner = QRectF(place.left() + 6, place.top() + 3, 60, 20)
    draw_text(painter, corner, Qt.AlignmentFlag.AlignLeft, "v'")
    corner = QRectF(place.right() - 66, place.bottom() - 20, 60, 18)
    draw_text(painter, corner, Qt.AlignmentFlag.AlignRight, "u'")


def _draw_black_body(painter: QPainter, chart: Chart) -> None:
    painter.setPen(QPen(theme.EDGE, 1.5))
    painter.drawPolyline(QPolygonF([chart.at(u, v) for u, v in black_body()]))
    for kelvin in KELVINS:
        at = chart.at(*planckian_uv(kelvin))
        painter.setPen(QPen(theme.EDGE, 1.5))
        painter.drawLine(at + QPointF(0, -3), at + QPointF(0, 3))
        painter.setPen(theme.DIM_TEXT)
        room = QRectF(at.x() - 64, at.y() - 20, 60, 16)
        draw_text(painter, room, Qt.AlignmentFlag.AlignRight, f"{kelvin:,} K")


def _draw_point(painter: QPainter, drawn: CloudPicture, point: CloudPoint) -> None:
    at = point_place(drawn.chart, point)
    if point.shot == drawn.shot:
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(theme.BRIGHT, 2))
        painter.drawEllipse(at, _SIZE + 4, _SIZE + 4)
    edge = drift_scale.colour(point.severity) if point.drifts else theme.grey(0)
    painter.setPen(QPen(edge, 2 if point.is_named else 1))
    painter.setBrush(colour_of(point.u, point.v))
    if point.is_key:
        corners = [QPointF(0, -1), QPointF(1, 0), QPointF(0, 1), QPointF(-1, 0)]
        painter.setPen(QPen(theme.BRIGHT, 1.5))
        painter.drawPolygon(QPolygonF([at + corner * (_SIZE + 3) for corner in corners]))
    else:
        painter.drawEllipse(at, _SIZE, _SIZE)


def _draw_names(painter: QPainter, drawn: CloudPicture) -> None:
    """Write names at the points that are read out, of the shot under the cursor, of key shots and of those to look at, in this
    order, as far as they do not lie over each other."""
    place = drawn.chart.place
    listed = [one for index, one in enumerate(drawn.cloud.points) if index == drawn.at]
    listed += [one for one in drawn.cloud.points if one.shot == drawn.shot]
    listed += sorted((one for one in drawn.cloud.points if one.is_named), key=lambda one: -one.severity)
    listed += [one for one in drawn.cloud.points if one.is_key]
    several = len(drawn.cloud.marks) > 1
    taken: list[QRectF] = []
    font = _font(bold=True)
    painter.setFont(font)
    metrics = QFontMetricsF(font)
    for point in list(dict.fromkeys(listed))[:_NAMED]:
        text = f"{point.shot} {point.mark}" if several else point.shot
        wide, high = metrics.horizontalAdvance(text) + 4, metrics.height()
        at, gap = point_place(drawn.chart, point), _SIZE + 5
        if not place.contains(at):
            continue
        for x, y in (
            (gap, -high / 2),
            (-gap - wide, -high / 2),
            (-wide / 2, -gap - high),
            (-wide / 2, gap),
        ):
            room = QRectF(at.x() + x, at.y() + y, wide, high)
            if place.contains(room) and not any(room.intersects(one) for one in taken):
                taken.append(room)
                painter.setPen(theme.BRIGHT if point.shot == drawn.shot else theme.TEXT)
                draw_text(painter, room, Qt.AlignmentFlag.AlignCenter, text)
                break
