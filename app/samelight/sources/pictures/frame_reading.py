"""Reading in an OpenEXR frame by OpenImageIO, of which only the lines, or tiles, that are asked for are unpacked."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from samelight.light.framing import Shape
from samelight.light.rows import projection
from samelight.light.spaces import TO_REC709, rec709_matrix
from samelight.sources.pictures.layers import choose_layer
from samelight.sources.pictures.reduced import UnreadablePictureError, forget_error, opened_picture, start_of

Array = NDArray[np.float64]

MOST_PIXELS = 2**28
MOST_CHANNELS = 4096
_STRIP = 2**22
"""Numbers that are read at a time."""
_MOST_UNPACKED = 2**26
"""Numbers that are unpacked for one part of a frame: about a second's work of a processor."""
_FEWEST_PACKS = 6
"""Packs of lines that a part of a frame is looked at by, where it is not looked at whole."""
_PACKED: Mapping[str, int] = {
    "zip": 16,
    "pxr24": 16,
    "piz": 32,
    "b44": 32,
    "b44a": 32,
    "dwaa": 32,
    "dwab": 256,
}
"""Lines that are packed together. Source: OpenEXR's file layout, "Compression"."""
_EXR_MAGIC = b"\x76\x2f\x31\x01"
_REC709 = ((0.64, 0.33), (0.30, 0.60), (0.15, 0.06), (0.3127, 0.3290))


class LineReader:
    """Reads some lines of a few channels of a picture, in the columns that are asked for."""

    def __init__(self, picture: Any, part: int, spec: Any, channels: list[int]) -> None:
        self._picture, self._part, self.spec = picture, part, spec
        self._first, self._last = min(channels), max(channels) + 1
        self._channels = [channel - self._first for channel in channels]
        self.count = len(channels)
        formats = [str(one) for one in spec.channelformats[self._first : self._last]] or [str(spec.format)]
        self._kind = "half" if set(formats) == {"half"} else "float"

    def between(self, lines: Sequence[int], left: int, right: int) -> Array:
        """Some lines, of rising numbers, shape (lines, right - left, channels), all in pixels of the file."""
        spec = self.spec
        at_x, at_y = spec.tile_width or spec.width, packed_lines(spec)
        first_x = spec.x + (left - spec.x) // at_x * at_x
        last_x = min(spec.x + -(-(right - spec.x) // at_x) * at_x, spec.x + spec.width)
        # Lines that are packed together are unpacked together, whichever of them are asked for.
        most = max(1, _STRIP // ((last_x - first_x) * (self._last - self._first)) // at_y)
        found = []
        for first, last in _runs([(y - spec.y) // at_y for y in lines], most):
            begin, until = spec.y + first * at_y, min(spec.y + (last + 1) * at_y, spec.y + spec.height)
            part = self._whole(first_x, last_x, begin, until)
            wanted = [y - begin for y in lines if begin <= y < until]
            part = part[wanted, left - first_x : right - first_x][..., self._channels]
            found.append(part.astype(np.float64))
        return np.concatenate(found)

    def _whole(self, left: int, right: int, top: int, bottom: int) -> NDArray[Any]:
        """Whole tiles, or whole lines."""
        z = self.spec.z
        wanted = self._first, self._last, self._kind
        if self.spec.tile_width:
            numbers = self._picture.read_tiles(self._part, 0, left, right, top, bottom, z, z + 1, *wanted)
        else:
            numbers = self._picture.read_scanlines(self._part, 0, top, bottom, z, *wanted)
        shape = bottom - top, right - left, self._last - self._first
        if numbers is None or np.size(numbers) != shape[0] * shape[1] * shape[2]:
            forget_error(self._picture)
            raise UnreadablePictureError("it is damaged or cut off: its pixels cannot be read")
        return np.asarray(numbers).reshape(shape)


def packed_lines(spec: Any) -> int:
    """How many lines of a part are unpacked together at least."""
    if spec.tile_width:
        return int(spec.tile_height)
    return _PACKED.get(str(spec.getattribute("compression") or "").partition(":")[0], 1)


def _runs(numbers: Iterable[int], most: int) -> Iterator[tuple[int, int]]:
    """The first and the last of each run of numbers that follow each other, at most `most` of them.

    >>> list(_runs([0, 0, 1, 2, 5, 5, 6], 2))
    [(0, 1), (2, 2), (5, 6)]
    """
    first = last = None
    for number in numbers:
        if first is None or last is None or number > last + 1 or number >= first + most:
            if first is not None and last is not None:
                yield first, last
            first = number
        last = number
    if first is not None and last is not None:
        yield first, last


def spread_lines(top: int, bottom: int, start: int, packed: int, every: int) -> list[int]:
    """Lines from `top` to before `bottom`: those of every so-manieth pack, but of at least `_FEWEST_PACKS`. Packs of `packed` lines begin at
    `start`.

    >>> spread_lines(2, 10, 0, 4, 1)
    [2, 3, 4, 5, 6, 7, 8, 9]
    >>> spread_lines(0, 24, 0, 2, 2)
    [0, 1, 4, 5, 8, 9, 12, 13, 16, 17, 20, 21]
    """
    packs = range((top - start) // packed, (bottom - 1 - start) // packed + 1)
    every = max(1, min(every, len(packs) // _FEWEST_PACKS))
    kept = packs[(len(packs) - 1) % every // 2 :: every]
    return [
        y
        for pack in kept
        for y in range(max(top, start + pack * packed), min(bottom, start + (pack + 1) * packed))
    ]


class Together:
    """Channels of several parts of a picture, of which each part is read once, however often it is asked for something."""

    def __init__(self, picture: Any, specs: Sequence[Any]) -> None:
        self._picture, self._specs = picture, specs
        self._channels: dict[int, list[int]] = {}

    def ask(self, part: int, channels: Iterable[int]) -> tuple[int, list[int]]:
        """Ask for channels of a part; under what comes back `between` gives them."""
        listed = self._channels.setdefault(part, [])
        places = []
        for channel in channels:
            if channel not in listed:
                listed.append(channel)
            places.append(listed.index(channel))
        return part, places

    def lines(self, top: int, bottom: int, across: int, most: int) -> list[int]:
        """The lines that are looked at from `top` to before `bottom`: all, but of many pixels or much to unpack only some, spread over them
        so that no more than `most` pixels are counted. `across` is how many are counted of a line.

        Whatever is asked of a line, all channels of its part are unpacked, with all lines that are packed with it.
        """
        specs = [self._specs[part] for part in self._channels]
        unpacked = sum(one.nchannels * (across if one.tile_width else one.width) for one in specs)
        every = math.ceil((bottom - top) * max(across / most, unpacked / _MOST_UNPACKED))
        widest = max(specs, key=packed_lines)
        lines = spread_lines(top, bottom, widest.y, packed_lines(widest), every)
        return lines[:: max(1, math.ceil(len(lines) * across / most))]

    def between(
        self, lines: Sequence[int], left: int, right: int
    ) -> Callable[[tuple[int, list[int]]], Array]:
        """What gives, by what `ask` gave, the channels of a window (see `LineReader.between`)."""
        read = {
            part: LineReader(self._picture, part, self._specs[part], channels).between(lines, left, right)
            for part, channels in self._channels.items()
        }
        return lambda asked: read[asked[0]][..., asked[1]]


@dataclass(frozen=True, slots=True)
class OfLights:
    """The layers of lights in one part of a file: red, green and blue of each name, one after the other."""

    names: tuple[str, ...]
    part: int
    channels: list[int]


def layers_of_lights(specs: list[Any], part: int, lights: Sequence[str]) -> list[OfLights]:
    """The layers that are called as lights are: NAME.R, NAME.G and NAME.B, also below another name, or a part NAME with these."""
    found: list[OfLights] = []
    own = specs[part]
    for index, spec in enumerate(specs):
        if spec.deep or (spec.x, spec.y, spec.width, spec.height) != (own.x, own.y, own.width, own.height):
            continue
        called = str(spec.getattribute("name") or "") if len(specs) > 1 and index != part else ""
        places: dict[str, dict[str, int]] = {}
        for place, channel in enumerate(spec.channelnames):
            layer, _, leaf = channel.rpartition(".")
            light = layer.rpartition(".")[2] or called
            places.setdefault(light, {}).setdefault(leaf.casefold(), place)
        names = tuple(light for light in lights if {"r", "g", "b"} <= places.get(light, {}).keys())
        if names:
            channels = [places[light][leaf] for light in names for leaf in "rgb"]
            found.append(OfLights(names, index, channels))
    return found


@contextmanager
def opened_frame(path: Path) -> Iterator[Any]:
    if start_of(path, 4) != _EXR_MAGIC:
        raise UnreadablePictureError("it is no OpenEXR picture, whatever its ending says")
    import OpenImageIO  # only where a frame is measured

    OpenImageIO.attribute("limits:channels", MOST_CHANNELS)
    try:
        with opened_picture(path, "it is damaged or cut off: its header cannot be read") as picture:
            yield picture
    except UnicodeDecodeError:
        raise UnreadablePictureError("a name in its header is no UTF-8 text") from None


def shape_of(spec: Any) -> Shape:
    width, height = int(spec.full_width), int(spec.full_height)
    if min(width, height, spec.width, spec.height) < 1 or not 1 <= spec.nchannels <= MOST_CHANNELS:
        raise UnreadablePictureError("it is damaged: it has no pixels")
    for across, down in ((width, height), (spec.width, spec.height)):
        if across * down > MOST_PIXELS:
            raise UnreadablePictureError(
                f"it is {across:,} x {down:,}; at most {MOST_PIXELS // 10**6} million pixels are read"
            )
    aspect = spec.getattribute("PixelAspectRatio")
    is_one = isinstance(aspect, float) and math.isfinite(aspect) and aspect > 0.0
    return Shape(width, height, float(aspect) if is_one else 1.0)


def specs_of(picture: Any) -> list[Any]:
    """The headers of all parts."""
    specs: list[Any] = []
    while picture.seek_subimage(len(specs), 0):
        specs.append(picture.spec(len(specs), 0))
    forget_error(picture)  # that there is no further part
    return specs


def picture_layer(specs: list[Any]) -> tuple[int, tuple[str, ...], tuple[str, ...]]:
    """The part, the channels of red, green and blue, and what to say of the choice."""
    headers: list[dict[str, Any]] = []
    for spec in specs:
        channels = [SimpleNamespace(name=name, xSampling=1, ySampling=1) for name in spec.channelnames]
        headers.append(
            {
                "name": str(spec.getattribute("name") or ""),
                "type": "deep" if spec.deep or spec.depth > 1 else "",
                "channels": channels,
            }
        )
    chosen = choose_layer(headers)
    if chosen is None:
        raise UnreadablePictureError("it is deep, and no flat picture; keep a flattened one here")
    if len(chosen.channels) != 3:
        raise UnreadablePictureError("it has no red, green and blue")
    spec = specs[chosen.part]
    for name in chosen.channels:
        if str(spec.channelformat(spec.channelnames.index(name))) == "uint":
            raise UnreadablePictureError(
                f"its channel {name} holds whole numbers, as an ID has them, and no light"
            )
    return chosen.part, chosen.channels, chosen.remarks


def matrix_to_rec709(spec: Any, space: str) -> tuple[Array | None, str]:
    """The matrix to linear Rec.709, None where it changes nothing, and what the numbers are taken as."""
    stated = spec.getattribute("chromaticities")
    if stated is not None:
        try:
            numbers = [float(number) for number in stated]
            xy = tuple(zip(numbers[0::2], numbers[1::2], strict=True))
            if len(xy) == 4:
                same = all(
                    abs(a - b) <= 1e-4
                    for one, other in zip(xy, _REC709, strict=True)
                    for a, b in zip(one, other, strict=True)
                )
                return None if same else rec709_matrix(xy[:3], xy[3]), "the primaries that the frame states"
        except (TypeError, ValueError):
            pass
        return None, "rec709, since the primaries that the frame states make no sense"
    matrix = None if space == "rec709" else TO_REC709[space]
    return matrix, f"{space}, the working space, since the frame states no primaries"


def as_rec709(rgb: Array, to_rec709: Array | None) -> Array:
    if to_rec709 is None:
        return rgb
    with np.errstate(invalid="ignore", over="ignore"):
        return np.stack([projection(np.broadcast_to(row, rgb.shape), rgb) for row in to_rec709], axis=-1)
