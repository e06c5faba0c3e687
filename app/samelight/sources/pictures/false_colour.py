"""Pictures of stops: how far each pixel lies from middle grey, or from the same pixel of another picture.

Steps of equal size, each of one colour: grey in the middle, colder and darker below, warmer and brighter above. What has no light is black.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from samelight.light.spaces import LUMINANCE
from samelight.sources.pictures.pictures import Half
from samelight.sources.pictures.view_transform import Codes

MIDDLE_GREY = 0.18
_STEPS: Sequence[tuple[int, int, int]] = (
    (24, 20, 60),
    (36, 40, 110),
    (44, 70, 150),
    (60, 104, 176),
    (92, 138, 190),
    (122, 156, 180),
    (142, 142, 142),
    (190, 160, 110),
    (222, 164, 72),
    (236, 140, 40),
    (228, 96, 40),
    (240, 70, 110),
    (255, 214, 235),
)
"""Colours from six steps below the middle to six above; what is further off has the last."""
FURTHEST = len(_STEPS) // 2


def stops_from_grey(linear: Half, exposed: float = 0.0) -> Codes:
    """Linear Rec.709 of shape (height, width, 3), exposed by some stops, as colours: a step is a stop from middle grey.

    >>> row = np.full((1, 3, 3), 0.18, dtype=np.float16) * np.array([1.0, 0.5, 0.0], dtype=np.float16)[:, None]
    >>> stops_from_grey(row)[0].tolist()
    [[142, 142, 142], [122, 156, 180], [0, 0, 0]]
    """
    return _coloured(_logarithms(linear) + (exposed - math.log2(MIDDLE_GREY)), 1.0)


def stops_apart(linear: Half, other: Half) -> Codes:
    """By how much pixels are brighter than those of another picture of the same shape: a step is half a stop. Raises ValueError for one
    of another shape."""
    if linear.shape != other.shape:
        raise ValueError("the two pictures have other shapes")
    with np.errstate(invalid="ignore"):
        apart = _logarithms(linear) - _logarithms(other)
    both_dark = ~(_luminance(linear) > 0.0) & ~(_luminance(other) > 0.0)
    return _coloured(np.where(both_dark, 0.0, apart), 0.5)


def _luminance(linear: Half) -> np.ndarray[tuple[int, ...], np.dtype[np.float32]]:
    red, green, blue = LUMINANCE["rec709"]
    wide = linear.astype(np.float32)
    return np.asarray(wide[..., 0] * red + wide[..., 1] * green + wide[..., 2] * blue, dtype=np.float32)


def _logarithms(linear: Half) -> np.ndarray[tuple[int, ...], np.dtype[np.float32]]:
    luminance = _luminance(linear)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(np.where(luminance > 0.0, np.log2(luminance), -np.inf), dtype=np.float32)


def _coloured(stops: np.ndarray[tuple[int, ...], np.dtype[np.float32]], step: float) -> Codes:
    steps = np.rint(np.nan_to_num(np.clip(stops, -FURTHEST * step, FURTHEST * step), nan=0.0) / step).astype(
        np.intp
    )
    codes: Codes = np.array(_STEPS, dtype=np.uint8)[steps + FURTHEST]
    codes[np.isneginf(stops)] = 0
    return codes
