"""An animated parameter as typed: reading its keys, and its value at a frame."""

from __future__ import annotations

import bisect
import math
from collections.abc import Mapping
from dataclasses import dataclass
from operator import itemgetter
from typing import Any

from samelight.light.directions import slerp
from samelight.sheets.errors import Place
from samelight.sheets.quantities import Reader
from samelight.sheets.units import (
    ANGLE,
    DURATION,
    FRACTION,
    LENGTH,
    LIGHT,
    STOPS,
    TEMPERATURE,
    parse_quantity,
    times,
)
from samelight.sheets.values import INTERPOLATIONS
from samelight.sheets.vocabulary import CURVE_KEYS

_ON_A_CIRCLE = frozenset({"direction", "normal", "axis"})


@dataclass(frozen=True, slots=True)
class Keyed:
    """Keys at ascending frames; `length` is what a bare length counts in, in metres."""

    keys: tuple[tuple[float, Any], ...]
    held: bool = False
    on_a_circle: bool = False
    length: float = 1.0

    def at(self, frame: float) -> Any:
        """The typed value at a frame: numbers, quantities and lists of them blend, all else holds.

        >>> Keyed(((1, 2.0), (3, 4.0))).at(2), Keyed(((1, "2 m"), (3, 5))).at(2), Keyed(((1, "a"), (3, "b"))).at(2)
        (3.0, '3.5 m', 'a')
        """
        right = bisect.bisect_right(self.keys, frame, key=itemgetter(0))
        if right == 0:
            return self.keys[0][1]
        start, value = self.keys[right - 1]
        if self.held or start == frame or right == len(self.keys):
            return value
        end, following = self.keys[right]
        share = (frame - start) / (end - start)
        if self.on_a_circle:
            return _along_circle(value, following, share)
        return _between(value, following, share, self.length)


def read_keys(value: Mapping[str, Any], read: Reader, place: Place) -> Keyed | None:
    """The keys of an animated parameter; None after a fault."""
    unknown = [name for name in value if name not in CURVE_KEYS]
    for name in unknown:
        read.faults.unknown_key((*place, name), "keys or interpolation", CURVE_KEYS)
    interpolation = read.choice_of(
        value.get("interpolation", "linear"), INTERPOLATIONS, (*place, "interpolation")
    )
    typed = value["keys"]
    if not isinstance(typed, list) or not typed:
        read.faults.add((*place, "keys"), "a list of [frame, value]", typed)
        return None
    keys: list[tuple[float, Any]] = []
    for index, pair in enumerate(typed):
        key = _key(pair, keys[-1][0] if keys else -math.inf, read, (*place, "keys", index))
        if key is not None:
            keys.append(key)
    if unknown or interpolation is None or len(keys) < len(typed):
        return None
    return Keyed(tuple(keys), interpolation == "held", place[-1] in _ON_A_CIRCLE, read.conventions.length)


def _key(pair: Any, after: float, read: Reader, place: Place) -> tuple[float, Any] | None:
    if not isinstance(pair, list) or len(pair) != 2:
        read.faults.add(place, "[frame, value]", pair)
        return None
    frame = read.number(pair[0], None, (*place, 0))
    if frame is not None and frame <= after:
        read.faults.add(place, f"a frame after {after:g}", pair[0])
        return None
    if pair[1] is None:
        read.faults.add((*place, 1), "a value at each key", None)
        return None
    return None if frame is None else (frame, pair[1])


def _along_circle(a: Any, b: Any, share: float) -> Any:
    if not all(isinstance(item, list) and len(item) == 3 and all(map(is_number, item)) for item in (a, b)):
        return a
    try:
        return list(slerp(a, b, share))
    except ValueError:  # a vector that points nowhere is a fault of its key
        return a


def _between(a: Any, b: Any, share: float, length: float) -> Any:
    if isinstance(a, list) and isinstance(b, list) and len(a) == len(b):
        return [_between(x, y, share, length) for x, y in zip(a, b, strict=True)]
    if is_number(a) and is_number(b):
        return float(a + (b - a) * share)
    unit = _unit_of(a) or _unit_of(b)
    first, last = (None, None) if unit is None else (_in_unit(a, unit, length), _in_unit(b, unit, length))
    return a if first is None or last is None else f"{first + (last - first) * share!r} {unit}"


def flat_names(tree: Mapping[str, Any], prefix: str = "") -> dict[str, Any]:
    """Nested names joined by dots; an animated value stays whole."""
    flat: dict[str, Any] = {}
    for name, value in tree.items():
        if isinstance(value, Mapping) and "keys" not in value:
            flat.update(flat_names(value, f"{prefix}{name}."))
        else:
            flat[prefix + name] = value
    return flat


def is_number(value: Any) -> bool:
    """Whether a typed value is a number, which a switch is not."""
    return isinstance(value, int | float) and not isinstance(value, bool)


_CANONICAL_UNITS = {
    LENGTH: "m",
    ANGLE: "deg",
    TEMPERATURE: "K",
    STOPS: "st",
    FRACTION: "%",
    DURATION: "s",
}


def _unit_of(value: Any) -> str | None:
    """The canonical unit of a quantity in text."""
    quantity = parse_quantity(value) if isinstance(value, str) else None
    if quantity is None:
        return None
    return quantity.unit if quantity.dimension == LIGHT else _CANONICAL_UNITS[quantity.dimension]


def _in_unit(value: Any, unit: str, length: float) -> float | None:
    """A quantity, or a bare number that stands beside one, in a canonical unit; None where it is neither."""
    share = 100.0 if unit == "%" else 1.0
    if is_number(value):
        return times(float(value), length) if unit == "m" else float(value) * share
    quantity = parse_quantity(value) if isinstance(value, str) else None
    return quantity.value * share if quantity is not None and _unit_of(value) == unit else None
