"""How a light, or a camera, is rolled about the direction it points to.

The *roll* is the turn of its own +X from the horizontal, in degrees, clockwise as seen from behind it: 0 where its width is
level. Straight up and down, where every axis across is level, it counts from +X. With the direction it says the whole
orientation.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from samelight.light.directions import HALF, UP, Vector, normalised
from samelight.light.elementary import cos, sin
from samelight.light.noise import SINGLE
from samelight.light.rows import Array, cross, image, level_across, projection
from samelight.light.turning import turn_onto

FULL = 360.0
_OPPOSITE = -1.0 + 1e-9


def across_at(direction: Array, roll: Array) -> Array:
    """A light's own +X, shape (n, 3), from the unit vectors of where it shines to and its roll in degrees, shape (n,).

    >>> across_at(np.array([[0.0, 0.0, -1.0]]), np.array([90.0])).round(9) + 0.0
    array([[ 0., -1.,  0.]])
    """
    level, turn = level_across(direction), np.radians(roll)[..., None]
    across: Array = level * cos(turn) + cross(direction, level) * sin(turn)
    return across


def roll_of(direction: Sequence[float], across: Sequence[float]) -> float:
    """The roll in (-180, 180] of what points to `direction` and whose own +X lies along `across`, the part of it that is square
    to the direction. Raises ValueError where there is none, or a vector has no length.

    >>> roll_of((0, 0, -1), (0, -2, 0)), roll_of((0, -1, 0), (1, 0, 0))
    (90.0, 0.0)
    """
    points, x = np.array(normalised(direction)), np.array(normalised(across))
    level = level_across(points)
    along, down = float(projection(x, level)), float(projection(x, cross(points, level)))
    if math.hypot(along, down) < 1e-9:
        raise ValueError("its own x axis lies along the direction, so that it has no roll")
    return _within(math.degrees(math.atan2(down, along)), FULL)


def roll_between(a: tuple[float, Vector], b: tuple[float, Vector], every: float = FULL) -> float:
    """The turn in degrees from one roll to another, each with the direction it is about; `every` so many degrees looks the same.

    Two things that point elsewhere are rolled alike if both are as level, or if one is the other turned the shortest way:
    the lesser of the two counts. So a light that pans with its width level has no roll, and neither has one that was
    nudged off the vertical, where level means nothing. Swapping the two flips the sign.

    >>> roll_between((10.0, (0.0, 0.0, -1.0)), (25.0, (0.0, 0.0, -1.0)))
    15.0
    """
    as_level = _within(b[0] - a[0], every)
    if a[1] == b[1]:
        return as_level
    first, then = (np.array(normalised(one[1])) for one in (a, b))
    if projection(first, then) <= _OPPOSITE:
        return as_level
    turn = turn_onto(first.tolist(), then.tolist())
    start = across_at(first[None], np.array([a[0]]))[0]
    end = across_at(then[None], np.array([b[0]]))[0]
    carried = image(turn, start)
    twist = math.atan2(float(projection(then, cross(carried, end))), float(projection(carried, end)))
    as_turned = _within(math.degrees(twist), every)
    return as_turned if abs(as_turned) < abs(as_level) else as_level


def _within(turn: float, every: float) -> float:
    """A turn in (-every / 2, every / 2]; half of it, but for noise, is positive."""
    rest = math.remainder(turn, every)
    return every / 2.0 if abs(rest) >= HALF * every / FULL else rest + 0.0


class Turned(NamedTuple):
    """How an environment is turned, in degrees: about the vertical first, clockwise seen from above, in [0, 360); then off it,
    in one go, about a level axis of which `tilt` (about +X) and `roll` (about +Z) are the parts. Both are 0 where it stands
    upright."""

    rotation: float
    tilt: float
    roll: float


def turned_by(east: Sequence[float], pole: Sequence[float]) -> Turned:
    """How an environment is turned whose own +X lies along `east` and whose own +Y, its pole, along `pole` (Y-up).

    A pole within `SINGLE` of the vertical is upright; one straight down has a tilt of 180. Raises ValueError for a vector of no
    length.

    >>> turned_by((1, 0, 0), (0, 0, 1)), turned_by((0, 0, 1), (0, 1, 0)), turned_by((0, 1, 0), (-1, 0, 0))
    (Turned(rotation=0.0, tilt=90.0, roll=0.0), Turned(rotation=90.0, tilt=0.0, roll=0.0), Turned(rotation=0.0, tilt=0.0, roll=90.0))
    """
    own, (x, y, z) = np.array(normalised(east)), normalised(pole)
    off = math.hypot(x, z)
    if off <= 5.0 * SINGLE:
        upright = y > 0.0
        back = np.eye(3) if upright else np.diag((1.0, -1.0, -1.0))
        tilt, roll = (0.0, 0.0) if upright else (180.0, 0.0)
    else:
        back = turn_onto((x, y, z), UP)
        angle = math.degrees(math.atan2(off, y)) / off
        tilt, roll = angle * z + 0.0, 0.0 - angle * x
    level = image(back, own)
    turn = math.degrees(math.atan2(float(level[2]), float(level[0]))) % 360.0
    return Turned(turn, tilt, roll)


def axes_turned(turned: Turned) -> Array:
    """Where the own +X, +Y and +Z of an environment lie that is turned so, as rows of an array (3, 3).

    The inverse of `turned_by`: a turn about the vertical, then one off it.

    >>> axes_turned(Turned(90.0, 0.0, 0.0)).round(9) + 0.0
    array([[ 0.,  0.,  1.],
           [ 0.,  1.,  0.],
           [-1.,  0.,  0.]])
    """
    c, s = math.cos(math.radians(turned.rotation)), math.sin(math.radians(turned.rotation))
    axes = np.array([[c, 0.0, s], [0.0, 1.0, 0.0], [-s, 0.0, c]])
    off = math.hypot(turned.tilt, turned.roll)
    if off == 0.0:
        return axes
    x, z = turned.tilt / off, turned.roll / off
    c, s = math.cos(math.radians(off)), math.sin(math.radians(off))
    # Rodrigues' formula about the level axis (x, 0, z).
    along = axes[:, 0] * x + axes[:, 2] * z
    about = np.array([x, 0.0, z])
    swung: Array = axes * c + cross(about[None, :], axes) * s + along[:, None] * about * (1.0 - c)
    return swung
