"""The colour of a light, apart from how bright it is: linear RGB and colour temperature to CIE 1976 u'v'.

Working spaces are linear (see `spaces`).

A light of RGB (1, 1, 1) is the white of its space, and a render in ACEScg shows it as white as one in Rec.709
does. So chromaticities of ACEScg are adapted from the ACES white to D65 (linear Bradford, as the ICC profile
specification has it): white is the same u'v' in every space, and set-ups in different spaces compare.
"""

import math
from collections.abc import Sequence
from operator import mul

import numpy as np

from samelight.light.colour_words import shift_in_words
from samelight.light.locus import (
    STEP,
    UV,
    cct_duv,
    daylight_xy,
    mired,
    planckian_uv,
    steps,
    uv_to_xy,
    xy_to_uv,
)
from samelight.light.rows import Array, image
from samelight.light.spaces import (
    FROM_REC709,
    LUMINANCE,
    REC709_FROM_XYZ,
    SPACES,
    TO_REC709,
    TO_XYZ,
    space_name,
    white_xyz,
)

__all__ = [
    "SPACES",
    "STEP",
    "UV",
    "blackbody_rgb",
    "cct_duv",
    "chromaticity",
    "daylight_xy",
    "light_chromaticity",
    "light_luminance",
    "luminance",
    "mired",
    "planckian_uv",
    "shift_in_words",
    "space_name",
    "steps",
    "to_rec709",
    "xy_to_uv",
]


def _three(rgb: Sequence[float]) -> Array:
    if len(rgb) != 3 or not all(math.isfinite(channel) for channel in rgb):
        raise ValueError(f"a colour has three finite numbers, found {tuple(rgb)}")
    return np.array([float(channel) for channel in rgb])


def luminance(rgb: Sequence[float], space: str = "rec709") -> float:
    """The luminance Y of a linear RGB, 1 for the white of its space (for ACEScg its own, before adaptation).

    Negative channels count as they stand, so that the result can be negative. Raises ValueError for an
    unknown space or numbers that are not finite.

    >>> luminance((1, 1, 1)), round(luminance((0, 1, 0)), 4), round(luminance((0, 1, 0), "acescg"), 4)
    (1.0, 0.7152, 0.6741)
    """
    return math.fsum(map(mul, LUMINANCE[space_name(space)], _three(rgb).tolist()))


def chromaticity(rgb: Sequence[float], space: str = "rec709") -> UV | None:
    """CIE 1976 u'v' of a linear RGB, blind to its brightness.

    None where there is no colour: black, or channels so negative that no light is left (X, Y or X + 15 Y + 3
    Z at or below 0). A negative channel otherwise means a colour outside the gamut of its space. Raises
    ValueError as `luminance`.

    >>> [round(number, 4) for number in chromaticity((0.2, 0.2, 0.2))]  # D65, whatever the level
    [0.1978, 0.4683]
    >>> chromaticity((0, 0, 0)) is None
    True
    """
    channels = _three(rgb)
    largest = float(np.abs(channels).max())
    if largest == 0.0:
        return None
    x, y, z = image(TO_XYZ[space_name(space)], channels / largest).tolist()
    scale = x + 15.0 * y + 3.0 * z
    if x <= 0.0 or y <= 0.0 or scale <= 0.0:
        return None
    return 4.0 * x / scale, 9.0 * y / scale


def to_rec709(rgb: Sequence[float], space: str = "rec709") -> tuple[float, float, float]:
    """A linear RGB of `space` in linear Rec.709, white to white; colours outside its gamut come out negative.

    >>> [round(channel, 6) for channel in to_rec709((1, 1, 1), "acescg")]
    [1.0, 1.0, 1.0]
    """
    red, green, blue = image(TO_REC709[space_name(space)], _three(rgb)).tolist()
    return red, green, blue


def blackbody_rgb(kelvin: float) -> tuple[float, float, float]:
    """Linear Rec.709 RGB of a black body, negative channels cut, scaled to luma 1: it tints and does not dim.

    This is what UsdLux's `enableColorTemperature` multiplies into a colour. UsdLux looks it up in a short
    table from 1000 to 10000 K; here it is Planck's law at any temperature. The two differ by less than
    0.0006 in u'v' from 2000 to 10000 K (half a step), but by up to 0.0095 from 1100 to 1900 K and 0.0174 at
    1000 K, where the table stands off the clipped locus. Neither is white at 6500 K, since a black body is
    not daylight. Raises ValueError at or below 0 K.

    >>> [round(channel, 2) for channel in blackbody_rgb(5000)]
    [1.21, 0.96, 0.76]
    """
    channels = np.maximum(_glow(kelvin), 0.0)
    red, green, blue = (channels / luminance(channels.tolist())).tolist()
    return red, green, blue


def _glow(kelvin: float) -> Array:
    """Linear Rec.709 RGB of a black body, of luminance 1; negative where its colour lies outside Rec.709."""
    return image(REC709_FROM_XYZ, white_xyz(uv_to_xy(*planckian_uv(kelvin))))


def light_chromaticity(rgb: Sequence[float], kelvin: float | None, space: str = "rec709") -> UV | None:
    """u'v' of a light: its colour times the black body of its temperature in the working space.

    A white light has the colour of the black body itself, as an eye sees it, inside the working space or not. Of
    any other colour that holds for the white in it (its smallest channel); what is left of its channels is multiplied,
    one by one, by those of `blackbody_rgb`, as a renderer does it. `kelvin` None means that no temperature is in use. None
    and errors as `chromaticity` and `blackbody_rgb`.

    >>> light_chromaticity((1, 1, 1), None) == chromaticity((1, 1, 1))
    True
    >>> steps(light_chromaticity((1, 1, 1), 1200), planckian_uv(1200)) < 1e-9
    True
    """
    if kelvin is None:
        return chromaticity(rgb, space)
    white, tinted = _lit(rgb, kelvin, space)
    glow = image(FROM_REC709[space_name(space)], _glow(kelvin))
    return chromaticity((white * glow + tinted).tolist(), space)


def light_luminance(rgb: Sequence[float], kelvin: float | None, space: str = "rec709") -> float:
    """The luminance of a light: of its colour times the black body of its temperature, as `light_chromaticity` has it.

    A temperature tints a white light and does not dim it; under a colour it does both, since a warmer black body gives a
    red filter more to pass. UsdLux multiplies colour and black body. Errors as `luminance` and `blackbody_rgb`.

    >>> light_luminance((1, 1, 1), 3200.0), round(light_luminance((1, 0, 0), 3200.0), 4)
    (1.0, 0.3572)
    """
    if kelvin is None:
        return luminance(rgb, space)
    white, tinted = _lit(rgb, kelvin, space)
    return white + luminance(tinted.tolist(), space)


def _lit(rgb: Sequence[float], kelvin: float, space: str) -> tuple[float, Array]:
    """Of a colour under a temperature the white in it, and what is left of its channels times those of the black body."""
    channels = _three(rgb)
    white = max(float(channels.min()), 0.0)
    return white, (channels - white) * image(FROM_REC709[space_name(space)], np.array(blackbody_rgb(kelvin)))
