"""The traces of any table: of one that was joined of several, each part against its own, with a gap between them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from samelight.drift import traces
from samelight.drift.table import Table, TablePart
from samelight.drift.traces import Trace, TraceScale
from samelight.light.directions import NORTH, Vector

_MakeTraces = Callable[[Table, int], list[Trace]]


def traces_of(
    table: Table, row: int, north: Vector = NORTH, scale: TraceScale = TraceScale.OWN
) -> list[Trace]:
    """The plots for a chosen row, as `samelight.drift.traces` makes them of one table."""
    if not table.parts:
        return traces.traces_of(table, row, north, scale)
    return _of_parts(table, row, lambda part, own: traces.traces_of(part, own, north, scale))


def row_traces(table: Table, row: int, north: Vector = NORTH) -> list[Trace]:
    """The plots of one row alone, likewise."""
    if not table.parts:
        return traces.row_traces(table, row, north)
    return _of_parts(table, row, lambda part, own: traces.row_traces(part, own, north))


def _of_parts(table: Table, row: int, make: _MakeTraces) -> list[Trace]:
    """What `make` makes of a row in each part, laid over all shots. Traces of one title are one, where they have one unit."""
    found: dict[str, list[tuple[TablePart, Trace]]] = {}
    for part in table.parts:
        own = part.table.row(table.rows[row].parameter)
        if own is not None and part.table.shots:
            for trace in make(part.table, own):
                found.setdefault(trace.title, []).append((part, trace))
    return [_joined(table, pieces) for pieces in found.values()]


def _joined(table: Table, pieces: Sequence[tuple[TablePart, Trace]]) -> Trace:
    first_part, first = pieces[0]
    like = [(part, trace) for part, trace in pieces if (trace.unit, trace.scale) == (first.unit, first.scale)]

    def laid(of: Callable[[Trace], float | NDArray[np.float64]]) -> NDArray[np.float64]:
        whole = np.full(len(table.shots), np.nan)
        for part, trace in like:
            whole[part.columns] = of(trace)
        return whole

    masters = laid(lambda trace: trace.master if trace.masters is None else trace.masters)
    lows = laid(lambda trace: trace.low if trace.lows is None else trace.lows)
    highs = laid(lambda trace: trace.high if trace.highs is None else trace.highs)
    is_one = all(_one_value(of) for of in (masters, lows, highs))
    return replace(
        first,
        row=int(first_part.rows[first.row]),
        values=laid(lambda trace: trace.values),
        master=float(masters[first_part.columns[0]]) if is_one else np.nan,
        low=float(lows[first_part.columns[0]]) if is_one else np.nan,
        high=float(highs[first_part.columns[0]]) if is_one else np.nan,
        masters=None if is_one else masters,
        lows=None if is_one else lows,
        highs=None if is_one else highs,
        pieces=pieces_of(table),
    )


def _one_value(of: NDArray[np.float64]) -> bool:
    """Whether all shots have one number, or none has any."""
    return bool(np.isnan(of).all() or (of == of[0]).all())


def pieces_of(table: Table) -> NDArray[np.intp]:
    """By shot, the number of the run of the cut that it is in: a new one begins where another set-up does."""
    part_of = np.full(len(table.shots), -1, dtype=np.intp)
    for number, part in enumerate(table.parts):
        part_of[part.columns] = number
    changes: NDArray[np.intp] = np.cumsum(np.diff(part_of, prepend=part_of[:1]) != 0)
    return changes
