"""A reduced picture as text for a sheet, and back.

`64x32 0.25 AAAA…`: its width and height, what its numbers are multiplied with, and the numbers in base64: halves, least
byte first, three a pixel, row by row from the top. A sheet that holds what a map looks like is checked without that map.
"""

from __future__ import annotations

import base64
import binascii
import math
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

MOST_SIDE = 256
_LARGEST = 32768.0
"""What the largest number is stored as; the least that keeps its digits is then 2e-9 of it."""


def pixels_text(rgb: Array) -> str:
    """A picture of the shape (height, width, 3), of finite numbers from 0, as text."""
    height, width, _ = rgb.shape
    peak = float(rgb.max())
    scale = peak / _LARGEST or 1.0
    stored = (rgb / scale).astype("<f2")
    return f"{width}x{height} {scale!r} {base64.b64encode(stored.tobytes()).decode('ascii')}"


@lru_cache(maxsize=256)
def pixels_of(text: str) -> Array | None:
    """The picture, shape (height, width, 3), linear and 0 or more; None where the text is none. Treat it as read only.

    >>> pixels_of("1x1 0.5 ADwAPAA8").tolist(), pixels_of("1x1 0.5 AD")
    ([[[0.5, 0.5, 0.5]]], None)
    """
    try:
        size, scale_text, encoded = text.split(" ")
        width, height = map(int, size.split("x"))
        scale = float(scale_text)
        raw = base64.b64decode(encoded, validate=True)
    except (ValueError, binascii.Error):
        return None
    sound = 1 <= width <= MOST_SIDE and 1 <= height <= MOST_SIDE and len(raw) == 6 * width * height
    if not (sound and math.isfinite(scale) and scale > 0.0):
        return None
    with np.errstate(all="ignore"):
        rgb = np.frombuffer(raw, dtype="<f2").astype(np.float64).reshape(height, width, 3) * scale
        # No light is negative, and what is larger than this no renderer sums.
        return rgb if bool(((rgb >= 0.0) & (rgb < 1e30)).all()) else None
