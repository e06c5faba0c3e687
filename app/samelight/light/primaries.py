"""From a chromaticity back to the linear RGB that has it."""

from __future__ import annotations

from functools import cache

from samelight.light.colour import UV, chromaticity
from samelight.light.locus import uv_to_xy
from samelight.light.rows import Array, image, inverse
from samelight.light.spaces import to_xyz, white_xyz


def rgb_of(uv: UV, space: str = "rec709") -> tuple[float, float, float]:
    """The linear RGB of a working space that has this u'v', its largest channel 1: the inverse of `chromaticity`.

    A chromaticity outside the gamut of the space comes out with a negative channel. The space's matrix follows from the
    chromaticities of its primaries and its white (SMPTE RP 177:1993). Raises ValueError for an unknown space, or where
    v' is 0.

    >>> [round(channel, 6) for channel in rgb_of(chromaticity((1.0, 0.5, 0.25), "acescg"), "acescg")]
    [1.0, 0.5, 0.25]
    """
    red, green, blue = image(_from_xyz(space), _xyz(uv)).tolist()
    largest = max(red, green, blue)
    return red / largest, green / largest, blue / largest


@cache
def _from_xyz(space: str) -> Array:
    corners = [(1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0), (1.0, 1.0, 1.0)]
    *primaries, white = (_xyz(uv) for corner in corners if (uv := chromaticity(corner, space)) is not None)
    return inverse(to_xyz(primaries, white))


def _xyz(uv: UV) -> Array:
    if uv[1] == 0.0:
        raise ValueError("no light has a v' of 0")
    return white_xyz(uv_to_xy(*uv))
