"""What the traces under the grid plot: the row under the cursor, or several lights together. Plain objects, no Qt.

The traces themselves are made in `samelight.drift.traces`, which reports plot as well.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from samelight.drift.joined_traces import traces_of
from samelight.drift.jumps import jumps_of
from samelight.drift.table import Table
from samelight.drift.traces import Trace, TraceScale
from samelight.light.directions import NORTH, Vector

__all__ = [
    "Panel",
    "Strand",
    "Trace",
    "TraceScale",
    "panel_of_row",
    "panels_together",
    "same_lines",
    "traces_of",
]

MOST_TOGETHER = 5
"""How many lights are drawn together: more lines than that nobody tells apart."""

_SHARED = ("level", "azimuth", "elevation")


@dataclass(frozen=True, slots=True)
class Strand:
    """One line of a plot: a trace, the name of its light where there are several, and the columns after which it
    jumps."""

    trace: Trace
    name: str = ""
    jumps: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Panel:
    """One plot, with one line or several that share its axis."""

    title: str
    strands: tuple[Strand, ...]
    aside: bool = False
    """Whether it only stands by: another trace is the one that was asked for."""

    @property
    def first(self) -> Trace:
        """The trace that gives the axis its unit."""
        return self.strands[0].trace

    def spread(self, room: float = 0.0) -> tuple[float, float]:
        """The range to show, in which every point has at least `room` above and below it: a share of the whole range, and
        never more than two fifths of it."""
        ends = [strand.trace.spread() for strand in self.strands]
        low, high = min(low for low, _ in ends), max(high for _, high in ends)
        values = np.concatenate([strand.trace.values for strand in self.strands])
        values = values[np.isfinite(values)]
        if not values.size:
            return low, high
        least, most, room = float(values.min()), float(values.max()), min(room, 0.4)
        # The smallest range that holds all four of: both ends, and both rooms, which grow with it.
        whole = max(
            high - low,
            (most - low) / (1.0 - room),
            (high - least) / (1.0 - room),
            (most - least) / (1.0 - 2.0 * room),
        )
        return min(low, least - room * whole), max(high, most + room * whole)


def panel_of_row(
    table: Table, row: int, north: Vector = NORTH, scale: TraceScale = TraceScale.OWN
) -> tuple[Panel, ...]:
    """The plots of the row under the cursor, one line each; what belongs to its light stands by, unless the row itself has
    no quantity to look at."""
    traces = traces_of(table, row, north, scale)
    own = any(trace.row == row and not trace.words for trace in traces)
    return tuple(
        Panel(trace.title, (_strand(table, trace),), aside=own and trace.row != row) for trace in traces
    )


def panels_together(
    table: Table, rows: Sequence[tuple[str, int]], north: Vector = NORTH
) -> tuple[Panel, ...]:
    """Level in stops, azimuth and elevation of several lights, as differences from the master so that they share an
    axis.

    `rows` holds the name of each light and any row of it; no more than `MOST_TOGETHER` are drawn.
    """
    strands: dict[str, list[Strand]] = {title: [] for title in _SHARED}
    for name, row in rows[:MOST_TOGETHER]:
        for trace in traces_of(table, row, north):
            shared = trace.title in strands and not any(
                strand.name == name for strand in strands[trace.title]
            )
            if shared and table.rows[trace.row].leaf in ("level", "direction"):
                strands[trace.title].append(_strand(table, trace.from_master(), name))
    return tuple(Panel(title, tuple(found)) for title, found in strands.items() if found)


def same_lines(before: Table, after: Table, panels: Sequence[Panel]) -> bool:
    """Whether all that plots were made of is the same in another table, so that they are as well."""
    if (before.shots, before.rows) != (after.shots, after.rows):
        return False
    rows = {strand.trace.row for panel in panels for strand in panel.strands}
    return all(_same_line(before, after, row) for row in rows)


def _same_line(before: Table, after: Table, row: int) -> bool:
    # Most shots share an entry: those that stand in the same shots are compared with each other once.
    pairs = set(zip(before.codes[row].tolist(), after.codes[row].tolist(), strict=True))
    entries = [(before.pool[was], after.pool[now]) for was, now in pairs]
    return all(was is now or was == now for was, now in entries)


def _strand(table: Table, trace: Trace, name: str = "") -> Strand:
    """The line of a trace. A direction's jump is drawn where it shows, in azimuth or in elevation."""
    jumps = jumps_of(table, trace.row)
    band = trace.high - trace.low
    if jumps and math.isfinite(band) and not trace.words:
        steps = np.abs(np.diff(trace.values))
        jumps = [column for column in jumps if steps[column] > band / 8.0]
    return Strand(trace, name, tuple(jumps))
