"""What stands in the way of light: triangles of named objects, and which of them a ray meets.

A ray is tested in numbers of double precision, triangle by triangle (Möller and Trumbore, 1997), in boxes of triangles
that it crosses. Where embreex is installed, each ray is first cast as three that run beside it a ten-thousandth of its
length away (more in scenes of kilometres, whose corners it rounds): where these three agree, no edge is near and theirs
is the answer; where they do not, the ray itself is tested as above. So both ways give the same hits, on every processor,
but for objects thinner than that.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from samelight.light.rows import Array, cross, lengths, projection, unit

Rows = NDArray[np.intp]
Mask = NDArray[np.bool_]

NEAR = 1e-3
"""Metres from a mark within which nothing stands in its way: a mark lies on a surface, give or take rounding."""
_BESIDE = 1e-4
"""Of a ray's length, how far beside it the three run."""
_ROUNDED = 3e-7
"""Times the metres that a scene reaches: how far off single precision may set a corner, a metre from the mark."""
_FAR = 1e30
_BOX, _BOXES = 64, 64
"""Triangles in a box, and boxes in a larger one. Neighbours in a mesh are mostly neighbours in space."""
_PAIRS = 200_000
"""Triangles that are tested at once."""
_MOST_LAYERS = 32
"""Surfaces of objects that cast no shadow here that a ray may pass through."""


@dataclass(frozen=True)
class Solids:
    """Triangles of several objects.

    `points` (n, 3) in metres; `triangles` (m, 3) are indices of points; `owner` (m,) says for each triangle which of the
    objects it belongs to. `fast` is whether embreex may be used.
    """

    points: Array
    triangles: NDArray[np.int32]
    owner: NDArray[np.int32]
    fast: bool = True
    _scenes: list[Any] = field(default_factory=list, repr=False, compare=False)

    @classmethod
    def of(cls, meshes: Iterable[tuple[Array, NDArray[np.int32]]], fast: bool = True) -> Solids:
        """The solids of meshes, each its points (n, 3) and its triangles (m, 3), in order.

        Triangles without an area, or with a corner that is no number, are left out: no ray meets them.
        """
        points: list[Array] = []
        triangles: list[NDArray[np.int32]] = []
        owner: list[NDArray[np.int32]] = []
        start = 0
        for index, (corners, faces) in enumerate(meshes):
            kept = faces[sound(corners, faces)]
            points.append(corners)
            triangles.append((kept + start).astype(np.int32))
            owner.append(np.full(len(kept), index, dtype=np.int32))
            start += len(corners)
        if not points:
            return cls(np.zeros((0, 3)), np.zeros((0, 3), np.int32), np.zeros(0, np.int32), fast)
        return cls(np.concatenate(points), np.concatenate(triangles), np.concatenate(owner), fast)

    def first(self, start: Array, ray: Array, casts: Mask | None = None) -> Rows:
        """Which object each ray meets first, shape (rays,), -1 for none.

        `start` is one place (3,), `ray` (rays, 3) leads from there to the light; an infinite one is longer than all that
        there is. `casts` says of each object whether it casts a shadow here. Of several that a ray meets, any may be named
        where their order along it is within rounding.
        """
        found = np.full(len(ray), -1, dtype=np.intp)
        if not len(self.triangles):
            return found
        size = lengths(ray)
        long = np.where(np.isfinite(size), size, _FAR)
        way = unit(ray)
        scene = self._scene()
        if scene is None:
            return self._met(start, way, long, casts)
        answers = [
            scene.first(start, beside, long, casts, self.owner) for beside in _three(way, scene.beside)
        ]
        agree = ((answers[0] >= 0) == (answers[1] >= 0)) & ((answers[0] >= 0) == (answers[2] >= 0))
        found[agree] = answers[0][agree]
        unsure = np.flatnonzero(~agree)
        if unsure.size:
            found[unsure] = self._met(start, way[unsure], long[unsure], casts)
        return found

    def _scene(self) -> _Scene | None:
        """The triangles as embreex holds them; None where it is not to be had."""
        if not self.fast:
            return None
        if not self._scenes:
            self._scenes.append(_scene_of(self.points, self.triangles))
        scene: _Scene | None = self._scenes[0]
        return scene

    @cached_property
    def _boxes(self) -> tuple[tuple[Array, Array], tuple[Array, Array]]:
        """The corners of all boxes, and of the larger ones."""
        lows, highs = [], []
        step = _BOX * 4096
        for begin in range(0, len(self.triangles), step):
            corners = self.points[self.triangles[begin : begin + step]]
            starts = np.arange(0, len(corners), _BOX)
            lows.append(np.minimum.reduceat(corners.min(axis=1), starts))
            highs.append(np.maximum.reduceat(corners.max(axis=1), starts))
        low, high = np.concatenate(lows), np.concatenate(highs)
        starts = np.arange(0, len(low), _BOXES)
        return (low, high), (np.minimum.reduceat(low, starts), np.maximum.reduceat(high, starts))

    def _met(self, start: Array, way: Array, long: Array, casts: Mask | None) -> Rows:
        """`first` in numbers of double precision."""
        nearest, found = np.full(len(way), np.inf), np.full(len(way), -1, dtype=np.intp)
        (low, high), (large_low, large_high) = self._boxes
        for begin in range(0, len(way), 64):
            rays = slice(begin, begin + 64)
            crossed = crosses(start, way[rays], long[rays], large_low, large_high).any(axis=0)
            boxes = (np.flatnonzero(crossed)[:, None] * _BOXES + np.arange(_BOXES)).ravel()
            boxes = boxes[boxes < len(low)]
            for few in range(0, boxes.size, 4096):
                some = boxes[few : few + 4096]
                ray, box = np.nonzero(crosses(start, way[rays], long[rays], low[some], high[some]))
                self._in_boxes(start, way, long, casts, (ray + begin, some[box]), (nearest, found))
        return found

    def _in_boxes(
        self,
        start: Array,
        way: Array,
        long: Array,
        casts: Mask | None,
        pairs: tuple[Rows, Rows],
        result: tuple[Array, Rows],
    ) -> None:
        """Test pairs of a ray and a box, and note of each ray what it meets nearest."""
        nearest, found = result
        step = max(1, _PAIRS // _BOX)
        for begin in range(0, pairs[0].size, step):
            rays, boxes = (part[begin : begin + step] for part in pairs)
            triangle = (boxes[:, None] * _BOX + np.arange(_BOX)).ravel()
            ray = np.repeat(rays, _BOX)
            there = triangle < len(self.triangles)
            if casts is not None:
                there[there] = casts[self.owner[triangle[there]]]
            ray, triangle = ray[there], triangle[there]
            far = _meets(start, way[ray], self.points[self.triangles[triangle]])
            hits = np.flatnonzero((far > NEAR) & (far < long[ray] * (1.0 - 1e-6)))
            # The nearest of each ray, and of those that are as near the first.
            for hit in hits[np.lexsort((triangle[hits], far[hits]))].tolist():
                one = ray[hit]
                if far[hit] < nearest[one]:
                    nearest[one], found[one] = far[hit], self.owner[triangle[hit]]


def sound(points: Array, triangles: NDArray[Any]) -> Mask:
    """Which triangles have an area, all corners being numbers, shape (m,).

    >>> corners = np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0], [2, 0, 0]])
    >>> sound(corners, np.array([[0, 1, 2], [0, 1, 3]])).tolist()
    [True, False]
    """
    kept = np.zeros(len(triangles), dtype=np.bool_)
    for begin in range(0, len(triangles), 262_144):
        a, b, c = (points[triangles[begin : begin + 262_144, corner]] for corner in range(3))
        with np.errstate(invalid="ignore", over="ignore"):
            area = lengths(cross(b - a, c - a))
        kept[begin : begin + 262_144] = np.isfinite(area) & (area > 0.0)
    return kept


def crosses(start: Array, way: Array, long: Array, low: Array, high: Array) -> Mask:
    """Whether rays from a place (3,) along unit vectors (r, 3), so long (r,), cross boxes by their corners (b, 3), shape (r, b)."""
    near, far = np.zeros((len(way), len(low))), np.broadcast_to(long[:, None], (len(way), len(low)))
    with np.errstate(divide="ignore", invalid="ignore"):
        for axis in range(3):
            inverse = 1.0 / way[:, axis, None]
            to_low, to_high = (low[:, axis] - start[axis]) * inverse, (high[:, axis] - start[axis]) * inverse
            # A ray in the plane of a side gives 0 times infinity: it may cross.
            near = np.fmax(near, np.fmin(to_low, to_high))
            far = np.fmin(far, np.fmax(to_low, to_high))
    crossed: Mask = near <= far * (1.0 + 1e-9) + 1e-9
    return crossed


def _meets(start: Array, way: Array, corners: Array) -> Array:
    """How far along its ray each triangle (n, 3, 3) is met; NaN where it is not."""
    a = corners[:, 0]
    ab, ac = corners[:, 1] - a, corners[:, 2] - a
    across = cross(way, ac)
    size = projection(ab, across)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        to_start = start - a
        u = projection(to_start, across) / size
        turned = cross(to_start, ab)
        v = projection(way, turned) / size
        far = projection(ac, turned) / size
        inside = (u >= -1e-12) & (v >= -1e-12) & (u + v <= 1.0 + 1e-12)
    return np.where(inside & np.isfinite(far), far, np.nan)


def _three(way: Array, beside: float) -> list[Array]:
    """Three unit vectors beside each of `way` (n, 3), evenly around it."""
    least = np.abs(way).argmin(axis=1)
    axis = np.eye(3)[least]
    u = unit(cross(way, axis))
    v = cross(way, u)
    turns = ((1.0, 0.0), (-0.5, 0.8660254037844386), (-0.5, -0.8660254037844386))
    return [unit(way + beside * (a * u + b * v)) for a, b in turns]


@dataclass(frozen=True)
class _Scene:
    """Triangles as embreex holds them, in numbers of single precision about a place in their midst."""

    held: Any
    middle: Array
    beside: float

    def first(
        self, start: Array, way: Array, long: Array, casts: Mask | None, owner: NDArray[np.int32]
    ) -> Rows:
        """Which object each ray meets first: past those that cast no shadow."""
        found = np.full(len(way), -1, dtype=np.intp)
        waiting = np.arange(len(way))
        begin = np.full(len(way), NEAR)
        for _ in range(_MOST_LAYERS):
            origins = (start - self.middle + way[waiting] * begin[waiting, None]).astype(np.float32)
            answer = self.held.run(origins, way[waiting].astype(np.float32), output=True)
            triangle, far = answer["primID"].astype(np.intp), answer["tfar"].astype(np.float64)
            met = (triangle >= 0) & (begin[waiting] + far < long[waiting] * (1.0 - 1e-6))
            waiting, triangle, far = waiting[met], triangle[met], far[met]
            objects = owner[triangle]
            solid = np.ones(len(waiting), dtype=np.bool_) if casts is None else casts[objects]
            found[waiting[solid]] = objects[solid]
            begin[waiting] += far * (1.0 + 1e-5) + 1e-5
            waiting = waiting[~solid]
            if not waiting.size:
                break
        return found


def _scene_of(points: Array, triangles: NDArray[np.int32]) -> _Scene | None:
    try:
        from embreex.mesh_construction import TriangleMesh
        from embreex.rtcore_scene import EmbreeScene
    except ImportError:
        return None
    used = points[np.isfinite(points).all(axis=1)]
    middle = (used.min(axis=0) + used.max(axis=0)) / 2.0
    scene = EmbreeScene()
    TriangleMesh(scene, np.nan_to_num(points - middle).astype(np.float32), np.ascontiguousarray(triangles))
    extent = float(np.abs(used - middle).max())
    return _Scene(scene, middle, max(_BESIDE, _ROUNDED * extent))


def owners(found: Rows, weights: Array, count: int) -> Array:
    """The weight of the rays that each of so many objects takes, shape (count,)."""
    taken = np.zeros(count)
    for one, weight in zip(found.tolist(), weights.tolist(), strict=True):
        if one >= 0:
            taken[one] += weight
    return taken
