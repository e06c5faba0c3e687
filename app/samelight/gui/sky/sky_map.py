"""Draws the sky: compass, rings, the lights' directions in every shot, and the tolerance around the master's."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import partial

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QImage,
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
from samelight.gui.sky.dome import HORIZON_ONLY, compass_margin, draw_dome, pixel, pixel_of
from samelight.gui.sky.kept_picture import KeptPicture
from samelight.gui.sky.names import NamedLight, PlacedName, draw_names, placed
from samelight.gui.sky.sky_lights import draw_path, draw_ring, draw_spots, draw_tolerance
from samelight.gui.sky.sky_picture import SIDE, picture_of
from samelight.gui.state.cell_states import INTENDED
from samelight.gui.state.rows import GridState
from samelight.gui.state.sky_data import (
    Array,
    LightTrack,
    MapFrame,
    MapView,
    Sky,
    Spots,
    cap_outline,
    project,
    spots_of,
)
from samelight.gui.widgets.shows_focus import ShowsFocus

_NEAR = 10.0
"""How far from a point (pixels) the mouse still means it."""
_CROWD = 80
"""As many points of other lights as leave the one that is looked at in plain sight."""
_KEPT_CLEAR = 200
"""As many marks as names keep clear of; among more there would be no room for any name."""
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
        self._state: GridState | None = None
        self._sky: Sky | None = None
        self._track: LightTrack | None = None
        self._column = 0
        self._frame = MapFrame.WORLD
        self._states: NDArray[np.uint8] = np.zeros((0, 0), dtype=np.uint8)
        """What was decided on the table's cells, as it is drawn."""
        self._spots: tuple[Spots, ...] = ()
        self._lowest = 0.0
        """The elevation of the lowest light that is shown, 0 where all are above the horizon."""
        self._made_for: tuple[object, ...] = ()
        self._behind, self._chosen = KeptPicture(), KeptPicture()
        self._pictured: tuple[object, ...] = ()
        self._image: QImage | None = None
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
        self._spots, self._made_for = (), ()
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
        self._state, self._sky, self._track, self._column, self._frame = state, sky, track, column, frame
        shown = sky.tracks if every else tuple(other for other in sky.tracks if other is track)
        states = state.standing.states
        made_for = (sky, frame, shown)
        if made_for != self._made_for or not np.array_equal(states, self._states):
            self._made_for, self._states = made_for, states
            self._spots = tuple(spots_of(sky, other, frame, self._urgency(state, other)) for other in shown)
            self._lowest = min(
                (float(np.nanmin(other.elevation, initial=0.0)) for other in shown), default=0.0
            )
            self.view = replace(self.view, extent=self._extent(self.view))
        self.update()

    def _urgency(self, state: GridState, track: LightTrack) -> Array:
        """How much each shot needs a look at a light: unsettled drift before intended, then by how far."""
        severity = np.minimum(state.table.severity[track.row], 1e6)
        urgency: Array = np.where(self._states[track.row] == INTENDED, severity - 1e7, severity)
        return urgency

    def _placed(self, track: LightTrack) -> tuple[Array, Array]:
        assert self._sky is not None
        return project(self._sky.turned(track.azimuth, self._frame), track.elevation)

    def _held(self, track: LightTrack) -> tuple[float, float] | None:
        """Azimuth and elevation of what the light is compared with in the chosen shot, as the frame has them."""
        assert self._sky is not None
        held = track.held_azimuth
        column = self._column
        if math.isnan(held[column]) and self._frame is MapFrame.WORLD:
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

    def _extent(self, view: MapView) -> float:
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
        heading = self._sky.heading(self._column) if self._sky is not None else math.nan
        words = draw_dome(painter, self.view, self._frame, heading, self._picture(heading))
        if self._sky is not None:
            self._draw_lights(painter, words)
        if self.hasFocus():
            painter.setPen(QPen(theme.HIGHLIGHT, 1))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(self.rect().adjusted(0, 0, -1, -1))
        painter.end()

    def _picture(self, heading: float) -> QImage | None:
        """The picture of the sky in the chosen shot; worked out anew where the shot, or what is up, is another."""
        if self._sky is None:
            return None
        up = heading if self._frame is MapFrame.CAMERA else 0.0
        if math.isnan(up):
            return None
        shows = (self._sky, self._column, up)
        if shows != self._pictured:
            self._pictured = shows
            pixels = picture_of(self._sky, self._column, up)
            self._image = (
                None
                if pixels is None
                else QImage(pixels.tobytes(), SIDE, SIDE, 4 * SIDE, QImage.Format.Format_RGBA8888).copy()
            )
        return self._image

    def _draw_lights(self, painter: QPainter, words: list[QRectF]) -> None:
        """Draw what is in the sky. `words` are where names of lights must not be."""
        if len(self._spots) > 1:
            self._draw_behind(painter)
        chosen = next((spots for spots in self._spots if spots.track is self._track), None)
        if chosen is not None:
            held = self._held(chosen.track)
            if held is not None:
                words += draw_tolerance(painter, self.view, held, chosen.track.tolerance)
            self._chosen.draw(painter, self, (chosen, self.view), partial(self._paint_chosen, chosen))
            x, y = float(chosen.x[self._column]), float(chosen.y[self._column])
            if math.isfinite(x):
                draw_ring(painter, self.view, x, y)
        draw_names(painter, self.names_beside(words))

    def _draw_behind(self, painter: QPainter) -> None:
        """The lights that stand back behind the chosen one, the further the more there is to see of them.

        The chosen one is among them, under its own larger marks: so all stay as they are when another one is chosen.
        """
        crowd = sum(spots.worst.size for spots in self._spots if spots.track is not self._track)
        opacity = min(max(_CROWD / max(crowd, 1), 0.4), 1.0)
        paint = partial(self._paint_behind, opacity)
        self._behind.draw(painter, self, (self._spots, self.view, opacity), paint)

    def _paint_behind(self, opacity: float, painter: QPainter) -> None:
        assert self._state is not None
        painter.setOpacity(opacity)
        for spots in self._spots:
            draw_spots(painter, self.view, spots, self._state.table, self._intended(spots), chosen=False)

    def _paint_chosen(self, spots: Spots, painter: QPainter) -> None:
        assert self._state is not None
        draw_path(painter, self.view, spots)
        draw_spots(painter, self.view, spots, self._state.table, self._intended(spots), chosen=True)

    def _intended(self, spots: Spots) -> NDArray[np.bool_]:
        intended: NDArray[np.bool_] = self._states[spots.track.row] == INTENDED
        return intended

    def names_beside(self, words: list[QRectF]) -> list[PlacedName]:
        """The name of each light beside where it stands, where it covers no other word; the chosen one first."""
        wanted = []
        for spots in self._to_name():
            track, chosen = spots.track, spots.track is self._track
            at = self._named_at(spots, chosen=chosen)
            if at is not None:
                wanted.append(NamedLight(track.name, at, chosen))
        return placed(wanted, QRectF(self.rect()), words, self._marked_rooms())

    def _named_at(self, spots: Spots, *, chosen: bool) -> QPointF | None:
        """What a light's name stands beside: its master's direction; in the camera frame, where each shot has another, that
        of the light in the shot under the cursor."""
        if chosen or self._frame is MapFrame.WORLD:
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

    def _at(self, x: float, y: float) -> QPointF:
        return pixel(self.view, x, y)

    # What the hand does

    def points_at(self, place: QPointF) -> tuple[LightTrack, list[int]] | None:
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
