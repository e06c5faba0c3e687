"""Rays from a camera to what it sees of a mark, always the same ones: 64, spread evenly over the mark's disk, which faces the camera.

What stands within the disk's radius about a mark is the mark: a ray ends where it enters that ball. Of a mark that lies like a floor
the surface is flat: a ray ends where it meets its plane.
"""

from __future__ import annotations

import numpy as np

from samelight.light.directions import Vector, is_lying
from samelight.light.rows import Array, projection, unit
from samelight.light.solids import NEAR
from samelight.light.toward import OF_A_LIGHT, about, disc

_FAR = 1e30
"""Metres. The squares of larger numbers cannot be added."""


def rays_from_camera(
    camera: Vector, direction: Vector, place: Vector, radius: float, normal: Vector | None
) -> Array | None:
    """Ways (64, 3) in metres from a camera at (3,), which looks along `direction`, to the disk about a mark at `place`.

    None where the mark is behind the camera, or so near that nothing stands between them.

    >>> ways = rays_from_camera((0, 0, 5), (0, 0, -1), (0, 0, 0), 0.1, None)
    >>> ways.shape, round(float(ways[:, 2].min()), 2), round(float(ways[:, 2].max()), 2)
    ((64, 3), -4.99, -4.9)
    """
    centre = np.array(place, dtype=np.float64) - np.array(camera, dtype=np.float64)
    ahead = projection(centre[None], np.array([direction], dtype=np.float64))
    if not (ahead > 0.0).all() or float(np.abs(centre).max()) > _FAR:
        return None
    share, east, north = disc(OF_A_LIGHT)
    beside = np.sqrt(share) * radius
    ways = centre + about(unit(centre[None])[0], np.zeros(OF_A_LIGHT), beside * east, beside * north)
    if normal is not None and is_lying(normal):
        before = _before_plane(ways, centre, np.array(normal))
    else:
        depth = radius * np.sqrt(1.0 - share)
        before = 1.0 - depth / np.sqrt(projection(ways, ways))
    return ways * before[:, None] if (before > 0.0).all() else None


def _before_plane(ways: Array, centre: Array, normal: Array) -> Array:
    """The share of each way to a mark's disk that lies before the plane of its surface, and before a millimetre over it."""
    to_plane = float(projection(centre[None], normal[None])[0])
    side = -1.0 if to_plane > 0.0 else 1.0
    down = projection(ways, np.broadcast_to(normal * side, ways.shape))
    with np.errstate(divide="ignore", invalid="ignore"):
        met = (to_plane * side + NEAR) / down
    return np.where(down < 0.0, np.minimum(met, 1.0), 1.0)
