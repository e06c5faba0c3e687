"""The lines of several lights in one plot: told apart by their dashes and their grey, never by hue."""

from __future__ import annotations

from PySide6.QtGui import QPen

from samelight.gui.paint import theme

STYLES: tuple[tuple[int, float, tuple[float, ...]], ...] = (
    (246, 2.0, ()),
    (206, 2.0, (5, 3)),
    (236, 1.6, (1, 2)),
    (176, 2.0, (8, 3, 1, 3)),
    (220, 3.4, (1.2, 1.2)),
)
"""Grey, width in pixels and dashes (in widths) of each line in turn. There are as many lines in a plot as these."""


def pen(place: int) -> QPen:
    """The pen of the line at a place."""
    grey, width, dashes = STYLES[place]
    made = QPen(theme.grey(grey), width)
    if dashes:
        made.setDashPattern(list(dashes))
    return made
