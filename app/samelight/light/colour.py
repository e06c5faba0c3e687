"""The colour of a light, apart from how bright it is: linear RGB and colour temperature to CIE 1976 u'v'.

Working spaces are linear. Their primaries and whites: Rec.709 / sRGB: ITU-R BT.709-6, D65 (0.3127, 0.3290).
Rec.2020: ITU-R BT.2020-2, D65. ACEScg (AP1): S-2014-004, with the ACES white (0.32168, 0.33767), near D60.

A light of RGB (1, 1, 1) is the white of its space, and a render in ACEScg shows it as white as one in Rec.709
does. So chromaticities of ACEScg are adapted from the ACES white to D65 (linear Bradford, as the ICC profile
specification has it): white is the same u'v' in every space, and set-ups in different spaces compare.
"""

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

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

__all__ = [
    "SPACES",
    "STEP",
    "UV",
    "blackbody_rgb",
    "cct_duv",
    "chromaticity",
    "daylight_xy",
    "light_chromaticity",
    "luminance",
    "mired",
    "planckian_uv",
    "rec709_matrix",
    "shift_in_words",
    "space_name",
    "steps",
    "to_rec709",
    "xy_to_uv",
]

Array = npt.NDArray[np.float64]
XY = tuple[float, float]

_D65 = (0.3127, 0.3290)
_ACES_WHITE = (0.32168, 0.33767)
_PRIMARIES: dict[str, tuple[XY, ...]] = {
    "rec709": ((0.640, 0.330), (0.300, 0.600), (0.150, 0.060)),
    "acescg": ((0.713, 0.293), (0.165, 0.830), (0.128, 0.044)),
    "rec2020": ((0.708, 0.292), (0.170, 0.797), (0.131, 0.046)),
}
_WHITES = {"rec709": _D65, "acescg": _ACES_WHITE, "rec2020": _D65}
_BRADFORD = np.array([[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]])

SPACES: dict[str, str] = {
    "rec709": "rec709",
    "srgb": "rec709",
    "lin_rec709": "rec709",
    "acescg": "acescg",
    "ap1": "acescg",
    "lin_ap1": "acescg",
    "rec2020": "rec2020",
    "lin_rec2020": "rec2020",
}
"""Every accepted name of a working space (lower case), with the name it stands for."""


def space_name(space: str) -> str:
    """The one name of a working space: rec709, acescg or rec2020. Case does not matter.

    Raises ValueError for a name that is not in `SPACES`.

    >>> space_name("AP1")
    'acescg'
    """
    try:
        return SPACES[space.lower()]
    except KeyError:
        raise ValueError(f"working space {space!r} is none of {', '.join(SPACES)}") from None


def _white_xyz(xy: XY) -> Array:
    x, y = xy
    return np.array([x / y, 1.0, (1.0 - x - y) / y])


def _to_xyz(primaries: Sequence[XY], white: XY) -> Array:
    """RGB to XYZ from the primaries and the white (SMPTE RP 177:1993)."""
    columns = np.array([(x, y, 1.0 - x - y) for x, y in primaries]).T
    matrix: Array = columns * np.linalg.solve(columns, _white_xyz(white))
    return matrix


def _to_d65_xyz(primaries: Sequence[XY], white: XY) -> Array:
    cone = _BRADFORD @ _white_xyz(_D65) / (_BRADFORD @ _white_xyz(white))
    matrix: Array = np.linalg.inv(_BRADFORD) @ (cone[:, None] * _BRADFORD) @ _to_xyz(primaries, white)
    return matrix


_XYZ = {space: _to_d65_xyz(_PRIMARIES[space], _WHITES[space]) for space in _PRIMARIES}
_LUMA = {space: _to_xyz(_PRIMARIES[space], _WHITES[space])[1] for space in _PRIMARIES}
_FROM_REC709 = {space: np.linalg.solve(_XYZ[space], _XYZ["rec709"]) for space in _PRIMARIES}


def _three(rgb: Sequence[float]) -> Array:
    if len(rgb) != 3 or not all(math.isfinite(channel) for channel in rgb):
        raise ValueError(f"a colour has three finite numbers, found {tuple(rgb)}")
    return np.array([float(channel) for channel in rgb])


def luminance(rgb: Sequence[float], space: str = "rec709") -> float:
    """The luminance Y of a linear RGB, 1 for the white of its space (for ACEScg its own, before adaptation).

    Negative channels count as they stand, so that the result can be negative. Raises ValueError for an
    unknown space or numbers that are not finite.

    >>> round(luminance((0, 1, 0)), 4), round(luminance((0, 1, 0), "acescg"), 4)
    (0.7152, 0.6741)
    """
    return float(_LUMA[space_name(space)] @ _three(rgb))


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
    x, y, z = (float(number) for number in _XYZ[space_name(space)] @ (channels / largest))
    scale = x + 15.0 * y + 3.0 * z
    if x <= 0.0 or y <= 0.0 or scale <= 0.0:
        return None
    return 4.0 * x / scale, 9.0 * y / scale


def to_rec709(rgb: Sequence[float], space: str = "rec709") -> tuple[float, float, float]:
    """A linear RGB of `space` in linear Rec.709, white to white; colours outside its gamut come out negative.

    >>> [round(channel, 6) for channel in to_rec709((1, 1, 1), "acescg")]
    [1.0, 1.0, 1.0]
    """
    red, green, blue = np.linalg.solve(_FROM_REC709[space_name(space)], _three(rgb))
    return float(red), float(green), float(blue)


def rec709_matrix(primaries: Sequence[XY], white: XY) -> Array:
    """The matrix (3, 3) from linear RGB of three primaries and a white, in CIE 1931 xy, to linear Rec.709, white to white.

    Raises ValueError for primaries on one line, or a primary or white that is no chromaticity (y is 0, or not finite).

    >>> rec709_matrix(((0.64, 0.33), (0.30, 0.60), (0.15, 0.06)), (0.3127, 0.3290)).round(9) + 0.0
    array([[1., 0., 0.],
           [0., 1., 0.],
           [0., 0., 1.]])
    """
    with np.errstate(all="ignore"):
        try:
            matrix = np.asarray(np.linalg.inv(_XYZ["rec709"]) @ _to_d65_xyz(primaries, white))
        except (np.linalg.LinAlgError, ZeroDivisionError):
            matrix = np.full((3, 3), np.nan)
    if not np.isfinite(matrix).all():
        raise ValueError(f"{tuple(primaries)} and {white} span no colours")
    return matrix


def blackbody_rgb(kelvin: float) -> tuple[float, float, float]:
    """Linear Rec.709 RGB of a black body, negative channels cut, scaled to luma 1: it tints and does not dim.

    This is what UsdLux's `enableColorTemperature` multiplies into a colour. UsdLux looks it up in a short
    table that ends at 10000 K; here it is Planck's law, clamped to 1000..25000 K. The two differ by less than
    0.0006 in u'v' from 2000 to 10000 K (half a step), but by up to 0.0095 from 1100 to 1900 K and 0.0174 at
    1000 K, where the table stands off the clipped locus. Neither is white at 6500 K, since a black body is
    not daylight. Raises ValueError at or below 0 K.

    >>> [round(channel, 3) for channel in blackbody_rgb(5000)]
    [1.213, 0.961, 0.762]
    """
    reciprocal = min(max(mired(kelvin), 40.0), 1000.0)
    x, y = uv_to_xy(*planckian_uv(1e6 / reciprocal))
    channels = np.linalg.solve(_XYZ["rec709"], _white_xyz((x, y))).clip(min=0.0)
    red, green, blue = channels / float(_LUMA["rec709"] @ channels)
    return float(red), float(green), float(blue)


def light_chromaticity(rgb: Sequence[float], kelvin: float | None, space: str = "rec709") -> UV | None:
    """u'v' of a light: its colour times the black body of its temperature, channel by channel in the working
    space.

    `kelvin` None means that no temperature is in use. None and errors as `chromaticity` and `blackbody_rgb`.

    >>> light_chromaticity((1, 1, 1), None) == chromaticity((1, 1, 1))
    True
    """
    if kelvin is None:
        return chromaticity(rgb, space)
    tint = _FROM_REC709[space_name(space)] @ np.array(blackbody_rgb(kelvin))
    red, green, blue = _three(rgb) * tint
    return chromaticity((float(red), float(green), float(blue)), space)
