"""Where a thing stands and points: every spelling of a position and a direction into one."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from itertools import chain, repeat
from typing import Any, NamedTuple

import numpy as np

from samelight.light.directions import (
    EULER_ORDERS,
    Array,
    Vector,
    across_from_euler,
    across_from_matrix,
    angle_between,
    direction_from_euler,
    direction_from_matrix,
    direction_from_target,
    from_azimuth_elevation,
    from_euler,
    position_from_matrix,
    to_y_up,
)
from samelight.light.noise import figure, figure_of_typed, figures
from samelight.light.rolling import Turned, across_at, roll_of, turned_by
from samelight.sheets.errors import Found, Place
from samelight.sheets.memo import Memo
from samelight.sheets.parameters import LIGHT
from samelight.sheets.quantities import Reader
from samelight.sheets.sunlight import sun_of
from samelight.sheets.units import ANGLE, times

AGREEMENT = 1.0
"""Degrees by which two spellings of one direction may differ before that is a fault."""

CLOSENESS = 0.01
"""Metres by which a position and the matrix beside it may differ before that is a fault."""

_TWO_ANGLES = ("azimuth", "elevation")
_NO_OTHER_AIM = frozenset({*_TWO_ANGLES, "position"})
"""What may be stated where two angles are all that an aim follows from."""

Flat = Mapping[str, Any]
Numbers = tuple[float, ...]


class Aim(NamedTuple):
    """Where something stands and how it is turned; None for what is not stated.

    `across` is its own +X, square to the direction where that is known; `rolled` says that its roll is stated by itself.
    """

    position: Vector | None
    direction: Vector | None
    across: Vector | None
    rolled: bool


@Memo
def aimed(flat: Flat, read: Reader, place: Place) -> Aim:
    """Position, direction and own +X, from whichever spellings are there."""
    if flat.keys() <= _NO_OTHER_AIM:  # as most lights are
        stated = flat.get("position")
        stands = None if stated is None else read.position(stated, (*place, "position"))
        return Aim(_figures(stands), _figures(_of_two_angles(flat, read, place)), None, False)
    matrix = matrix_of(flat, read, place)
    position = position_of(flat, matrix, read, place)
    direction = _figures(direction_of(flat, position, matrix, read, place))
    across = _across_of(flat, matrix, direction, read, place)
    return Aim(_figures(position), direction, across, flat.get("roll") is not None)


def aimed_together(stated: Mapping[str, Sequence[Any]], read: Reader) -> list[Aim] | None:
    """`aimed` of many, from columns by name; None where they state more than two bare angles and a place."""
    angles = [stated.get(name) for name in _TWO_ANGLES]
    if not stated.keys() <= _NO_OTHER_AIM or None in angles:
        return None
    turned, raised = (
        read.bare(column or (), LIGHT[name]) for column, name in zip(angles, _TWO_ANGLES, strict=True)
    )
    if turned is None or raised is None:
        return None
    aims = map(from_azimuth_elevation, turned, raised, repeat(read.conventions.north))
    if "position" not in stated:
        return [Aim(None, direction, None, False) for direction in _figures_of(aims)]
    places = [read.position(value, ()) for value in stated["position"]]
    if None in places:
        return None
    stands = _figures_of(place for place in places if place is not None)
    return [Aim(*both, None, False) for both in zip(stands, _figures_of(aims), strict=True)]


def _figures_of(vectors: Iterable[Vector]) -> list[Vector]:
    """Vectors in figures."""
    numbers = figures([*chain.from_iterable(vectors)]).tolist()
    return [*zip(numbers[::3], numbers[1::3], numbers[2::3], strict=True)]


def _across_of(
    flat: Flat, matrix: Numbers | None, direction: Vector | None, read: Reader, place: Place
) -> Vector | None:
    """Where its own +X lies; its roll by itself must not contradict a rotation or a matrix."""
    turned = _euler(flat, read, place) if flat.get("rotation") is not None else None
    own: Vector | None = None
    try:
        if turned is not None:
            own = to_y_up(across_from_euler(*turned), read.conventions.up_axis)
        elif matrix is not None:
            own = to_y_up(across_from_matrix(matrix), read.conventions.up_axis)
    except ValueError:  # a matrix that scales its x axis to nothing
        own = None
    if flat.get("roll") is None:
        return own
    roll = read.number(flat["roll"], ANGLE, (*place, "roll"))
    if direction is None:
        if flat.get("direction") is None and own is None:
            read.faults.add((*place, "roll"), "a direction beside the roll", Found("none"))
        return own
    if roll is None:
        return own
    stated = _row(across_at(np.array([direction]), np.array([roll])))
    if own is not None and angle_between(own, stated) > AGREEMENT:
        found = Found(f"one {angle_between(own, stated):.1f}° away")
        read.faults.add((*place, "roll"), "the roll that its other orientation gives", found)
    return stated


def _row(array: Array) -> Vector:
    x, y, z = array[0].tolist()
    return x, y, z


def roll_about(direction: Vector, across: Vector | None) -> float:
    """The roll of an own +X about a direction, degrees; level where it is not known or lies along it."""
    try:
        return figure(roll_of(direction, across)) if across is not None else 0.0
    except ValueError:
        return 0.0


def level_about(direction: Vector) -> Vector:
    """The own +X of what points to a direction and is level."""
    return _row(across_at(np.array([direction]), np.zeros(1)))


def _figures(vector: Vector | None) -> Vector | None:
    if vector is None:
        return None
    x, y, z = vector
    return figure_of_typed(x), figure_of_typed(y), figure_of_typed(z)


def matrix_of(flat: Flat, read: Reader, place: Place) -> Numbers | None:
    """The 16 numbers of a matrix, given as such or as four rows; None without one or after a fault."""
    matrix = flat.get("matrix")
    if matrix is None:
        return None
    place = (*place, "matrix")
    if (
        isinstance(matrix, list)
        and len(matrix) == 4
        and all(isinstance(row, list) and len(row) == 4 for row in matrix)
    ):
        rows = [read.numbers(row, 4, None, (*place, index)) for index, row in enumerate(matrix)]
        whole = tuple(number for row in rows for number in row or ())
        return whole if len(whole) == 16 else None
    if isinstance(matrix, list) and len(matrix) == 16:
        return read.numbers(matrix, 16, None, place)
    read.faults.add(place, "16 numbers, or four rows of four", matrix)
    return None


def position_of(flat: Flat, matrix: Numbers | None, read: Reader, place: Place) -> Vector | None:
    """Where it stands, in metres, Y-up."""
    from_matrix = None
    if matrix is not None:
        unit = read.conventions.length
        moved = [times(number, unit) for number in position_from_matrix(matrix)]
        from_matrix = to_y_up(moved, read.conventions.up_axis)
    if flat.get("position") is None:
        return from_matrix
    stated = read.position(flat["position"], (*place, "position"))
    if stated is not None and from_matrix is not None:
        apart = math.dist(stated, from_matrix)
        if apart > CLOSENESS:
            found = Found(f"one {apart:.4g} m away")
            read.faults.add((*place, "position"), "the place that its matrix gives", found)
    return stated


def direction_of(
    flat: Flat, position: Vector | None, matrix: Numbers | None, read: Reader, place: Place
) -> Vector | None:
    """Where it shines or looks to, as a unit vector, Y-up, from whichever spellings are there."""
    of_angles = _of_two_angles(flat, read, place)
    up_axis = read.conventions.up_axis
    spellings: dict[str, Vector] = {}

    def add(name: str, expected: str, otherwise: str, make: Callable[[], Vector]) -> None:
        try:
            spellings[name] = make()
        except ValueError:
            read.faults.add((*place, name), expected, Found(otherwise))

    if flat.get("direction") is not None:
        vector = read.direction(flat["direction"], (*place, "direction"))
        if vector is not None:
            spellings["direction"] = vector
    if of_angles is not None:
        spellings["azimuth"] = of_angles
    sun = sun_of(flat, read, place)
    if sun is not None:
        spellings["sun"] = sun
    if flat.get("target") is not None:
        target = read.position(flat["target"], (*place, "target"))
        if position is None:
            if flat.get("position") is None and flat.get("matrix") is None:
                read.faults.add((*place, "target"), "a position beside the target", Found("none"))
        elif target is not None:
            expected, otherwise = "a target away from the position", "the same place"
            add("target", expected, otherwise, lambda: direction_from_target(position, target))
    turned = _euler(flat, read, place)
    if turned is not None:
        spellings["rotation"] = to_y_up(direction_from_euler(*turned), up_axis)
    if matrix is not None:
        expected, otherwise = "a matrix whose z axis has a length", "one of no length"
        add("matrix", expected, otherwise, lambda: to_y_up(direction_from_matrix(matrix), up_axis))
    return _agreed(spellings, read, place)


def _agreed(spellings: Mapping[str, Vector], read: Reader, place: Place) -> Vector | None:
    if not spellings:
        return None
    (first, vector), *others = spellings.items()
    for name, other in others:
        apart = angle_between(vector, other)
        if apart > AGREEMENT:
            found = Found(f"one {apart:.1f}° away")
            read.faults.add((*place, name), f"the aim that its {first} gives", found)
    return vector


def _of_two_angles(flat: Flat, read: Reader, place: Place) -> Vector | None:
    turned, raised = flat.get("azimuth"), flat.get("elevation")
    if turned is None or raised is None:
        if turned is not raised:
            name, other = _TWO_ANGLES if turned is None else reversed(_TWO_ANGLES)
            read.faults.add((*place, name), f"an {name} beside the {other}", Found("none"))
        return None
    azimuth = read.in_range(turned, LIGHT["azimuth"], (*place, "azimuth"))
    elevation = read.in_range(raised, LIGHT["elevation"], (*place, "elevation"))
    if azimuth is None or elevation is None:
        return None
    return from_azimuth_elevation(azimuth, elevation, read.conventions.north)


def _euler(flat: Flat, read: Reader, place: Place) -> tuple[Numbers, str] | None:
    """The angles and the order of a rotation; the order is checked where there are no angles too."""
    order = flat.get("rotation_order")
    if order is None:
        if flat.get("rotation") is None:
            return None
        order = "XYZ"
    elif isinstance(order, str):
        order = order.upper()
    order = read.choice_of(order, EULER_ORDERS, (*place, "rotation_order"))
    if flat.get("rotation") is None:
        return None
    angles = read.numbers(flat["rotation"], 3, ANGLE, (*place, "rotation"), "three angles, about x, y and z")
    return (angles, order) if angles and order else None


def is_turned_by_number(flat: Flat) -> bool:
    """Whether an environment's rotation is stated as one angle, which may count past a full turn."""
    return flat.get("rotation") is not None and not isinstance(flat["rotation"], list)


def environment_turn(flat: Flat, read: Reader, place: Place) -> Turned | None:
    """How an environment is turned, from one angle, three or a matrix.

    One angle is taken as it stands, past a full turn too; of axes the rotation lies in [0, 360).
    """
    if is_turned_by_number(flat):
        angle = read.number(flat["rotation"], ANGLE, (*place, "rotation"))
        return None if angle is None else Turned(angle, 0.0, 0.0)
    turned = _euler(flat, read, place)
    if turned is not None:
        axes = from_euler(*turned)
        east, pole = axes[:, 0].tolist(), axes[:, 1].tolist()
    else:
        matrix = matrix_of(flat, read, place)
        if matrix is None:
            return None
        east, pole = matrix[0:3], matrix[4:7]
    up_axis = read.conventions.up_axis
    for name, axis in (("y", pole), ("x", east)):
        if not any(axis):
            expected = f"a matrix whose {name} axis has a length"
            read.faults.add((*place, "matrix"), expected, Found("one of no length"))
            return None
    # A dome at rest has its pole along its own +Y; on a Z-up stage that is not yet upright.
    return turned_by(to_y_up(east, up_axis), to_y_up(pole, up_axis))
