"""What traces plot: one parameter's value over the cut, beside the master's. Plain objects that draw nothing."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import partial

import numpy as np
from numpy.typing import NDArray

from samelight.drift.readings import (
    DIFFERS,
    amount,
    angles_of,
    around,
    factor,
    reading_of,
    same_quantity,
    unit_of_level,
)
from samelight.drift.table import Entry, Row, Table
from samelight.drift.words import number_text
from samelight.light.directions import NORTH, Vector
from samelight.light.elementary import cos, log
from samelight.sheets import vocabulary as kinds


class TraceScale(StrEnum):
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
    """What the values 0 and 1 mean where they are no quantities: such a trace is drawn as blocks, since nothing lies between."""
    masters: NDArray[np.float64] | None = None
    scale: TraceScale = TraceScale.LINEAR
    nothing: str = "0"
    """What minus infinity is called."""
    lows: NDArray[np.float64] | None = None
    highs: NDArray[np.float64] | None = None
    pieces: NDArray[np.intp] | None = None
    """By shot, the number of the run of the cut that it is in, where the line has gaps between these."""

    def spread(self) -> tuple[float, float]:
        """The range to show: all values and the tolerance band, with a little room."""
        of_shots = [of for of in (self.values, self.masters, self.lows, self.highs) if of is not None]
        ends = np.concatenate([(self.master, self.low, self.high), *of_shots])
        ends = ends[np.isfinite(ends)]
        if not ends.size:
            return 0.0, 1.0
        low, high = float(ends.min()), float(ends.max())
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
        return f"{number_text(10.0**value if self.scale is TraceScale.LOG else value)}{self.unit}"

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

    def runs(self, columns: NDArray[np.intp]) -> list[NDArray[np.intp]]:
        """The places of columns that one line goes through, in their order."""
        places = np.arange(columns.size)
        if self.pieces is None or not columns.size:
            return [places]
        return np.split(places, np.flatnonzero(np.diff(self.pieces[columns])) + 1)


def traces_of(
    table: Table, row: int, north: Vector = NORTH, scale: TraceScale = TraceScale.OWN
) -> list[Trace]:
    """The plots for a chosen row: for a light its level, azimuth and elevation, and the row itself first where it
    is none of these. A computed level, at a mark or to a kind of ray, is plotted as any other. `scale` is for positive quantities; directions and distances have none."""
    chosen = table.rows[row]
    found: list[Trace] = []
    section, group = chosen.section, chosen.group
    by_leaf = {
        other.leaf: index
        for index, other in enumerate(table.rows)
        if other.group == group and other.section == section
    }
    lit = section in ("lights", "environments")
    if chosen.kind not in (kinds.DIRECTION, kinds.PRESENCE) and not (lit and chosen.leaf == "level"):
        found.append(_plain(table, row, scale))
    if lit:
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
    return [_plain(table, row, TraceScale.OWN)]


class _Line:
    """A row to plot: its distinct entries, in the order in which they first appear.

    Most shots of a film share one of them. So a trace is made of these, and then laid over the shots.
    """

    def __init__(self, table: Table, row: int) -> None:
        codes, first, which = np.unique(table.codes[row], return_index=True, return_inverse=True)
        order = np.argsort(first)
        self.row = row
        self.what: Row = table.rows[row]
        self.title = self.what.leaf or self.what.group
        self.entries: list[Entry | None] = [table.pool[code] for code in codes[order].tolist()]
        self._which: NDArray[np.intp] = np.argsort(order)[which]

    def numbers(self, read: Callable[[Entry | None], float]) -> NDArray[np.float64]:
        """What each distinct entry reads."""
        return np.array([read(entry) for entry in self.entries], dtype=np.float64)

    def over_shots(self, trace: Trace) -> Trace:
        """The trace of the distinct entries as that of the shots."""

        def laid(of: NDArray[np.float64] | None) -> NDArray[np.float64] | None:
            return None if of is None else of[self._which]

        return replace(
            trace,
            values=trace.values[self._which],
            masters=laid(trace.masters),
            lows=laid(trace.lows),
            highs=laid(trace.highs),
        )


def _plain(table: Table, row: int, scale: TraceScale) -> Trace:
    line = _Line(table, row)
    kind = line.what.kind
    if kind in _POSITIVE and (scale is not TraceScale.OWN or kind == kinds.LEVEL):
        return line.over_shots(_scaled(line, TraceScale.STOPS if scale is TraceScale.OWN else scale))
    reading = reading_of(kind)
    values, held = line.numbers(reading.of_value), line.numbers(reading.of_master)
    words = ("as master", "differs") if reading is DIFFERS else ()
    if kind == kinds.ANGLE:
        values = _the_shorter_way(values, held)

    def band(master: float) -> tuple[float, float]:
        return reading.band(master, line.what.of(master).tolerance.at_most)

    trace = _trace(line, reading.unit, values, held, band, words)
    if kind != kinds.POSITION:
        return line.over_shots(trace)
    # What a place may be off goes by the cell, and so the band by the shot.
    highs = line.numbers(lambda entry: _allowed(line.what, entry))
    if len(set(highs[np.isfinite(highs)].tolist())) > 1:
        nothing = np.zeros(len(values))
        trace = replace(trace, masters=nothing, lows=nothing, highs=highs)
    return line.over_shots(trace)


def _allowed(row: Row, entry: Entry | None) -> float:
    """The tolerance of one cell; NaN for an empty one."""
    return math.nan if entry is None else row.of(entry.master, entry.away).tolerance.at_most


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


def _trace(
    line: _Line,
    unit: str,
    values: NDArray[np.float64],
    held: NDArray[np.float64],
    band: Callable[[float], tuple[float, float]],
    words: tuple[str, ...] = (),
) -> Trace:
    """A trace of values that are compared with `held`: one line and its band where that is the same for all."""
    known = held[np.isfinite(held)]
    if known.size and np.ptp(known) > 1e-9 * float(np.abs(known).max()):
        found = {value: band(value) for value in set(known.tolist())}
        nowhere = math.nan, math.nan
        lows, highs = np.array([found.get(value, nowhere) for value in held.tolist()], dtype=np.float64).T
        trace = Trace(line.title, unit, line.row, values, math.nan, math.nan, math.nan, words, masters=held)
        return replace(trace, lows=lows, highs=highs)
    master = float(known[0]) if known.size else math.nan
    low, high = band(master)
    return Trace(line.title, unit, line.row, values, master, low, high, words)


def _scaled(line: _Line, scale: TraceScale) -> Trace:
    """A positive quantity as it is, as decimal logarithms, or as stops from what each shot is compared with."""
    values = line.numbers(lambda entry: amount(entry.value if entry else None))
    held = line.numbers(lambda entry: amount(entry.master if entry else None))
    kind, tolerance = line.what.kind, line.what.tolerance.at_most
    reading = reading_of(kind)
    unit, nothing = reading.unit, f"0{reading.unit}"
    if kind == kinds.LEVEL:
        unit, nothing = unit_of_level(line.entries), "dark"
        values[~np.array([same_quantity(entry) for entry in line.entries], dtype=np.bool_)] = math.nan

    def band(master: float) -> tuple[float, float]:
        return factor(master, 2.0**tolerance) if kind == kinds.LEVEL else reading.band(master, tolerance)

    def logs(of: NDArray[np.float64], base: float) -> NDArray[np.float64]:
        with np.errstate(divide="ignore", invalid="ignore"):
            found: NDArray[np.float64] = log(np.where(of < 0.0, math.nan, of)) / math.log(base)
        return found

    if scale is TraceScale.LINEAR:
        return replace(_trace(line, unit, values, held, band), nothing="dark" if kind == kinds.LEVEL else "0")
    if scale is TraceScale.LOG:

        def log_band(master: float) -> tuple[float, float]:
            ends = logs(np.array(band(10.0**master)), 10.0)
            return float(ends[0]), float(ends[1])

        trace = _trace(line, unit, logs(values, 10.0), logs(held, 10.0), log_band)
        return replace(trace, scale=TraceScale.LOG, nothing=nothing)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        off = logs(values / held, 2.0)
    ends = logs(np.array(band(1.0)), 2.0) if kind != kinds.FRACTION else np.full(2, math.nan)
    master = 0.0 if np.isfinite(held).any() else math.nan
    return Trace(line.title, " st", line.row, off, master, float(ends[0]), float(ends[1]), nothing=nothing)


def _direction(table: Table, row: int, north: Vector) -> list[Trace]:
    line = _Line(table, row)
    values = angles_of([entry.value if entry else None for entry in line.entries], north)
    held = angles_of([entry.master if entry else None for entry in line.entries], north)
    known = held[:, np.isfinite(held[0])]
    first = float(known[0, 0]) if known.size else math.nan
    # Azimuth goes round: shown as the turn from the master, so that 359° and 1° lie side by side.
    for azimuths in (values[0], held[0]):
        azimuths[:] = first + (azimuths - first + 180.0) % 360.0 - 180.0 if known.size else azimuths
    values[0] = _the_shorter_way(values[0], held[0])
    tolerance = line.what.tolerance.at_most

    # The same angle on the sphere spans more azimuth the higher the light stands.
    flat = math.cos(math.radians(float(known[1, 0]))) if known.size else 1.0
    widths = (tolerance / max(flat, 0.05), tolerance)
    found = []
    for title, angles, masters, width in zip(("azimuth", "elevation"), values, held, widths, strict=True):
        trace = _trace(line, "°", angles, masters, partial(around, tolerance=width))
        if title == "azimuth" and trace.masters is not None:
            each = tolerance / np.maximum(cos(np.radians(held[1])), 0.05)
            trace = replace(trace, lows=masters - each, highs=masters + each)
        found.append(line.over_shots(replace(trace, title=title)))
    return found


def _the_shorter_way(angles: NDArray[np.float64], held: NDArray[np.float64]) -> NDArray[np.float64]:
    """Angles in degrees, of which those more than half a turn from what they are compared with are moved by whole turns,
    since their drift counts the shorter way round."""
    with np.errstate(invalid="ignore"):
        turns = np.where(np.abs(angles - held) > 180.0 + 1e-9, np.round((angles - held) / 360.0), 0.0)
    found: NDArray[np.float64] = angles - 360.0 * turns
    return found


def _presence(table: Table, row: int) -> Trace:
    line = _Line(table, row)
    values = line.numbers(lambda entry: math.nan if entry is None else float(entry.value is not None))
    words = ("not there", "there")
    return line.over_shots(Trace(line.what.group, "", row, values, 1.0, 1.0, 1.0, words))
