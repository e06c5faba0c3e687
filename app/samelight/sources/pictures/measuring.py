"""Measuring in an OpenEXR frame: its header, and the figures of parts of it.

Read by OpenImageIO, of which only the lines, or tiles, that a part needs are unpacked. Called through `trial.tried`, since a
damaged file may take its reader down.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import SimpleNamespace
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from samelight.light.framing import Region, Shape
from samelight.light.region_figures import Figures, figures_of, mean_luminance
from samelight.light.rows import projection
from samelight.light.spaces import TO_REC709, rec709_matrix
from samelight.sources.pictures.layers import choose_layer
from samelight.sources.pictures.mattes import Matte, covered, find_matte
from samelight.sources.pictures.reduced import UnreadablePictureError, forget_error, start_of

Array = NDArray[np.float64]

MOST_PIXELS = 2**28
MOST_CHANNELS = 4096
MOST_COUNTED = 2**18
"""Pixels of one part that are counted: of a larger one every second line, third line and so on."""
FEWEST_COVERED = 28
"""Pixels of a part that its matte has to cover: those of a disk of six across."""
_STRIP = 2**22
"""Numbers that are read at a time."""
_EXR_MAGIC = b"\x76\x2f\x31\x01"
_REC709 = ((0.64, 0.33), (0.30, 0.60), (0.15, 0.06), (0.3127, 0.3290))
_RGB = ("r", "g", "b"), ("red", "green", "blue")

VERSION, SHEET = "samelight:version", "samelight:sheet"
"""Attributes by which a frame says from which version of its shot's sheet it was rendered: the number, and the SHA-256 of the file."""


@dataclass(frozen=True, slots=True)
class FrameHeader:
    """What a frame's header says: the shape of its display window, from which version of a sheet it was rendered and the hash of
    that, where it says so, and what is to be said of it as a whole."""

    shape: Shape
    made_of: int | None
    made_of_sheet: str


@dataclass(frozen=True, slots=True)
class Parted:
    """The figures of parts of a frame, each by its name, or in words why there are none; and what its numbers were taken as."""

    figures: Mapping[str, Figures | str]
    colours: str
    lights: Mapping[str, Mapping[str, float]]
    wholes: Mapping[str, float]
    """Of each part the means of the layers of lights, in stops of luminance, and where it has such layers that of the picture itself."""


def frame_header(path: Path) -> FrameHeader:
    """The header of a frame. Raises `UnreadablePictureError` with the reason."""
    with _opened(path) as picture:
        spec = picture.spec()
        shape = _shape(spec)
        stated, sheet = spec.getattribute(VERSION), spec.getattribute(SHEET)
        version = (
            int(stated)
            if isinstance(stated, int) or (isinstance(stated, str) and stated.isdecimal())
            else None
        )
        return FrameHeader(shape, version, sheet if isinstance(sheet, str) else "")


def frame_figures(
    path: Path,
    parts: Mapping[str, Region],
    space: str,
    mattes: Mapping[str, str] | None = None,
    layers: Sequence[str] = (),
) -> Parted:
    """The figures of parts of a frame, in linear Rec.709: from the primaries that the file states, else from a working `space`.

    `mattes` names for some of the parts the matte in the file that alone counts of it (see `mattes.find_matte`). Of the lights whose
    `layers` the file holds, each under its light's name, the means are given.

    Raises `UnreadablePictureError`: for a frame that is damaged, deep, has no red, green and blue, or is too large.
    """
    with _opened(path) as picture:
        specs = _specs(picture)
        part, names, remarks = _layer(specs)
        spec = specs[part]
        _shape(spec)
        to_rec709, colours = _to_rec709(spec, space)
        reads = _Lines(picture, part, spec, [spec.channelnames.index(name) for name in names])
        lights = _of_lights(picture, specs, part, layers)
        found: dict[str, Figures | str] = {}
        means: dict[str, dict[str, float]] = {}
        wholes: dict[str, float] = {}
        for name, region in parts.items():
            stencil = _stencil(picture, specs, spec, (mattes or {}).get(name))
            window = _window(spec, region)
            if isinstance(stencil, str) or isinstance(window, str):
                found[name] = stencil if isinstance(stencil, str) else str(window)
                continue
            inside = _inside(spec, region, window, stencil)
            if isinstance(inside, str):
                found[name] = inside
                continue
            rgb = _as_rec709(reads.between(*window), to_rec709)
            middle = (region.left + region.right) / 2.0
            found[name] = figures_of(rgb, inside, middle + spec.full_x - window.left)
            means[name] = {
                light: mean_luminance(_as_rec709(numbers[..., at : at + 3], to_rec709), inside)
                for of_part in lights
                for numbers in [of_part.reads.between(*window)]
                for at, light in zip(range(0, 3 * len(of_part.names), 3), of_part.names, strict=True)
            }
            if means[name]:
                wholes[name] = mean_luminance(rgb, inside)
        return Parted(found, "; ".join([colours, *remarks]), means, wholes)


@dataclass(frozen=True, slots=True)
class _OfLights:
    """The layers of lights in one part of a file, whose channels are read three by three."""

    names: tuple[str, ...]
    reads: _Lines


def _of_lights(picture: Any, specs: list[Any], part: int, lights: Sequence[str]) -> list[_OfLights]:
    """The layers that are called as lights are: NAME.R, NAME.G and NAME.B, also below another name, or a part NAME with these."""
    found: list[_OfLights] = []
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
            found.append(_OfLights(names, _Lines(picture, index, spec, channels)))
    return found


@dataclass(frozen=True, slots=True)
class _Stencil:
    """A matte, and what reads its channels."""

    matte: Matte
    reads: _Lines


def _stencil(picture: Any, specs: list[Any], spec: Any, name: str | None) -> _Stencil | str | None:
    """The matte of a name; None where none is asked for; in words, why it is not there."""
    if name is None:
        return None
    matte = find_matte(name, specs)
    if matte is None:
        return f"the frame holds no layer or ID matte of {name}"
    own = specs[matte.part]
    if (own.x, own.y, own.width, own.height) != (spec.x, spec.y, spec.width, spec.height):
        return f"the matte of {name} has another size than the picture"
    channels = [own.channelnames.index(channel) for channel in matte.channels]
    return _Stencil(matte, _Lines(picture, matte.part, own, channels))


@contextmanager
def _opened(path: Path) -> Iterator[Any]:
    if start_of(path, 4) != _EXR_MAGIC:
        raise UnreadablePictureError("it is no OpenEXR picture, whatever its ending says")
    import OpenImageIO  # only where a frame is measured

    picture = OpenImageIO.ImageInput.open(str(path))
    if picture is None:
        forget_error(OpenImageIO)
        raise UnreadablePictureError("it is damaged or cut off: its header cannot be read")
    try:
        yield picture
    except UnicodeDecodeError:
        raise UnreadablePictureError("a name in its header is no UTF-8 text") from None
    finally:
        picture.close()


def _shape(spec: Any) -> Shape:
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


def _specs(picture: Any) -> list[Any]:
    """The headers of all parts."""
    specs: list[Any] = []
    while picture.seek_subimage(len(specs), 0):
        specs.append(picture.spec(len(specs), 0))
    forget_error(picture)  # that there is no further part
    return specs


def _layer(specs: list[Any]) -> tuple[int, tuple[str, ...], tuple[str, ...]]:
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
    return chosen.part, chosen.channels, chosen.remarks


def _to_rec709(spec: Any, space: str) -> tuple[Array | None, str]:
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


class _Lines:
    """Reads some lines of a few channels of a picture, in the columns that are asked for."""

    def __init__(self, picture: Any, part: int, spec: Any, channels: list[int]) -> None:
        self._picture, self._part, self.spec = picture, part, spec
        self._first, self._last = min(channels), max(channels) + 1
        self._channels = [channel - self._first for channel in channels]

    def between(self, top: int, bottom: int, left: int, right: int, step: int) -> Array:
        """Every `step`-th line from `top` on, shape (lines, right - left, channels), all in pixels of the file."""
        spec = self.spec
        at_x, at_y = (spec.tile_width, spec.tile_height) if spec.tile_width else (spec.width, 1)
        first_x = spec.x + (left - spec.x) // at_x * at_x
        last_x = min(spec.x + -(-(right - spec.x) // at_x) * at_x, spec.x + spec.width)
        lines = max(1, _STRIP // ((last_x - first_x) * (self._last - self._first)) // at_y) * at_y
        found = []
        start = spec.y + (top - spec.y) // at_y * at_y
        end = min(spec.y + -(-(bottom - spec.y) // at_y) * at_y, spec.y + spec.height)
        for begin in range(start, end, lines):
            until = min(begin + lines, end)
            part = self._whole(first_x, last_x, begin, until)
            wanted = [y - begin for y in range(max(begin, top), min(until, bottom)) if (y - top) % step == 0]
            part = part[wanted, left - first_x : right - first_x][..., self._channels]
            found.append(part.astype(np.float64))
        return np.concatenate(found)

    def _whole(self, left: int, right: int, top: int, bottom: int) -> NDArray[Any]:
        """Whole tiles, or whole lines."""
        z = self.spec.z
        wanted = self._first, self._last, "float"
        if self.spec.tile_width:
            numbers = self._picture.read_tiles(self._part, 0, left, right, top, bottom, z, z + 1, *wanted)
        else:
            numbers = self._picture.read_scanlines(self._part, 0, top, bottom, z, *wanted)
        shape = bottom - top, right - left, self._last - self._first
        if numbers is None or np.size(numbers) != shape[0] * shape[1] * shape[2]:
            forget_error(self._picture)
            raise UnreadablePictureError("it is damaged or cut off: its pixels cannot be read")
        return np.asarray(numbers, dtype=np.float32).reshape(shape)


class _Window(NamedTuple):
    """Pixels of a file that are looked at: every `step`-th line of them."""

    top: int
    bottom: int
    left: int
    right: int
    step: int


def _window(spec: Any, region: Region) -> _Window | str:
    """The pixels that a region touches, of those that there are; in words, why it cannot be looked at."""
    edges = [
        math.floor(region.left) + spec.full_x,
        math.ceil(region.right) + spec.full_x,
        math.floor(region.top) + spec.full_y,
        math.ceil(region.bottom) + spec.full_y,
    ]
    left, right = max(edges[0], spec.x), min(edges[1], spec.x + spec.width)
    top, bottom = max(edges[2], spec.y), min(edges[3], spec.y + spec.height)
    there = max(right - left, 0) * max(bottom - top, 0)
    if 2 * there < (edges[1] - edges[0]) * (edges[3] - edges[2]):
        return "most of it is outside of what was rendered"
    return _Window(top, bottom, left, right, max(1, math.ceil(there / MOST_COUNTED)))


def _inside(spec: Any, region: Region, window: _Window, stencil: _Stencil | None) -> NDArray[np.bool_] | str:
    """Which pixels of a window lie in a region and are covered by its matte; in words, that it is hidden."""
    across = np.arange(window.left, window.right) - spec.full_x + 0.5
    down = np.arange(window.top, window.bottom, window.step) - spec.full_y + 0.5
    inside = inside_of(region, across, down)
    if stencil is None:
        return inside
    whole = int(inside.sum())
    inside &= covered(stencil.matte, stencil.reads.between(*window).astype(np.float32))
    if int(inside.sum()) < FEWEST_COVERED:
        return f"it is hidden, or not there: its matte covers {int(inside.sum())} of {whole} pixels"
    return inside


def _as_rec709(rgb: Array, to_rec709: Array | None) -> Array:
    if to_rec709 is None:
        return rgb
    with np.errstate(invalid="ignore", over="ignore"):
        return np.stack([projection(np.broadcast_to(row, rgb.shape), rgb) for row in to_rec709], axis=-1)


def inside_of(region: Region, across: Array, down: Array) -> NDArray[np.bool_]:
    """Which places, by their distances from the left and upper edges of the display window, lie in a region: (down, across).

    >>> inside_of(Region(0.0, 0.0, 3.0, 3.0, True), np.array([0.5, 1.5, 2.5]), np.array([0.5, 1.5])).tolist()
    [[True, True, True], [True, True, True]]
    """
    x = (across - (region.left + region.right) / 2.0) / ((region.right - region.left) / 2.0)
    y = (down - (region.top + region.bottom) / 2.0) / ((region.bottom - region.top) / 2.0)
    if region.is_round:
        return np.asarray(x[None, :] * x[None, :] + y[:, None] * y[:, None] <= 1.0)
    return np.asarray((np.abs(x) <= 1.0)[None, :] & (np.abs(y) <= 1.0)[:, None])
