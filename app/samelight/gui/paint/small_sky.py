"""A small map of where a shot's lights come from, for the place of a frame that is not there: the sky from above, north up."""

from __future__ import annotations

from typing import NamedTuple

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPen, QPixmap, QPixmapCache

from samelight.drift.table import Table
from samelight.gui.paint import drift_scale, theme
from samelight.gui.state.sky_data import EDGE, is_track, project, spots_in
from samelight.light.directions import NORTH, Vector

_DOT = 8.0
"""How many times a light's mark goes into the sky's radius, at least two pixels wide."""


class SkyDot(NamedTuple):
    """A light: its place on the map (east, north), whether that is below the horizon, and the colour of how far it has moved."""

    x: float
    y: float
    below: bool
    colour: QColor


class SmallSky:
    """Draws the skies of shots on an even ground. Where their lights are is worked out once for a table, shot by shot as they
    are drawn; Qt keeps the pictures that were drawn last, and none of them is painted twice."""

    def __init__(self, ground: QColor) -> None:
        self._ground = ground
        self._table: Table | None = None
        self._north = NORTH
        self._rows: list[int] = []
        self._spots: dict[int, list[SkyDot]] = {}
        self._pictures: dict[tuple[float, ...], QPixmapCache.Key] = {}
        """By column, radius and where in its first pixel of the screen a sky begins."""

    def _forget(self, table: Table, north: Vector) -> None:
        """Of another table know only what is as it was in the one before; with another north, nothing."""
        before = self._table if north == self._north else None
        changed = None if before is None else table.columns_since(before)
        others = set(self._spots if changed is None else changed.tolist())
        self._spots = {column: spots for column, spots in self._spots.items() if column not in others}
        self._pictures = {key: held for key, held in self._pictures.items() if key[0] in self._spots}
        self._table, self._north = table, north
        self._rows = [index for index, row in enumerate(table.rows) if is_track(row)]

    def draw(self, painter: QPainter, room: QRectF, table: Table, column: int, north: Vector = NORTH) -> None:
        """Draw the lights of a shot, each in the colour of how far it has moved, as large as fits in a room."""
        spots = self.spots(table, column, north)
        radius = min(room.width(), room.height()) / 2 - 1
        dot = _dot(radius)
        whole = QRectF(0, 0, 2 * (radius + dot), 2 * (radius + dot))
        whole.moveCenter(room.center())
        screen = painter.deviceTransform()
        on_screen, ratio = screen.mapRect(whole), screen.m11()
        pixels = on_screen.toAlignedRect()
        within = (on_screen.topLeft() - QPointF(pixels.topLeft())) / ratio
        key = column, radius, ratio, round(within.x(), 6), round(within.y(), 6)
        picture = QPixmap()
        if key not in self._pictures or not QPixmapCache.find(self._pictures[key], picture):
            picture = QPixmap(pixels.size())
            picture.setDevicePixelRatio(ratio)
            picture.fill(self._ground)
            apart = QPainter(picture)
            paint_sky(apart, within + QPointF(radius + dot, radius + dot), radius, spots)
            apart.end()
            self._pictures[key] = QPixmapCache.insert(picture)
        painter.drawPixmap(screen.inverted()[0].map(QPointF(pixels.topLeft())), picture)

    def spots(self, table: Table, column: int, north: Vector = NORTH) -> list[SkyDot]:
        """The lights of a shot that have a direction."""
        if self._table is not table or self._north != north:
            self._forget(table, north)
        if column not in self._spots:
            self._spots[column] = [
                SkyDot(
                    *_place(azimuth, elevation), elevation < 0.0, _colour(float(table.severity[row, column]))
                )
                for row, azimuth, elevation in spots_in(table, self._rows, column, north)
            ]
        return self._spots[column]


def _place(azimuth: float, elevation: float) -> tuple[float, float]:
    east, north = project(azimuth, elevation)
    return float(east), float(north)


def _colour(away: float) -> QColor:
    return drift_scale.colour(away) if away > 1.0 else theme.DIM_TEXT


def _dot(radius: float) -> float:
    return max(radius / _DOT, 2.0)


def paint_sky(painter: QPainter, middle: QPointF, radius: float, spots: list[SkyDot]) -> None:
    """Paint a sky around a point."""
    dot = _dot(radius)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(theme.EDGE, 1))
    painter.setBrush(theme.FIELD)
    painter.drawEllipse(middle, radius, radius)
    painter.setPen(Qt.PenStyle.NoPen)
    for spot in spots:
        painter.setBrush(spot.colour)
        scale = radius / EDGE if spot.below else radius - 1.5 * dot
        painter.drawEllipse(middle + QPointF(spot.x * scale, -spot.y * scale), dot, dot)
