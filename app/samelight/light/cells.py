"""The surface of an area light in small cells, as a mark sees it: for what changes from place to place on the light.

What has a closed form (see `shapes` and `cylinder`) is taken by that. Cells give the share of it that shaping lets through, and
from where on the light most of it comes. Each cell counts by what it adds to the illuminance; the
sums are written out in one order.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt

from samelight.light.elementary import arccos, cos, sin
from samelight.light.rows import Array, cross, lengths, level_across, projection, unit

Mask = npt.NDArray[np.bool_]


@cache
def _middles(side: int) -> tuple[Array, Array]:
    """The middles of `side` x `side` cells over a square of 1, one way and the other."""
    places = (np.arange(side) + 0.5) / side
    along, across = np.meshgrid(places, places, indexing="ij")
    return along.ravel(), across.ravel()


@dataclass(frozen=True)
class Grid:
    """Where cells lie on n lights, as shares of the two ways over each surface: from 0 to 1, or a window of that.

    `start` and `size` have the shape (n, 2); there are `side` x `side` cells in each.
    """

    start: Array
    size: Array
    side: int

    @classmethod
    def whole(cls, count: int, side: int) -> Grid:
        """All of so many lights."""
        return cls(np.zeros((count, 2)), np.ones((count, 2)), side)

    @property
    def along(self) -> Array:
        """The middles of the cells the first way, shape (n, k)."""
        return self.start[:, :1] + self.size[:, :1] * _middles(self.side)[0]

    @property
    def across(self) -> Array:
        """The middles of the cells the second way, shape (n, k)."""
        return self.start[:, 1:] + self.size[:, 1:] * _middles(self.side)[1]

    @property
    def cell(self) -> tuple[Array, Array]:
        """How far a cell goes each way, shape (n, 1) each."""
        return self.size[:, :1] / self.side, self.size[:, 1:] / self.side

    def around(self, lit: Mask) -> Grid:
        """The windows around the cells that are lit (n, k), with a cell to spare, of which each light has some."""
        shape = (lit.shape[0], self.side, self.side)
        ends = []
        for axis in (2, 1):
            part: Mask = np.logical_or.reduce(lit.reshape(shape), axis=axis)
            first = np.maximum(part.argmax(axis=1) - 1, 0)
            last = np.minimum(self.side - part[:, ::-1].argmax(axis=1) + 1, self.side)
            ends.append((first / self.side, (last - first) / self.side))
        start, size = (np.stack([end[index] for end in ends], axis=1) for index in range(2))
        return Grid(self.start + self.size * start, self.size * size, self.side)


Passes = Callable[[Array, Array, Array], Array]


@dataclass(frozen=True)
class Cells:
    """Cells of one light for n marks, k each: vectors from the mark to them and along their two edges (n, k, 3), and what
    each adds (n, k), in one measure whatever the grid."""

    places: Array
    edges: tuple[Array, Array]
    adds: Array

    @property
    def total(self) -> Array:
        """What they add together, shape (n,)."""
        return np.asarray(self.adds.sum(axis=-1))

    def shaped(self, passes: Passes, axis: Array) -> tuple[Array, Array, Array]:
        """What passes of what each cell adds, which part that is, and the cosines, shapes (n, k).

        `passes` says of unit vectors (n, k, 3) from the light to the mark, their cosines to `axis` (n, 3) and the width of a
        cell in that cosine what share each lets through.
        """
        distance = lengths(self.places)
        towards = self.places / distance[..., None]
        axis = axis[:, None, :]
        cosine = -projection(towards, axis)
        width = np.zeros_like(cosine)
        for edge in self.edges:
            width = width + np.abs(projection(edge, axis) + cosine * projection(edge, towards)) / distance
        passed = passes(-towards, cosine, width)
        return self.adds * passed, passed, cosine


def _lit(places: Array, normal: Array, outwards: Array, grid: Grid) -> Array:
    """What flat pieces of one area add: both cosines over the square of the distance."""
    squared = projection(places, places)
    here, there = projection(places, normal[:, None, :]), -projection(places, outwards)
    with np.errstate(invalid="ignore", divide="ignore"):
        added: Array = np.maximum(here, 0.0) * np.maximum(there, 0.0) / squared**2 * _area(grid)
    return added


def _square_to(axis: Array, vector: Array) -> Array:
    """The unit vectors square to an axis in the plane of it and a vector; level ones where that lies along it."""
    aside = vector - projection(vector, axis)[:, None] * axis
    along = lengths(aside) <= 1e-9 * lengths(vector)
    return np.where(along[:, None], level_across(axis), unit(aside))


def _area(grid: Grid) -> Array:
    return grid.size[:, :1] * grid.size[:, 1:]


def rect_cells(
    grid: Grid,
    to_centre: Array,
    normal: Array,
    *,
    width: Array,
    height: Array,
    direction: Array,
    across: Array,
) -> Cells:
    """A rectangle; the conventions are those of `shapes.rect_view`."""
    right = (across * width[:, None])[:, None, :]
    up = (cross(across, direction) * height[:, None])[:, None, :]
    places = (
        to_centre[:, None, :] + right * (grid.along - 0.5)[..., None] + up * (grid.across - 0.5)[..., None]
    )
    edges = (
        np.broadcast_to(right * grid.cell[0][..., None], places.shape),
        np.broadcast_to(up * grid.cell[1][..., None], places.shape),
    )
    return Cells(places, edges, _lit(places, normal, direction[:, None, :], grid))


def disk_cells(grid: Grid, to_centre: Array, normal: Array, *, radius: Array, direction: Array) -> Cells:
    """A disk; the conventions are those of `shapes.disk_view`."""
    right = _square_to(direction, to_centre)
    up = cross(right, direction)
    turn = 2.0 * np.pi * grid.across
    round_, aslant = cos(turn)[..., None], sin(turn)[..., None]
    out = right[:, None, :] * round_ + up[:, None, :] * aslant
    around = up[:, None, :] * round_ - right[:, None, :] * aslant
    far = (radius[:, None] * np.sqrt(grid.along))[..., None]
    places = to_centre[:, None, :] + out * far
    step = grid.cell[0] / 2.0
    thick = np.sqrt(grid.along + step) - np.sqrt(np.maximum(grid.along - step, 0.0))
    thick = (thick * radius[:, None])[..., None]
    edges = (out * thick, around * far * (2.0 * np.pi * grid.cell[1])[..., None])
    return Cells(places, edges, _lit(places, normal, direction[:, None, :], grid))


def sphere_cells(grid: Grid, to_centre: Array, normal: Array, *, radius: Array, direction: Array) -> Cells:
    """A sphere, by the directions in which the mark sees it: cells of one solid angle, counted from the way that it is aimed.

    >>> up = np.array([[0.0, 1.0, 0.0]])
    >>> cells = sphere_cells(Grid.whole(1, 32), 2.0 * up, up, radius=np.array([1.0]), direction=-up)
    >>> round(float(cells.total[0]) / 32**2, 3)  # the mean cosine over a cap of 30 degrees
    0.933
    """
    distance = lengths(to_centre)
    with np.errstate(invalid="ignore", divide="ignore"):
        towards = to_centre / distance[:, None]
        sine = np.clip(radius / distance, 0.0, 1.0)
    cap = sine**2 / (1.0 + np.sqrt(1.0 - sine**2))
    cosine = 1.0 - cap[:, None] * grid.along
    aside = np.sqrt(np.maximum(1.0 - cosine**2, 0.0))
    right = _square_to(towards, direction)
    up = cross(right, towards)
    turn = 2.0 * np.pi * grid.across
    round_, aslant = cos(turn)[..., None], sin(turn)[..., None]
    out = right[:, None, :] * round_ + up[:, None, :] * aslant
    around = up[:, None, :] * round_ - right[:, None, :] * aslant
    places = towards[:, None, :] * cosine[..., None] + out * aside[..., None]
    with np.errstate(invalid="ignore", divide="ignore"):
        thick = (cap[:, None] * grid.cell[0] / aside)[..., None]
    edges = (
        (out * cosine[..., None] - towards[:, None, :] * aside[..., None]) * thick,
        around * (aside * 2.0 * np.pi * grid.cell[1])[..., None],
    )
    return Cells(places, edges, np.maximum(projection(places, normal[:, None, :]), 0.0) * _area(grid))


def cylinder_cells(
    grid: Grid, to_centre: Array, normal: Array, *, radius: Array, length: Array, axis: Array
) -> Cells:
    """The side of a cylinder that faces the mark; the conventions are those of `cylinder.cylinder_view`."""
    along = projection(to_centre, axis)
    flat = to_centre - along[:, None] * axis
    distance = lengths(flat)
    with np.errstate(invalid="ignore", divide="ignore"):
        facing = -flat / distance[:, None]
        half = arccos(np.clip(radius / distance, -1.0, 1.0))
    angle = half[:, None] * (2.0 * grid.along - 1.0)
    cosine, sine = cos(angle)[..., None], sin(angle)[..., None]
    side = cross(axis, facing)
    outwards = facing[:, None, :] * cosine + side[:, None, :] * sine
    around = side[:, None, :] * cosine - facing[:, None, :] * sine
    lie = (axis * length[:, None])[:, None, :]
    places = to_centre[:, None, :] + outwards * radius[:, None, None] + lie * (grid.across - 0.5)[..., None]
    edges = (
        around * ((radius * half * 2.0)[:, None] * grid.cell[0])[..., None],
        np.broadcast_to(lie * grid.cell[1][..., None], places.shape),
    )
    return Cells(places, edges, _lit(places, normal, outwards, grid))
