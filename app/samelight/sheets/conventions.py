"""What a sheet's bare numbers mean: lengths, levels, axes, north and colour space."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from samelight.light.colour import SPACES, space_name
from samelight.light.directions import NORTH, Vector, normalised, to_y_up
from samelight.sheets.errors import Faults, Place, nearest_name
from samelight.sheets.units import LIGHT_UNITS, METRES
from samelight.sheets.vocabulary import UNITS_KEYS

SMALLEST_UNIT, LARGEST_UNIT = 1e-9, 1e9
"""Metres that a sheet's unit of length may have."""

LEVEL_UNITS: tuple[str, ...] = tuple(dict.fromkeys(LIGHT_UNITS.values()))
"""The units that a sheet's bare intensities may be in."""

_UPRIGHT = 0.999


@dataclass(frozen=True, slots=True)
class Conventions:
    """How the numbers of one sheet read. `length` and `area` are metres in one unit; `north` is Y-up."""

    length: float = 1.0
    area: float | None = None
    level: str = "relative"
    up_axis: str = "Y"
    north: Vector = NORTH
    working_space: str = "rec709"

    @property
    def area_unit(self) -> float:
        """Metres in the length unit whose square normalised areas count in."""
        return self.length if self.area is None else self.area


def read_conventions(data: Mapping[str, Any], given: Conventions, faults: Faults) -> Conventions:
    """The conventions that the keys `units`, `up_axis`, `north` and `working_space` of `data` state.

    What is not stated comes from `given` (the sequence's). Faults are noted, not raised.
    """
    result = given
    up_axis = data.get("up_axis")
    if isinstance(up_axis, str) and up_axis.upper() in ("Y", "Z"):
        result = replace(result, up_axis=up_axis.upper())
    elif up_axis is not None:
        faults.add(("up_axis",), "Y or Z", up_axis)
    if data.get("north") is not None:
        north = _north(data["north"], result.up_axis, faults, ("north",))
        result = replace(result, north=north or given.north)
    space = data.get("working_space")
    if isinstance(space, str) and space.lower() in SPACES:
        result = replace(result, working_space=space_name(space))
    elif space is not None:
        near = nearest_name(space.lower(), SPACES) if isinstance(space, str) else None
        faults.add(("working_space",), f"one of {', '.join(SPACES)}", space, near)
    return _units(data.get("units"), result, faults, ("units",))


def _units(units: Any, given: Conventions, faults: Faults, at: Place) -> Conventions:
    if units is None:
        return given
    if not isinstance(units, Mapping):
        faults.add(at, "length, level or area by name, such as {length: cm}", units)
        return given
    result = given
    for name, value in units.items():
        place = (*at, name)
        if name not in UNITS_KEYS:
            faults.unknown_key(place, "length, level or area", UNITS_KEYS)
        elif name == "level":
            level = LIGHT_UNITS.get(value) if isinstance(value, str) else None
            if level is not None:
                result = replace(result, level=level)
            else:
                faults.add(place, f"one of {', '.join(LEVEL_UNITS)}", value)
        else:
            metres = METRES.get(value) if isinstance(value, str) else value
            if (
                isinstance(metres, int | float)
                and not isinstance(metres, bool)
                and SMALLEST_UNIT <= metres <= LARGEST_UNIT
            ):
                unit = float(metres)
                result = replace(result, length=unit) if name == "length" else replace(result, area=unit)
            else:
                faults.add(place, f"one of {', '.join(METRES)}, or a number of metres", value)
    return result


def _north(value: Any, up_axis: str, faults: Faults, place: Place) -> Vector | None:
    """North in the Y-up frame; only its horizontal part will count."""
    north = None
    if isinstance(value, list) and len(value) == 3:
        try:
            north = normalised(to_y_up([_plain(number) for number in value], up_axis))
        except ValueError:
            north = None
    if north is None or abs(north[1]) > _UPRIGHT:
        faults.add(place, "a horizontal vector, such as [1, 0, 0]", value)
        return None
    return north


def _plain(number: Any) -> float:
    if isinstance(number, int | float) and not isinstance(number, bool):
        return float(number)
    raise ValueError
