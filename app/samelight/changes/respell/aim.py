"""What could be typed so that a light stands at a place, shines to a direction, or an environment is turned."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import numpy as np

from samelight.changes.respell import spellings
from samelight.changes.respell.bench import REMOVED, Bench, Edits
from samelight.light.directions import (
    EULER_ORDERS,
    Array,
    Vector,
    from_euler,
    normalised,
    to_azimuth_elevation,
    to_y_up,
)
from samelight.light.rolling import across_at
from samelight.light.rows import cross, image, product, projection, unit
from samelight.light.turning import from_y_up, to_euler, turn_onto
from samelight.sheets.conventions import Conventions
from samelight.sheets.units import parse_quantity
from samelight.sheets.values import Roll, as_vector


def position(bench: Bench) -> Iterator[Edits]:
    wanted = as_vector(bench.wanted)
    if wanted is None:
        return
    if bench.typed.get("position") is None and bench.typed.get("matrix") is not None:
        matrix = _four_by_four(bench.typed["matrix"])
        if matrix is not None:
            own = from_y_up(wanted, bench.here.up_axis)
            for moved in spellings.roundings([number / bench.here.length for number in own]):
                matrix[3, :3] = moved
                yield {"matrix": _matrix_as(bench.typed["matrix"], matrix)}
    for value in spellings.place(wanted, bench.typed.get("position"), bench.here):
        yield {"position": value}


def direction(bench: Bench) -> Iterator[Edits]:
    wanted = as_vector(bench.wanted)
    if wanted is None:
        return
    ways = {
        "direction": _by_vector,
        "azimuth": _by_azimuth,
        "target": _by_target,
        "rotation": _by_rotation,
        "matrix": _by_matrix,
    }
    used = [name for name in ways if bench.typed.get(name) is not None]
    aimed = [name for name in used if name != "matrix"] or used
    for name in aimed:
        for edits in ways[name](bench, wanted):
            # Another spelling beside it would now contradict it.
            others = {
                word: REMOVED for other in aimed if other != name for word in _TYPED_WITH.get(other, (other,))
            }
            gone = {word: removed for word, removed in others.items() if word in bench.typed}
            yield {**_without_sun(bench), **gone, **edits}
    if not used:
        preferred = next((name for name in ways if bench.like.get(name) is not None), "direction")
        for name in dict.fromkeys((preferred, "direction")):
            for edits in ways[name](bench, wanted):
                yield {**_without_sun(bench), **edits}


def _without_sun(bench: Bench) -> Edits:
    """A sun by place and time gives one direction only; another has to stand in its place."""
    return {"sun": REMOVED} if bench.typed.get("sun") is not None else {}


_TYPED_WITH = {"azimuth": ("azimuth", "elevation"), "rotation": ("rotation", "rotation_order")}


def _by_vector(bench: Bench, wanted: Vector) -> Iterator[Edits]:
    for value in spellings.aim(wanted, bench.here):
        yield {"direction": value}


def _by_azimuth(bench: Bench, wanted: Vector) -> Iterator[Edits]:
    azimuth, elevation = to_azimuth_elevation(wanted, bench.here.north)
    before = bench.typed.get("azimuth"), bench.typed.get("elevation")
    for decimals in (3, 6, 9):
        angles = (round(azimuth, decimals) % 360.0, round(elevation, decimals))
        texts = [next(spellings.spelled(a, b), None) for a, b in zip(angles, before, strict=True)]
        if None not in texts:
            yield dict(zip(("azimuth", "elevation"), texts, strict=True))
        numbers = [spellings.rounded(angle, 12) for angle in angles]
        yield dict(zip(("azimuth", "elevation"), numbers, strict=True))


def _by_target(bench: Bench, wanted: Vector) -> Iterator[Edits]:
    place = as_vector(bench.now.get("position"))
    if place is None:
        return
    known = [_place(bench.like.get("target"), bench.there), _place(bench.typed.get("target"), bench.here)]
    if known[0] is not None:
        for value in spellings.place(known[0], bench.typed.get("target"), bench.here):
            yield {"target": value}
    far = math.dist(known[1], place) if known[1] is not None else 1.0
    aimed = [at + max(far, 1e-3) * to for at, to in zip(place, wanted, strict=True)]
    for value in spellings.place(aimed, bench.typed.get("target"), bench.here):
        yield {"target": value}


def _by_rotation(bench: Bench, wanted: Vector) -> Iterator[Edits]:
    order = bench.typed.get("rotation_order", bench.like.get("rotation_order", "XYZ"))
    if order not in EULER_ORDERS:
        return
    angles = _angles(bench.typed.get("rotation")) or (0.0, 0.0, 0.0)
    own = normalised(from_y_up(wanted, bench.here.up_axis))
    for pair in _keeping_roll(own, angles[2], order):
        for numbers in spellings.roundings((*pair, angles[2])):
            yield {"rotation": numbers} if order == "XYZ" else {"rotation": numbers, "rotation_order": order}
    turned = from_euler(angles, order)
    turned = product(turn_onto((-turned[:, 2]).tolist(), own), turned)
    for numbers in spellings.roundings(to_euler(turned, order)):
        yield {"rotation": numbers} if order == "XYZ" else {"rotation": numbers, "rotation_order": order}


def _keeping_roll(aim: Vector, z: float, order: str) -> list[tuple[float, float]]:
    """Angles about x and y that aim a light while that about z stays; none where z turns between the two."""
    flat = order.replace("Z", "")
    if order[1] == "Z" and z != 0.0:
        return []
    x, y, depth = image(from_euler((0.0, 0.0, -z)), np.array(aim)).tolist() if order[2] == "Z" else aim
    if flat == "XY":
        return [(math.degrees(math.asin(min(max(y, -1.0), 1.0))), math.degrees(math.atan2(-x, -depth)))]
    return [(math.degrees(math.atan2(y, -depth)), math.degrees(math.asin(min(max(-x, -1.0), 1.0))))]


def _by_matrix(bench: Bench, wanted: Vector) -> Iterator[Edits]:
    matrix = _four_by_four(bench.typed.get("matrix"))
    if matrix is None:
        return
    own = normalised(from_y_up(wanted, bench.here.up_axis))
    turn = turn_onto((-matrix[2, :3]).tolist(), own)
    matrix[:3, :3] = product(matrix[:3, :3], turn.T)
    for numbers in spellings.roundings(matrix.ravel().tolist()):
        yield {"matrix": _matrix_as(bench.typed["matrix"], np.array(numbers, dtype=np.float64).reshape(4, 4))}


def roll(bench: Bench) -> Iterator[Edits]:
    """A light's roll: its rotation or its matrix turned about the way it shines, else the roll by itself."""
    direction = as_vector(bench.now.get("direction"))
    if not isinstance(bench.wanted, Roll) or direction is None:
        return
    order = bench.typed.get("rotation_order", "XYZ")
    angles, matrix = _angles(bench.typed.get("rotation")), _four_by_four(bench.typed.get("matrix"))
    if bench.typed.get("roll") is None and angles is not None and order in EULER_ORDERS:
        axes = from_euler(angles, order).T
        for numbers in spellings.roundings(to_euler(_rolled(axes, bench, direction).T, order)):
            yield {"rotation": numbers}
    elif bench.typed.get("roll") is None and matrix is not None:
        matrix[:3, :3] = _rolled(matrix[:3, :3], bench, direction)
        for numbers in spellings.roundings(matrix.ravel().tolist()):
            rows = np.array(numbers, dtype=np.float64).reshape(4, 4)
            yield {"matrix": _matrix_as(bench.typed["matrix"], rows)}
    for value in spellings.spelled(bench.wanted.degrees, bench.typed.get("roll")):
        yield {"roll": value}


def _rolled(axes: Array, bench: Bench, direction: Vector) -> Array:
    """Own axes, as rows in the sheet's own frame, turned about a direction until they have the roll that is wanted."""
    assert isinstance(bench.wanted, Roll)
    wanted = across_at(np.array([direction]), np.array([bench.wanted.degrees]))[0].tolist()
    own = [np.array(from_y_up(vector, bench.here.up_axis)) for vector in (direction, wanted)]
    about, there = (unit(vector[None])[0] for vector in own)
    here = unit((axes[0] - projection(axes[0], about) * about)[None])[0]
    cosine, sine = float(projection(here, there)), float(projection(about, cross(here, there)))
    along = np.array([projection(axis, about) for axis in axes])[:, None] * about
    turned: Array = axes * cosine + cross(about[None], axes) * sine + along * (1.0 - cosine)
    return turned


def rotation(leaf: str, bench: Bench) -> Iterator[Edits]:
    """An environment's rotation, tilt or roll, each of which one number says."""
    if not isinstance(bench.wanted, float):
        return
    typed = bench.typed.get(leaf)
    gone = {name: REMOVED for name in ("rotation_order", "matrix") if name in bench.typed}
    for value in spellings.spelled(bench.wanted, None if isinstance(typed, list) else typed):
        yield {leaf: value, **gone}


def _place(typed: Any, conventions: Conventions) -> Vector | None:
    """A typed place in metres, Y-up; None where it is none."""
    if not isinstance(typed, list) or len(typed) != 3:
        return None
    read = []
    for item in typed:
        quantity = parse_quantity(item) if isinstance(item, str) else None
        if quantity is not None:
            read.append(quantity.value)
        elif isinstance(item, int | float):
            read.append(float(item) * conventions.length)
        else:
            return None
    return to_y_up(read, conventions.up_axis)


def _angles(typed: Any) -> tuple[float, ...] | None:
    if not isinstance(typed, list) or len(typed) != 3:
        return None
    read = []
    for item in typed:
        quantity = parse_quantity(item) if isinstance(item, str) else None
        if quantity is None and not isinstance(item, int | float):
            return None
        read.append(quantity.value if quantity is not None else float(item))
    return tuple(read)


def _four_by_four(typed: Any) -> Array | None:
    try:
        matrix = np.array(typed, dtype=np.float64).reshape(4, 4)
    except (TypeError, ValueError):
        return None
    return matrix


def _matrix_as(typed: Any, matrix: Array) -> list[Any]:
    """A matrix in rows where `typed` has rows, else as 16 numbers."""
    numbers = [spellings.rounded(number, 17) for number in matrix.ravel().tolist()]
    if isinstance(typed, list) and typed and isinstance(typed[0], list):
        return [numbers[row : row + 4] for row in range(0, 16, 4)]
    return numbers
