"""Draws the colours of marks in the u'v' diagram, those to look at with their names."""

from __future__ import annotations

import math

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QFont,
    QFontMetricsF,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPolygonF,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QWidget

from samelight.gui.cloud.chart import KELVINS, Chart, black_body, chart_of, colour_of, ticks
from samelight.gui.paint import drift_scale, theme
from samelight.gui.paint.drawn_text import draw_text
from samelight.light.colour import planckian_uv
from samelight.reports.colour_cloud import Cloud, CloudPoint

_SIZE = 4.5
"""Pixels: half a point's breadth."""
_NEAR = 12.0
_NAMED = 12
"""As many names as are written at points; the others are read out below."""
_A_TICK = 70.0
_STEPS = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}
_ENTER = (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space)
_A_NOTCH = 1.25


class CloudPlot(QWidget):
    """Points of a cloud. A click means a point's shot; the wheel and a drag go nearer, a double click shows all again."""

    picked = Signal(str)
    """A shot was chosen."""
    read = Signal(str)
    """What is said of the point under the pointer or the keys; empty for none."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.cloud = Cloud()
        self.shot = ""
        self.at = -1
        """The place of the point that is read out, -1 for none."""
        self.chart = chart_of(self.cloud, QRectF(0, 0, 1, 1))
        self._is_fitted = True
        self._pressed: QPointF | None = None
        self._dragged = False
        self.setMouseTracking(True)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName("Colours of marks")
        self.setToolTip(
            "The colour of each mark in u'v'. A click goes to the shot (Left, Right, Enter); the wheel goes nearer, a double click "
            "shows all again"
        )

    def sizeHint(self) -> QSize:
        return QSize(360, 360)

    def minimumSizeHint(self) -> QSize:
        return QSize(160, 160)

    def show_cloud(self, cloud: Cloud) -> None:
        """Show another cloud."""
        if cloud != self.cloud:
            self.cloud, self.at = cloud, -1
            self.fit()

    def set_shot(self, shot: str) -> None:
        """Ring the points of a shot."""
        if shot != self.shot:
            self.shot = shot
            self.update()

    def fit(self) -> None:
        """Show all points."""
        self._is_fitted = True
        self.chart = chart_of(self.cloud, self._place())
        self.update()

    def go_nearer(self, point: QPointF, times: float) -> None:
        """Show what lies at a place so many times larger."""
        self._is_fitted = False
        self.chart = self.chart.nearer(point, times)
        self.update()

    def _place(self) -> QRectF:
        """Where the diagram is drawn: beside its numbers."""
        metrics = QFontMetricsF(self._font())
        left, below = metrics.horizontalAdvance("0.0000") + 6.0, metrics.height() + 2.0
        return QRectF(left, 2.0, max(self.width() - left - 4.0, 1.0), max(self.height() - below - 4.0, 1.0))

    def _font(self, *, bold: bool = False) -> QFont:
        return theme.font(theme.SMALL, bold=bold)

    def place_of(self, point: CloudPoint) -> QPointF:
        """Where a point is on the screen."""
        return self.chart.at(point.u, point.v)

    def point_at(self, place: QPointF) -> int:
        """The place in the cloud of the point that is next to a place on the screen, -1 for none near."""
        away = [
            (math.dist(self.place_of(one).toTuple(), place.toTuple()), index)
            for index, one in enumerate(self.cloud.points)
        ]
        nearest = min(away, default=(math.inf, -1))
        return nearest[1] if nearest[0] <= _NEAR else -1

    # Drawing

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        place = self.chart.place
        painter.fillRect(place, theme.FIELD)
        self._draw_axes(painter, place)
        painter.setClipRect(place)
        self._draw_black_body(painter)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(theme.DIM_TEXT, 1.2, Qt.PenStyle.DashLine))
        for ring in self.cloud.rings:
            radius = ring.radius / self.chart.a_pixel
            painter.drawEllipse(self.chart.at(ring.u, ring.v), radius, radius)
        for point in self.cloud.points:
            self._draw_point(painter, point)
        self._draw_names(painter, place)
        painter.end()

    def _draw_axes(self, painter: QPainter, place: QRectF) -> None:
        painter.setFont(self._font())
        left, top = self.chart.of(place.topLeft())
        right, bottom = self.chart.of(place.bottomRight())
        line, middle = QPen(theme.grey(52), 1), Qt.AlignmentFlag.AlignVCenter
        for u in ticks(left, right, int(place.width() / _A_TICK)):
            x = self.chart.at(u, self.chart.v).x()
            painter.setPen(line)
            painter.drawLine(QPointF(x, place.top()), QPointF(x, place.bottom()))
            painter.setPen(theme.DIM_TEXT)
            room = QRectF(x - 30, place.bottom() + 1, 60, self.height() - place.bottom())
            if room.right() < self.width() and room.left() > place.left():
                draw_text(painter, room, Qt.AlignmentFlag.AlignHCenter, f"{u:g}")
        for v in ticks(bottom, top, int(place.height() / _A_TICK)):
            y = self.chart.at(self.chart.u, v).y()
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

    def _draw_black_body(self, painter: QPainter) -> None:
        painter.setPen(QPen(theme.EDGE, 1.5))
        painter.drawPolyline(QPolygonF([self.chart.at(u, v) for u, v in black_body()]))
        for kelvin in KELVINS:
            at = self.chart.at(*planckian_uv(kelvin))
            painter.setPen(QPen(theme.EDGE, 1.5))
            painter.drawLine(at + QPointF(0, -3), at + QPointF(0, 3))
            painter.setPen(theme.DIM_TEXT)
            room = QRectF(at.x() - 64, at.y() - 20, 60, 16)
            draw_text(painter, room, Qt.AlignmentFlag.AlignRight, f"{kelvin:,} K")

    def _draw_point(self, painter: QPainter, point: CloudPoint) -> None:
        at = self.place_of(point)
        if point.shot == self.shot:
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

    def _draw_names(self, painter: QPainter, place: QRectF) -> None:
        """Write names at the points that are read out, of the shot under the cursor, of key shots and of those to look at, in this
        order, as far as they do not lie over each other."""
        listed = [one for index, one in enumerate(self.cloud.points) if index == self.at]
        listed += [one for one in self.cloud.points if one.shot == self.shot]
        listed += sorted((one for one in self.cloud.points if one.is_named), key=lambda one: -one.severity)
        listed += [one for one in self.cloud.points if one.is_key]
        several = len(self.cloud.marks) > 1
        taken: list[QRectF] = []
        font = self._font(bold=True)
        painter.setFont(font)
        metrics = QFontMetricsF(font)
        for point in list(dict.fromkeys(listed))[:_NAMED]:
            text = f"{point.shot} {point.mark}" if several else point.shot
            wide, high = metrics.horizontalAdvance(text) + 4, metrics.height()
            at, gap = self.place_of(point), _SIZE + 5
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
                    painter.setPen(theme.BRIGHT if point.shot == self.shot else theme.TEXT)
                    draw_text(painter, room, Qt.AlignmentFlag.AlignCenter, text)
                    break

    # What the hand does

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if self._is_fitted:
            self.fit()
        else:
            self.chart = Chart(self._place(), self.chart.u, self.chart.v, self.chart.a_pixel)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        if event.button() == Qt.MouseButton.LeftButton:
            self._pressed, self._dragged = event.position(), False

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        here = event.position()
        if self._pressed is None:
            self._read_out(self.point_at(here))
            return
        by = here - self._pressed
        if self._dragged or by.manhattanLength() > _NEAR / 2:
            self._dragged, self._is_fitted, self._pressed = True, False, here
            self.chart = self.chart.moved(by)
            self.update()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        if self._pressed is not None and not self._dragged:
            self._go_to(self.point_at(event.position()))
        self._pressed = None

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        if self.point_at(event.position()) < 0:
            self.fit()

    def wheelEvent(self, event: QWheelEvent) -> None:
        self.go_nearer(event.position(), math.pow(_A_NOTCH, event.angleDelta().y() / 120.0))
        event.accept()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        step = _STEPS.get(Qt.Key(event.key()))
        if step is not None and self.cloud.points:
            self._read_out(min(max(self.at + step, 0), len(self.cloud.points) - 1))
        elif event.key() in _ENTER and self.at >= 0:
            self._go_to(self.at)
        else:
            super().keyPressEvent(event)

    def _go_to(self, index: int) -> None:
        if index >= 0:
            self._read_out(index)
            self.picked.emit(self.cloud.points[index].shot)

    def _read_out(self, index: int) -> None:
        if index != self.at:
            self.at = index
            says = self.cloud.points[index].says if index >= 0 else ""
            self.setAccessibleDescription(says)
            self.read.emit(says)
            self.update()
