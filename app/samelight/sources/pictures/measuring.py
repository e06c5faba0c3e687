"""Measuring in an OpenEXR frame: its header, and the figures of parts of it.

Only the lines, or tiles, that a part needs are unpacked. Called through `trial.tried`, since a
damaged file may take its reader down.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from samelight.light.framing import Region, Shape
from samelight.light.region_figures import Figures, figures_of, mean_luminance
from samelight.sources.pictures.frame_reading import (
    OfLights,
    Together,
    as_rec709,
    layers_of_lights,
    matrix_to_rec709,
    opened_frame,
    picture_layer,
    shape_of,
    specs_of,
)
from samelight.sources.pictures.mattes import Matte, covered, find_matte

Array = NDArray[np.float64]

MOST_COUNTED = 2**18
"""Pixels of one part that are counted: of a larger one some of its lines, all over it."""
FEWEST_COVERED = 28
"""Pixels of a part that its matte has to cover: those of a disk of six across."""

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
    with opened_frame(path) as picture:
        spec = picture.spec()
        shape = shape_of(spec)
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
    with opened_frame(path) as picture:
        specs = specs_of(picture)
        part, names, remarks = picture_layer(specs)
        shape_of(specs[part])
        to_rec709, colours = matrix_to_rec709(specs[part], space)
        frame = _Frame(picture, specs, part, names, to_rec709, layers_of_lights(specs, part, layers))
        found: dict[str, Figures | str] = {}
        means: dict[str, dict[str, float]] = {}
        wholes: dict[str, float] = {}
        for name, region in parts.items():
            measured = frame.measured(region, (mattes or {}).get(name))
            if isinstance(measured, str):
                found[name] = measured
                continue
            found[name], means[name], whole = measured
            if whole is not None:
                wholes[name] = whole
        return Parted(found, "; ".join([colours, *remarks]), means, wholes)


@dataclass(frozen=True, slots=True)
class _Frame:
    """An opened frame: what its parts are, which of them the picture is, and what brings its colours to Rec.709."""

    picture: Any
    specs: list[Any]
    part: int
    names: Sequence[str]
    to_rec709: Array | None
    lights: Sequence[OfLights]

    def measured(
        self, region: Region, matte: str | None
    ) -> tuple[Figures | str, dict[str, float], float | None] | str:
        """The figures of a region, or in words why there are none; the mean luminance of each light in it, and of all where any
        light has one."""
        spec = self.specs[self.part]
        stencil, window = _stencil(self.specs, spec, matte), _window(spec, region)
        if isinstance(stencil, str):
            return stencil
        if isinstance(window, str):
            return window
        reads = Together(self.picture, self.specs)
        beauty = reads.ask(self.part, [spec.channelnames.index(channel) for channel in self.names])
        of_lights = [(layer.names, reads.ask(layer.part, layer.channels)) for layer in self.lights]
        of_stencil = None if stencil is None else reads.ask(stencil.matte.part, stencil.channels)
        lines = reads.lines(window.top, window.bottom, window.right - window.left, MOST_COUNTED)
        given = reads.between(lines, window.left, window.right)
        covers = (
            None
            if stencil is None or of_stencil is None
            else covered(stencil.matte, given(of_stencil).astype(np.float32))
        )
        inside = _inside(spec, region, lines, window, covers)
        if isinstance(inside, str):
            return inside
        rgb = as_rec709(given(beauty), self.to_rec709)
        middle = (region.left + region.right) / 2.0
        means = {
            light: mean_luminance(as_rec709(numbers[..., at : at + 3], self.to_rec709), inside)
            for names, asked in of_lights
            for numbers in [given(asked)]
            for at, light in zip(range(0, 3 * len(names), 3), names, strict=True)
        }
        figures = figures_of(rgb, inside, middle + spec.full_x - window.left)
        return figures, means, mean_luminance(rgb, inside) if means else None


@dataclass(frozen=True, slots=True)
class _Stencil:
    """A matte, and the channels that it is in."""

    matte: Matte
    channels: list[int]


def _stencil(specs: list[Any], spec: Any, name: str | None) -> _Stencil | str | None:
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
    return _Stencil(matte, channels)


class _Window(NamedTuple):
    """Pixels of a file that a part of it is looked for in."""

    top: int
    bottom: int
    left: int
    right: int


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
    return _Window(top, bottom, left, right)


def _inside(
    spec: Any, region: Region, lines: Sequence[int], window: _Window, covers: NDArray[np.bool_] | None
) -> NDArray[np.bool_] | str:
    """Which pixels of some lines of a window lie in a region and are covered by its matte, if it has one; in words, that it is hidden."""
    across = np.arange(window.left, window.right) - spec.full_x + 0.5
    down = np.array(lines) - spec.full_y + 0.5
    inside = inside_of(region, across, down)
    if covers is None:
        return inside
    whole = int(inside.sum())
    inside &= covers
    if int(inside.sum()) < FEWEST_COVERED:
        return f"it is hidden, or not there: its matte covers {int(inside.sum())} of {whole} pixels"
    return inside


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
