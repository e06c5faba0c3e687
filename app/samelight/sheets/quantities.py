"""One typed parameter into one canonical value, by its kind."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Sequence
from typing import Any

from samelight.light import colour as colours
from samelight.light.directions import Vector, normalised, to_y_up
from samelight.light.levels import RELATIVE, UNITS
from samelight.sheets import vocabulary as kinds
from samelight.sheets.conventions import Conventions
from samelight.sheets.errors import Faults, Place, nearest_name
from samelight.sheets.parameters import Parameter, is_of_a_scene
from samelight.sheets.scalars import scalar
from samelight.sheets.slips import meant
from samelight.sheets.units import (
    ANGLE,
    DURATION,
    FRACTION,
    LENGTH,
    LIGHT,
    STOPS,
    TEMPERATURE,
    Quantity,
    parse_duration,
    parse_quantity,
    times,
    with_point,
)
from samelight.sheets.values import Amount, Bearing, Colour, FileRef, Level, Roll, Static

LARGEST_NUMBER = 1e100
"""A size, place or intensity beyond this would leave the range of a double when squared or cubed."""

DIMENSION_OF_KIND: dict[str, str] = {
    kinds.LENGTH: LENGTH,
    kinds.POSITION: LENGTH,
    kinds.ANGLE: ANGLE,
    kinds.TEMPERATURE: TEMPERATURE,
    kinds.FRACTION: FRACTION,
    kinds.DURATION: DURATION,
}
_WORD: dict[str, str] = {
    LENGTH: "a length, such as 3.5 or 350 cm",
    ANGLE: "an angle in degrees",
    TEMPERATURE: "a temperature, such as 4300 or 4300 K",
    STOPS: "a number of stops",
    FRACTION: "a number or a percentage",
    DURATION: "a duration, such as 18m20s, or seconds",
}
_BARE = (float, int)
"""The types of a number without a unit; a switch is none."""

_OF_UNIT: dict[str, str] = {
    LENGTH: " m",
    ANGLE: " degrees",
    TEMPERATURE: " K",
    DURATION: " s",
}


class Reader:
    """Reads the typed values of one sheet by its conventions, noting faults at their place."""

    def __init__(self, conventions: Conventions, faults: Faults) -> None:
        self.conventions = conventions
        self.faults = faults
        self.in_metres = conventions.length == 1.0

    def number(self, value: Any, dimension: str | None, place: Place) -> float | None:
        """A number in the canonical unit of its dimension (None: no unit is allowed); None after a fault."""
        if (
            type(value) in _BARE
            and (self.in_metres or dimension != LENGTH)
            and -LARGEST_NUMBER <= value <= LARGEST_NUMBER
        ):
            return float(value)
        number = _number(value, dimension, self.conventions.length)
        if number is None:
            self.faults.add(place, _unquoted(_WORD.get(dimension or "", "a number"), value), value)
        elif not abs(number) <= LARGEST_NUMBER:
            self.faults.add(place, f"a number of {LARGEST_NUMBER:g} at most, either way", value)
        else:
            return number
        return None

    def numbers(
        self, value: Any, size: int, dimension: str | None, place: Place, expected: str = ""
    ) -> tuple[float, ...] | None:
        """A list of `size` numbers, or, in words, of what is `expected`; None after a fault."""
        if not isinstance(value, list) or len(value) != size:
            self.faults.add(place, expected or f"a list of {size} numbers", value)
            return None
        if self.in_metres or dimension != LENGTH:
            plain = [
                float(item)
                for item in value
                if type(item) in _BARE and -LARGEST_NUMBER <= item <= LARGEST_NUMBER
            ]
            if len(plain) == size:
                return tuple(plain)
        read = [self.number(item, dimension, (*place, index)) for index, item in enumerate(value)]
        present = tuple(item for item in read if item is not None)
        return present if len(present) == size else None

    def position(self, value: Any, place: Place) -> Vector | None:
        """A place in metres, Y-up."""
        read = self.numbers(value, 3, LENGTH, place, "x, y and z, such as [0, 1.6, 0.2]")
        return to_y_up(read, self.conventions.up_axis) if read else None

    def direction(self, value: Any, place: Place) -> Vector | None:
        """A unit vector, Y-up."""
        read = self.numbers(value, 3, None, place, "a vector, such as [0, -1, 0]")
        if read is None:
            return None
        try:
            return normalised(to_y_up(read, self.conventions.up_axis))
        except ValueError:
            self.faults.add(place, "a vector longer than 0", value)
            return None

    def color(self, value: Any, place: Place) -> tuple[float, float, float] | None:
        """Linear RGB of the working space, not negative."""
        read = self.numbers(value, 3, None, place, "red, green and blue, such as [1, 0.9, 0.8]")
        if read is None:
            return None
        if min(read) < 0:
            self.faults.add(place, "red, green and blue of 0 or more", value)
            return None
        return read[0], read[1], read[2]

    def switch(self, value: Any, place: Place) -> bool | None:
        """True or false."""
        if isinstance(value, bool):
            return value
        self.faults.add(place, _unquoted("true or false", value), value)
        return None

    def choice_of(self, value: Any, allowed: Sequence[str], place: Place) -> str | None:
        """One of the allowed words."""
        if isinstance(value, str) and value in allowed:
            return value
        near = nearest_name(value, allowed) if isinstance(value, str) else None
        self.faults.add(place, f"one of {', '.join(allowed)}", value, near)
        return None

    def _of_words(self, value: Any, words: Sequence[str], place: Place) -> str | None:
        """One of the words that are understood, or the name of a scene's own type."""
        if isinstance(value, str) and (value in words or is_of_a_scene(value)):
            return value
        text = value if isinstance(value, str) else ""
        near = meant(text, words) or nearest_name(text.casefold(), words)
        self.faults.add(
            place, f"one of {', '.join(words)}, or a scene's own, such as StudioLight", value, near
        )
        return None

    def known(self, value: Any, parameter: Parameter, place: Place) -> Static | None:
        """The canonical value of a parameter of fixed meaning; None when it is not set, or after a fault."""
        if value is None:
            return None
        match parameter.kind:
            case kinds.SWITCH:
                return self.switch(value, place)
            case kinds.CHOICE | kinds.TEXT | kinds.FILE:
                if parameter.words:
                    return self._of_words(value, parameter.words, place)
                if isinstance(value, str) and (value.strip() or parameter.kind != kinds.CHOICE):
                    return FileRef(value) if parameter.kind == kinds.FILE else value
                self.faults.add(place, "a path" if parameter.kind == kinds.FILE else "text", value)
                return None
            case kinds.SET:
                if isinstance(value, str | list):
                    return self._set(value, place)
                self.faults.add(place, "a list of names", value)
                return None
            case kinds.COLOUR:
                rgb = self.color(value, place)
                uv = colours.chromaticity(rgb, self.conventions.working_space) if rgb else None
                return Colour(*uv) if uv else None
            case kinds.POSITION:
                return self.position(value, place)
            case kinds.DIRECTION:
                return self.direction(value, place)
        number = self.in_range(value, parameter, place)
        return Level(number) if number is not None and parameter.kind == kinds.LEVEL else number

    def in_range(self, value: Any, parameter: Parameter, place: Place) -> float | None:
        """The number of a parameter that is one, in the canonical unit of its kind; None after a fault."""
        dimension = DIMENSION_OF_KIND.get(parameter.kind)
        if parameter.kind == kinds.LENGTH and isinstance(value, int | float) and value < 0:
            dimension = None  # no length but a sign that there is no limit, as -1 is in UsdLux
        number = self.number(value, dimension, place)
        if number is None or (parameter.least is None and parameter.most is None):
            return number
        least = -math.inf if parameter.least is None else parameter.least
        most = math.inf if parameter.most is None else parameter.most
        if least <= number <= most:
            return number
        unit = _OF_UNIT.get(DIMENSION_OF_KIND.get(parameter.kind, ""), "")
        said = f"{least:g}{unit} or more" if most == math.inf else f"{least:g} to {most:g}{unit}"
        self.faults.add(place, said, value)
        return None

    def bare(self, column: Sequence[Any], parameter: Parameter) -> list[float] | None:
        """The numbers of a parameter of many lights that is no length, each typed without a unit; None where one is not, or is
        out of range."""
        least = -LARGEST_NUMBER if parameter.least is None else parameter.least
        most = LARGEST_NUMBER if parameter.most is None else parameter.most
        plain = [float(value) for value in column if type(value) in _BARE and least <= value <= most]
        return plain if len(plain) == len(column) else None

    def value(self, value: Any, kind: str | None, place: Place) -> Static | None:
        """The canonical value of a parameter of this kind; without a kind it follows from the value itself.

        A value that does not fit the kind its name suggests keeps its own form: the difference is then
        reported as drift of type, not as a fault, since unknown parameters are welcome.
        """
        if value is None:
            return None
        if kind in (kinds.CHOICE, kinds.TEXT) and isinstance(value, str | int | float):
            return _text(value)
        if kind == kinds.FILE and isinstance(value, str):
            return FileRef(value)
        if kind == kinds.SET and isinstance(value, str | list):
            return self._set(value, place)
        if isinstance(value, bool):
            return value
        if isinstance(value, int | float):
            return self._bare(float(value), kind, place)
        if isinstance(value, str):
            return None if self._has_comma(value, kind, place) else _measured(value, kind)
        if isinstance(value, list):
            return self._list(value, kind, place)
        return json.dumps(value, sort_keys=True)

    def _has_comma(self, text: str, kind: str | None, place: Place) -> bool:
        """Whether a number was written with a decimal comma, which is noted; without kind and unit it may be any text."""
        meant_as = with_point(text)
        if meant_as is None or (kind is None and " " not in meant_as):
            return False
        self.faults.add(place, "a number with a decimal point", text, meant_as)
        return True

    def _set(self, members: str | list[Any], place: Place) -> frozenset[str] | None:
        if isinstance(members, str):
            return frozenset({members})
        for index, member in enumerate(members):
            if isinstance(member, dict | list) or member is None:
                self.faults.add((*place, index), "a name", member)
                return None
        return frozenset(_text(member) for member in members)

    def _bare(self, value: float, kind: str | None, place: Place) -> Static | None:
        if kind == kinds.LENGTH:
            # A negative length is none: it says that there is no limit, as -1 does in UsdLux.
            return value if value <= 0.0 else self.number(value, LENGTH, place)
        if kind == kinds.LEVEL and value >= 0.0:
            return Level(value, UNITS[self.conventions.level])
        return value

    def _list(self, value: list[Any], kind: str | None, place: Place) -> Static | None:
        if kind == kinds.COLOUR and len(value) == 3:
            rgb = self.color(value, place)
            uv = colours.chromaticity(rgb, self.conventions.working_space) if rgb else None
            return Colour(*uv) if uv else None
        if kind == kinds.DIRECTION and len(value) == 3:
            return self.direction(value, place)
        if kind == kinds.POSITION and len(value) == 3:
            return self.position(value, place)
        if value and all(isinstance(item, str) for item in value):
            commas = [self._has_comma(item, kind, (*place, index)) for index, item in enumerate(value)]
            return None if any(commas) else self._set(value, place)
        if value and all(isinstance(item, int | float) and not isinstance(item, bool) for item in value):
            return tuple(float(item) for item in value)
        nothing = way_to_nothing(value)
        if nothing is not None:
            self.faults.add((*place, *nothing), "a value", None)
            return None
        return json.dumps(value, sort_keys=True)


def way_to_nothing(value: Any) -> Place | None:
    """The steps to the first place in lists and groups where nothing stands; None where there is none."""
    if value is None:
        return ()
    items: Iterable[tuple[str | int, Any]] = ()
    if isinstance(value, list):
        items = enumerate(value)
    elif isinstance(value, dict):
        items = value.items()
    return next(((step, *way) for step, item in items if (way := way_to_nothing(item)) is not None), None)


def _unquoted(expected: str, value: Any) -> str:
    """What was expected; where text would be right but for its quotes, that as well."""
    try:
        is_right = isinstance(value, str) and not isinstance(scalar(value), str | None)
    except ValueError:
        return expected
    return f"{expected}, without quotes" if is_right else expected


def _number(value: Any, dimension: str | None, length: float) -> float | None:
    """A number in the canonical unit of its dimension; None for what is none."""
    if isinstance(value, int | float) and not isinstance(value, bool):
        return times(value, length) if dimension == LENGTH and length != 1.0 else float(value)
    if not isinstance(value, str) or dimension is None:
        return None
    if dimension == DURATION:
        return parse_duration(value)
    quantity = parse_quantity(value)
    return quantity.value if quantity is not None and quantity.dimension == dimension else None


def _text(value: str | float) -> str:
    if isinstance(value, str):
        return value
    if isinstance(value, bool):
        return str(value).lower()
    return str(int(value)) if float(value).is_integer() else str(value)


def _measured(text: str, kind: str | None) -> Static:
    if kind == kinds.DURATION:
        seconds = parse_duration(text)
        return text if seconds is None else seconds
    quantity = parse_quantity(text)
    return text if quantity is None else _quantity(quantity, kind)


def _quantity(quantity: Quantity, kind: str | None) -> Static:
    if quantity.dimension == STOPS and kind == kinds.LEVEL and abs(quantity.value) < 1000.0:
        return Level(2.0**quantity.value, RELATIVE)
    if quantity.dimension == LIGHT:
        return (
            Level(quantity.value, UNITS[quantity.unit])
            if quantity.value >= 0
            else Amount(quantity.value, LIGHT)
        )
    if kind is not None and DIMENSION_OF_KIND.get(kind) == quantity.dimension:
        return quantity.value
    return Amount(quantity.value, quantity.dimension)


def kind_of_value(value: Static) -> str:
    """The kind of a value whose parameter's name says nothing."""
    match value:
        case bool():
            return kinds.SWITCH
        case float() | tuple():
            return kinds.NUMBER
        case frozenset():
            return kinds.SET
        case Level():
            return kinds.LEVEL
        case Colour():
            return kinds.COLOUR
        case FileRef():
            return kinds.FILE
        case Roll() | Bearing():
            return kinds.ANGLE
        case Amount(_, dimension):
            return _KIND_OF_DIMENSION.get(dimension, kinds.NUMBER)
        case _:
            return kinds.TEXT


_KIND_OF_DIMENSION: dict[str, str] = {
    LENGTH: kinds.LENGTH,
    ANGLE: kinds.ANGLE,
    TEMPERATURE: kinds.TEMPERATURE,
    FRACTION: kinds.FRACTION,
    DURATION: kinds.DURATION,
}
