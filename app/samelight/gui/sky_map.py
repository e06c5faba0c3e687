"""Draws the sky: compass, rings, the lights' directions in every shot, and the tolerance around the master's."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QFocusEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPixmap,
    QPolygonF,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from samelight.decisions.state import State
from samelight.drift.cells import Grade
from samelight.gui import drift_scale, theme
from samelight.gui.marks import draw_mark
from samelight.gui.rows import STATES, GridState
from samelight.gui.sky_data import Array, Frame, Sky, Spots, Track, View, cap_outline, project, spots_of
from samelight.gui.sky_dome import HORIZON_ONLY, compass_margin, draw_dome, pixel, pixel_of
from samelight.gui.sky_names import Name, Wanted, draw_names, placed

_NEAR = 10.0
"""How far from a point (pixels) the mouse still means it."""
_BESIDE = 0.7
"""How large the marks of the other lights are, beside those of the light that is looked at."""
_CROWD = 80
"""As many points of other lights as leave the one that is looked at in plain sight."""
_KEPT_CLEAR = 200
"""As many marks as names keep clear of; among more there would be no room for any name."""
_ROOM_TO_SAY = 40.0
"""A tolerance drawn wider than this (pixels) has its figure beside it."""
_INTENDED = STATES.index(State.INTENDED)
_STEPS = {
    Qt.Key.Key_Left: (-1, 0),
    Qt.Key.Key_Right: (1, 0),
    Qt.Key.Key_Up: (0, -1),
    Qt.Key.Key_Down: (0, 1),
}


class SkyMap(QWidget):
    """The map itself."""

    hovered = Signal(QPointF)
    pressed = Signal(QPointF)
    stepped = Signal(int, int)
    """Go on by so many shots, or by so many lights."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.view = View(300, 300)
        self._state: GridState | None = None
        self._sky: Sky | None = None
        self._track: Track | None = None
        self._column = 0
        self._frame = Frame.WORLD
        self._spots: list[Spots] = []
        self._lowest = 0.0
        """The elevation of the lowest light that is shown, 0 where all are above the horizon."""
        self._made_for: tuple[object, ...] = ()
        self._others_map = QPixmap()
        self._others_drawn: tuple[object, ...] = ()
        self._grabbed: QPointF | None = None
        self._dragged = False
        self.setMinimumSize(140, 140)
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
        self._state = self._sky = self._track = None
        self._spots, self._made_for = [], ()
        self.update()

    def show_sky(
        self, state: GridState, sky: Sky, track: Track | None, column: int, frame: Frame, *, every: bool
    ) -> None:
        """Show the lights of a sky, one of them with its path, and a shot's points ringed."""
        self._state, self._sky, self._track, self._column, self._frame = state, sky, track, column, frame
        made_for = (state, state.revision, sky, frame, track if not every else None, every)
        if made_for != self._made_for:
            self._made_for = made_for
            shown = sky.tracks if every else tuple(other for other in sky.tracks if other is track)
            self._spots = [spots_of(sky, other, frame, _urgency(state, other.row)) for other in shown]
            self._lowest = min(
                (float(np.nanmin(other.elevation, initial=0.0)) for other in shown), default=0.0
            )
            self.view = replace(self.view, extent=self._extent(self.view))
        # The light under the cursor lies on top.
        self._spots.sort(key=lambda spots: spots.track is track)
        self.update()

    def _placed(self, track: Track) -> tuple[Array, Array]:
        assert self._sky is not None
        return project(self._sky.turned(track.azimuth, self._frame), track.elevation)

    def _held(self, track: Track) -> tuple[float, float] | None:
        """Azimuth and elevation of what the light is held against in the chosen shot, as the frame has them."""
        assert self._sky is not None
        held = track.held_azimuth
        column = self._column
        if math.isnan(held[column]) and self._frame is Frame.WORLD:
            known = np.flatnonzero(~np.isnan(held))
            if not known.size:
                return None
            column = int(known[0])
        azimuth = float(self._sky.turned(held, self._frame)[column])
        return None if math.isnan(azimuth) else (azimuth, float(track.held_elevation[column]))

    # Zoom

    def frame_track(self) -> None:
        """Fill the map with the chosen light and its tolerance."""
        if self._track is None:
            return
        x, y = self._placed(self._track)
        held = self._held(self._track)
        least = math.radians(self._track.tolerance) * 1.5
        if held is not None:
            cap_x, cap_y = cap_outline(*held, max(self._track.tolerance, 0.1))
            x, y = np.concatenate((x, cap_x)), np.concatenate((y, cap_y))
        self.view = self.view.framing(x, y, least)
        self.update()

    def show_whole(self) -> None:
        """Show the whole sky."""
        self.view = replace(self.view, x=0.0, y=0.0, zoom=1.0)
        self.update()

    def resizeEvent(self, event: QResizeEvent) -> None:
        view = replace(self.view, width=float(self.width()), height=float(self.height()))
        self.view = replace(view, extent=self._extent(view))

    def _extent(self, view: View) -> float:
        """The radius of the map that holds the compass and all lights: of the horizon, or of the lowest light where that lies
        below."""
        half = max(min(view.width, view.height), 40.0) / 2.0
        compass = half / max(half - compass_margin(), half / 2.0)
        below = float(project(0.0, self._lowest)[1]) + 0.06
        return max(HORIZON_ONLY, compass, below)

    # What is drawn

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), theme.WINDOW)
        heading = float(self._sky.headings[self._column]) if self._sky is not None else math.nan
        words = draw_dome(painter, self.view, self._frame, heading)
        if self._sky is not None:
            self._draw_lights(painter, words)
        if self.hasFocus():
            painter.setPen(QPen(theme.HIGHLIGHT, 1))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(self.rect().adjusted(0, 0, -1, -1))
        painter.end()

    def _draw_lights(self, painter: QPainter, words: list[QRectF]) -> None:
        """Draw what is in the sky. `words` are where names of lights must not be."""
        painter.drawPixmap(0, 0, self._others())
        for spots in self._spots:
            if spots.track is self._track:
                words += self._draw_tolerance(painter, spots.track)
                self._draw_path(painter, spots)
                self._draw_spots(painter, spots, chosen=True)
                self._draw_ring(painter, spots)
        draw_names(painter, self._names(words))

    def _others(self) -> QPixmap:
        """The points of all lights but the chosen one, which stay as they are while the cursor goes from shot to shot."""
        ratio = self.devicePixelRatioF()
        drawn = (self._made_for, self._track, self.view, ratio)
        if drawn != self._others_drawn:
            self._others_drawn = drawn
            self._others_map = QPixmap(self.size() * ratio)
            self._others_map.setDevicePixelRatio(ratio)
            self._others_map.fill(Qt.GlobalColor.transparent)
            painter = QPainter(self._others_map)
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            others = [spots for spots in self._spots if spots.track is not self._track]
            # The more of them there are, the further they stand back behind the light that is looked at.
            painter.setOpacity(min(max(_CROWD / max(sum(o.worst.size for o in others), 1), 0.4), 1.0))
            for spots in others:
                self._draw_spots(painter, spots, chosen=False)
            painter.end()
        return self._others_map

    def _draw_tolerance(self, painter: QPainter, track: Track) -> list[QRectF]:
        """Draw what is within tolerance of the master; returns where its figure stands, if it has one."""
        held = self._held(track)
        if held is None:
            return []
        x, y = self.view.to_pixels(*cap_outline(*held, track.tolerance))
        painter.setPen(QPen(theme.BRIGHT, 1.2))
        painter.setBrush(theme.grey(92))
        painter.drawPolygon(_polygon(x, y))
        at = pixel_of(self.view, *held)
        words = []
        if float(x.max() - x.min()) > _ROOM_TO_SAY:
            painter.setFont(theme.font(8.5))
            painter.setPen(theme.DIM_TEXT)
            metrics, text = painter.fontMetrics(), f"tolerance {track.tolerance:g}°"
            room = QRectF(x.min(), y.max() + 3.0, metrics.horizontalAdvance(text) + 2.0, metrics.height())
            painter.drawText(room, Qt.AlignmentFlag.AlignLeft, text)
            words.append(room)
        painter.setPen(QPen(theme.BRIGHT, 1.6))
        for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1)):
            step = QPointF(dx, dy)
            painter.drawLine(at + step * 8, at + step * 15)
        return words

    def _draw_path(self, painter: QPainter, spots: Spots) -> None:
        """The way from shot to shot in cut order, each step once, with an arrow where there is room."""
        x, y = spots.x, spots.y
        known = np.flatnonzero(np.isfinite(x))
        before, after = known[:-1], known[1:]
        moved = (np.abs(x[after] - x[before]) > 1e-4) | (np.abs(y[after] - y[before]) > 1e-4)
        ends = np.column_stack((x[before], y[before], x[after], y[after]))[moved]
        if not ends.size:
            return
        painter.setPen(QPen(theme.grey(186), 1.3))
        for x0, y0, x1, y1 in np.unique(np.round(ends, 4), axis=0).tolist():
            start, end = self._at(x0, y0), self._at(x1, y1)
            painter.drawLine(start, end)
            step = end - start
            length = math.hypot(step.x(), step.y())
            if length > 26:
                along = step / length
                # A little beyond the middle, so that the arrows of a way there and back lie apart.
                tip, side = start + step * 0.58, QPointF(-along.y(), along.x())
                painter.drawLine(tip, tip - along * 7 + side * 4)
                painter.drawLine(tip, tip - along * 7 - side * 4)

    def _draw_spots(self, painter: QPainter, spots: Spots, *, chosen: bool) -> None:
        assert self._state is not None
        table, row = self._state.table, spots.track.row
        left, top = self.view.to_pixels(spots.x[spots.worst], spots.y[spots.worst])
        grades = table.grade[row, spots.worst]
        severity = table.severity[row, spots.worst]
        intended = self._state.states[row, spots.worst] == _INTENDED
        plain = grades <= Grade.SAME
        pen = QPen(theme.grey(176 if chosen else 132), 7.0 if chosen else 4.5)
        pen.setCapStyle(Qt.PenCapStyle.RoundCap)
        painter.setPen(pen)
        painter.drawPoints(_polygon(left[plain], top[plain]))
        for place in np.lexsort((severity, ~intended)).tolist():
            if not plain[place]:
                fill = drift_scale.colour(float(severity[place]))
                painter.save()
                painter.translate(float(left[place]), float(top[place]))
                if not chosen:
                    painter.scale(_BESIDE, _BESIDE)
                draw_mark(painter, QPointF(), int(grades[place]), fill, intended=bool(intended[place]))
                painter.restore()

    def _names(self, words: list[QRectF]) -> list[Name]:
        """The name of each light beside where it stands, where it covers no other word; the chosen one first."""
        wanted = []
        for spots in self._to_name():
            track, chosen = spots.track, spots.track is self._track
            at = self._named_at(spots, chosen=chosen)
            if at is not None:
                wanted.append(Wanted(track.name, at, chosen))
        return placed(wanted, QRectF(self.rect()), words, self._marked_rooms())

    def _named_at(self, spots: Spots, *, chosen: bool) -> QPointF | None:
        """What a light's name stands beside: its master's direction; in the camera frame, where each shot has another, that
        of the light in the shot under the cursor."""
        if chosen or self._frame is Frame.WORLD:
            held = self._held(spots.track)
            return pixel_of(self.view, *held) if held is not None else None
        x, y = float(spots.x[self._column]), float(spots.y[self._column])
        return self._at(x, y) if math.isfinite(x) else None

    def _marked_rooms(self) -> list[QRectF]:
        """Where marks are that no name may cover: those of all lights while they are few, else of the chosen one."""
        few = sum(spots.worst.size for spots in self._spots) <= _KEPT_CLEAR
        rooms = []
        for spots in self._spots:
            if few or spots.track is self._track:
                left, top = self.view.to_pixels(spots.x[spots.worst], spots.y[spots.worst])
                rooms += [
                    QRectF(x - 6, y - 6, 12, 12) for x, y in zip(left.tolist(), top.tolist(), strict=True)
                ]
        return rooms

    def _to_name(self) -> list[Spots]:
        """The lights whose names are wanted most: the one that is looked at, then what drifts most in its shot."""
        assert self._state is not None
        severity = self._state.table.severity[:, self._column]
        return sorted(self._spots, key=lambda s: (s.track is not self._track, -float(severity[s.track.row])))

    def _draw_ring(self, painter: QPainter, spots: Spots) -> None:
        x, y = float(spots.x[self._column]), float(spots.y[self._column])
        if math.isfinite(x):
            at = self._at(x, y)
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(theme.grey(16), 4))
            painter.drawEllipse(at, 9.5, 9.5)
            painter.setPen(QPen(theme.BRIGHT, 2))
            painter.drawEllipse(at, 9.5, 9.5)

    def _at(self, x: float, y: float) -> QPointF:
        return pixel(self.view, x, y)

    # What the hand does

    def points_at(self, place: QPointF) -> tuple[Track, list[int]] | None:
        """The light and the shots whose point is nearest to a place, if one is near; the chosen light comes first."""
        best: tuple[float, Spots, int] | None = None
        for spots in self._spots:
            left, top = self.view.to_pixels(spots.x[spots.worst], spots.y[spots.worst])
            away = np.hypot(left - place.x(), top - place.y())
            if not away.size:
                continue
            nearest = int(np.argmin(away))
            distance = float(away[nearest]) - (2.0 if spots.track is self._track else 0.0)
            if distance < _NEAR and (best is None or distance < best[0]):
                best = (distance, spots, int(spots.worst[nearest]))
        return (best[1].track, best[1].shots_at(best[2])) if best is not None else None

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

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.update()


def _urgency(state: GridState, row: int) -> Array:
    """How much each shot of a row needs a look: open drift before intended, then by how far."""
    severity = np.minimum(state.table.severity[row], 1e6)
    urgency: Array = np.where(state.states[row] == _INTENDED, severity - 1e7, severity)
    return urgency


def _polygon(x: Array, y: Array) -> QPolygonF:
    return QPolygonF([QPointF(left, top) for left, top in zip(x.tolist(), y.tolist(), strict=True)])
