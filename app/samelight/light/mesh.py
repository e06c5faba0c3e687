"""Lights that are geometry: triangles that shine to the side from which their corners go round against the clock."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from samelight.light.as_stated import AsStated
from samelight.light.rows import Array, cross, lengths, projection
from samelight.light.shapes import polygon_view

MOST = 512
"""Triangles that are counted of one light."""
_TOGETHER = 4096
"""Triangles times marks that are looked at together."""


@dataclass(frozen=True, eq=False)
class Mesh(AsStated):
    """Triangles of a light in its own axes, metres from where it stands: corners of the shape (triangles, 3 corners, 3)."""

    corners: Array

    @cached_property
    def area(self) -> float:
        """The area of all triangles, square metres."""
        a, b, c = (self.corners[:, corner] for corner in range(3))
        return float(lengths(cross(b - a, c - a)).sum() / 2.0)

    def view(self, to_centre: Array, normal: Array, direction: Array, across: Array) -> Array:
        """The projected solid angle (sr) of what marks see of it, shape (n,), none of it hiding another part.

        `to_centre`, `normal` and the unit vectors of where it shines to (its own -Z) and of its own +X have the shape (n, 3).

        >>> square = mesh_of("-1 -1 0 1 -1 0 1 1 0 -1 1 0; 2 1 0 3 2 0")
        >>> up, down = np.array([[0.0, 1.0, 0.0]]), np.array([[0.0, -1.0, 0.0]])
        >>> square.view(2.0 * up, up, down, np.array([[1.0, 0.0, 0.0]])).round(4)  # as a rect of 2 x 2 m at 2 m
        array([0.7523])
        """
        up = cross(across, direction)
        found = np.empty(len(to_centre))
        step = max(1, _TOGETHER // max(len(self.corners), 1))
        for start in range(0, len(found), step):
            rows = slice(start, start + step)
            axes = [axis[rows][:, None, :] for axis in (across, up, -direction)]
            corners = [
                to_centre[rows][:, None, :]
                + sum(self.corners[None, :, corner, axis, None] * axes[axis] for axis in range(3))
                for corner in range(3)
            ]
            faces = cross(corners[1] - corners[0], corners[2] - corners[0])
            seen = polygon_view(corners, np.broadcast_to(normal[rows][:, None, :], faces.shape))
            found[rows] = np.where(projection(faces, corners[0]) < 0.0, seen, 0.0).sum(axis=-1)
        return np.where(np.isnan(projection(to_centre, direction)), np.nan, found)


def mesh_of(text: str) -> Mesh | None:
    """The light that a sheet holds as `x y z …; a b c …`, points and the numbers of each triangle's; None where the text is none.

    >>> mesh_of("0 0 0 1 0 0 0 2 0; 0 1 2").area, mesh_of("0 0 0; 0 1 2"), mesh_of("")
    (1.0, None, None)
    """
    places, _, corners = text.partition(";")
    try:
        points = [float(word) for word in places.split()]
        numbers = [int(word) for word in corners.split()]
    except ValueError:
        return None
    if not points or not numbers or len(points) % 3 or len(numbers) % 3 or len(numbers) > 3 * MOST:
        return None
    if (
        not all(math.isfinite(number) for number in points)
        or not 0 <= min(numbers) <= max(numbers) < len(points) // 3
    ):
        return None
    mesh = Mesh(text, np.array(points).reshape(-1, 3)[numbers].reshape(-1, 3, 3))
    return mesh if mesh.area > 0.0 else None


def mesh_text(points: list[list[float]], triangles: list[tuple[int, int, int]]) -> str:
    """Points in metres and triangles as text for a sheet."""
    places = " ".join(f"{number + 0.0:.7g}" for point in points for number in point)
    return f"{places}; {' '.join(str(corner) for triangle in triangles for corner in triangle)}"
