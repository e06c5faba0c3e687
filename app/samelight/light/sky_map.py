"""What a picture of the sky gives to a surface: a latitude-longitude map integrated over the hemisphere about its normal.

A map is laid out as OpenEXR and UsdLux have it: its top row is the pole, +Y; its middle column looks to +Z, and longitude
grows to the left, so that +X lies a quarter left of the middle. It is in linear Rec.709.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
import numpy.typing as npt

from samelight.light.as_stated import AsStated
from samelight.light.elementary import cos, sin
from samelight.light.rolling import Turned, axes_turned
from samelight.light.rows import Array, image
from samelight.light.spaces import LUMINANCE

WIDTH, HEIGHT = 64, 32
"""What a map is reduced to: every normal then receives what the whole map gives it within 0.07 stops."""

_TOGETHER = 2**20
"""Cells times normals that are looked at together."""


@dataclass(frozen=True, eq=False)
class Panorama(AsStated):
    """A reduced map: the mean radiance of each cell, linear Rec.709, shape (height, width, 3), 0 or more."""

    rgb: Array

    @cached_property
    def mean(self) -> Array:
        """The mean over all directions, shape (3,)."""
        *_, sizes = _cells(*self.rgb.shape[:2])
        return np.asarray((self.rgb.reshape(-1, 3) * sizes[:, None]).sum(axis=0) / (4.0 * np.pi))

    def irradiance(self, normal: Array) -> Array:
        """What surfaces of these unit normals (n, 3), in the map's own axes, receive of each channel: shape (n, 3).

        pi times the radiance for an even map. NaN in a normal stands for no surface, which receives pi times the mean.

        >>> even = Panorama("", np.ones((32, 64, 3)))
        >>> even.irradiance(np.array([[0.0, 1.0, 0.0], [np.nan] * 3])).round(2)
        array([[3.14, 3.14, 3.14],
               [3.14, 3.14, 3.14]])
        """
        x, y, z, _ = _cells(*self.rgb.shape[:2])
        found = np.empty((len(normal), 3))
        channels = self.rgb.reshape(-1, 3).T
        lit = channels.any(axis=0)
        x, y, z, channels = x[lit], y[lit], z[lit], channels[:, lit]
        step = max(1, _TOGETHER // max(x.size, 1))
        for start in range(0, len(normal), step):
            part = normal[start : start + step]
            falls = np.maximum(part[:, :1] * x + part[:, 1:2] * y + part[:, 2:] * z, 0.0)
            for channel, radiance in enumerate(channels):
                found[start : start + step, channel] = (falls * radiance).sum(axis=1)
        found[np.isnan(normal).any(axis=1)] = np.pi * self.mean
        return found


@lru_cache(maxsize=8)
def _cells(height: int, width: int) -> tuple[Array, Array, Array, Array]:
    """Of each cell of a map, row by row, the integral of its directions, of which a surface that all of it lies above sees the
    part along its normal, as x, y and z, and its solid angle. All of the shape (height x width,)."""
    polar = np.arange(height + 1) * (np.pi / height)
    longitude = (0.5 - np.arange(width + 1) / width) * (2.0 * np.pi)
    cosine, sine = cos(polar), sin(polar)
    # The integrals of sin^2, of sin cos and of sin over each band.
    flat = (np.diff(polar) - np.diff(sine * cosine)) / 2.0
    up = np.diff(sine * sine) / 2.0
    size = -np.diff(cosine)
    across, along = np.diff(cos(longitude)), -np.diff(sin(longitude))
    step = np.full(width, 2.0 * np.pi / width)
    parts = ((flat, across), (up, step), (flat, along), (size, step))
    x, y, z, whole = ((band[:, None] * part[None, :]).ravel() for band, part in parts)
    return x, y, z, whole


def seen_in(tint: Array, irradiance: Array) -> Array:
    """The luminance of irradiances (n, 3) times tints (n, 3), both linear Rec.709, shape (n,)."""
    red, green, blue = LUMINANCE["rec709"]
    passed = tint * irradiance
    return np.asarray(red * passed[:, 0] + green * passed[:, 1] + blue * passed[:, 2])


def irradiances_of_maps(maps: npt.NDArray[np.object_], normal: Array, turn: Array) -> Array:
    """What surfaces receive of maps of a level of 1, linear Rec.709, shape (n, 3); pi each where there is no map.

    `normal` (n, 3) are unit vectors in the world, NaN for no surface, `turn` (n, 3) the rotation, tilt and roll of each map in
    degrees. What is asked for alike is worked out once.
    """
    found = np.full((len(normal), 3), np.pi)
    for sky in dict.fromkeys(maps.tolist()):
        if sky is None:
            continue
        rows = np.array([index for index, one in enumerate(maps.tolist()) if one == sky], dtype=np.intp)
        asked = [*map(tuple, np.concatenate((normal[rows], turn[rows]), axis=1).astype(str).tolist())]
        places = {one: place for place, one in enumerate(dict.fromkeys(asked))}
        first = dict(zip(reversed(asked), reversed(rows.tolist()), strict=True))
        own = np.empty((len(places), 3))
        for one, place in places.items():
            row = first[one]
            own[place] = image(axes_turned(Turned(*turn[row].tolist())), normal[row])
        found[rows] = sky.irradiance(own)[[places[one] for one in asked]]
    return found


def received_of_maps(maps: npt.NDArray[np.object_], normal: Array, turn: Array, tint: Array) -> Array:
    """The same as luminance x solid angle through a colour `tint` (n, 3), linear Rec.709: shape (n,), pi where there is no map."""
    seen = seen_in(tint, irradiances_of_maps(maps, normal, turn))
    return np.where([one is not None for one in maps.tolist()], seen, np.pi)
