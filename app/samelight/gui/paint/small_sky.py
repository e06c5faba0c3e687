"""A small map of where a shot's lights come from, for the place of a frame that is not there: the sky from above, north up."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPen

from samelight.drift.table import Table
from samelight.gui.paint import drift_scale, theme
from samelight.gui.state.sky_data import EDGE, is_track, project, spots_in
from samelight.light.directions import NORTH, Vector

_DOT = 8.0
"""How many times a light's mark goes into the sky's radius, at least two pixels wide."""


class SmallSky:
    """Draws the skies of shots; where their lights are is worked out once for a table, shot by shot as they are drawn."""

    def __init__(self) -> None:
        self._table: Table | None = None
        self._rows: list[int] = []
        self._spots: dict[int, list[tuple[int, float, float]]] = {}

    def _forget(self, table: Table) -> None:
        """Of another table know only what is as it was in the one before."""
        changed = None if self._table is None else table.columns_since(self._table)
        others = self._spots if changed is None else changed.tolist()
        self._spots = {column: spots for column, spots in self._spots.items() if column not in others}
        self._table, self._rows = table, [index for index, row in enumerate(table.rows) if is_track(row)]

    def draw(self, painter: QPainter, room: QRectF, table: Table, column: int, north: Vector = NORTH) -> None:
        """Draw the lights of a shot, each in the colour of how far it has moved, as large as fits in a room."""
        if self._table is not table:
            self._forget(table)
        if column not in self._spots:
            self._spots[column] = spots_in(table, self._rows, column, north)
        radius = min(room.width(), room.height()) / 2 - 1
        middle, dot = room.center(), max(radius / _DOT, 2.0)
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(theme.EDGE, 1))
        painter.setBrush(theme.FIELD)
        painter.drawEllipse(middle, radius, radius)
        painter.setPen(Qt.PenStyle.NoPen)
        for row, azimuth, elevation in self._spots[column]:
            x, y = project(azimuth, elevation)
            away = float(table.severity[row, column])
            painter.setBrush(drift_scale.colour(away) if away > 1.0 else theme.DIM_TEXT)
            scale = radius / EDGE if elevation < 0.0 else radius - 1.5 * dot
            painter.drawEllipse(middle + QPointF(float(x) * scale, -float(y) * scale), dot, dot)
        painter.restore()
