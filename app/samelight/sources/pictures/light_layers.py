"""A frame as a sum of its lights: what it shows with each of them brighter, dimmer or of another colour.

Light adds up, so that a layer times a factor is what its light would give with so much more of it: exact for level and colour, bounced
light and all, and for nothing else. What no layer holds stays as it is.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from samelight.light.rows import image, inverse
from samelight.light.spaces import LUMINANCE
from samelight.sources.pictures.frame_reading import (
    LineReader,
    as_rec709,
    layers_of_lights,
    matrix_to_rec709,
    opened_frame,
    picture_layer,
    shape_of,
    specs_of,
)
from samelight.sources.pictures.pictures import Half, Picture, reduced, reduction

RGB = tuple[float, float, float]
_BAND = 2**22
"""Numbers of a frame that are in memory at a time before they are reduced."""
_LARGEST_HALF = 65504.0
_DARK = 1e-6


@dataclass(frozen=True, slots=True)
class LightChange:
    """The light that a light gives in a frame and that it would give, each in linear Rec.709 in one unit."""

    now: RGB
    then: RGB


@dataclass(frozen=True, slots=True)
class LightLayers:
    """A frame and the layers of its lights, reduced, float16 of shape (height, width, 3) in the primaries of the file.

    `size` is the width and height in the file. `off` is by how many stops the layers add up to more than the frame in the mean, None where one
    of both is black. `colours` says what the numbers are taken as.
    """

    beauty: Half
    layers: Mapping[str, Half]
    to_rec709: NDArray[np.float64] | None
    size: tuple[int, int]
    off: float | None
    colours: str

    def picture(self, changes: Mapping[str, LightChange]) -> Picture:
        """The frame with the light of some layers changed; names without a layer are passed over."""
        shown = self.beauty.astype(np.float64)
        for light, change in changes.items():
            layer = self.layers.get(light)
            factors = self._factors(change)
            if layer is not None and factors != (1.0, 1.0, 1.0):
                shown += layer * (np.array(factors) - 1.0)
        linear = as_rec709(shown, self.to_rec709)
        clipped = np.clip(np.nan_to_num(linear, nan=0.0), -_LARGEST_HALF, _LARGEST_HALF)
        return Picture(np.ascontiguousarray(clipped, np.float16), self.size, True, ())

    def _factors(self, change: LightChange) -> RGB:
        """What each channel of the file is multiplied by: light is rendered in the primaries that the file has."""
        now, then = (self._in_file(rgb) for rgb in (change.now, change.then))
        weights = LUMINANCE["rec709"]
        before, after = (
            math.fsum(w * c for w, c in zip(weights, rgb, strict=True)) for rgb in (change.now, change.then)
        )
        ratio = after / before if before > 0.0 else 1.0
        red, green, blue = (
            max(b, 0.0) / a if a > _DARK * before else ratio for a, b in zip(now, then, strict=True)
        )
        return red, green, blue

    def _in_file(self, rgb: RGB) -> RGB:
        if self.to_rec709 is None:
            return rgb
        red, green, blue = image(inverse(self.to_rec709), np.array(rgb)).tolist()
        return red, green, blue


def read_light_layers(path: Path, lights: Sequence[str], space: str, longest: int) -> LightLayers:
    """A frame and the layers that it holds of these lights, reduced until neither side is longer than `longest`.

    `space` is taken for the primaries of a file that states none. Raises `UnreadablePictureError` as `measuring.frame_figures`.
    """
    with opened_frame(path) as picture:
        specs = specs_of(picture)
        part, names, _ = picture_layer(specs)
        spec = specs[part]
        shape = shape_of(spec)
        step = reduction(shape.width, shape.height, longest)
        to_rec709, colours = matrix_to_rec709(spec, space)
        beauty = _whole(
            LineReader(picture, part, spec, [spec.channelnames.index(name) for name in names]), step
        )
        layers = {}
        for of_part in layers_of_lights(specs, part, lights):
            planes = _whole(LineReader(picture, of_part.part, specs[of_part.part], of_part.channels), step)
            for at, light in enumerate(of_part.names):
                layers[light] = np.ascontiguousarray(planes[..., 3 * at : 3 * at + 3])
        return LightLayers(beauty, layers, to_rec709, shape[:2], _off(beauty, layers), colours)


def _whole(reads: LineReader, step: int) -> Half:
    """All of a picture in its display window, reduced."""
    bands = [reduced(band, step) for band in _bands(reads, step)]
    found = np.nan_to_num(np.concatenate(bands), nan=0.0)
    return np.asarray(np.clip(found, -_LARGEST_HALF, _LARGEST_HALF), dtype=np.float16)


def _bands(reads: LineReader, step: int) -> Iterator[NDArray[np.float32]]:
    spec = reads.spec
    left, right = max(spec.x, spec.full_x), min(spec.x + spec.width, spec.full_x + spec.full_width)
    high = max(step, _BAND // (spec.full_width * reads.count) // step * step)
    end = max(spec.full_height // step, 1) * step
    for top in range(0, min(end, spec.full_height), high):
        bottom = min(top + high, end, spec.full_height)
        band = np.zeros((bottom - top, spec.full_width, reads.count), np.float32)
        first, last = (min(max(y + spec.full_y, spec.y), spec.y + spec.height) for y in (top, bottom))
        if last > first and right > left:
            band[
                first - spec.full_y - top : last - spec.full_y - top, left - spec.full_x : right - spec.full_x
            ] = reads.between(range(first, last), left, right)
        yield band


def _off(beauty: Half, layers: Mapping[str, Half]) -> float | None:
    """By how many stops all layers are more than the frame, in luminance in the mean."""
    weights = np.array(LUMINANCE["rec709"])

    def light(picture: Half) -> float:
        return math.fsum((picture.reshape(-1, 3).mean(axis=0, dtype=np.float64) * weights).tolist())

    whole, parts = light(beauty), math.fsum(map(light, layers.values()))
    return math.log2(parts / whole) if whole > 0.0 and parts > 0.0 else None
