"""Draws the colours of marks in the u'v' diagram, those to look at with their names."""

from __future__ import annotations

import math

from PySide6.QtCore import QPointF, QRectF, QSize, QSizeF, Qt, Signal
from PySide6.QtGui import (
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QWidget

from samelight.gui.cloud.chart import Chart, chart_of
from samelight.gui.cloud.painting import CloudPicture, draw_cloud, plot_room, point_place
from samelight.reports.colour_cloud import Cloud

_NEAR = 12.0
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
        return QSize(160, 110)

    def show_cloud(self, cloud: Cloud) -> None:
        """Show another cloud."""
        if cloud != self.cloud:
            self._read_out(-1)
            self.cloud = cloud
            self.fit()

    def set_shot(self, shot: str) -> None:
        """Ring the points of a shot."""
        if shot != self.shot:
            self.shot = shot
            self.update()

    def fit(self) -> None:
        """Show all points."""
        self._is_fitted = True
        self.chart = chart_of(self.cloud, plot_room(QSizeF(self.size())))
        self.update()

    def go_nearer(self, point: QPointF, times: float) -> None:
        """Show what lies at a place so many times larger."""
        self._is_fitted = False
        self.chart = self.chart.nearer(point, times)
        self.update()

    def point_at(self, place: QPointF) -> int:
        """The place in the cloud of the point that is next to a place on the screen, -1 for none near."""
        away = [
            (math.dist(point_place(self.chart, one).toTuple(), place.toTuple()), index)
            for index, one in enumerate(self.cloud.points)
        ]
        nearest = min(away, default=(math.inf, -1))
        return nearest[1] if nearest[0] <= _NEAR else -1

    # Drawing

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        draw_cloud(painter, CloudPicture(self.cloud, self.chart, self.shot, self.at, QSizeF(self.size())))
        painter.end()

    # What the hand does

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if self._is_fitted:
            self.fit()
        else:
            self.chart = Chart(plot_room(QSizeF(self.size())), self.chart.u, self.chart.v, self.chart.a_pixel)

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
