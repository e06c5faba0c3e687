"""Plots of a light over the cut, as shapes for a picture: a line through the shots, the master, the tolerance."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from samelight.drift.cells import Grade
from samelight.drift.joined_traces import row_traces
from samelight.drift.traces import Trace
from samelight.drift.words import number_text
from samelight.reports.html_heat import LEFT, WIDTH
from samelight.reports.report import Report
from samelight.reports.shown import shown

HEIGHT = 64.0
MOST_DOTS = 80
"""With more shots than this, only what is out of tolerance gets a dot."""

WIDEST = 44.0
SHOWN_ALWAYS = ("level", "direction", "rotation")
"""What a light's plots show even where it holds, once anything of the light drifts."""

SHOWN = (*SHOWN_ALWAYS, "colour", "position", "cone", "radius", "angle", "width", "height")
MOST_LISTED = 6


@dataclass(frozen=True, slots=True)
class Dot:
    """A shot's value that is out of tolerance, or any where the shots are few."""

    x: float
    y: float
    out: bool
    says: str


@dataclass(frozen=True, slots=True)
class TraceChart:
    """One plot. Heights are in the picture's units, from the top; `masters` is the line that shots are compared with."""

    title: str
    path: str
    dots: tuple[Dot, ...]
    masters: str
    band: tuple[float, float] | None
    high: str
    low: str
    master_says: str
    says: str


@dataclass(frozen=True, slots=True)
class LightPlots:
    """The plots of one light or environment, by the name of its group."""

    name: str
    plots: tuple[TraceChart, ...]


def light_plots(report: Report) -> list[LightPlots]:
    """Every light and environment of which something drifts, with the plots that show it."""
    table, columns = report.table, report.columns
    groups: dict[str, list[int]] = {}
    for index, row in enumerate(table.rows):
        if row.section in ("lights", "environments"):
            groups.setdefault(row.group_name, []).append(index)
    found = []
    for name, rows in groups.items():
        drifting = [row for row in rows if (table.grade[row, columns] >= Grade.DRIFT).any()]
        # What the master does not have stands in no relation to it; its presence is in the table.
        if drifting and any(entry and entry.master is not None for row in rows for entry in table.line(row)):
            plots = tuple(_plot(report, trace) for trace in _traces(report, rows, drifting))
            if plots:
                found.append(LightPlots(name, plots))
    return found


def _traces(report: Report, rows: Sequence[int], drifting: Sequence[int]) -> Iterable[Trace]:
    wanted = [
        row
        for row in rows
        if report.table.rows[row].leaf in SHOWN_ALWAYS
        or (row in drifting and report.table.rows[row].leaf in SHOWN)
    ]
    for row in wanted:
        yield from row_traces(report.table, row, report.north)


def _plot(report: Report, trace: Trace) -> TraceChart:
    values = trace.values[report.columns]
    low, high = trace.spread()
    each = min(WIDTH / max(len(values), 1), WIDEST)

    def height(value: float) -> float:
        share = (value - low) / (high - low) if high > low else 0.5
        return round(4.0 + (HEIGHT - 8.0) * (1.0 - min(max(share, 0.0), 1.0)), 2)

    band = None
    if math.isfinite(trace.low) and math.isfinite(trace.high):
        band = (height(trace.high), height(trace.low))
    out = _outside(report, trace)
    points = [(LEFT + (index + 0.5) * each, float(value)) for index, value in enumerate(values)]
    return TraceChart(
        title=trace.title,
        path=_path(list(_line(report, trace, points, height))),
        masters=_master_path(report, trace, each, height),
        dots=tuple(
            Dot(
                round(x, 2),
                height(value),
                out[index],
                f"{shown(report.shots[index].name, 60)}: {trace.said(value)}",
            )
            for index, (x, value) in enumerate(points)
            if not math.isnan(value) and (out[index] or len(points) <= MOST_DOTS)
        ),
        band=band,
        high=_end(trace, high),
        low=_end(trace, max(low, 0.0) if trace.low == 0.0 else low),
        master_says=_master_says(trace),
        says=_says(report, trace, values.tolist(), out),
    )


def _line(
    report: Report, trace: Trace, points: Sequence[tuple[float, float]], height: Callable[[float], float]
) -> Iterable[tuple[float, float] | None]:
    """The points of the line; None where it breaks, which it does between set-ups too."""
    for places in trace.runs(np.array(report.columns, dtype=np.intp)):
        for place in places.tolist():
            x, value = points[place]
            yield (x, height(value)) if math.isfinite(value) else None
        yield None


def _master_path(report: Report, trace: Trace, each: float, height: Callable[[float], float]) -> str:
    """The master's line: level where it is one for all shots, a stroke a shot where each is compared with its own."""
    if math.isfinite(trace.master):
        return f"M{LEFT:g} {height(trace.master):g}h{WIDTH:g}"
    if trace.masters is None:
        return ""
    held = trace.masters[report.columns].tolist()
    return "".join(
        f"M{round(LEFT + index * each, 2):g} {height(value):g}h{each:.4g}"
        for index, value in enumerate(held)
        if math.isfinite(value)
    )


def _end(trace: Trace, value: float) -> str:
    """An end of the axis; a distance from the master starts at 0."""
    return "" if trace.words else f"{number_text(value, 3)}{trace.unit}"


def _master_says(trace: Trace) -> str:
    return f"master {trace.said(trace.master)}" if math.isfinite(trace.master) and trace.low != 0.0 else ""


def _outside(report: Report, trace: Trace) -> list[bool]:
    """Which shots' values are out of tolerance in this very plot: a sun that only turns keeps its elevation."""
    drifting = report.table.grade[trace.row, report.columns] >= Grade.DRIFT
    values = trace.values[report.columns]
    if math.isfinite(trace.low) and math.isfinite(trace.high):
        slack = 1e-9 * max(abs(trace.low), abs(trace.high), 1.0)
        with np.errstate(invalid="ignore"):
            drifting = drifting & ((values < trace.low - slack) | (values > trace.high + slack))
    return [bool(flag) for flag in drifting]


def _path(points: Sequence[tuple[float, float] | None]) -> str:
    """A line that breaks where there is no value; a run on one height is one stroke."""
    parts: list[str] = []
    before: tuple[float, float] | None = None
    level_end: float | None = None
    for point in points:
        if point is None:
            if level_end is not None:
                parts.append(f"H{level_end:g}")
            before, level_end = None, None
            continue
        x, y = round(point[0], 2), point[1]
        if before is None:
            parts.append(f"M{x:g} {y:g}")
        elif y == before[1]:
            level_end = x
        else:
            if level_end is not None:
                parts.append(f"H{level_end:g}")
                level_end = None
            parts.append(f"L{x:g} {y:g}")
        before = (x, y)
    if level_end is not None:
        parts.append(f"H{level_end:g}")
    return "".join(parts)


def _says(report: Report, trace: Trace, values: Sequence[float], out: Sequence[bool]) -> str:
    finite = [value for value in values if math.isfinite(value)]
    if not finite:
        return f"{trace.title}: no values."
    text = (
        f"{trace.title} over {len(values)} shots, from {trace.said(min(finite))} to {trace.said(max(finite))}"
    )
    if math.isfinite(trace.master):
        text += f", master {trace.said(trace.master)}"
    names = [shown(report.shots[index].name, 40) for index, flag in enumerate(out) if flag]
    if names:
        more = f" and {len(names) - MOST_LISTED} more" if len(names) > MOST_LISTED else ""
        text += f"; out of tolerance in {', '.join(names[:MOST_LISTED])}{more}"
    return text + "."
