"""The colour of drift as Qt takes it; the scale itself is `samelight.drift.scale`."""

from __future__ import annotations

from functools import lru_cache

from PySide6.QtGui import QColor

from samelight.drift.scale import (
    FULL_SCALE,
    GRADE_MARKS,
    ink_is_black,
    lookup,
    place,
    places,
    relative_luminance,
    rgb,
)
from samelight.gui import theme
from samelight.reports.signs import STATE_MARKS

__all__ = [
    "FULL_SCALE",
    "GRADE_MARKS",
    "STATE_MARKS",
    "colour",
    "ink",
    "lookup",
    "place",
    "places",
    "relative_luminance",
    "rgb",
]


@lru_cache(maxsize=4096)
def _colour(step: int) -> QColor:
    return QColor(*(int(channel) for channel in lookup()[step]))


def colour(severity: float) -> QColor:
    """The colour of a drift over tolerance, as Qt takes it; the plain cell grey where there is none."""
    step = round(place(severity) * 255)
    return _colour(step) if step else theme.CELL


@lru_cache(maxsize=512)
def ink(red: int, green: int, blue: int) -> QColor:
    """Black or white, whichever reads better on a colour (WCAG 2 contrast)."""
    return theme.grey(0) if ink_is_black(red, green, blue) else theme.grey(255)
