"""What traces plot: one parameter's value over the cut, beside the master's. Plain objects that draw nothing."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from samelight.drift.metrics import measure
from samelight.drift.table import Entry, Row, Table
from samelight.drift.words import number_text
from samelight.light.directions import NORTH, Vector, to_azimuth_elevation, turn_between
from samelight.light.levels import stops
from samelight.sheets import vocabulary as kinds
from samelight.sheets.values import Amount, Curve, Level, Static, Value


@dataclass(frozen=True, slots=True)
class Trace:
    """One plot. `values` has one number a shot, NaN where there is none.

    `master` is what the line stands at, `low` and `high` the edges of the tolerance. `row` is the table's row that
    a point selects.
    """

    title: str
    unit: str
    row: int
    values: NDArray[np.float64]
    master: float
    low: float
    high: float
    words: tuple[str, ...] = ()
    """What the values 0, 1, … mean where they are no quantities."""

    def spread(self) -> tuple[float, float]:
        """The range to show: all values and the tolerance band, with a little room."""
        finite = self.values[np.isfinite(self.values)]
        ends = [v for v in (self.master, self.low, self.high, *finite.tolist()) if math.isfinite(v)]
        if not ends:
            return 0.0, 1.0
        low, high = min(ends), max(ends)
        room = max((high - low) * 0.2, 1e-6 * max(abs(low), abs(high), 1.0))
        return low - room, high + room

    def read_out(self, column: int) -> str:
        """The value in one shot, with its unit."""
        return self.said(float(self.values[column]))

    def said(self, value: float) -> str:
        """A value of this trace in words."""
        if not math.isfinite(value):
            return "no value"
        return self.words[int(value)] if self.words else f"{number_text(value)}{self.unit}"


def traces_of(table: Table, row: int, north: Vector = NORTH) -> list[Trace]:
    """The plots for a chosen row: for a light its level, azimuth and elevation, and the row itself first where it
    is none of these."""
    chosen = table.rows[row]
    found: list[Trace] = []
    by_leaf = {
        other.leaf: index
        for index, other in enumerate(table.rows)
        if (other.section, other.group) == (chosen.section, chosen.group)
    }
    if chosen.kind not in (kinds.DIRECTION, kinds.PRESENCE) and chosen.leaf != "level":
        found.append(_plain(table, row))
    if chosen.section in ("lights", "environments"):
        if "level" in by_leaf:
            found.append(_plain(table, by_leaf["level"]))
        if "direction" in by_leaf:
            found.extend(_direction(table, by_leaf["direction"], north))
        if "rotation" in by_leaf and chosen.leaf != "rotation":
            found.append(_plain(table, by_leaf["rotation"]))
    elif chosen.kind == kinds.DIRECTION:
        found.extend(_direction(table, row, north))
    if not found:
        found.append(_presence(table, row))
    return found


Reading = Callable[[Static, Static], float]


def _plain(table: Table, row: int) -> Trace:
    what = table.rows[row]
    reading, unit, band = _READINGS.get(what.kind, (_differs, "", _yes_no))
    entries = table.entries[row]
    values = np.array([_read(entry, reading) for entry in entries], dtype=np.float64)
    reference = next((_still(entry.master) for entry in entries if entry and entry.master is not None), None)
    master = reading(reference, reference) if reference is not None else math.nan
    low, high = band(master, what.tolerance.at_most)
    words = ("as master", "differs") if reading is _differs else ()
    return Trace(what.leaf or what.group, unit, row, values, master, low, high, words)


def _read(entry: Entry | None, reading: Reading) -> float:
    if entry is None or entry.value is None:
        return math.nan
    value = _still(entry.value)
    master = _still(entry.master) if entry.master is not None else value
    try:
        return reading(master, value)
    except (TypeError, ValueError):
        return math.nan


def _still(value: Value) -> Static:
    """An animated value at its first key: the trace runs over the cut, not over the shot."""
    return value.keys[0][1] if isinstance(value, Curve) else value


def _number(master: Static, value: Static) -> float:
    if isinstance(value, Amount):
        return value.value
    return float(value) if isinstance(value, float) else math.nan


def _stops(master: Static, value: Static) -> float:
    if isinstance(master, Level) and isinstance(value, Level) and master.quantity == value.quantity:
        drift = stops(value.value, master.value)
        return drift if math.isfinite(drift) else math.nan
    return math.nan


def _distance(master: Static, value: Static) -> float:
    if isinstance(master, tuple) and isinstance(value, tuple) and len(master) == len(value):
        return math.dist(master, value)
    return math.nan


def _colour_steps(master: Static, value: Static) -> float:

    return measure(kinds.COLOUR, master, value).drift


def _differs(master: Static, value: Static) -> float:
    return 0.0 if master == value and type(master) is type(value) else 1.0


def _around(master: float, tolerance: float) -> tuple[float, float]:
    return master - tolerance, master + tolerance


def _percent(master: float, tolerance: float) -> tuple[float, float]:
    size = abs(master) * tolerance / 100.0
    return master - size, master + size


def _factor(master: float, tolerance: float) -> tuple[float, float]:
    return master / max(tolerance, 1.0), master * max(tolerance, 1.0)


def _above(master: float, tolerance: float) -> tuple[float, float]:
    return 0.0, tolerance


def _points(master: float, tolerance: float) -> tuple[float, float]:
    return master - tolerance / 100.0, master + tolerance / 100.0


def _yes_no(master: float, tolerance: float) -> tuple[float, float]:
    return 0.0, 0.0


_READINGS: dict[str, tuple[Reading, str, Callable[[float, float], tuple[float, float]]]] = {
    kinds.LEVEL: (_stops, " st", _around),
    kinds.COLOUR: (_colour_steps, " steps off", _above),
    kinds.TEMPERATURE: (_number, " K", lambda master, tolerance: (math.nan, math.nan)),
    kinds.POSITION: (_distance, " m off", _above),
    kinds.LENGTH: (_number, " m", _percent),
    kinds.ANGLE: (_number, "°", _around),
    kinds.COUNT: (_number, "", _factor),
    kinds.FRACTION: (_number, "", _points),
    kinds.NUMBER: (_number, "", _percent),
    kinds.DURATION: (_number, " s", _percent),
}


def _direction(table: Table, row: int, north: Vector) -> list[Trace]:
    what = table.rows[row]
    angles = np.full((2, len(table.shots)), np.nan)
    reference: tuple[float, float] | None = None
    for column, entry in enumerate(table.entries[row]):
        if entry is None:
            continue
        if reference is None and entry.master is not None:
            reference = _angles(_still(entry.master), north)
        found = _angles(_still(entry.value), north) if entry.value is not None else None
        if found is not None:
            angles[:, column] = found
    if reference is None:
        reference = (math.nan, math.nan)
    # Azimuth goes round: shown as the turn from the master, so that 359° and 1° lie side by side.
    for column in range(angles.shape[1]):
        if math.isfinite(angles[0, column]) and math.isfinite(reference[0]):
            angles[0, column] = reference[0] + turn_between(reference[0], float(angles[0, column]))
    tolerance = what.tolerance.at_most
    # The same angle on the sphere spans more azimuth the higher the light stands.
    across = (
        tolerance / max(math.cos(math.radians(reference[1])), 0.05)
        if math.isfinite(reference[1])
        else tolerance
    )
    return [
        Trace("azimuth", "°", row, angles[0], reference[0], reference[0] - across, reference[0] + across),
        Trace(
            "elevation", "°", row, angles[1], reference[1], reference[1] - tolerance, reference[1] + tolerance
        ),
    ]


def _angles(value: Static, north: Vector) -> tuple[float, float] | None:
    if isinstance(value, tuple) and len(value) == 3:
        return to_azimuth_elevation((value[0], value[1], value[2]), north)
    return None


def _presence(table: Table, row: int) -> Trace:
    what: Row = table.rows[row]
    values = np.array(
        [math.nan if e is None else float(e.value is not None) for e in table.entries[row]], dtype=np.float64
    )
    return Trace(what.group, "", row, values, 1.0, 1.0, 1.0, ("not there", "there"))
