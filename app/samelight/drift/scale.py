"""The colour of drift: drift over tolerance on a scale of even steps whose lightness only rises.

The scale is the middle of the `inferno` map (S. van der Walt, N. Smith, 2015, CC0), which was made to be perceptually
even and to stay in order for colour-blind eyes. Hue carries nothing that lightness, a mark or a text does not.
Everything that shows drift in colour takes it from here.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from samelight.drift.cells import Grade
from samelight.resources import resource

FULL_SCALE = 30.0
"""Drift over tolerance at which the scale ends; what is further off looks the same."""

_WITHIN = (0.20, 0.30)
_BEYOND = (0.44, 0.97)

GRADE_MARKS: dict[Grade, str] = {Grade.WITHIN: "·", Grade.DRIFT: "▲", Grade.BREAK: "■"}
"""The sign of each level that is not the master's, so that none depends on colour."""

Rgb = tuple[int, int, int]


@lru_cache(maxsize=1)
def lookup() -> NDArray[np.uint8]:
    """256 colours of the scale, shape (256, 3), sRGB."""
    return np.loadtxt(resource("inferno.csv"), dtype=np.uint8, delimiter=",")


def place(severity: float) -> float:
    """Where a drift over tolerance lies on the scale, 0 to 1; 0 is reserved for no drift.

    >>> place(0.0), place(1.0) < place(1.01) < place(30.0) == place(math.inf)
    (0.0, True)
    """
    if not severity > 0.0:
        return 0.0
    if severity <= 1.0:
        low, high = _WITHIN
        return low + (high - low) * severity
    low, high = _BEYOND
    return low + (high - low) * min(math.log(severity) / math.log(FULL_SCALE), 1.0)


def rgb(severity: float) -> Rgb:
    """The colour of a drift over tolerance, sRGB, 0 to 255 each."""
    red, green, blue = lookup()[round(place(severity) * 255)]
    return int(red), int(green), int(blue)


def relative_luminance(red: int, green: int, blue: int) -> float:
    """Relative luminance of an sRGB colour (IEC 61966-2-1), 0 to 1."""

    def linear(channel: int) -> float:
        value = channel / 255.0
        return value / 12.92 if value <= 0.04045 else float(((value + 0.055) / 1.055) ** 2.4)

    return 0.2126 * linear(red) + 0.7152 * linear(green) + 0.0722 * linear(blue)


def ink_is_black(red: int, green: int, blue: int) -> bool:
    """Whether black reads better than white on a colour (WCAG 2 contrast)."""
    luminance = relative_luminance(red, green, blue)
    return (luminance + 0.05) ** 2 > 1.05 * 0.05
