"""From linear Rec.709 to the codes of an sRGB screen and back (IEC 61966-2-1), with an exposure in stops.

Nothing else is done to a picture: exposure, a clip at 0 and 1, the curve. That is no film look; it is what two frames
can be compared with each other in.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from samelight.sources.pictures.pictures import Half, Picture, reduced, reduction

Codes = NDArray[np.uint8]

MOST_STOPS = 20.0
"""The largest exposure either way."""


def srgb_codes(linear: NDArray[np.float64]) -> Codes:
    """8-bit sRGB codes of linear Rec.709 values of any shape, clipped to 0 and 1; NaN becomes 0.

    Source: IEC 61966-2-1:1999.

    >>> srgb_codes(np.array([0.0, 0.002, 0.18, 0.36, 1.0, 7.0])).tolist()
    [0, 7, 118, 162, 255, 255]
    """
    clipped = np.nan_to_num(np.clip(linear, 0.0, 1.0), nan=0.0)
    curve = np.where(clipped <= 0.0031308, 12.92 * clipped, 1.055 * clipped ** (1 / 2.4) - 0.055)
    codes: Codes = (255.0 * curve + 0.5).astype(np.uint8)
    return codes


def linear_of(codes: Codes) -> Half:
    """Linear Rec.709 of 8-bit sRGB codes of any shape. Source: IEC 61966-2-1:1999.

    >>> [round(float(value), 3) for value in linear_of(np.array([0, 118, 255], dtype=np.uint8))]
    [0.0, 0.181, 1.0]
    """
    return _linear_table()[codes]


@lru_cache(maxsize=1)
def _linear_table() -> Half:
    value = np.arange(256) / 255.0
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4).astype(np.float16)


@lru_cache(maxsize=32)
def _code_table(stops: float) -> Codes:
    """The code of each of the 65,536 half-float numbers: looking up is exact, and faster than the curve."""
    halves = np.arange(2**16, dtype=np.uint16).view(np.float16)
    numbers = np.nan_to_num(halves, nan=0.0, posinf=65504.0, neginf=-65504.0)
    return srgb_codes(numbers.astype(np.float64) * 2.0**stops)


def shown(linear: Half, stops: float = 0.0) -> Codes:
    """Linear Rec.709 as sRGB codes, exposed by `stops` (within `MOST_STOPS`). Same shape.

    >>> shown(np.array([0.18, 0.18 * 2], dtype=np.float16), -1.0).tolist()
    [85, 118]
    """
    stops = min(max(stops, -MOST_STOPS), MOST_STOPS)
    return np.take(_code_table(stops), np.ascontiguousarray(linear).view(np.uint16))


def picture_of_codes(codes: Codes, longest: int, remarks: tuple[str, ...] = ()) -> Picture:
    """A picture of 8-bit sRGB codes, shape (height, width, 3), reduced in linear light like an EXR."""
    height, width = codes.shape[:2]
    step = reduction(width, height, longest)
    linear = linear_of(codes)
    if step > 1:
        linear = reduced(linear, step).astype(np.float16)
    return Picture(np.ascontiguousarray(linear), (width, height), False, remarks)


def view_text(picture: Picture, stops: float, view: str = "") -> str:
    """What is done to a picture before it is on the screen, in words; `view` names the view that it is seen through, if there is one."""
    exposed = f"{stops:+.1f} stops".replace("-", "−")
    if view:
        return f"Scene-linear, {exposed}, {view}"
    if picture.scene:
        return f"Scene-linear, Rec.709, {exposed}, clipped, sRGB curve"
    return f"8-bit sRGB, {exposed}, clipped"


def jpeg_is_whole(data: bytes) -> bool:
    """Whether a JPEG goes on to its end: decoders fill up what is cut off with grey and say nothing.

    >>> jpeg_is_whole(bytes.fromhex("ffd8 ffda 0102 ffd9")), jpeg_is_whole(bytes.fromhex("ffd8 ffda 0102"))
    (True, False)
    """
    scan = data.rfind(b"\xff\xda")
    return scan >= 0 and data.find(b"\xff\xd9", scan) >= 0
