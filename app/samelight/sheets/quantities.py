"""One typed parameter into one canonical value, by its kind."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from samelight.light import colour as colours
from samelight.light.directions import Vector, normalised, to_y_up
from samelight.sheets import vocabulary as kinds
from samelight.sheets.conventions import Conventions
from samelight.sheets.errors import Faults, Place
from samelight.sheets.units import (
    ANGLE,
    DURATION,
    FRACTION,
    LENGTH,
    LIGHT,
    STOPS,
    TEMPERATURE,
    Quantity,
    parse_quantity,
)
from samelight.sheets.values import Amount, Colour, FileRef, Level, Static

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
    FRACTION: "a number or a percentage",
    DURATION: "a duration in seconds, or such as 18m20s",
}


class Reader:
    """Reads the typed values of one sheet by its conventions, noting faults at their place."""

    def __init__(self, conventions: Conventions, faults: Faults) -> None:
        self.conventions = conventions
        self.faults = faults

    def number(self, value: Any, dimension: str | None, place: Place) -> float | None:
        """A number in the canonical unit of its dimension (None: no unit is allowed); None after a fault."""
        if isinstance(value, int | float) and not isinstance(value, bool):
            return float(value) * self.conventions.length if dimension == LENGTH else float(value)
        if isinstance(value, str) and dimension is not None:
            quantity = parse_quantity(value)
            if quantity is not None and quantity.dimension == dimension:
                return quantity.value
        self.faults.add(place, _WORD.get(dimension or "", "a number"), value)
        return None

    def numbers(self, value: Any, size: int, dimension: str | None, place: Place) -> tuple[float, ...] | None:
        """A list of `size` numbers; None after a fault."""
        if not isinstance(value, list) or len(value) != size:
            self.faults.add(place, f"a list of {size} numbers", value)
            return None
        read = [self.number(item, dimension, (*place, index)) for index, item in enumerate(value)]
        present = tuple(item for item in read if item is not None)
        return present if len(present) == size else None

    def position(self, value: Any, place: Place) -> Vector | None:
        """A place in metres, Y-up."""
        read = self.numbers(value, 3, LENGTH, place)
        return to_y_up(read, self.conventions.up_axis) if read else None

    def direction(self, value: Any, place: Place) -> Vector | None:
        """A unit vector, Y-up."""
        read = self.numbers(value, 3, None, place)
        if read is None:
            return None
        try:
            return normalised(to_y_up(read, self.conventions.up_axis))
        except ValueError:
            self.faults.add(place, "a vector that points somewhere", value)
            return None

    def color(self, value: Any, place: Place) -> tuple[float, float, float] | None:
        """Linear RGB of the working space, not negative."""
        read = self.numbers(value, 3, None, place)
        if read is None:
            return None
        if min(read) < 0:
            self.faults.add(place, "red, green and blue of 0 or more", value)
            return None
        return read[0], read[1], read[2]

    def choice_of(self, value: Any, allowed: Sequence[str], place: Place) -> str | None:
        """One of the allowed words."""
        if isinstance(value, str) and value in allowed:
            return value
        self.faults.add(place, f"one of {', '.join(allowed)}", value)
        return None

    def value(self, value: Any, kind: str | None, place: Place) -> Static | None:
        """The canonical value of a parameter of this kind; without a kind it follows from the value itself.

        A value that does not fit the kind its name suggests keeps its own form: the difference is then
        reported as drift of type, not as a fault, since unknown parameters are welcome.
        """
        if value is None:
            return None
        if kind in (kinds.CHOICE, kinds.TEXT) and isinstance(value, str | int | float):
            return self._text(value)
        if kind == kinds.FILE and isinstance(value, str):
            return FileRef(value)
        if kind == kinds.SET and isinstance(value, str | list):
            return self._set([value] if isinstance(value, str) else value, place)
        if isinstance(value, bool):
            return value
        if isinstance(value, int | float):
            return self._bare(float(value), kind)
        if isinstance(value, str):
            return self._measured(value, kind)
        if isinstance(value, list):
            return self._list(value, kind, place)
        return json.dumps(value, sort_keys=True)

    def _text(self, value: str | float) -> str:
        return (
            value
            if isinstance(value, str)
            else f"{value:g}"
            if not isinstance(value, bool)
            else str(value).lower()
        )

    def _set(self, members: list[Any], place: Place) -> frozenset[str] | None:
        for index, member in enumerate(members):
            if isinstance(member, dict | list) or member is None:
                self.faults.add((*place, index), "a name", member)
                return None
        return frozenset(self._text(member) for member in members)

    def _bare(self, value: float, kind: str | None) -> Static:
        if kind == kinds.LENGTH:
            return value * self.conventions.length
        if kind == kinds.LEVEL:
            return Level(value, self.conventions.level)
        return value

    def _measured(self, text: str, kind: str | None) -> Static:
        quantity = parse_quantity(text)
        if quantity is None or kind in (kinds.CHOICE, kinds.TEXT):
            return text
        return self._quantity(quantity, kind)

    def _quantity(self, quantity: Quantity, kind: str | None) -> Static:
        if quantity.dimension == STOPS:
            return (
                Level(2.0**quantity.value, "relative")
                if kind == kinds.LEVEL
                else Amount(quantity.value, STOPS)
            )
        if quantity.dimension == LIGHT:
            return Level(quantity.value, quantity.unit)
        if kind is not None and DIMENSION_OF_KIND.get(kind) == quantity.dimension:
            return quantity.value
        return Amount(quantity.value, quantity.dimension)

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
            return self._set(value, place)
        if value and all(isinstance(item, int | float) and not isinstance(item, bool) for item in value):
            return tuple(float(item) for item in value)
        return json.dumps(value, sort_keys=True)


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
