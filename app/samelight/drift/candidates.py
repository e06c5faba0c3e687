"""What could be typed to give a parameter a value: the shot's own spelling first, then the master's."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from enum import Enum
from typing import Any, Final

import numpy as np

from samelight.drift import spellings
from samelight.light.colour import to_rec709
from samelight.light.directions import (
    EULER_ORDERS,
    Array,
    Vector,
    from_euler,
    normalised,
    to_azimuth_elevation,
    to_y_up,
)
from samelight.light.locus import cct_duv
from samelight.light.primaries import rgb_of
from samelight.light.turning import from_y_up, to_euler, turn_onto
from samelight.sheets.conventions import Conventions
from samelight.sheets.units import parse_quantity
from samelight.sheets.values import Colour, Curve, FileRef, Group, Level, Value
from samelight.sheets.vocabulary import typed_names


class _Removed(Enum):
    REMOVED = "removed"


REMOVED: Final = _Removed.REMOVED
"""Stands where a name is to be taken out of a sheet."""

Edits = dict[str, Any]
"""Names of a group, dotted where they are nested, and what to type; `REMOVED` for one to take out."""


@dataclass(frozen=True, slots=True)
class Bench:
    """What candidates are made from: the group as typed in the shot and in the master (both flat), what it reads as now,
    what it should read as, and both sheets' conventions. `brightened` gives the level that edits would lead to."""

    section: str
    kind: str
    typed: Mapping[str, Any]
    like: Mapping[str, Any]
    now: Group
    wanted: Value | None
    here: Conventions
    there: Conventions
    brightened: Callable[[Edits], Value | None]


def candidates(leaf: str, bench: Bench) -> Iterator[Edits]:
    """Everything worth trying for a parameter, the likeliest first."""
    if bench.wanted is None:
        yield dict.fromkeys((name for name in _names(leaf, bench) if name in bench.typed), REMOVED)
        return
    lit = bench.section in ("lights", "environments")
    if lit and not isinstance(bench.wanted, Curve):
        special = _SPECIAL.get(leaf)
        if leaf == "rotation" and bench.section == "environments":
            special = _rotation
        if special is not None:
            yield from special(bench)
    if leaf == "texture" and isinstance(bench.wanted, FileRef):
        yield {"texture": bench.wanted.path, "sha256": bench.wanted.sha256 or REMOVED}
    elif not isinstance(bench.wanted, Curve | Colour):
        for value in spellings.plain(bench.wanted, bench.kind, bench.typed.get(leaf), bench.here):
            yield {leaf: value}
    yield from _as_the_master(leaf, bench)
    if isinstance(bench.wanted, Colour) and leaf != "colour":
        for rgb in spellings.roundings(rgb_of((bench.wanted.u, bench.wanted.v), bench.here.working_space)):
            yield {leaf: rgb}


def _names(leaf: str, bench: Bench) -> tuple[str, ...]:
    return typed_names(bench.section, leaf)


def _as_the_master(leaf: str, bench: Bench) -> Iterator[Edits]:
    """The master's own words in place of the shot's."""
    names = _names(leaf, bench)
    theirs = {name: bench.like[name] for name in names if name in bench.like}
    if theirs:
        gone = dict.fromkeys((name for name in names if name in bench.typed), REMOVED)
        yield {**gone, **theirs}
        yield theirs


def _position(bench: Bench) -> Iterator[Edits]:
    wanted = _vector(bench.wanted)
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


def _direction(bench: Bench) -> Iterator[Edits]:
    wanted = _vector(bench.wanted)
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
            yield {**{word: gone for word, gone in others.items() if word in bench.typed}, **edits}
    if not used:
        preferred = next((name for name in ways if bench.like.get(name) is not None), "direction")
        for name in dict.fromkeys((preferred, "direction")):
            yield from ways[name](bench, wanted)


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
    place = _vector(bench.now.get("position"))
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
    turned = from_euler(angles, order)
    turned = turn_onto((-turned[:, 2]).tolist(), own) @ turned
    for numbers in spellings.roundings(to_euler(turned, order)):
        yield {"rotation": numbers} if order == "XYZ" else {"rotation": numbers, "rotation_order": order}


def _by_matrix(bench: Bench, wanted: Vector) -> Iterator[Edits]:
    matrix = _four_by_four(bench.typed.get("matrix"))
    if matrix is None:
        return
    own = normalised(from_y_up(wanted, bench.here.up_axis))
    turn = turn_onto((-matrix[2, :3]).tolist(), own)
    matrix[:3, :3] = matrix[:3, :3] @ turn.T
    for numbers in spellings.roundings(matrix.ravel().tolist()):
        yield {"matrix": _matrix_as(bench.typed["matrix"], np.array(numbers, dtype=np.float64).reshape(4, 4))}


def _rotation(bench: Bench) -> Iterator[Edits]:
    """An environment's turn about the vertical, which one number says."""
    if not isinstance(bench.wanted, float):
        return
    typed = bench.typed.get("rotation")
    gone = {name: REMOVED for name in ("rotation_order", "matrix") if name in bench.typed}
    for value in spellings.spelled(bench.wanted, None if isinstance(typed, list) else typed):
        yield {"rotation": value, **gone}


def _colour(bench: Bench) -> Iterator[Edits]:
    if not isinstance(bench.wanted, Colour):
        return
    uv = (bench.wanted.u, bench.wanted.v)
    kelvin = _kelvin(bench.like.get("temperature"))
    warm: list[Edits] = []
    if kelvin is not None:
        warm = [{"temperature": text} for text in spellings.spelled(kelvin, bench.typed.get("temperature"))]
    elif bench.like.get("temperature") is None:
        warm = [{"temperature": REMOVED}] if "temperature" in bench.typed else [{}]
    tint = bench.like.get("color")
    tints: list[Edits] = [{}]
    if tint is None and "color" in bench.typed:
        tints.append({"color": REMOVED})
    elif isinstance(tint, list):
        tints.append({"color": _in_space(tint, bench)})
    for color in tints:
        for temperature in warm[:1]:
            if edits := {**temperature, **color}:
                yield edits
    found = cct_duv(*uv)
    if found is not None and bench.typed.get("temperature") is not None:
        for text in spellings.spelled(found[0], bench.typed["temperature"]):
            yield {"temperature": text}
    bare: Edits = {"temperature": REMOVED} if "temperature" in bench.typed else {}
    for rgb in spellings.roundings(rgb_of(uv, bench.here.working_space)):
        yield {"color": rgb, **bare}


def _in_space(rgb: list[Any], bench: Bench) -> list[Any]:
    """The master's red, green and blue in the shot's working space."""
    if bench.here.working_space == bench.there.working_space:
        return rgb
    try:
        plain = to_rec709(rgb, bench.there.working_space)
        columns = np.array([to_rec709(axis, bench.here.working_space) for axis in np.eye(3).tolist()]).T
        return [spellings.rounded(float(channel), 12) for channel in np.linalg.solve(columns, plain)]
    except (TypeError, ValueError):
        return rgb


def _level(bench: Bench) -> Iterator[Edits]:
    """The intensity at the shot's own exposure; or the exposure at its own intensity where that is said shorter."""
    wanted, now = bench.wanted, bench.now.get("level")
    typed = bench.typed.get("intensity", 1.0)
    if (
        not isinstance(wanted, Level)
        or isinstance(typed, dict)
        or isinstance(bench.typed.get("exposure"), dict)
    ):
        return
    if isinstance(now, Level) and now.quantity == wanted.quantity and now.value > 0.0:
        by_intensity = _scaled(typed, wanted.value / now.value)
        by_exposure = _raised(bench.typed.get("exposure", 0), wanted.value / now.value)
    else:
        lit = bench.brightened({"intensity": 1.0})
        usable = isinstance(lit, Level) and lit.quantity == wanted.quantity and lit.value > 0.0
        by_intensity = _scaled(1.0, wanted.value / lit.value) if usable and isinstance(lit, Level) else []
        by_exposure = []
    plainest = min((len(str(text)) for text in by_intensity[-1:]), default=99)
    exposures: list[Edits] = [{"exposure": text} for text in by_exposure]
    intensities: list[Edits] = [{"intensity": text} for text in by_intensity]
    shorter = by_exposure and len(str(by_exposure[-1])) + 3 < plainest
    yield from (*exposures, *intensities) if shorter else (*intensities, *exposures)


def _scaled(typed: Any, ratio: float) -> list[Any]:
    quantity = parse_quantity(typed) if isinstance(typed, str) else None
    amount = quantity.value if quantity is not None else typed
    if isinstance(amount, bool) or not isinstance(amount, int | float) or not math.isfinite(amount * ratio):
        return []
    return _settled(spellings.spelled(amount * ratio, typed))


def _raised(typed: Any, ratio: float) -> list[Any]:
    quantity = parse_quantity(typed) if isinstance(typed, str) else None
    amount = quantity.value if quantity is not None else typed
    if isinstance(amount, bool) or not isinstance(amount, int | float) or ratio <= 0.0:
        return []
    return _settled(spellings.spelled(amount + math.log2(ratio), typed))


def _settled(texts: Iterator[Any]) -> list[Any]:
    """The roundings, without those beyond twelve digits where twelve say the same as nine."""
    found = list(texts)
    return found[:-1] if len(found) > 2 and found[-2] == found[-3] else found


def _vector(value: Value | None) -> Vector | None:
    if isinstance(value, tuple) and len(value) == 3:
        return value[0], value[1], value[2]
    return None


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


def _kelvin(typed: Any) -> float | None:
    if isinstance(typed, str):
        quantity = parse_quantity(typed)
        return quantity.value if quantity is not None else None
    return float(typed) if isinstance(typed, int | float) else None


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


_SPECIAL: Mapping[str, Callable[[Bench], Iterator[Edits]]] = {
    "position": _position,
    "direction": _direction,
    "colour": _colour,
    "level": _level,
}
