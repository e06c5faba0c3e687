"""Draws the sky: compass, rings, the lights' directions in every shot, and the tolerance around the master's."""

from __future__ import annotations

import math
from dataclasses import replace

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from samelight.gui.paint import theme
from samelight.gui.sky.dome import HORIZON_ONLY, compass_margin
from samelight.gui.sky.names import PlacedName
from samelight.gui.sky.shown_sky import ShownSky
from samelight.gui.sky.sky_painting import SkyPainter
from samelight.gui.state.rows import GridState
from samelight.gui.state.sky_data import LightTrack, MapFrame, MapView, Sky, project
from samelight.gui.widgets.shows_focus import ShowsFocus

_STEPS = {
    Qt.Key.Key_Left: (-1, 0),
    Qt.Key.Key_Right: (1, 0),
    Qt.Key.Key_Up: (0, -1),
    Qt.Key.Key_Down: (0, 1),
}


class SkyMap(ShowsFocus, QWidget):
    """The map itself."""

    hovered = Signal(QPointF)
    pressed = Signal(QPointF)
    stepped = Signal(int, int)
    """Go on by so many shots, or by so many lights."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.view = MapView(300, 300)
        self._shown: ShownSky | None = None
        self._frame = MapFrame.WORLD
        self._painter = SkyPainter(self)
        self._grabbed: QPointF | None = None
        self._dragged = False
        self.setMinimumSize(140, 100)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMouseTracking(True)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName("Sky: where the lights come from")
        self.setAccessibleDescription(
            "Left and Right go from shot to shot, Up and Down from light to light; + and − zoom, 0 shows the whole sky."
        )
        self.setToolTip("")

    def sizeHint(self) -> QSize:
        return QSize(360, 360)

    def clear(self) -> None:
        """Show an empty sky."""
        self._shown = None
        self.update()

    def show_sky(
        self,
        state: GridState,
        sky: Sky,
        track: LightTrack | None,
        column: int,
        frame: MapFrame,
        *,
        every: bool,
    ) -> None:
        """Show the lights of a sky, one of them with its path, and a shot's points ringed."""
        tracks = sky.tracks if every else tuple(other for other in sky.tracks if other is track)
        shown, self._frame = self._shown, frame
        if shown is None or not shown.is_of(state, sky, frame, tracks):
            shown = ShownSky.of(state, sky, frame, tracks)
        self._shown = shown.choosing(state, track, column)
        self.view = replace(self.view, extent=self._extent(self.view))
        self.update()

    # Zoom

    def frame_track(self) -> None:
        """Fill the map with the chosen light and its tolerance."""
        shown = self._shown
        if shown is None or shown.track is None:
            return
        self.view = self.view.framing(*shown.around(shown.track), math.radians(shown.track.tolerance) * 1.5)
        self.update()

    def show_whole(self) -> None:
        """Show the whole sky."""
        self.view = replace(self.view, x=0.0, y=0.0, zoom=1.0)
        self.update()

    def resizeEvent(self, event: QResizeEvent) -> None:
        view = replace(self.view, width=float(self.width()), height=float(self.height()))
        self.view = replace(view, extent=self._extent(view))

    def _extent(self, view: MapView) -> float:
        """The radius of the map that holds the compass and all lights: of the horizon, or of the lowest light where that lies
        below."""
        half = max(min(view.width, view.height), 40.0) / 2.0
        compass = half / max(half - compass_margin(), half / 2.0)
        below = float(project(0.0, self._shown.lowest if self._shown else 0.0)[1]) + 0.06
        return max(HORIZON_ONLY, compass, below)

    # What is drawn

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), theme.WINDOW)
        self._painter.paint(painter, self.view, self._shown, self._frame)
        if self.hasFocus():
            painter.setPen(QPen(theme.HIGHLIGHT, 1))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(self.rect().adjusted(0, 0, -1, -1))
        painter.end()

    def names_beside(self, words: list[QRectF]) -> list[PlacedName]:
        """The name of each light beside where it stands, where it covers no other word; the chosen one first."""
        return [] if self._shown is None else self._shown.names_beside(self.view, QRectF(self.rect()), words)

    # What the hand does

    def points_at(self, place: QPointF) -> tuple[LightTrack, list[int]] | None:
        """The light and the shots whose point is nearest to a place, if one is near; the chosen light comes first."""
        return None if self._shown is None else self._shown.points_at(self.view, place)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        if event.button() == Qt.MouseButton.LeftButton:
            self._grabbed, self._dragged = event.position(), False

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        if self._grabbed is None:
            self.hovered.emit(event.position())
            return
        step = event.position() - self._grabbed
        if self._dragged or step.manhattanLength() > 4:
            self._dragged, self._grabbed = True, event.position()
            if self.view.zoom > 1.0:
                scale = self.view.scale
                self.view = replace(
                    self.view, x=self.view.x - step.x() / scale, y=self.view.y + step.y() / scale
                )
                self.update()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        if self._grabbed is not None and not self._dragged:
            self.pressed.emit(event.position())
        self._grabbed = None

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        self.mousePressEvent(event)

    def wheelEvent(self, event: QWheelEvent) -> None:
        factor = 1.25 if event.angleDelta().y() > 0 else 0.8
        self.view = self.view.zoomed(factor, event.position().x(), event.position().y())
        self.update()
        event.accept()

    def leaveEvent(self, event: QEvent) -> None:
        self.hovered.emit(QPointF())
        super().leaveEvent(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key = Qt.Key(event.key())
        if key in _STEPS:
            self.stepped.emit(*_STEPS[key])
        elif key in (Qt.Key.Key_Plus, Qt.Key.Key_Equal, Qt.Key.Key_Minus):
            factor = 0.8 if key == Qt.Key.Key_Minus else 1.25
            self.view = self.view.zoomed(factor, self.width() / 2, self.height() / 2)
            self.update()
        elif key == Qt.Key.Key_0:
            self.show_whole()
        else:
            super().keyPressEvent(event)
