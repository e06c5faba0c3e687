"""How an entry of the table is read as a number that can be plotted, and the band that a tolerance makes around one."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from samelight.drift.metrics import measure
from samelight.drift.rows import Entry
from samelight.light.directions import Vector, to_azimuth_elevation
from samelight.light.levels import UNIT_OF
from samelight.sheets import vocabulary as kinds
from samelight.sheets.values import Amount, Bearing, Curve, Level, Roll, Static, Value

Band = Callable[[float, float], tuple[float, float]]
"""The edges of a tolerance, of what a value is compared with and how far it may be off."""


@dataclass(frozen=True, slots=True)
class KindReading:
    """How values of one kind are plotted: as what number (`number`, of master and value), with what unit behind it, in what
    band. Where there is nothing to plot the number is NaN."""

    number: Callable[[Static, Static], float]
    unit: str
    band: Band

    def of_value(self, entry: Entry | None) -> float:
        """What the shot's value reads; NaN without one."""
        if entry is None or entry.value is None:
            return math.nan
        value = still(entry.value)
        return self._read(still(entry.master) if entry.master is not None else value, value)

    def of_master(self, entry: Entry | None) -> float:
        """What the value that the shot is compared with reads; NaN without one."""
        if entry is None or entry.master is None:
            return math.nan
        master = still(entry.master)
        return self._read(master, master)

    def _read(self, master: Static, value: Static) -> float:
        try:
            return self.number(master, value)
        except (TypeError, ValueError):
            return math.nan


def reading_of(kind: str) -> KindReading:
    """How values of a kind are plotted; those that are no quantities as whether they differ."""
    return _READINGS.get(kind, DIFFERS)


def still(value: Value) -> Static:
    """An animated value at its first key: the trace runs over the cut, not over the shot."""
    return value.keys[0][1] if isinstance(value, Curve) else value


def amount(value: Value | None) -> float:
    """A quantity as a number in its canonical unit; NaN where it is none."""
    if value is None:
        return math.nan
    found = still(value)
    return found.value if isinstance(found, Level) else _number(found, found)


def same_quantity(entry: Entry | None) -> bool:
    """Whether a shot's level stands in the terms of what it is compared with, so that both have one scale."""
    if entry is None or entry.value is None:
        return False
    value, master = still(entry.value), still(entry.master) if entry.master is not None else None
    return isinstance(value, Level) and (not isinstance(master, Level) or master.quantity == value.quantity)


def unit_of_level(entries: Iterable[Entry | None]) -> str:
    """The unit of the first level among entries; empty where it has none."""
    for entry in entries:
        side = entry and (entry.master if entry.master is not None else entry.value)
        found = still(side) if side else None
        if isinstance(found, Level):
            unit = UNIT_OF.get(found.quantity, found.quantity)
            return f" {unit}" if unit else ""
    return ""


def angles_of(directions: list[Value | None], north: Vector) -> NDArray[np.float64]:
    """Azimuth and elevation of each (degrees), shape (2, directions), NaN where there is none."""
    angles = np.full((2, len(directions)), np.nan)
    known: dict[Static, tuple[float, float] | None] = {}
    for place, direction in enumerate(directions):
        if direction is None:
            continue
        value = still(direction)
        if value not in known:
            known[value] = _angles(value, north)
        found = known[value]
        if found is not None:
            angles[:, place] = found
    return angles


def _angles(value: Static, north: Vector) -> tuple[float, float] | None:
    if isinstance(value, tuple) and len(value) == 3:
        return to_azimuth_elevation((value[0], value[1], value[2]), north)
    return None


def _number(master: Static, value: Static) -> float:
    if isinstance(value, Amount):
        return value.value
    if isinstance(value, Roll | Bearing):
        return value.degrees
    return float(value) if isinstance(value, float) else math.nan


def _distance(master: Static, value: Static) -> float:
    if isinstance(master, tuple) and isinstance(value, tuple) and len(master) == len(value):
        return math.dist(master, value)
    return math.nan


def _colour_steps(master: Static, value: Static) -> float:
    return measure(kinds.COLOUR, master, value).drift


def _differs(master: Static, value: Static) -> float:
    return 0.0 if master == value and type(master) is type(value) else 1.0


def around(master: float, tolerance: float) -> tuple[float, float]:
    """The band of a difference."""
    return master - tolerance, master + tolerance


def factor(master: float, tolerance: float) -> tuple[float, float]:
    """The band of a ratio."""
    return master / max(tolerance, 1.0), master * max(tolerance, 1.0)


def _percent(master: float, tolerance: float) -> tuple[float, float]:
    size = abs(master) * tolerance / 100.0
    return master - size, master + size


def _above(master: float, tolerance: float) -> tuple[float, float]:
    return 0.0, tolerance


def _points(master: float, tolerance: float) -> tuple[float, float]:
    return master - tolerance / 100.0, master + tolerance / 100.0


def _none(master: float, tolerance: float) -> tuple[float, float]:
    return math.nan, math.nan


def _nothing_off(master: float, tolerance: float) -> tuple[float, float]:
    return 0.0, 0.0


DIFFERS = KindReading(_differs, "", _nothing_off)
"""0 where a value is what it is compared with, else 1."""

_READINGS = {
    kinds.COLOUR: KindReading(_colour_steps, " steps off", _above),
    kinds.TEMPERATURE: KindReading(_number, " K", _none),
    kinds.POSITION: KindReading(_distance, " m off", _above),
    kinds.LENGTH: KindReading(_number, " m", _percent),
    kinds.ANGLE: KindReading(_number, "°", around),
    kinds.COUNT: KindReading(_number, "", factor),
    kinds.FRACTION: KindReading(_number, "", _points),
    kinds.NUMBER: KindReading(_number, "", _percent),
    kinds.DURATION: KindReading(_number, " s", _percent),
}
