"""Measures how thick the traces' lines and the overview's rows are drawn, in pixels of the screen. Run in the
process of `gui_screens`."""

from __future__ import annotations

import itertools

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QPoint, QPointF
from PySide6.QtGui import QScreen

from gui_alignment import Window, settle
from samelight.gui.state.rows import Show
from samelight.sequence.session import Session


def longest(bright: NDArray[np.bool_]) -> int:
    """The longest run of pixels that are bright."""
    return max((len(list(run)) for seen, run in itertools.groupby(bright.tolist()) if seen), default=0)


def place_of(shown: Window, plot: int, column: int, value: float) -> tuple[int, int]:
    """The pixel of the window in which a value of a shot is drawn."""
    traces = shown.traces
    x = traces.x_of(column)
    assert x is not None
    canvas = traces.canvas
    seen = canvas.viewportTransform().map(traces.plots[plot].vb.mapViewToScene(QPointF(x, value)))
    at = QPointF(canvas.viewport().mapTo(shown.window, QPoint(0, 0))) + seen
    return int(at.x() * shown.ratio), int(at.y() * shown.ratio)


def pens(harbour: Session, screen: QScreen) -> dict[str, float]:
    """How thick each thing is drawn on a screen of a whole factor."""
    shown = Window(harbour, 0, screen)
    ratio = round(shown.ratio)
    row, column = shown.select("lights.sun.direction", "HB_060")
    shown.grid.widths.set_width(80)
    settle()
    grey = shown.drawn()[:, :, 0]
    x, y = place_of(shown, 1, column, 143.0)
    found: dict[str, float] = {"ring": longest(grey[y - 12 * ratio : y - 5 * ratio, x] > 150)}
    side = grey[y + 16 * ratio, x - 8 * ratio : x + 8 * ratio].astype(int)
    found["cursor"] = float((side - 46).sum() / (86 - 46))  # a soft line has as much light as a sharp one
    x, y = place_of(shown, 1, column, 131.0)  # while the sun is elsewhere
    found["dash of the master"] = longest(grey[y, x + 8 * ratio : x + 70 * ratio] > 100)
    for name in ("lights.sun", "lights.window_fill"):
        group = next(i for i, group in enumerate(shown.model.state.groups) if group.name == name)
        shown.grid.relisting.plot_together(group)
    settle()
    grey = shown.drawn()[:, :, 0]
    x, y = place_of(shown, 1, column, 12.0)
    between = x + 40 * ratio
    found["line of a light"] = longest(grey[y - 6 * ratio : y + 6 * ratio, between] > 150)
    # More rows than the map has pixels.
    shown.model.set_filter(Show.ALL, "")
    shown.model.set_expanded({group.name for group in shown.model.state.groups})
    settle()
    assert shown.model.rowCount() > shown.overview.map_rect().height()
    row, column = shown.select("render.gi.range", "HB_120")
    shown.grid.scroll_to(0, 0)  # so that the frame around what is in view lies elsewhere
    settle()
    image, room = shown.drawn(), shown.overview.map_rect()
    share = (column + 0.5) / shown.model.columnCount()
    across = round(shown.left_of(shown.overview) + (room.left() + share * room.width()) * ratio)
    strip = image[room.top() * ratio : (room.bottom() + 1) * ratio, across]
    colour = np.array(shown.colour(row, column), dtype=np.uint8)
    found["row of the overview"] = longest((strip == colour).all(axis=1))
    shown.window.close()
    return found
