"""A trace of one parameter across the cut. Plain objects, no Qt."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from samelight.drift.joined_traces import row_traces
from samelight.drift.traces import Trace
from samelight.sequence.session import Session


@dataclass(frozen=True, slots=True)
class CutTrace:
    """A trace over `shots`, under a row's name, and the drift over tolerance in each of them."""

    title: str
    trace: Trace
    shots: tuple[str, ...]
    severity: tuple[float, ...]


def cut_trace(session: Session, parameter: str) -> CutTrace | None:
    """The trace of a parameter over the cut; of a direction the angle that goes furthest from its master."""
    table = session.table
    row = table.row(parameter) if session.cases.decidable else None
    found = row_traces(table, row, session.contents.sequence.conventions.north) if row is not None else []
    if row is None or not found:
        return None
    trace = max(found, key=_furthest)
    severity = tuple(float(one) for one in table.severity[row])
    return CutTrace(f"{table.rows[row].group} {trace.title}", trace, tuple(table.shots), severity)


def _furthest(trace: Trace) -> float:
    """How many of its tolerances a trace goes from its master at most, as plotted."""
    apart = np.abs(trace.from_master().values)
    apart = apart[np.isfinite(apart)]
    return float(apart.max(initial=0.0)) / max((trace.high - trace.low) / 2, 1e-12) if apart.size else 0.0
