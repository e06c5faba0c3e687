"""What a lighter reads off a part of a picture: how bright it is, how far its lights and shadows lie apart, of which colour, and
from which side it is lit.

The same figures are taken of measured pixels and of what a sheet leads one to expect. Logarithms come from the C library, sums
are rounded once (`math.fsum`), and shares are those of sorted numbers: the same on every processor, to the steps in which
figures are told.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from samelight.light.colour import chromaticity
from samelight.light.elementary import log2
from samelight.light.spaces import LUMINANCE

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

STOPS, STEPS = 3, 5
"""Decimals of stops and of u'v' in which figures are told."""
LARGEST_HALF = 65504.0
_LOW, _HIGH = 0.05, 0.95
_A_SIGMA = 1.4826
"""A standard deviation over the median size of what is spread normally about 0."""
_FEWEST_DIFFERENCES = 12


class Figures(NamedTuple):
    """Figures of a part of a picture.

    `level` is the mean of the luminance's logarithms (stops; 0 is a luminance of 1), `spread` the stops between the luminances
    that a twentieth lies below and a twentieth above, `u` and `v` the CIE 1976 chromaticity of the mean, `side` by how many stops
    the right half is brighter than the left. `noise` is by how many stops the noise of the pixels may put the level off. `pixels`
    were counted; `dark` ones, of no luminance or less, and those that are `not_numbers` were not. `clipped` ones are at the end of
    what the picture holds.
    """

    level: float
    spread: float
    u: float
    v: float
    side: float
    noise: float
    pixels: int
    dark: int = 0
    clipped: int = 0
    not_numbers: int = 0


def figures_of(rgb: Array, inside: Mask, middle: float) -> Figures | str:
    """The figures of pixels, linear Rec.709 of shape (lines, columns, 3), where they are `inside` (lines, columns); `middle` is the
    column, from the left edge, that parts left from right. In words, why there are none.

    >>> grey = np.full((4, 8, 3), 0.25)
    >>> grey[:, 4:] = 0.5
    >>> figures = figures_of(grey, np.ones((4, 8), dtype=np.bool_), 4.0)
    >>> figures.level, figures.spread, figures.side, round(figures.u, 4)
    (-1.5, 1.0, 1.0, 0.1978)
    """
    red, green, blue = (rgb[..., channel] for channel in range(3))
    known = inside & np.isfinite(red) & np.isfinite(green) & np.isfinite(blue)
    weights = LUMINANCE["rec709"]
    with np.errstate(invalid="ignore", over="ignore"):
        luminance = red * weights[0] + green * weights[1] + blue * weights[2]
    counted = known & (luminance > 0.0)
    count, whole = int(counted.sum()), int(inside.sum())
    not_numbers = whole - int(known.sum())
    dark = whole - not_numbers - count
    if 2 * count < whole or not count:
        what = "no numbers" if not_numbers > dark else "black"
        return f"most of it is {what}" if whole else "nothing of it is in the picture"
    logarithms = np.full(luminance.shape, np.nan)
    logarithms[counted] = log2(luminance[counted])
    ordered = np.sort(logarithms[counted])
    mean = [math.fsum(one[counted].tolist()) / count for one in (red, green, blue)]
    uv = chromaticity(mean)
    if uv is None:
        return "its colour is none that can be seen"
    return Figures(
        round(math.fsum(ordered.tolist()) / count, STOPS),
        round(_share(ordered, _HIGH) - _share(ordered, _LOW), STOPS),
        round(uv[0], STEPS),
        round(uv[1], STEPS),
        round(_side(luminance, counted, middle), STOPS),
        round(_noise(logarithms, count), STOPS),
        count,
        dark,
        _clipped(rgb, inside),
        not_numbers,
    )


BLACK = -30.0
"""Stops in which a mean of no light is told."""


def mean_luminance(rgb: Array, inside: Mask) -> float:
    """The mean luminance of pixels (see `figures_of`), in stops; what is no number is left out, and no light is `BLACK`."""
    weights = LUMINANCE["rec709"]
    with np.errstate(invalid="ignore", over="ignore"):
        luminance = rgb[..., 0] * weights[0] + rgb[..., 1] * weights[1] + rgb[..., 2] * weights[2]
    counted = luminance[inside & np.isfinite(luminance)]
    mean = math.fsum(counted.tolist()) / counted.size if counted.size else 0.0
    return round(max(math.log2(mean), BLACK), STOPS) if mean > 0.0 else BLACK


def _share(ordered: npt.NDArray[Any], share: float) -> float:
    """The number that a share of some lies at or below, by the nearest rank."""
    return float(ordered[max(math.ceil(share * len(ordered)) - 1, 0)])


def _side(luminance: Array, counted: Mask, middle: float) -> float:
    right = np.broadcast_to(np.arange(luminance.shape[1]) + 0.5 > middle, luminance.shape)
    halves = [luminance[counted & half] for half in (~right, right)]
    if not all(half.size for half in halves):
        return 0.0
    means = [math.fsum(half.tolist()) / half.size for half in halves]
    return math.log2(means[1]) - math.log2(means[0])


def _noise(logarithms: Array, count: int) -> float:
    """How far noise may put a mean of logarithms off: by what it has of chance, and by what a logarithm makes of it.

    The noise of a pixel is what is left of it beside the line through its two neighbours (of independent noise of standard
    deviation s that has s sqrt(6)), in the median, so that edges do not count. A mean of logarithms lies s^2 ln 2 / 2 stops
    below the logarithm of the mean, where s is in stops and the noise is log-normal.
    """
    bend = logarithms[:, 2:] - 2.0 * logarithms[:, 1:-1] + logarithms[:, :-2]
    sizes = np.sort(np.abs(bend[~np.isnan(bend)]))
    if sizes.size < _FEWEST_DIFFERENCES:
        return 0.0
    sigma = _A_SIGMA * _share(sizes, 0.5) / math.sqrt(6.0)
    return sigma / math.sqrt(count) + sigma * sigma * math.log(2.0) / 2.0


def _clipped(rgb: Array, inside: Mask) -> int:
    """Pixels at the largest half or beyond, or at 1 exactly where nothing is above it."""
    with np.errstate(invalid="ignore"):
        top = np.where(inside, rgb.max(axis=2), -math.inf)
        above = top >= LARGEST_HALF
        at_one = top == 1.0
        return int((above | at_one).sum() if not (top > 1.0).any() else above.sum())
