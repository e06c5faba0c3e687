"""The colours of marks in all shots as one cloud in the CIE 1976 u'v' diagram: the shot that lies apart is the one to look at."""

from __future__ import annotations

import math
import statistics
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from samelight.drift.cells import Grade
from samelight.drift.derived_names import PICTURE, SUBJECT
from samelight.drift.table import Table
from samelight.drift.words import first_names
from samelight.light.colour import STEP, steps
from samelight.sheets.values import Colour
from samelight.sheets.vocabulary import COLOUR

APART, LEAST = 4.0, 3.0
"""A mark lies apart from the others where it is so many times as far from their middle as half of them, and so many steps at least.
Common practice, no source."""
_FEWEST = 5
"""Shots that have a middle which one of them can lie apart from."""
_NAMED = 4


class Of(StrEnum):
    """Where the colours of marks come from."""

    FRAMES = "measured in frames"
    SHEETS = "by the sheets"


_SECTIONS = {Of.FRAMES: PICTURE, Of.SHEETS: SUBJECT}


@dataclass(frozen=True, slots=True)
class CloudPoint:
    """A mark in a shot. `severity` is how many tolerances it is from the key shot's where that is graded, else 0; `is_key` says
    that it is what others are compared with; `is_apart` that it lies apart from the others. `says` is all of it in words."""

    shot: str
    mark: str
    u: float
    v: float
    severity: float
    drifts: bool
    is_key: bool
    is_apart: bool
    says: str

    @property
    def is_named(self) -> bool:
        """Whether it is to be looked at."""
        return self.drifts or self.is_apart


@dataclass(frozen=True, slots=True)
class Tolerated:
    """What is tolerated round the colour that a mark is compared with: a circle in u'v'."""

    mark: str
    u: float
    v: float
    radius: float


@dataclass(frozen=True, slots=True)
class Cloud:
    """Points of all shots and marks in cut order, and the rings of what they are compared with."""

    points: tuple[CloudPoint, ...] = ()
    rings: tuple[Tolerated, ...] = ()

    @property
    def marks(self) -> tuple[str, ...]:
        """The marks that it has points of."""
        return tuple(dict.fromkeys(point.mark for point in self.points))

    @property
    def says(self) -> str:
        """Which points are to be looked at, the worst first."""
        if not self.points:
            return ""
        named = sorted((one for one in self.points if one.is_named), key=lambda one: -one.severity)
        if not named:
            return f"{_count(self.points)}: none lies apart."
        names = first_names([f"{one.shot} {one.mark}" for one in named], _NAMED)
        return f"{len(named)} of {_count(self.points)} to look at: {names}."


def _count(points: Sequence[CloudPoint]) -> str:
    shots = len({point.shot for point in points})
    return f"{len(points)} {'mark' if len(points) == 1 else 'marks'} in {shots} {'shot' if shots == 1 else 'shots'}"


def clouds(table: Table, key_shots: Collection[str]) -> dict[Of, Cloud]:
    """The cloud of each source that a table has colours of."""
    found = {of: cloud_of(table, of, key_shots) for of in Of}
    return {of: cloud for of, cloud in found.items() if cloud.points}


def cloud_of(table: Table, of: Of, key_shots: Collection[str]) -> Cloud:
    """The cloud of the rows `picture.MARK.colour`, or `subject.MARK.colour`, of a table. `key_shots` are those that masters were lit on."""
    points: list[CloudPoint] = []
    rings: dict[Tolerated, None] = {}
    for index, row in enumerate(table.rows):
        if row.section != _SECTIONS[of] or row.kind != COLOUR:
            continue
        places: dict[int, tuple[Colour, Colour | None]] = {}
        for column, entry in enumerate(table.line(index)):
            if entry is not None and isinstance(entry.value, Colour):
                held = entry.master if isinstance(entry.master, Colour) else None
                places[column] = entry.value, held
        apart = _apart({column: value for column, (value, _) in places.items()})
        for column, (value, held) in places.items():
            if held is not None:
                tolerance = table.row_in(index, column).tolerance.at_most
                rings[Tolerated(row.group, held.u, held.v, tolerance * STEP)] = None
            is_key = held == value and table.shots[column] in key_shots
            points.append(_point(table, (index, column), held, is_key=is_key, is_apart=column in apart))
    order = {shot: place for place, shot in enumerate(table.shots)}
    return Cloud(tuple(sorted(points, key=lambda one: order[one.shot])), tuple(rings))


def _point(
    table: Table, cell: tuple[int, int], held: Colour | None, *, is_key: bool, is_apart: bool
) -> CloudPoint:
    compared = table.cell(*cell)
    value, severity = compared.value, float(table.severity[cell])
    assert isinstance(value, Colour)
    said = (
        [f"{steps((value.u, value.v), (held.u, held.v)):.1f} steps from what it is compared with"]
        if held
        else []
    )
    said = ["the key shot's, with which others are compared"] if is_key else said
    said += ["apart from the others"] if is_apart else []
    said += [compared.remark] if compared.remark else []
    mark = table.rows[cell[0]].group
    return CloudPoint(
        compared.shot,
        mark,
        value.u,
        value.v,
        severity if compared.grade >= Grade.WITHIN and math.isfinite(severity) else 0.0,
        compared.drifts,
        is_key,
        is_apart,
        f"{compared.shot} {mark}: u' {value.u:.4f}, v' {value.v:.4f}; {'; '.join(said)}",
    )


def _apart(places: dict[int, Colour]) -> frozenset[int]:
    """Those that are much further from the middle of all than half of them are."""
    if len(places) < _FEWEST:
        return frozenset()
    middle = _middle(places.values())
    away = {column: steps(middle, (one.u, one.v)) for column, one in places.items()}
    limit = max(APART * statistics.median(away.values()), LEAST)
    return frozenset(column for column, one in away.items() if one > limit)


def _middle(places: Iterable[Colour]) -> tuple[float, float]:
    listed = list(places)
    return statistics.median(one.u for one in listed), statistics.median(one.v for one in listed)
