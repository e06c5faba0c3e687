"""The colour of drift: drift over tolerance on a scale of even steps whose lightness only rises.

Grey is the master's value, a dull blue is within tolerance, and from the tolerance on drift glows: orange, amber, pale
yellow. Hue carries nothing that lightness, a mark or a text does not: with every deficiency of colour vision the order
stays, and so does the distance between neighbours (tests/gui/published/test_colour_vision.py). Blue against orange, because
the common deficiencies leave that pair apart; no red, because protanopes see it dark. The first colour out of tolerance
has three times the luminance of the grey around it, as WCAG 2.2 (1.4.11) asks of what a picture has to show.
Everything that shows drift in colour takes it from here.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from samelight.drift.cells import Grade
from samelight.light.elementary import cos, sin
from samelight.light.rows import image

FULL_SCALE = 30.0
"""Drift over tolerance at which the scale ends; what is further off looks the same."""

_WITHIN = (0.20, 0.30)
_BEYOND = (0.44, 1.00)

STOPS: tuple[tuple[float, float, float, float], ...] = (
    (0.00, 27.1, 0.0, 0.0),
    (0.20, 34.0, 18.0, 262.0),
    (0.30, 40.5, 24.0, 262.0),
    (0.44, 59.5, 66.0, 54.0),
    (0.44 + 0.56 / 3, 71.0, 76.0, 72.0),
    (0.44 + 1.12 / 3, 84.0, 58.0, 87.0),
    (1.00, 96.0, 34.0, 106.0),
)
"""Places on the scale with CIELAB lightness, chroma and hue (degrees) under D65; straight lines in CIELAB between them."""

_FROM_XYZ = np.array([[3.2406, -1.5372, -0.4986], [-0.9689, 1.8758, 0.0415], [0.0557, -0.2040, 1.0570]])
_WHITE = np.array([0.9505, 1.0, 1.089])
"""XYZ to linear sRGB, and the XYZ of its white (IEC 61966-2-1)."""

GRADE_MARKS: dict[Grade, str] = {Grade.WITHIN: "·", Grade.DRIFT: "▲", Grade.BREAK: "■"}
"""The sign of each level that is not the master's, so that none depends on colour."""

Rgb = tuple[int, int, int]
_Array = NDArray[np.float64]


@lru_cache(maxsize=1)
def lookup() -> NDArray[np.uint8]:
    """256 colours of the scale, shape (256, 3), sRGB."""
    at, lightness, chroma, hue = np.array(STOPS).T
    angle = np.radians(hue)
    places = np.linspace(0.0, 1.0, 256)
    light, a, b = (
        np.interp(places, at, known) for known in (lightness, chroma * cos(angle), chroma * sin(angle))
    )
    return _srgb(light, a, b)


def _srgb(lightness: _Array, a: _Array, b: _Array) -> NDArray[np.uint8]:
    """CIELAB under D65 (CIE 015:2018) as 8-bit sRGB (IEC 61966-2-1), shape (n, 3); clipped where a screen ends."""
    middle = (lightness + 16.0) / 116.0
    root = np.stack((middle + a / 500.0, middle, middle - b / 200.0), axis=1)
    ratio = np.where(root > 6 / 29, root**3, (116.0 * root - 16.0) * 27 / 24389)
    linear = image(_FROM_XYZ, ratio * _WHITE).clip(0.0, 1.0)
    curve = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)
    colours: NDArray[np.uint8] = np.round(curve * 255.0).astype(np.uint8)
    return colours


@lru_cache(maxsize=4096)
def place(severity: float) -> float:
    """Where a drift over tolerance lies on the scale, 0 to 1; 0 is reserved for no drift.

    >>> place(0.0), place(1.0) < place(1.01) < place(30.0) == place(math.inf)
    (0.0, True)
    """
    return float(places(np.array([severity]))[0])


def places(severity: NDArray[np.float64]) -> NDArray[np.float64]:
    """`place` of many drifts over tolerance, in the shape of the array."""
    (low, high), (first, last) = _WITHIN, _BEYOND
    beyond = np.minimum(np.log(np.maximum(severity, 1.0)) / math.log(FULL_SCALE), 1.0)
    found = np.where(severity > 1.0, first + (last - first) * beyond, low + (high - low) * severity)
    placed: NDArray[np.float64] = np.where(severity > 0.0, found, 0.0)
    return placed


def rgb(severity: float) -> Rgb:
    """The colour of a drift over tolerance, sRGB, 0 to 255 each; a neutral grey where there is none."""
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
