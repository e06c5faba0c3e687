"""One light or environment over a production as curves, in story order. Plain objects, no Qt."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from samelight.drift.words import number_text
from samelight.reports.summary import SHARED_SECTIONS, Summary
from samelight.reports.traced import Stop, Traced
from samelight.sheets.names import parameter_name
from samelight.sheets.vocabulary import LEVEL

Numbers = NDArray[np.float64]

MOST_LINES = 4
"""Curves that are drawn, one below the other."""
_AZIMUTH = "azimuth"
_STAY = 1e-6
"""What readings may differ by, and be one: as a share, or below 1 in their unit."""


@dataclass(frozen=True, slots=True, eq=False)
class FilmLine:
    """A reading at every shot, and that of its master (both NaN where there is none), in `unit`. Azimuths go on past 360 where they turn
    further; levels are in stops from the first master that has one."""

    name: str
    unit: str
    values: Numbers
    held: Numbers

    def said(self, place: int) -> str:
        """What it is at a shot, in words."""
        value, held = float(self.values[place]), float(self.held[place])
        says = f"{self.name} {self._text(value)}"
        return f"{says}, master {self._text(held)}" if self.is_off(place) else says

    def is_off(self, place: int) -> bool:
        """Whether a shot has another value than its master."""
        value, held = float(self.values[place]), float(self.held[place])
        return not (math.isnan(held) or math.isclose(value, held, rel_tol=_STAY, abs_tol=_STAY))

    def _text(self, value: float) -> str:
        if math.isnan(value):
            return "none"
        return f"{number_text(value % 360.0 if self.name == _AZIMUTH else value, 4)}{self.unit}"


@dataclass(frozen=True, slots=True, eq=False)
class FilmTrace:
    """The curves of a light or environment, those that move most told first, over the shots `stops`. `starts` says where each sequence begins;
    `steady` names the readings that are one over all of it."""

    name: str
    stops: tuple[Stop, ...]
    lines: tuple[FilmLine, ...]
    starts: tuple[tuple[int, str], ...]
    steady: tuple[str, ...]

    def said(self, place: int) -> str:
        """A shot and what it has, in words."""
        stop = self.stops[place]
        where = "/".join(part for part in (stop.sequence, stop.setup, stop.shot) if part)
        return "; ".join([where, *(line.said(place) for line in self.lines)])

    def place_of(self, stop: Stop) -> int:
        """Where a shot stands, also one with other readings; the first place where it is not there."""
        places = (
            at for at, one in enumerate(self.stops) if (one.sequence, one.shot) == (stop.sequence, stop.shot)
        )
        return next(places, 0)


def film_trace(traced: Traced) -> FilmTrace:
    """The curves of what was traced: of the readings that are not one over all of it, else of the first."""
    stops = traced.stops
    names = list(dict.fromkeys(name for one in stops for name in (*one.readings, *one.held)))
    lines = [_line(name, stops, traced.units.get(name, "")) for name in names]
    moving = [line for line in lines if not _is_steady(line)]
    shown = moving[:MOST_LINES] or lines[:1]
    starts = [
        (place, one.sequence)
        for place, one in enumerate(stops)
        if place == 0 or stops[place - 1].sequence != one.sequence
    ]
    steady = tuple(line.name for line in lines if line not in moving)
    return FilmTrace(traced.name, stops, tuple(shown), tuple(starts), steady)


def traceable(summaries: Sequence[Summary]) -> list[str]:
    """The lights and environments of sequences, those of the most sequences first, then in story order."""
    found: dict[str, int] = {}
    for summary in summaries:
        of_one: Mapping[str, None] = {
            parameter_name(section, name): None
            for section in SHARED_SECTIONS
            for look in summary.looks
            for name in look.groups.get(section, {})
        }
        for name in of_one:
            found[name] = found.get(name, 0) + 1
    return sorted(found, key=lambda name: -found[name])


def _line(name: str, stops: Sequence[Stop], unit: str) -> FilmLine:
    values, held = (
        np.array([math.nan if (number := of.get(name)) is None else number for of in found])
        for found in ([one.readings for one in stops], [one.held for one in stops])
    )
    if name == LEVEL:
        values, held = _in_stops(values), _in_stops(held)
        first = next((one for one in (*held.tolist(), *values.tolist()) if math.isfinite(one)), 0.0)
        return FilmLine(name, " st", values - first, held - first)
    if name == _AZIMUTH:
        start = next((one for one in (*held.tolist(), *values.tolist()) if math.isfinite(one)), 0.0)
        return FilmLine(name, unit, _going_on(values, start), _going_on(held, start))
    return FilmLine(name, unit, values, held)


def _in_stops(levels: Numbers) -> Numbers:
    return np.array([math.log2(level) if level > 0.0 else math.nan for level in levels.tolist()])


def _going_on(degrees: Numbers, start: float) -> Numbers:
    """Angles within half a turn of the one before, so that a curve does not jump at north."""
    before = start
    found = degrees.copy()
    for place, angle in enumerate(degrees.tolist()):
        if math.isfinite(angle):
            before = found[place] = angle + 360.0 * round((before - angle) / 360.0)
    return found


def _is_steady(line: FilmLine) -> bool:
    if bool(np.any(np.isnan(line.values) & ~np.isnan(line.held))):
        return False  # a shot lacks it
    known = [one for one in (*line.values.tolist(), *line.held.tolist()) if math.isfinite(one)]
    return not known or max(known) - min(known) <= _STAY * max(1.0, abs(max(known)))
