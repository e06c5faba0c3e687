"""Cubes, spheres, cylinders, cones and planes of a stage as triangles."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray
from pxr import UsdGeom

from samelight.light.rows import Array

_AROUND, _UPWARDS = 32, 16
"""Corners of a circle, and rings of a sphere."""

_ALONG = {"X": (2, 0, 1), "Y": (1, 2, 0), "Z": (0, 1, 2)}
"""Which of (around, around, along) X, Y and Z are, by the axis that a body lies along."""

Surface = tuple[Array, NDArray[np.int32]]


def body_of(prim: Any, time: Any) -> Surface | None:
    """The surface of a simple body in its own space; None for any other prim."""

    def size(name: str, fallback: float) -> float:
        value = prim.GetAttribute(name).Get(time)
        return fallback if value is None else float(value)

    if prim.IsA(UsdGeom.Cube):
        return _box(size("size", 2.0) / 2.0)
    if prim.IsA(UsdGeom.Sphere):
        return _turned(
            [
                (math.sin(math.pi * k / _UPWARDS), -math.cos(math.pi * k / _UPWARDS))
                for k in range(_UPWARDS + 1)
            ],
            size("radius", 1.0),
            "Z",
        )
    axis = str(prim.GetAttribute("axis").Get(time) or "Z") if prim.HasAttribute("axis") else "Z"
    if axis not in _ALONG:
        return None
    if prim.IsA(UsdGeom.Cylinder) or prim.IsA(UsdGeom.Capsule):
        radius, half = size("radius", 1.0), size("height", 2.0) / 2.0
        return _turned([(0.0, -half), (radius, -half), (radius, half), (0.0, half)], 1.0, axis)
    if prim.IsA(UsdGeom.Cone):
        half = size("height", 2.0) / 2.0
        return _turned([(0.0, -half), (size("radius", 1.0), -half), (0.0, half)], 1.0, axis)
    if prim.IsA(UsdGeom.Plane):
        half, wide = size("length", 2.0) / 2.0, size("width", 2.0) / 2.0
        flat = {"X": (half, wide), "Y": (wide, half), "Z": (wide, half)}[axis]
        corners = [
            (-flat[0], -flat[1], 0.0),
            (flat[0], -flat[1], 0.0),
            (flat[0], flat[1], 0.0),
            (-flat[0], flat[1], 0.0),
        ]
        return np.array([[corner[k] for k in _LYING[axis]] for corner in corners]), np.array(
            [[0, 1, 2], [0, 2, 3]], np.int32
        )
    return None


_LYING = {"X": (2, 1, 0), "Y": (0, 2, 1), "Z": (0, 1, 2)}
"""Which of the width, length and normal of a plane are X, Y and Z."""


def _box(half: float) -> Surface:
    corners = np.array([[x, y, z] for x in (-half, half) for y in (-half, half) for z in (-half, half)])
    sides = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
    return corners, np.array([part for a, b, c, d in sides for part in ((a, b, c), (a, c, d))], np.int32)


def _turned(outline: list[tuple[float, float]], scale: float, axis: str) -> Surface:
    """An outline (distance from the axis, place along it), from end to end, turned about the axis."""
    turns = [2.0 * math.pi * k / _AROUND for k in range(_AROUND)]
    rings = [
        [(far * scale * math.cos(turn), far * scale * math.sin(turn), along * scale) for turn in turns]
        for far, along in outline
    ]
    points = np.array([[point[k] for k in _ALONG[axis]] for ring in rings for point in ring])
    faces = []
    for ring in range(len(outline) - 1):
        for k in range(_AROUND):
            a, b = ring * _AROUND + k, ring * _AROUND + (k + 1) % _AROUND
            faces += [(a, b, b + _AROUND), (a, b + _AROUND, a + _AROUND)]
    return points, np.array(faces, np.int32)
