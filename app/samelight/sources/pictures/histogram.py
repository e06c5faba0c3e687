"""How the light of a part of a picture lies about middle grey: a count of its pixels by stops."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from samelight.light.spaces import LUMINANCE
from samelight.sources.pictures.false_colour import MIDDLE_GREY
from samelight.sources.pictures.pictures import Half

FURTHEST, STEPS = 8, 4
"""Stops either way of middle grey that are counted apart, and parts of a stop."""


@dataclass(frozen=True, slots=True)
class Histogram:
    """Shares of the pixels of a part by luminance: `shares` in steps of a quarter of a stop from `FURTHEST` stops below middle grey to
    as many above; `below` and `above` are what is further off, what has no light included. `median` is in stops from middle grey; None
    where half of the pixels or more have no light. `pixels` were counted."""

    shares: tuple[float, ...]
    below: float
    above: float
    median: float | None
    pixels: int


def histogram(
    linear: Half,
    edges: tuple[float, float, float, float] = (0.0, 0.0, 1.0, 1.0),
    *,
    is_round: bool = False,
    exposed: float = 0.0,
) -> Histogram | None:
    """The histogram of linear Rec.709 of shape (height, width, 3) within `edges`, shares of width and height: left, top, right and
    bottom; of the ellipse in them where that `is_round`. All of it is `exposed` by so many stops first. None where no pixel's middle lies in it.

    >>> found = histogram(np.full((8, 8, 3), 0.36, np.float16))
    >>> [(place / STEPS - FURTHEST, share) for place, share in enumerate(found.shares) if share], found.median
    ([(1.0, 1.0)], 1.0)
    """
    height, width = linear.shape[:2]
    left, top, right, bottom = edges
    x = (np.arange(width) + 0.5) / width
    y = (np.arange(height) + 0.5) / height
    columns, rows = np.flatnonzero((x >= left) & (x < right)), np.flatnonzero((y >= top) & (y < bottom))
    if not columns.size or not rows.size:
        return None
    part = linear[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1].astype(np.float32)
    part = part * np.float32(math.pow(2.0, exposed))
    weights = LUMINANCE["rec709"]
    luminance = part[..., 0] * weights[0] + part[..., 1] * weights[1] + part[..., 2] * weights[2]
    if is_round:
        across = (x[columns] - (left + right) / 2.0) / ((right - left) / 2.0)
        down = (y[rows] - (top + bottom) / 2.0) / ((bottom - top) / 2.0)
        luminance = luminance[across[None, :] ** 2 + down[:, None] ** 2 <= 1.0]
    ordered = np.sort(luminance, axis=None)
    count = ordered.size
    if not count:
        return None
    # Half a thousandth of a stop lower, so that what halves round down stays with its step.
    stops = (np.arange(2 * FURTHEST * STEPS + 1) / STEPS - FURTHEST - 0.0005).tolist()
    places = np.searchsorted(ordered, [MIDDLE_GREY * math.pow(2.0, one) for one in stops])
    middle = float(ordered[(count - 1) // 2])
    return Histogram(
        tuple((np.diff(places) / count).tolist()),
        float(places[0]) / count,
        1.0 - float(places[-1]) / count,
        round(math.log2(middle / MIDDLE_GREY), 3) if middle > 0.0 else None,
        count,
    )
