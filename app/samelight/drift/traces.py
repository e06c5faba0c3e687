"""What traces plot: one parameter's value over the cut, beside the master's. Plain objects that draw nothing."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import partial

import numpy as np
from numpy.typing import NDArray

from samelight.drift.cells import Grade
from samelight.drift.jumps import jump_between
from samelight.drift.metrics import measure
from samelight.drift.table import Entry, Row, Table
from samelight.drift.words import number_text
from samelight.light.directions import NORTH, Vector, to_azimuth_elevation
from samelight.light.levels import UNIT_OF
from samelight.sheets import vocabulary as kinds
from samelight.sheets.values import Amount, Curve, Level, Static, Value


class Scale(StrEnum):
    """How a positive quantity is plotted. On its own scale a level stands in stops from the master, the rest as it is."""

    OWN = "own scale"
    LINEAR = "linear"
    LOG = "logarithmic"
    STOPS = "stops from the master"


@dataclass(frozen=True, slots=True)
class Trace:
    """One plot. `values` has one number a shot, NaN where there is none, minus infinity where there is nothing to
    plot a ratio of, such as a light that is dark.

    `master` is what the line stands at, `low` and `high` the edges of the tolerance; all are as plotted, so decimal
    logarithms where `scale` says so. `row` is the table's row that a point selects. Where the shots are not all held
    against one value, `masters` has one for each, `lows` and `highs` the edges of its tolerance, and the other three
    are NaN.
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
    masters: NDArray[np.float64] | None = None
    scale: Scale = Scale.LINEAR
    nothing: str = "0"
    """What minus infinity is called."""
    lows: NDArray[np.float64] | None = None
    highs: NDArray[np.float64] | None = None

    def spread(self) -> tuple[float, float]:
        """The range to show: all values and the tolerance band, with a little room."""
        finite = self.values[np.isfinite(self.values)]
        of_shots = [of for of in (self.masters, self.lows, self.highs) if of is not None]
        held = [value for of in of_shots for value in of[np.isfinite(of)].tolist()]
        ends = [v for v in (self.master, self.low, self.high, *held, *finite.tolist()) if math.isfinite(v)]
        if not ends:
            return 0.0, 1.0
        low, high = min(ends), max(ends)
        room = max((high - low) * 0.2, 1e-6 * max(abs(low), abs(high), 1.0))
        return low - room, high + room

    def read_out(self, column: int) -> str:
        """The value in one shot, with its unit."""
        return self.said(float(self.values[column]))

    def said(self, value: float) -> str:
        """A value of this trace, as plotted, in words."""
        if math.isnan(value):
            return "no value"
        if value == -math.inf:
            return self.nothing
        if self.words and math.isfinite(value):
            return self.words[int(value)]
        return f"{number_text(10.0**value if self.scale is Scale.LOG else value)}{self.unit}"

    def from_master(self) -> Trace:
        """The same trace as differences from the master, so that traces of several lights share one axis."""
        if self.masters is None and not math.isfinite(self.master):
            return self
        held = self.masters if self.masters is not None else np.full(self.values.size, self.master)
        return replace(
            self,
            values=self.values - held,
            master=0.0,
            low=self.low - self.master,
            high=self.high - self.master,
            masters=None,
            lows=None,
            highs=None,
        )


def traces_of(table: Table, row: int, north: Vector = NORTH, scale: Scale = Scale.OWN) -> list[Trace]:
    """The plots for a chosen row: for a light its level, azimuth and elevation, and the row itself first where it
    is none of these. `scale` is for positive quantities; directions and distances have none."""
    chosen = table.rows[row]
    found: list[Trace] = []
    by_leaf = {
        other.leaf: index
        for index, other in enumerate(table.rows)
        if (other.section, other.group) == (chosen.section, chosen.group)
    }
    if chosen.kind not in (kinds.DIRECTION, kinds.PRESENCE) and chosen.leaf != "level":
        found.append(_plain(table, row, scale))
    if chosen.section in ("lights", "environments"):
        if "level" in by_leaf:
            found.append(_plain(table, by_leaf["level"], scale))
        if "direction" in by_leaf:
            found.extend(_direction(table, by_leaf["direction"], north))
        if "rotation" in by_leaf and chosen.leaf != "rotation":
            found.append(_plain(table, by_leaf["rotation"], scale))
    elif chosen.kind == kinds.DIRECTION:
        found.extend(_direction(table, row, north))
    if not found:
        found.append(_presence(table, row))
    return found


def row_traces(table: Table, row: int, north: Vector = NORTH) -> list[Trace]:
    """The plots of one row alone: azimuth and elevation for a direction, one plot for any other."""
    if table.rows[row].kind == kinds.DIRECTION:
        return _direction(table, row, north)
    return [_plain(table, row, Scale.OWN)]


Reading = Callable[[Static, Static], float]


def _plain(table: Table, row: int, scale: Scale) -> Trace:
    what = table.rows[row]
    if what.kind in _POSITIVE and (scale is not Scale.OWN or what.kind == kinds.LEVEL):
        return _scaled(table, row, Scale.STOPS if scale is Scale.OWN else scale)
    reading, unit, band = _READINGS.get(what.kind, (_differs, "", _yes_no))
    entries = table.line(row)
    values = np.array([_read(entry, reading) for entry in entries], dtype=np.float64)
    held = np.array([_read_master(entry, reading) for entry in entries], dtype=np.float64)
    words = ("as master", "differs") if reading is _differs else ()
    if what.kind == kinds.ANGLE:
        values = _the_shorter_way(values, held)
    return _trace(what, row, unit, values, held, lambda master: band(master, what.tolerance.at_most), words)


def _trace(
    what: Row,
    row: int,
    unit: str,
    values: NDArray[np.float64],
    held: NDArray[np.float64],
    band: Callable[[float], tuple[float, float]],
    words: tuple[str, ...] = (),
) -> Trace:
    """A trace whose shots are held against `held`: one line and its band where that is the same for all."""
    title = what.leaf or what.group
    known = held[np.isfinite(held)]
    if known.size and np.ptp(known) > 1e-9 * float(np.abs(known).max()):
        found = {value: band(value) for value in set(known.tolist())}
        nowhere = math.nan, math.nan
        lows, highs = np.array([found.get(value, nowhere) for value in held.tolist()], dtype=np.float64).T
        trace = Trace(title, unit, row, values, math.nan, math.nan, math.nan, words, masters=held)
        return replace(trace, lows=lows, highs=highs)
    master = float(known[0]) if known.size else math.nan
    low, high = band(master)
    return Trace(title, unit, row, values, master, low, high, words)


def _scaled(table: Table, row: int, scale: Scale) -> Trace:
    """A positive quantity as it is, as decimal logarithms, or as stops from what each shot is held against."""
    what, entries = table.rows[row], table.line(row)
    values = np.array([_amount(entry.value) if entry else math.nan for entry in entries], dtype=np.float64)
    held = np.array([_amount(entry.master) if entry else math.nan for entry in entries], dtype=np.float64)
    level = what.kind == kinds.LEVEL
    unit = _unit_of_level(entries) if level else _READINGS[what.kind][1]
    if level:
        same = np.array([_same_quantity(entry) for entry in entries], dtype=np.bool_)
        values[~same] = math.nan
    tolerance = what.tolerance.at_most

    def band(master: float) -> tuple[float, float]:
        return _factor(master, 2.0**tolerance) if level else _READINGS[what.kind][2](master, tolerance)

    def logs(of: NDArray[np.float64], base: float) -> NDArray[np.float64]:
        with np.errstate(divide="ignore", invalid="ignore"):
            found: NDArray[np.float64] = np.log(np.where(of < 0.0, math.nan, of)) / math.log(base)
        return found

    if scale is Scale.LINEAR:
        return replace(_trace(what, row, unit, values, held, band), nothing="dark" if level else "0")
    if scale is Scale.LOG:

        def log_band(master: float) -> tuple[float, float]:
            ends = logs(np.array(band(10.0**master)), 10.0)
            return float(ends[0]), float(ends[1])

        trace = _trace(what, row, unit, logs(values, 10.0), logs(held, 10.0), log_band)
        return replace(trace, scale=Scale.LOG, nothing="dark" if level else f"0{unit}")
    with np.errstate(divide="ignore", invalid="ignore"):
        off = logs(values / held, 2.0)
    ends = logs(np.array(band(1.0)), 2.0) if what.kind != kinds.FRACTION else np.full(2, math.nan)
    title = what.leaf or what.group
    master = 0.0 if np.isfinite(held).any() else math.nan
    nothing = "dark" if level else f"0{unit}"
    return Trace(title, " st", row, off, master, float(ends[0]), float(ends[1]), nothing=nothing)


def _amount(value: Value | None) -> float:
    if value is None:
        return math.nan
    still = _still(value)
    return still.value if isinstance(still, Level) else _number(still, still)


def _same_quantity(entry: Entry | None) -> bool:
    if entry is None or entry.value is None:
        return False
    value, master = _still(entry.value), _still(entry.master) if entry.master is not None else None
    return isinstance(value, Level) and (not isinstance(master, Level) or master.quantity == value.quantity)


def _unit_of_level(entries: Sequence[Entry | None]) -> str:
    for entry in entries:
        side = entry and (entry.master if entry.master is not None else entry.value)
        still = _still(side) if side else None
        if isinstance(still, Level):
            unit = UNIT_OF.get(still.quantity, still.quantity)
            return f" {unit}" if unit else ""
    return ""


def _read_master(entry: Entry | None, reading: Reading) -> float:
    if entry is None or entry.master is None:
        return math.nan
    still = _still(entry.master)
    try:
        return reading(still, still)
    except (TypeError, ValueError):
        return math.nan


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


_POSITIVE = (
    kinds.LEVEL,
    kinds.TEMPERATURE,
    kinds.LENGTH,
    kinds.COUNT,
    kinds.FRACTION,
    kinds.NUMBER,
    kinds.DURATION,
)
"""The kinds that have ratios, and so logarithms and stops."""


def _direction(table: Table, row: int, north: Vector) -> list[Trace]:
    what, entries = table.rows[row], table.line(row)
    values = _all_angles([entry.value if entry else None for entry in entries], north)
    held = _all_angles([entry.master if entry else None for entry in entries], north)
    known = held[:, np.isfinite(held[0])]
    first = float(known[0, 0]) if known.size else math.nan
    # Azimuth goes round: shown as the turn from the master, so that 359° and 1° lie side by side.
    for azimuths in (values[0], held[0]):
        azimuths[:] = first + (azimuths - first + 180.0) % 360.0 - 180.0 if known.size else azimuths
    values[0] = _the_shorter_way(values[0], held[0])
    tolerance = what.tolerance.at_most

    # The same angle on the sphere spans more azimuth the higher the light stands.
    flat = math.cos(math.radians(float(known[1, 0]))) if known.size else 1.0
    widths = (tolerance / max(flat, 0.05), tolerance)
    found = []
    for title, angles, masters, width in zip(("azimuth", "elevation"), values, held, widths, strict=True):
        trace = _trace(what, row, "°", angles, masters, partial(_around, tolerance=width))
        if title == "azimuth" and trace.masters is not None:
            each = tolerance / np.maximum(np.cos(np.radians(held[1])), 0.05)
            trace = replace(trace, lows=masters - each, highs=masters + each)
        found.append(replace(trace, title=title))
    return found


def _the_shorter_way(angles: NDArray[np.float64], held: NDArray[np.float64]) -> NDArray[np.float64]:
    """Angles in degrees, of which those more than half a turn from what they are held against are moved by whole turns,
    since their drift counts the shorter way round."""
    with np.errstate(invalid="ignore"):
        turns = np.where(np.abs(angles - held) > 180.0 + 1e-9, np.round((angles - held) / 360.0), 0.0)
    found: NDArray[np.float64] = angles - 360.0 * turns
    return found


def _all_angles(directions: Sequence[Value | None], north: Vector) -> NDArray[np.float64]:
    """Azimuth and elevation of each, shape (2, shots), NaN where there is none."""
    angles = np.full((2, len(directions)), np.nan)
    cache: dict[Static, tuple[float, float] | None] = {}
    for column, direction in enumerate(directions):
        if direction is None:
            continue
        still = _still(direction)
        if still not in cache:
            cache[still] = _angles(still, north)
        found = cache[still]
        if found is not None:
            angles[:, column] = found
    return angles


def _angles(value: Static, north: Vector) -> tuple[float, float] | None:
    if isinstance(value, tuple) and len(value) == 3:
        return to_azimuth_elevation((value[0], value[1], value[2]), north)
    return None


def _presence(table: Table, row: int) -> Trace:
    what: Row = table.rows[row]
    values = np.array(
        [math.nan if e is None else float(e.value is not None) for e in table.line(row)], dtype=np.float64
    )
    return Trace(what.group, "", row, values, 1.0, 1.0, 1.0, ("not there", "there"))


def jumps_of(table: Table, row: int) -> list[int]:
    """The columns after which a row jumps at the cut: neighbours in the cut that are each within their tolerance of
    what they are held against, and outside it of each other."""
    what, entries = table.rows[row], table.line(row)
    inside = (table.grade[row] >= Grade.SAME) & (table.grade[row] <= Grade.WITHIN)
    heavy = np.where(inside, table.severity[row], 0.0)
    # No two can be further apart than the sum of their distances from the master.
    near = np.flatnonzero(inside[:-1] & inside[1:] & (heavy[:-1] + heavy[1:] > 1.0))
    return [column for column in near.tolist() if jump_between(what, entries[column], entries[column + 1])]
