"""A small renderer for tests: one grey ball without shadows or bounce light, under the lights that a sheet's tree states.

It shares nothing with the program but the trees: a pinhole camera, a sphere met in closed form, and Lambert's law. Points give
intensity over the square of the distance, distant lights their intensity, and a sky pi times its own, from everywhere alike.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from exr_help import write_exr

Array = NDArray[np.float64]
Tree = Mapping[str, Any]

SIZE = 320, 180
RADIUS = 0.1
"""Metres: a head, of which the disk that is looked at shows the inner four fifths."""


def rendered(
    tree: Tree,
    mark: str = "face",
    *,
    size: tuple[int, int] = SIZE,
    albedo: float = 0.5,
    behind: float = 0.01,
) -> Array:
    """The picture of a ball at a mark, linear, shape (height, width, 3)."""
    camera, middle = tree["camera"], np.array(tree["marks"][mark]["position"], dtype=np.float64)
    width, height = size
    forward = _unit(np.array(camera["direction"], dtype=np.float64))
    right = _unit(np.cross(forward, [0.0, 1.0, 0.0]))
    up = np.cross(right, forward)
    scale = camera["horizontal_aperture_mm"] / camera["focal_length_mm"]
    x = ((np.arange(width) + 0.5) / width - 0.5) * scale
    y = (0.5 - (np.arange(height) + 0.5) / height) * scale * height / width
    rays = _unit(forward + x[None, :, None] * right + y[:, None, None] * up)
    start = np.array(camera["position"], dtype=np.float64) - middle
    half = (rays * start).sum(axis=-1)
    inner = half * half - ((start * start).sum() - RADIUS * RADIUS)
    hit = inner > 0.0
    on = start + rays[hit] * (-half[hit] - np.sqrt(inner[hit]))[:, None]
    picture = np.full((height, width, 3), behind)
    picture[hit] = albedo / np.pi * _light(tree, on + middle, on / RADIUS)
    return picture


def _light(tree: Tree, place: Array, normal: Array) -> Array:
    total = np.zeros_like(place)
    for light in tree.get("lights", {}).values():
        colour = (
            light["intensity"] * 2.0 ** light.get("exposure", 0.0) * np.array(light.get("color", (1, 1, 1)))
        )
        if light["type"] == "distant":
            towards = np.broadcast_to(-_unit(np.array(light["direction"], dtype=np.float64)), place.shape)
            received = np.ones(len(place))
        else:
            way = np.array(light["position"], dtype=np.float64) - place
            received = 1.0 / (way * way).sum(axis=-1)
            towards = _unit(way)
        total += (received * np.maximum((towards * normal).sum(axis=-1), 0.0))[:, None] * colour
    for sky in tree.get("environments", {}).values():
        total += np.pi * sky["intensity"] * np.array(sky.get("color", (1, 1, 1)))
    return total


def _unit(vectors: Array) -> Array:
    return np.asarray(vectors / np.sqrt((vectors * vectors).sum(axis=-1))[..., None])


def write_rendered(
    path: Path,
    picture: Array,
    header: Mapping[str, Any] | None = None,
    layers: Mapping[str, Array] | None = None,
) -> Path:
    """A picture as an EXR of 32-bit numbers, with other channels beside it."""
    channels = {name: picture[..., at] for at, name in enumerate("RGB")} | dict(layers or {})
    return write_exr(
        path,
        {name: np.ascontiguousarray(of, np.float32) for name, of in channels.items()},
        **(header or {}),
    )
