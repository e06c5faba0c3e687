"""The colour of drift as Qt takes it; the scale itself is `samelight.drift.scale`."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
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
from samelight.gui.paint import theme
from samelight.reports.signs import STATE_MARKS

__all__ = [
    "FULL_SCALE",
    "GRADE_MARKS",
    "STATE_MARKS",
    "colour",
    "colours",
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
    return _colour_at(round(place(severity) * 255))


def colours(severity: NDArray[np.float64]) -> list[QColor]:
    """`colour` of many drifts over tolerance, shape (n,)."""
    steps: list[int] = np.round(places(severity) * 255).astype(np.intp).tolist()
    return [*map(_colour_at, steps)]


def _colour_at(step: int) -> QColor:
    return _colour(step) if step else theme.CELL


@lru_cache(maxsize=512)
def ink(red: int, green: int, blue: int) -> QColor:
    """Black or white, whichever reads better on a colour (WCAG 2 contrast)."""
    return theme.grey(0) if ink_is_black(red, green, blue) else theme.grey(255)
