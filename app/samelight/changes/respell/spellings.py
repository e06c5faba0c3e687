"""One number, vector or name as a sheet would type it: in its own units, axes and way of writing."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from typing import Any

from samelight.light.directions import Vector
from samelight.light.levels import UNIT_OF, UNITS
from samelight.light.turning import from_y_up
from samelight.sheets import vocabulary as kinds
from samelight.sheets.conventions import Conventions
from samelight.sheets.units import MIRED, NUMBER, clock_text, parse_duration, parse_quantity
from samelight.sheets.values import Amount, FileRef, Level, Roll, Static

_WRITTEN = re.compile(rf"\s*({NUMBER})(\s*\S.*?)\s*\Z")
_UNITS = {"length": "m", "angle": "deg", "temperature": "K", "stops": "st", "duration": "s"}
ROUNDINGS = (6, 9, 12, 17)
"""Significant digits to try: the fewest that still read as the value are what a person would type."""


def rounded(number: float, digits: int) -> int | float:
    """A number to so many significant digits, whole where it is whole.

    >>> rounded(3.4999999999999996, 6), rounded(350.0, 6)
    (3.5, 350)
    """
    short = float(f"{number:.{digits}g}") + 0.0
    return int(short) if short.is_integer() and abs(short) < 1e15 else short


def roundings(numbers: Sequence[float]) -> Iterator[list[int | float]]:
    """The numbers with ever more digits, counted from the largest of them; the last as they are. None where one is not finite,
    which nobody can type.

    >>> next(roundings([-1.0, 6e-17, 0.3333333333]))
    [-1, 0, 0.33333]
    """
    if not all(map(math.isfinite, numbers)):
        return
    largest = max((abs(number) for number in numbers), default=0.0)
    for digits in ROUNDINGS[:-1]:
        decimals = digits - 1 - math.floor(math.log10(largest)) if largest > 0.0 else digits
        yield [rounded(round(number, decimals), ROUNDINGS[-1]) for number in numbers]
    yield [rounded(number, ROUNDINGS[-1]) for number in numbers]


def spelled(number: float, typed: Any, unit: float = 1.0) -> Iterator[Any]:
    """A number in canonical units as `typed` writes its own: bare, in `unit` canonical units, or with the unit it has.

    >>> next(spelled(3.5, 120, unit=0.01)), next(spelled(3.5, "120 cm")), next(spelled(5000.0, "250 mired"))
    (350, '350 cm', '200 mired')
    """
    if not isinstance(typed, str):
        for [short] in roundings([number / unit]):
            yield short
        return
    written, quantity = _WRITTEN.match(typed), parse_quantity(typed)
    if written is None or quantity is None or not quantity.value or not float(written[1]):
        if parse_duration(typed) is not None:
            yield clock_text(number)
        return
    if quantity.unit in MIRED:
        amount = 1e6 / number if number else 0.0
    else:
        amount = number / (quantity.value / float(written[1]))
    if parse_duration(typed) is not None and sum(character.isalpha() for character in typed) > 1:
        yield clock_text(number)
    for [short] in roundings([amount]):
        yield f"{short}{written[2]}"


def place(vector: Sequence[float], typed: Any, here: Conventions) -> Iterator[list[Any]]:
    """A place in metres, Y-up, as a list of three in the sheet's axes and unit of length."""
    own = from_y_up(vector, here.up_axis)
    if isinstance(typed, list) and len(typed) == 3 and any(isinstance(item, str) for item in typed):
        parts = [list(spelled(number, item, here.length)) for number, item in zip(own, typed, strict=True)]
        if all(parts):
            yield [part[0] for part in parts]
            yield [part[-1] for part in parts]
    yield from roundings([number / here.length for number in own])


def aim(vector: Vector, here: Conventions) -> Iterator[list[Any]]:
    """A unit vector, Y-up, in the sheet's axes."""
    yield from roundings(from_y_up(vector, here.up_axis))


def plain(value: Static, kind: str, typed: Any, here: Conventions) -> Iterator[Any]:
    """Every way to type a canonical value of this kind, the likest to `typed` first; colours have none."""
    match value:
        case bool() | str():
            yield value
        case float() if kind == kinds.LENGTH and value > 0.0:
            yield from spelled(value, typed, here.length)
            yield f"{rounded(value, 12)} m"
        case float():
            yield from spelled(value, typed)
            yield from spelled(value, None)
        case frozenset():
            yield members(value, typed)
        case tuple() if kind == kinds.POSITION and len(value) == 3:
            yield from place(value, typed, here)
        case tuple() if kind == kinds.DIRECTION and len(value) == 3:
            yield from aim((value[0], value[1], value[2]), here)
        case tuple():
            yield from roundings(value)
        case Level(amount, quantity):
            yield from spelled(amount, typed)
            yield from spelled(amount, None)
            if quantity != UNITS["relative"]:
                yield f"{rounded(amount, 12)} {UNIT_OF.get(quantity, quantity)}"
        case Roll(degrees, _, _):
            yield from spelled(degrees, typed)
        case FileRef(path, _):
            yield path
        case Amount(amount, dimension):
            yield from spelled(amount, typed)
            yield f"{rounded(amount, 12)} {_UNITS.get(dimension, dimension)}"


def members(value: frozenset[str], typed: Any) -> list[str]:
    """A set as a list: what `typed` has of it in that order, then the rest by name.

    >>> members(frozenset({"camera", "volume", "diffuse"}), ["volume", "indirect", "camera"])
    ['volume', 'camera', 'diffuse']
    """
    listed = [typed] if isinstance(typed, str) else typed if isinstance(typed, list) else []
    kept = [member for member in dict.fromkeys(map(str, listed)) if member in value]
    return [*kept, *sorted(value - set(kept))]
