"""A picture that a light carries, reduced to what a sheet holds of it.

Read by OpenImageIO, a strip of lines at a time, so that a map of 16,384 x 8,192 takes little memory. It is read where a
scene is captured, in the child process that reads the scene: a check then needs no picture, and a sheet says the same
wherever it is opened.
"""

from __future__ import annotations

import contextlib
import math
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from samelight.light.sky_map import HEIGHT, WIDTH
from samelight.light.spaces import rec709_matrix
from samelight.sheets.errors import SamelightError
from samelight.sheets.pixels import pixels_text
from samelight.sheets.plain_files import UnfitFileError, open_plain

Array = NDArray[np.float64]

LARGEST = 2**31
"""Bytes of a picture's file."""
MOST_PIXELS = 2**28
"""The largest picture that is read: 268 million pixels, such as 23,170 x 11,585."""
MOST_CHANNELS = 64
_STRIP = 2**22
"""Numbers that are read at a time."""
_BRIGHTEST = 65504.0
"""What a pixel that is infinite is taken as: the largest half."""
_REC709 = ((0.64, 0.33), (0.30, 0.60), (0.15, 0.06), (0.3127, 0.3290))


class UnreadablePictureError(SamelightError):
    """A picture that cannot be read; the message is the reason, without the file's name."""


RECT_SIDE = 32
"""Cells each way of a rect light's texture."""


@lru_cache(maxsize=64)
def _reduced_text(digest: str, path: Path, latlong: bool) -> str:  # noqa: ARG001 - a key of the cache
    width, height = (WIDTH, HEIGHT) if latlong else (RECT_SIDE, RECT_SIDE)
    return pixels_text(reduced_picture(path, width, height, latlong=latlong))


def reduced_text(path: Path, digest: str, *, latlong: bool) -> str:
    """A picture of this digest, reduced, as text for a sheet; of one digest it is read once. Raises `UnreadablePictureError`."""
    return _reduced_text(digest, path, latlong)


def reduced_picture(path: Path, width: int, height: int, *, latlong: bool) -> Array:
    """A picture as so many cells, linear Rec.709, each the mean of what lies in it: shape (height, width, 3), 0 or more.

    `latlong` weighs each line by the solid angle that it has on a sphere. What is 8 bits or less is taken as sRGB, unless
    the file says otherwise. Numbers that are none, or below 0, count as 0. Raises `UnreadablePictureError`.
    """
    start_of(path)
    with opened_picture(path) as picture:
        spec = picture.spec()
        _check(spec)
        lines = _lines(picture, spec)
        rows = _banded(lines, _edges(spec.height, height, latlong=latlong), spec.height, width)
    return _in_rec709(rows, spec)


@contextlib.contextmanager
def opened_picture(
    path: Path, otherwise: str = "it is damaged, or no picture of a kind that is read"
) -> Iterator[Any]:
    """A picture's file as the library opens it. Raises `UnreadablePictureError`, which says `otherwise`."""
    import OpenImageIO  # only where there is a picture

    picture = OpenImageIO.ImageInput.open(str(path))
    if picture is None:
        forget_error(OpenImageIO)
        raise UnreadablePictureError(otherwise)
    try:
        yield picture
    finally:
        picture.close()


def start_of(path: Path, most: int = 1) -> bytes:
    """The first bytes of a picture's file, at least one. Raises `UnreadablePictureError`."""
    try:
        with open_plain(path, LARGEST) as file:
            start = file.read(most)
    except UnfitFileError as error:
        raise UnreadablePictureError(str(error) if error.expected else f"it is {error.found}") from None
    except OSError as error:
        raise UnreadablePictureError(f"it cannot be read: {error.strerror or error}") from None
    if not start:
        raise UnreadablePictureError("it is empty")
    return start


def forget_error(of: Any) -> None:
    """Take back what the library, or a picture of its, has to say of a file: else it is told at the end of the process."""
    with contextlib.suppress(UnicodeDecodeError):  # it quotes the file
        of.geterror()


def _check(spec: Any) -> None:
    if spec.deep or spec.depth > 1:
        raise UnreadablePictureError("it has depth, and is no flat picture")
    if spec.width < 1 or spec.height < 1 or not 1 <= spec.nchannels <= MOST_CHANNELS:
        raise UnreadablePictureError("it is damaged: it has no pixels")
    if spec.width * spec.height > MOST_PIXELS:
        raise UnreadablePictureError(
            f"it is {spec.width:,} x {spec.height:,}; at most {MOST_PIXELS // 10**6} million pixels are read"
        )


def _lines(picture: Any, spec: Any) -> Iterator[Array]:
    """The lines of a picture from the top, some at a time, shape (lines, width, 3)."""
    names = [name.casefold() for name in spec.channelnames]
    wanted = [names.index(name) for name in "rgb"] if {"r", "g", "b"} <= {*names} else [0, 0, 0]
    first, last = min(wanted), max(wanted) + 1
    decoded = _from_srgb if _is_srgb(spec) else None
    # Tiles are read by whole rows of them.
    step = max(1, _STRIP // (spec.width * (last - first)))
    if spec.tile_height:
        step = max(1, step // spec.tile_height) * spec.tile_height
    for top in range(0, spec.height, step):
        bottom = min(top + step, spec.height)
        begin, end = spec.y + top, spec.y + bottom
        if spec.tile_width:
            box = (spec.x, spec.x + spec.width, begin, end, spec.z, spec.z + 1)
            read = picture.read_tiles(0, 0, *box, first, last, "float")
        else:
            read = picture.read_scanlines(0, 0, begin, end, 0, first, last, "float")
        if read is None or np.ndim(read) < 3:
            forget_error(picture)
            raise UnreadablePictureError("it is damaged or cut off: its pixels cannot be read")
        part = np.asarray(read, dtype=np.float64).reshape(bottom - top, spec.width, last - first)
        part = np.clip(np.nan_to_num(part, nan=0.0, posinf=_BRIGHTEST), 0.0, None)
        part = part[..., [channel - first for channel in wanted]]
        yield part if decoded is None else decoded(part)


def _is_srgb(spec: Any) -> bool:
    stated = str(spec.getattribute("oiio:ColorSpace") or "").casefold()
    if stated:
        return "srgb" in stated and "lin" not in stated
    return str(spec.format) in ("uint8", "int8")


def _from_srgb(part: Array) -> Array:
    """Linear numbers of IEC 61966-2-1, looked up in 4,096 steps, which is finer than 8 bits."""
    codes = np.rint(np.clip(part, 0.0, 1.0) * (len(_LINEAR) - 1)).astype(np.intp)
    return np.asarray(_LINEAR[codes])


def _linear(code: float) -> float:
    return code / 12.92 if code <= 0.04045 else math.pow((code + 0.055) / 1.055, 2.4)


_LINEAR = np.array([_linear(code / 4095.0) for code in range(4096)])


def _edges(lines: int, bands: int, *, latlong: bool) -> Array:
    """How much each line of a picture adds to each band, shape (lines, bands): shares, 1 in all of a band."""
    places = np.arange(lines + 1) / lines
    cuts = np.arange(bands + 1) / bands
    if latlong:
        places, cuts = (
            np.array([-math.cos(math.pi * one) for one in all_]) for all_ in (places.tolist(), cuts.tolist())
        )
    ends = np.minimum(places[1:, None], cuts[None, 1:])
    starts = np.maximum(places[:-1, None], cuts[None, :-1])
    return np.asarray(np.maximum(ends - starts, 0.0) / np.diff(cuts)[None, :])


def _banded(lines: Iterator[Array], shares: Array, height: int, width: int) -> Array:
    """The means over bands of lines and over so many columns."""
    bands = shares.shape[1]
    found = np.zeros((bands, width, 3))
    row = 0
    for part in lines:
        columns = _columns(part, width)
        for index in range(len(part)):
            for band in np.flatnonzero(shares[row + index]).tolist():
                found[band] += shares[row + index, band] * columns[index]
        row += len(part)
    assert row == height
    return found


def _columns(part: Array, width: int) -> Array:
    """The means of lines over so many columns of one width, shape (lines, width, 3)."""
    own = part.shape[1]
    if own % width == 0:
        whole: Array = part.reshape(len(part), width, own // width, 3).mean(axis=2)
        return whole
    summed = np.zeros((len(part), own + 1, 3))
    np.cumsum(part, axis=1, out=summed[:, 1:])
    places = np.arange(width + 1) * (own / width)
    left = np.minimum(places.astype(np.intp), own - 1)
    at = summed[:, left] + (summed[:, left + 1] - summed[:, left]) * (places - left)[None, :, None]
    means: Array = np.maximum(np.diff(at, axis=1), 0.0) * (width / own)
    return means


def _in_rec709(rgb: Array, spec: Any) -> Array:
    """Taken to Rec.709 from the primaries that the file states; as it stands where it states none, or they make no sense."""
    stated = spec.getattribute("chromaticities")
    if stated is None:
        return rgb
    try:
        numbers = [float(number) for number in stated]
        xy = tuple(zip(numbers[0::2], numbers[1::2], strict=True))
        if len(xy) != 4 or np.allclose(xy, _REC709, atol=1e-4):
            return rgb
        matrix = rec709_matrix(xy[:3], xy[3])
    except (TypeError, ValueError):
        return rgb
    mixed = [
        sum((row[index] * rgb[..., index] for index in range(1, 3)), row[0] * rgb[..., 0]) for row in matrix
    ]
    taken: Array = np.maximum(np.stack(mixed, axis=-1), 0.0)
    return taken
