"""Frames of shots: where they lie, and an OpenEXR picture as linear numbers.

A picture is kept as half-float linear Rec.709, which holds what an EXR of halves holds and takes little memory.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import OpenEXR
from numpy.typing import NDArray

from samelight.light.spaces import TO_REC709, rec709_matrix
from samelight.sheets.errors import SamelightError
from samelight.sheets.frames import ENDINGS, FOLDER
from samelight.sheets.plain_files import UnfitFileError, open_plain
from samelight.sources.limits import PICTURE, Limits, limit
from samelight.sources.pictures.layers import choose_layer

Half = NDArray[np.float16]
Numbers = NDArray[Any]

MOST_PIXELS = 2**26
"""The largest picture that is read: 67 million pixels, such as 8,192 x 8,192."""
MOST_BYTES = 2**31
"""The most that all channels of an EXR may take in memory, since the library reads them all."""

LARGEST = 2**31
"""Bytes of a picture's file."""
_HEADER_MEMORY = 256 * 2**20
_UNPACKED = 32
"""Times its length in the file that a deep part may take in memory."""

_NUMBER = re.compile(r"\.(-?[0-9]{1,9})")
_EXR_MAGIC = b"\x76\x2f\x31\x01"
_LARGEST_HALF = 65504.0
_REC709 = ((0.64, 0.33), (0.30, 0.60), (0.15, 0.06), (0.3127, 0.3290))
# OpenEXR's own errors come as any of these, by where it noticed.
_READING = (RuntimeError, ValueError, TypeError, IndexError, KeyError, OverflowError, MemoryError)


class PictureError(SamelightError):
    """A picture that cannot be shown; the message is the reason, without the file's name."""


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture in linear Rec.709, float16 of shape (height, width, 3).

    `size` is the width and height in the file, before it was reduced. `scene` says that values above 1 are kept, as in
    an EXR. `remarks` say what a viewer has to know of it, such as that only one layer is shown.
    """

    linear: Half
    size: tuple[int, int]
    scene: bool
    remarks: tuple[str, ...] = ()


def find_frame(sequence_folder: Path, shot: str) -> Path | None:
    """The picture of a shot, by its name in any case of ending, else the first of those with a number (`SHOT.1001.exr`); None where
    there is none.

    Raises `PictureError` when the folder is there and cannot be read.
    """
    try:
        names = {path.name: path for path in (sequence_folder / FOLDER).iterdir()}
    except FileNotFoundError:
        return None
    except OSError as error:
        raise PictureError(f"the folder {FOLDER} cannot be read: {error.strerror or error}") from None
    found = {path.suffix.lower(): path for path in sorted(names.values()) if path.stem == shot}
    one = next((found[ending] for ending in ENDINGS if ending in found), None)
    return one if one is not None else _first_numbered(names.values(), shot)


def _first_numbered(paths: Iterable[Path], shot: str) -> Path | None:
    numbered = [
        (int(match[1]), ENDINGS.index(ending), path)
        for path in paths
        if path.stem.startswith(shot)
        and (ending := path.suffix.lower()) in ENDINGS
        and (match := _NUMBER.fullmatch(path.stem[len(shot) :])) is not None
    ]
    return min(numbered)[2] if numbered else None


def frame_number(path: Path, shot: str) -> int | None:
    """The number of a shot's numbered picture; None of any other.

    >>> frame_number(Path("HB_010.1025.exr"), "HB_010"), frame_number(Path("HB_010.exr"), "HB_010")
    (1025, None)
    """
    match = _NUMBER.fullmatch(path.stem[len(shot) :]) if path.stem.startswith(shot) else None
    return int(match[1]) if match is not None else None


def read_exr(path: Path, longest: int, space: str = "rec709") -> Picture:
    """Read an EXR and reduce it until neither side is longer than `longest`.

    The pixels fill the display window; what lies outside the data window is black. Colours are taken to Rec.709 from
    the primaries that the file states, else from a working `space`. NaN becomes black. Raises `PictureError` with the reason.
    """
    _check_start(path)
    limit(Limits(_HEADER_MEMORY, PICTURE.seconds))
    headers = _headers(path)
    layer = choose_layer(headers)
    if layer is None:
        raise PictureError("it holds no channel that can be shown; expected R, G and B, or Y")
    header = headers[layer.part]
    data, window = _box(header, "dataWindow"), _box(header, "displayWindow")
    needed = _check_size(headers, window)
    # How much a deep part takes stands in no header.
    limit(Limits(_HEADER_MEMORY + 3 * needed + _UNPACKED * path.stat().st_size, PICTURE.seconds))
    try:
        channels = _channels(path, layer.part, len(headers))
    except PictureError as error:
        is_deep = any("deep" in str(header.get("type", "")).lower() for header in headers)
        more = ", or its deep part takes too much memory. Keep a picture of the beauty alone here"
        raise PictureError(f"{error}{more if is_deep else ''}") from None
    width, height = window.size
    step = reduction(width, height, longest)
    remarks = list(layer.remarks)
    planes = [_plane(channels, name, data, window, step) for name in layer.channels]
    if any(np.isnan(plane).any() for plane in planes):
        remarks.append("some pixels are not numbers and shown black")
    planes = [_within_halves(plane) for plane in planes] * (3 // len(planes))
    matrix = _to_rec709(header, space, remarks) if len(layer.channels) == 3 else None
    linear: Half = np.empty((*planes[0].shape, 3), np.float16)
    for index in range(3):
        # A plane at a time, for a picture of 67 million pixels.
        linear[..., index] = (
            planes[index] if matrix is None else _within_halves(_mixed(matrix[index], planes))
        )
    return Picture(linear, (width, height), True, tuple(remarks))


def reduction(width: int, height: int, longest: int) -> int:
    """The whole number by which a picture is reduced so that neither side is longer than `longest`.

    >>> reduction(4096, 1716, 4096), reduction(4096, 1716, 640), reduction(100, 4000, 640)
    (1, 7, 7)
    """
    return max(1, -(-max(width, height) // longest))


def reduced(plane: Numbers, step: int) -> Numbers:
    """The mean of each `step` x `step` square of numbers, as float32; a rest at the right and below is left out.

    A side shorter than `step` is averaged as a whole.
    """
    if step == 1:
        return plane.astype(np.float32)
    high, wide = (min(step, side) for side in plane.shape[:2])
    rows, columns = plane.shape[0] // high, plane.shape[1] // wide
    squares = plane[: rows * high, : columns * wide].reshape(rows, high, columns, wide, *plane.shape[2:])
    mean: Numbers = squares.mean(axis=(1, 3), dtype=np.float32)
    return mean


@dataclass(frozen=True, slots=True)
class _Box:
    left: int
    top: int
    right: int
    bottom: int

    @property
    def size(self) -> tuple[int, int]:
        return self.right - self.left + 1, self.bottom - self.top + 1


def _check_start(path: Path) -> None:
    try:
        with open_plain(path, LARGEST) as file:
            start = file.read(4)
    except UnfitFileError as error:
        raise PictureError(str(error) if error.expected else f"it is {error.found}") from None
    except OSError as error:
        raise PictureError(f"it cannot be read: {error.strerror or error}") from None
    if not start:
        raise PictureError("it is empty")
    if start != _EXR_MAGIC:
        raise PictureError("it is no OpenEXR picture, whatever its ending says")


def _opened(path: Path, *, header_only: bool) -> Any:
    # Of a damaged file the library also speaks on stderr, from C. Its Python binding takes no other listener, and turning
    # away the stderr of the whole process would lose what other threads say meanwhile.
    try:
        return OpenEXR.File(str(path), separate_channels=True, header_only=header_only)
    except MemoryError:
        raise PictureError("it is too large for the memory that is left") from None
    except _READING:
        what = "its header" if header_only else "its pixels"
        raise PictureError(f"it is damaged or cut off: {what} cannot be read") from None


def _headers(path: Path) -> list[dict[str, Any]]:
    file = _opened(path, header_only=True)
    try:
        headers = [dict(part.header) for part in file.parts]
        # The library fails on such a name in many places, and then says that the pixels are damaged.
        _ = [channel.name for header in headers for channel in header.get("channels", ())]
    except UnicodeDecodeError:
        raise PictureError("a name in its header is no UTF-8 text") from None
    except _READING:
        headers = []
    if not headers:
        raise PictureError("it is damaged: its header holds no picture")
    return headers


def _channels(path: Path, part: int, parts: int) -> dict[str, NDArray[Any]]:
    """The pixels of each channel of a part, by its name. Raises `PictureError` unless all `parts` could be read."""
    file = _opened(path, header_only=False)
    if len(file.parts) != parts:
        raise PictureError("it is damaged or cut off: its pixels cannot be read")
    try:
        return {name: np.asarray(one.pixels) for name, one in file.parts[part].channels.items()}
    except _READING:
        raise PictureError("it is damaged: its channels cannot be told apart") from None


def _box(header: Mapping[str, Any], key: str) -> _Box:
    try:
        (left, top), (right, bottom) = header[key]
        return _Box(int(left), int(top), int(right), int(bottom))
    except _READING:
        raise PictureError(f"it is damaged: its {key} is {header.get(key)}") from None


def _check_size(headers: Sequence[Mapping[str, Any]], window: _Box) -> int:
    """The bytes of all channels in memory. Raises `PictureError` where they, or the pixels, are too many, or none."""
    needed = 0
    for header in headers:
        for box in (_box(header, "dataWindow"), window):
            width, height = box.size
            if width < 1 or height < 1:
                raise PictureError("it is damaged: it has no pixels")
            check_pixels(width, height)
        width, height = _box(header, "dataWindow").size
        needed += 4 * width * height * len(header.get("channels", ()))
    if needed > MOST_BYTES:
        raise PictureError(
            f"all its channels take {needed / 2**30:.1f} GB; at most {MOST_BYTES / 2**30:.0f} GB are read. "
            "Keep a picture of the beauty alone here"
        )
    return needed


def check_pixels(width: int, height: int) -> None:
    """Raise `PictureError` for a picture of more than `MOST_PIXELS`."""
    if width * height > MOST_PIXELS:
        raise PictureError(
            f"it is {width:,} x {height:,}; at most {MOST_PIXELS // 10**6} million pixels are read. "
            "Keep a smaller picture here"
        )


def _plane(
    channels: Mapping[str, NDArray[Any]], name: str, data: _Box, window: _Box, step: int
) -> NDArray[Any]:
    """One channel, placed in the display window and reduced."""
    pixels = channels.get(name, np.empty(0))
    width, height = window.size
    if pixels.ndim != 2 or pixels.shape != (data.size[1], data.size[0]):
        raise PictureError(f"it is damaged: its channel {name} has another size than its header says")
    if data != window:
        top, bottom = max(data.top, window.top), min(data.bottom, window.bottom)
        left, right = max(data.left, window.left), min(data.right, window.right)
        if top > bottom or left > right:
            raise PictureError("all its pixels lie outside its display window")
        placed = np.zeros((height, width), pixels.dtype)
        inside = pixels[top - data.top : bottom - data.top + 1, left - data.left : right - data.left + 1]
        placed[top - window.top : bottom - window.top + 1, left - window.left : right - window.left + 1] = (
            inside
        )
        pixels = placed
    return reduced(pixels, step)


def _to_rec709(header: Mapping[str, Any], space: str, remarks: list[str]) -> NDArray[np.float32] | None:
    """The matrix from the primaries that a header states, else from a working space; None where these are Rec.709."""
    stated = header.get("chromaticities")
    if stated is None and space == "rec709":
        return None
    if stated is None:
        remarks.append(f"taken as {space}, the working space, since it states no primaries")
        return TO_REC709[space].astype(np.float32)
    numbers = [float(number) for number in np.ravel(stated)]
    xy = tuple(zip(numbers[0::2], numbers[1::2], strict=True))
    if np.allclose(xy, _REC709, atol=1e-4):
        return None
    try:
        matrix = rec709_matrix(xy[:3], xy[3])
    except ValueError:
        remarks.append("its primaries make no sense and are taken as Rec.709")
        return None
    remarks.append("colours taken to Rec.709 from the primaries it states")
    return matrix.astype(np.float32)


def _mixed(weights: NDArray[np.float32], planes: Sequence[Numbers]) -> Numbers:
    red, green, blue = (weight * plane for weight, plane in zip(weights, planes, strict=True))
    total: Numbers = red + green + blue
    return total


def _within_halves(plane: Numbers) -> Numbers:
    clipped: Numbers = np.clip(np.nan_to_num(plane, nan=0.0), -_LARGEST_HALF, _LARGEST_HALF)
    return clipped
