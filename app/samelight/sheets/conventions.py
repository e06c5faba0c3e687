"""What a sheet's bare numbers mean: lengths, levels, axes, north and colour space."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from samelight.light.colour import SPACES
from samelight.light.directions import NORTH, Vector, normalised, to_y_up
from samelight.sheets.errors import Faults, Found, Place, nearest_name
from samelight.sheets.units import LIGHT_UNITS, METRES
from samelight.sheets.vocabulary import UNITS_KEYS


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


def read_conventions(
    data: Mapping[str, Any], given: Conventions, faults: Faults, at: Place = ()
) -> Conventions:
    """The conventions that the keys `units`, `up_axis`, `north` and `working_space` of `data` state.

    What is not stated comes from `given` (the sequence's). Faults are noted, not raised.
    """
    result = given
    up_axis = data.get("up_axis", given.up_axis)
    if isinstance(up_axis, str) and up_axis.upper() in ("Y", "Z"):
        result = replace(result, up_axis=up_axis.upper())
    else:
        faults.add((*at, "up_axis"), "Y or Z", up_axis)
    if "north" in data:
        result = replace(
            result, north=_north(data["north"], result.up_axis, faults, (*at, "north")) or given.north
        )
    space = data.get("working_space", given.working_space)
    if isinstance(space, str) and space in SPACES:
        result = replace(result, working_space=space)
    else:
        near = nearest_name(space, SPACES) if isinstance(space, str) else None
        faults.add((*at, "working_space"), f"one of {', '.join(SPACES)}", space, near)
    return _units(data.get("units"), result, faults, (*at, "units"))


def _units(units: Any, given: Conventions, faults: Faults, at: Place) -> Conventions:
    if units is None:
        return given
    if not isinstance(units, Mapping):
        faults.add(at, "a mapping with length, level or area", units)
        return given
    result = given
    for name, value in units.items():
        place = (*at, name)
        if name not in UNITS_KEYS:
            faults.add(
                place, "length, level or area", Found(f"the key {name}"), nearest_name(name, UNITS_KEYS)
            )
        elif name == "level":
            if isinstance(value, str) and value in LIGHT_UNITS:
                result = replace(result, level=LIGHT_UNITS[value])
            else:
                faults.add(place, f"one of {', '.join(sorted(set(LIGHT_UNITS.values())))}", value)
        else:
            metres = METRES.get(value) if isinstance(value, str) else value
            if isinstance(metres, int | float) and not isinstance(metres, bool) and 0 < metres < math.inf:
                unit = float(metres)
                result = replace(result, length=unit) if name == "length" else replace(result, area=unit)
            else:
                faults.add(place, f"one of {', '.join(METRES)}, or a number of metres", value)
    return result


def _north(value: Any, up_axis: str, faults: Faults, place: Place) -> Vector | None:
    try:
        north = normalised(to_y_up(value, up_axis))
    except (TypeError, ValueError):
        north = None
    if north is None or abs(north[1]) > 0.999:
        faults.add(place, "a horizontal vector of three numbers", value)
        return None
    return north
