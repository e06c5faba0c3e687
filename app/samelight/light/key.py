"""Which light is the key at a mark, and from which side it comes."""

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from samelight.light.directions import HALF
from samelight.light.elementary import arctan2
from samelight.light.noise import NOISE, first_largest_of_rows
from samelight.light.rows import Array, lengths, projection, unit, vectors

Numbers = npt.ArrayLike


class Key(NamedTuple):
    """The brightest light at a mark over n moments: its column, -1 where no light reaches the mark, and its level."""

    light: npt.NDArray[np.intp]
    level: Array


def key_of(levels_at_mark: Numbers) -> Key:
    """The key among `levels_at_mark` (n moments, k lights); lights of unknown level (NaN) are left out.

    The first of lights that are equal but for noise is the key. Raises ValueError for negative levels.

    >>> key_of([[1.0, 8.0, 1.0]]).light.tolist()
    [1]
    """
    table = np.nan_to_num(np.atleast_2d(np.asarray(levels_at_mark, dtype=np.float64)), nan=0.0)
    if (table < 0.0).any():
        raise ValueError("levels at a mark are 0 or more")
    count = table.shape[0]
    if table.shape[1] == 0:
        return Key(np.full(count, -1), np.zeros(count))
    key = first_largest_of_rows(table)
    level = table[np.arange(count), key]
    return Key(np.where(level == 0.0, -1, key), level)


class KeySide(NamedTuple):
    """From which side a light comes as the camera sees it, over n shots."""

    angle: Array
    """Degrees in (-180, 180] about the vertical through the mark: 0 from the camera, positive to the camera's
    right. 0 for a light straight above or below."""
    height: Array
    """Elevation of the light as seen from the mark, degrees in -90..90."""
    name: list[str]
    """front, left, right, back, top, under, or "" where it is not known."""


FRONT_WITHIN = 22.5
BACK_BEYOND = 157.5
STEEP = 80.0
"""Degrees. A light set to a boundary stays on its side of it, however the angle was rounded."""


def key_side(light_direction: Numbers, towards_camera: Numbers) -> KeySide:
    """The side from which a light comes, as the camera sees it; both arguments (n, 3).

    `light_direction` is where the light shines to at the mark (`direction_at`); `towards_camera` points from
    the mark to the camera (or against the camera's direction). Own convention: "front" within 22.5 degrees of
    the camera's axis seen from above, "back" beyond 157.5, "left" and "right" of the picture between them;
    steeper than 80 degrees "top" or "under", as its side then means little.

    >>> side = key_side([(-1.0, 0.0, 0.0)], [(0.0, 0.0, 1.0)])  # from +X, camera looking along -Z
    >>> side.name, float(side.angle[0]), float(side.height[0])
    (['right'], 90.0, 0.0)
    """
    from_light, camera = np.broadcast_arrays(-unit(vectors(light_direction)), unit(vectors(towards_camera)))
    flat_light, flat_camera = from_light[:, [0, 2]], camera[:, [0, 2]]
    # Seen from above with +X to the right and +Z downwards, as the camera's right is.
    across = flat_camera[:, 1] * flat_light[:, 0] - flat_camera[:, 0] * flat_light[:, 1]
    along = projection(flat_camera, flat_light)
    angle = np.where(lengths(flat_light) <= LEVEL_PART, 0.0, np.degrees(arctan2(across, along)))
    angle = np.where(lengths(flat_camera) > LEVEL_PART, angle, np.nan)
    angle = np.where(np.abs(angle) >= HALF, 180.0, angle) + 0.0
    height = np.degrees(arctan2(from_light[:, 1], lengths(flat_light))) + 0.0
    return KeySide(
        angle, height, [_side(*pair) for pair in zip(angle.tolist(), height.tolist(), strict=True)]
    )


LEVEL_PART = 1e-9
"""Of a unit vector: what is no longer along the ground points straight up or down."""


def _side(angle: float, height: float) -> str:
    if abs(height) >= STEEP - NOISE:
        return "top" if height > 0.0 else "under"
    if np.isnan(angle) or np.isnan(height):
        return ""
    if abs(angle) <= FRONT_WITHIN + NOISE:
        return "front"
    if abs(angle) > BACK_BEYOND + NOISE:
        return "back"
    return "right" if angle > 0.0 else "left"
