"""Rays from a mark to the parts of a light, always the same ones, each with the light that comes along it.

Parts of a rectangle are spread by the R2 sequence (Roberts, "The unreasonable effectiveness of quasirandom sequences",
2018), those of a disc by the golden angle (Vogel, 1979), neither of which needs random numbers: 64 of a light, 256 of a sky.
"""

from __future__ import annotations

import math
from functools import cache
from typing import NamedTuple

import numpy as np

from samelight.light.elementary import cos, sin
from samelight.light.levels import (
    FALLBACK_ANGLE,
    FALLBACK_HEIGHT,
    FALLBACK_LENGTH,
    FALLBACK_RADIUS,
    FALLBACK_WIDTH,
)
from samelight.light.marks import Source
from samelight.light.mesh import Mesh
from samelight.light.rows import Array, cross, lengths, level_across, projection, unit

OF_A_LIGHT, OF_A_SKY = 64, 256

_STEP_U, _STEP_V = 0.7548776662466927, 0.5698402909980532
"""1 / p and 1 / p^2, where p is the real root of p^3 = p + 1."""

_GOLDEN = math.pi * (3.0 - math.sqrt(5.0))
"""Radians: the golden angle."""


class Rays(NamedTuple):
    """Rays from a mark: `way` (n, 3) leads to a part of the light, infinite where it has no place; `weight` (n,) is how much of its light comes along it."""

    way: Array
    weight: Array


def rays_to(source: Source, place: Array, normal: Array | None) -> Rays | None:
    """The rays from a mark (3,) with its `normal` (3,), or None where it faces the light, to one light at one moment.

    None where the light has no place or direction, or its shape is not one whose light is counted.

    >>> rays = rays_to(Source("environment", 1.0), np.zeros(3), np.array([0.0, 1.0, 0.0]))
    >>> rays.way.shape, bool((rays.way[:, 1] >= 0.0).all())
    ((256, 3), True)
    """
    shape = source.shape
    if shape in ("environment", "dome"):
        return _to_sky(normal)
    if shape == "distant":
        return _to_distant(source, normal)
    if source.position is None:
        return None
    centre = _vector(source.position) - place
    if not np.isfinite(centre).all():
        return None
    facing = unit(centre[None])[0] if normal is None else normal
    return _to_placed(source, centre, facing)


def _to_placed(source: Source, centre: Array, facing: Array) -> Rays | None:
    shape, radius = source.shape, _number(source.radius)
    if shape in ("point", "spot") and not radius > 0.0:
        return _weighed(centre[None], facing, np.ones(1))
    if shape in ("point", "spot", "sphere"):
        return _to_sphere(centre, FALLBACK_RADIUS if math.isnan(radius) else radius, facing)
    direction = None if source.direction is None else unit(_vector(source.direction)[None])
    u, v = _spread(OF_A_LIGHT)
    if shape == "cylinder":
        if source.across is None:
            return None
        axis = unit(_vector(source.across)[None])[0]
        side = unit(cross(axis[None], centre[None]))
        length = _size(source.length, FALLBACK_LENGTH)
        parts = centre + axis * ((u - 0.5) * length)[:, None]
        wide = FALLBACK_RADIUS if math.isnan(radius) else radius
        parts = parts + side * ((2.0 * v - 1.0) * wide)[:, None]
        seen = lengths(cross(np.broadcast_to(axis, parts.shape), unit(parts)))
        return _weighed(parts, facing, seen / projection(parts, parts))
    if direction is None or not np.isfinite(direction).all():
        return None
    across = unit(_vector(source.across)[None]) if source.across is not None else level_across(direction)
    if not np.isfinite(across).all():
        across = level_across(direction)
    upright = unit(cross(direction, across))
    across = cross(upright, direction)
    if shape == "mesh":
        mesh = None if source.meshes is None else source.meshes[0]
        return None if mesh is None else _to_mesh(mesh, centre, (across, -upright, -direction), facing)
    if shape == "disk":
        share, east, north = disc(OF_A_LIGHT)
        far = np.sqrt(share) * (FALLBACK_RADIUS if math.isnan(radius) else radius)
        a, b = far * east, far * north
    elif shape == "rect":
        a = (u - 0.5) * _size(source.width, FALLBACK_WIDTH)
        b = (v - 0.5) * _size(source.height, FALLBACK_HEIGHT)
    else:
        return None
    parts = centre + across * a[:, None] + upright * b[:, None]
    tilt = np.maximum(-projection(unit(parts), np.broadcast_to(direction, parts.shape)), 0.0)
    return _weighed(parts, facing, tilt / projection(parts, parts))


def _to_mesh(mesh: Mesh, centre: Array, axes: tuple[Array, Array, Array], facing: Array) -> Rays | None:
    """Parts of the triangles that face the mark, as many of each as its area has of all of these."""
    first, second, third = (
        centre + sum(mesh.corners[:, corner, axis, None] * axes[axis] for axis in range(3))
        for corner in range(3)
    )
    faces = cross(second - first, third - first)
    shown = np.flatnonzero(projection(faces, first) < 0.0)
    if not shown.size:
        return None
    first, second, third, faces = first[shown], second[shown], third[shown], faces[shown]
    u, v = _spread(OF_A_LIGHT)
    area = lengths(faces)
    ends = np.cumsum(area)
    which = np.minimum(np.searchsorted(ends, v * ends[-1], side="right"), len(ends) - 1)
    within = np.clip(1.0 - (ends[which] - v * ends[-1]) / area[which], 0.0, 1.0)[:, None]
    root, aside = np.sqrt(within), u[:, None]
    parts = (1.0 - root) * first[which] + root * (1.0 - aside) * second[which] + root * aside * third[which]
    tilt = np.maximum(-projection(unit(parts), unit(faces[which])), 0.0)
    return _weighed(parts, facing, tilt / projection(parts, parts))


def _to_sphere(centre: Array, radius: float, facing: Array) -> Rays:
    distance = math.sqrt(float(projection(centre[None], centre[None])[0]))
    if radius >= distance:
        return Rays(centre[None], np.ones(1))
    sine = radius / distance
    way = _cap(unit(centre[None])[0], math.sqrt(1.0 - sine * sine))
    along = projection(way, np.broadcast_to(centre, way.shape))
    inside = np.maximum(radius * radius - (distance * distance - along * along), 0.0)
    return _weighed(way * (along - np.sqrt(inside))[:, None], facing, np.ones(len(way)))


def _to_distant(source: Source, normal: Array | None) -> Rays | None:
    if source.direction is None:
        return None
    to_light = -unit(_vector(source.direction)[None])[0]
    if not np.isfinite(to_light).all():
        return None
    half = math.radians(min(_size(source.angle, FALLBACK_ANGLE), 360.0)) / 2.0
    way = _cap(to_light, math.cos(half)) if half > 1e-6 else to_light[None]
    rays = _weighed(way, to_light if normal is None else normal, np.ones(len(way)))
    return Rays(_endless(rays.way), rays.weight)


def _to_sky(normal: Array | None) -> Rays:
    """A sky is as bright everywhere: parts of the hemisphere by their cosine, of the whole sphere where there is no normal."""
    share, east, north = disc(OF_A_SKY)
    height = 1.0 - 2.0 * share if normal is None else np.sqrt(1.0 - share)
    flat = np.sqrt(np.maximum(1.0 - height * height, 0.0))
    way = about(np.array([0.0, 1.0, 0.0]) if normal is None else normal, height, flat * east, flat * north)
    return Rays(_endless(way), np.ones(len(way)))


def _endless(way: Array) -> Array:
    return way * 1e30


def _cap(axis: Array, least: float) -> Array:
    """Unit vectors spread evenly over the cap about an axis in which the cosine is at least this."""
    share, east, north = disc(OF_A_LIGHT)
    height = 1.0 - share * (1.0 - least)
    flat = np.sqrt(np.maximum(1.0 - height * height, 0.0))
    return about(axis, height, flat * east, flat * north)


def about(axis: Array, height: Array, a: Array, b: Array) -> Array:
    other = np.eye(3)[int(np.abs(axis).argmin())]
    u = unit(cross(axis[None], other[None]))
    v = cross(axis[None], u)
    return np.asarray(axis * height[:, None] + u * a[:, None] + v * b[:, None])


def _weighed(parts: Array, facing: Array, weight: Array) -> Rays:
    """Each part by the cosine at the mark, over what it gives there."""
    return Rays(
        parts, weight * np.maximum(projection(unit(parts), np.broadcast_to(facing, parts.shape)), 0.0)
    )


def _spread(count: int) -> tuple[Array, Array]:
    """Points of the unit square, spread evenly."""
    steps = np.arange(count, dtype=np.float64)
    u, v = 0.5 + steps * _STEP_U, 0.5 + steps * _STEP_V
    return u - np.floor(u), v - np.floor(v)


@cache
def disc(count: int) -> tuple[Array, Array, Array]:
    """Parts of a disc of equal area: the share of it that lies within each, and the cosine and sine of where that is."""
    steps = np.arange(count, dtype=np.float64)
    turn = steps * _GOLDEN
    return (steps + 0.5) / count, cos(turn), sin(turn)


def _vector(value: object) -> Array:
    found: Array = np.asarray(value, dtype=np.float64).reshape(-1, 3)[0]
    return found


def _number(value: object) -> float:
    return float(np.asarray(value, dtype=np.float64).ravel()[0])


def _size(value: object, fallback: float) -> float:
    number = _number(value)
    return fallback if math.isnan(number) else number
