"""Paints what the sky's map shows, and keeps the pictures of what does not follow the cursor."""

from __future__ import annotations

import math
from functools import partial

from PySide6.QtCore import QRectF
from PySide6.QtGui import QImage, QPainter
from PySide6.QtWidgets import QWidget

from samelight.gui.sky.dome import draw_dome
from samelight.gui.sky.kept_picture import KeptPicture
from samelight.gui.sky.names import draw_names
from samelight.gui.sky.shown_sky import ShownSky
from samelight.gui.sky.sky_lights import draw_path, draw_ring, draw_spots, draw_tolerance
from samelight.gui.sky.sky_picture import SIDE, picture_of
from samelight.gui.state.sky_data import MapFrame, MapView, Spots

_CROWD = 80
"""As many points of other lights as leave the one that is looked at in plain sight."""


class SkyPainter:
    """The pictures of one map: of the sky itself, of the lights behind, and of the chosen one."""

    def __init__(self, widget: QWidget) -> None:
        self._widget = widget
        self._behind, self._chosen = KeptPicture(), KeptPicture()
        self._pictured: tuple[object, ...] = ()
        self._image: QImage | None = None

    def paint(self, painter: QPainter, view: MapView, shown: ShownSky | None, frame: MapFrame) -> None:
        """Paint the dome, and what is in its sky."""
        heading = shown.heading if shown is not None else math.nan
        picture = self._picture(shown) if shown is not None else None
        words = draw_dome(painter, view, frame, heading, picture)
        if shown is not None:
            self._paint_lights(painter, view, shown, words)

    def _picture(self, shown: ShownSky) -> QImage | None:
        """The picture of the sky in the chosen shot; worked out anew where the shot, or what is up, is another."""
        up = shown.heading if shown.frame is MapFrame.CAMERA else 0.0
        if math.isnan(up):
            return None
        shows = (shown.sky, shown.column, up)
        if shows != self._pictured:
            self._pictured = shows
            pixels = picture_of(shown.sky, shown.column, up)
            self._image = (
                None
                if pixels is None
                else QImage(pixels.tobytes(), SIDE, SIDE, 4 * SIDE, QImage.Format.Format_RGBA8888).copy()
            )
        return self._image

    def _paint_lights(self, painter: QPainter, view: MapView, shown: ShownSky, words: list[QRectF]) -> None:
        """Paint the lights. `words` are where their names must not be."""
        if len(shown.spots) > 1:
            # The chosen one is among those behind, under its own larger marks: so all stay as they are when another one is
            # chosen. They stand back the further the more there is to see of them.
            opacity = min(max(_CROWD / max(shown.crowd, 1), 0.4), 1.0)
            behind = partial(_paint_behind, shown, view, opacity)
            self._behind.draw(painter, self._widget, (shown.spots, view, opacity), behind)
        chosen = shown.chosen
        if chosen is not None:
            held = shown.held(chosen.track)
            if held is not None:
                words += draw_tolerance(painter, view, held, chosen.track.tolerance)
            self._chosen.draw(
                painter, self._widget, (chosen, view), partial(_paint_chosen, shown, view, chosen)
            )
            x, y = float(chosen.x[shown.column]), float(chosen.y[shown.column])
            if math.isfinite(x):
                draw_ring(painter, view, x, y)
        draw_names(painter, shown.names_beside(view, QRectF(self._widget.rect()), words))


def _paint_behind(shown: ShownSky, view: MapView, opacity: float, painter: QPainter) -> None:
    painter.setOpacity(opacity)
    for spots in shown.spots:
        draw_spots(painter, view, spots, shown.state.table, shown.intended(spots), chosen=False)


def _paint_chosen(shown: ShownSky, view: MapView, spots: Spots, painter: QPainter) -> None:
    draw_path(painter, view, spots)
    draw_spots(painter, view, spots, shown.state.table, shown.intended(spots), chosen=True)
