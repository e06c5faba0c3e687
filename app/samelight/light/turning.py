"""From a direction back to the rotations and matrices that give it, keeping how a light is rolled and scaled."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from samelight.light.directions import EULER_ORDERS, Array, Vector, normalised
from samelight.light.rows import cross, lengths, product, projection, unit


def from_y_up(vector: Sequence[float], up_axis: str) -> Vector:
    """`vector` of the Y-up frame in that of a scene whose `up_axis` is "Y" or "Z": the inverse of `to_y_up`.

    Raises ValueError for another axis.

    >>> from_y_up((1, 3, -2), "Z")
    (1.0, 2.0, 3.0)
    """
    x, y, z = (float(number) for number in vector)
    if up_axis == "Y":
        return (x, y, z)
    if up_axis == "Z":
        return (x, 0.0 - z, y)
    raise ValueError(f"the up axis is Y or Z, found {up_axis!r}")


def turn_onto(start: Sequence[float], end: Sequence[float]) -> Array:
    """The smallest rotation that takes the direction of `start` to that of `end`, 3x3, for column vectors.

    Between opposite directions every axis across is as good as another. Rodrigues' formula. Raises ValueError for a
    vector that points nowhere.

    >>> from samelight.light.rows import image
    >>> image(turn_onto((0, 0, -1), (1, 0, 0)), np.array([0, 0, -1])).round(9) + 0.0
    array([1., 0., 0.])
    """
    a, b = np.array(normalised(start)), np.array(normalised(end))
    axis = cross(a, b)
    sine, cosine = float(lengths(axis)), float(projection(a, b))
    if sine < 1e-12:
        if cosine > 0.0:
            return np.eye(3)
        across = unit(cross(a, np.eye(3)[0 if abs(a[0]) < 0.9 else 1]))
        half_turn: Array = 2.0 * across[:, None] * across - np.eye(3)
        return half_turn
    x, y, z = axis / sine
    across_axis = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    turned: Array = np.eye(3) + sine * across_axis + (1.0 - cosine) * product(across_axis, across_axis)
    return turned


def to_euler(rotation: Array, order: str = "XYZ") -> Vector:
    """The angles about x, y and z, in degrees, whose `from_euler` in this order is the 3x3 `rotation`.

    The angle of the middle axis lies within -90..90; where it is at an end, the first axis does not turn. Raises
    ValueError for another order.

    >>> from samelight.light.directions import from_euler
    >>> [round(angle, 6) for angle in to_euler(from_euler((10, 20, 30), "ZXY"), "ZXY")]
    [10.0, 20.0, 30.0]
    """
    if order not in EULER_ORDERS:
        raise ValueError(f"rotation order {order!r} is none of {', '.join(EULER_ORDERS)}")
    i, j, k = ("XYZ".index(axis) for axis in order)
    sign = 1.0 if (j - i) % 3 == 1 else -1.0
    sine = -sign * float(rotation[k, i])
    middle = math.asin(min(max(sine, -1.0), 1.0))
    if abs(sine) < 1.0 - 1e-12:
        first = math.atan2(sign * float(rotation[k, j]), float(rotation[k, k]))
        last = math.atan2(sign * float(rotation[j, i]), float(rotation[i, i]))
    else:
        first = 0.0
        last = math.atan2(-sign * float(rotation[i, j]), float(rotation[j, j]))
    angles = dict(zip((i, j, k), (first, middle, last), strict=True))
    return (math.degrees(angles[0]), math.degrees(angles[1]), math.degrees(angles[2]))
