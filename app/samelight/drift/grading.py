"""Many pairs of values measured and graded together, kind by kind.

Each comes out as `plain_entry` makes it by itself, to the last bit: numbers go through the same operations, in arrays where
those are exact on every processor and by the same functions where they are not. What is not of the type that its kind
usually has goes the plain way.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import repeat
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from samelight.drift.cells import Grade
from samelight.drift.metrics import SCALES, is_vector, says_nothing
from samelight.drift.rows import Entry, Row, bad_grade, costs_only, entry_of
from samelight.light.directions import angle_between, turn_between
from samelight.light.locus import steps
from samelight.light.noise import figures, same_place
from samelight.sheets import vocabulary as kinds
from samelight.sheets.values import Colour, Level, Value

Place = tuple[Row, Value | None, Value | None]
"""A row, what one of its cells is compared with and what the cell holds; not both are None."""

_Array = NDArray[np.float64]
_Values = Sequence[Any]
_GRADES = tuple(Grade)
_entry = Entry._make
_TOGETHER = 16_384
"""So many pairs at once keep the arrays small."""


def plain_entry(row: Row, reference: Value | None, value: Value | None) -> Entry:
    """One parameter compared with its reference."""
    if says_nothing(row.section, row.leaf, reference, value):
        side = "the reference" if reference is None else "the shot"
        return Entry(reference, value, math.nan, 0.0, Grade.NONE, f"{side} states no roll")
    return entry_of(row, reference, value)


def entries_of(places: Sequence[Place]) -> list[Entry]:
    """The entry of each place, as `plain_entry` makes it."""
    found: list[Entry] = []
    for start in range(0, len(places), _TOGETHER):
        found += _entries_of(places[start : start + _TOGETHER])
    return found


def _entries_of(places: Sequence[Place]) -> list[Entry]:
    together: dict[str, list[int]] = {}
    found: dict[int, Entry] = {}
    for index, (row, reference, value) in enumerate(places):
        usual = _USUAL.get(row.kind)
        if (
            usual is not None
            and type(reference) is usual.type
            and type(value) is usual.type
            and usual.fits(reference, value)
        ):
            together.setdefault(row.kind, []).append(index)
        else:
            found[index] = plain_entry(row, reference, value)
    for kind, indices in together.items():
        found.update(zip(indices, _graded(kind, [places[index] for index in indices]), strict=True))
    return [found[index] for index in range(len(places))]


def _graded(kind: str, places: Sequence[Place]) -> list[Entry]:
    """The entries of places of one kind, each with two values that its usual way of measuring fits."""
    rows, references, values = (list(side) for side in zip(*places, strict=True))
    measured = _USUAL[kind].drift
    if measured is None:  # they are other ones, and how far apart there is no saying
        return [
            Entry(reference, value, math.nan, math.inf, bad_grade(row)) for row, reference, value in places
        ]
    drift = figures(measured(references, values))
    allowed = [row.of(held).tolerance.at_most for row, held in zip(rows, references, strict=True)]
    heavy = _severities(kind, np.array(drift), np.array(allowed))
    bad = [
        Grade.BREAK if row.lock is not None and not costs_only(row, off) else Grade.DRIFT
        for row, off in zip(rows, drift, strict=True)
    ]
    within = np.where(heavy <= 1.0, np.where(heavy == 0.0, Grade.SAME, Grade.WITHIN), bad)
    grades = map(_GRADES.__getitem__, within.tolist())
    return list(map(_entry, zip(references, values, drift, heavy.tolist(), grades, repeat(""), repeat(0.0))))


def _severities(kind: str, drift: _Array, tolerance: _Array) -> _Array:
    """`metrics.severity` of drifts of one kind, none of them NaN, each with its tolerance."""
    noise = SCALES[kind].noise
    if kind == kinds.COUNT:
        size = np.array([abs(math.log(ratio)) if ratio > 0 else math.inf for ratio in drift.tolist()])
        allowed = np.array([math.log(max(factor, 1.0)) for factor in tolerance.tolist()])
    else:
        size, allowed = np.abs(drift), tolerance
    with np.errstate(all="ignore"):
        over = np.array(figures((size / allowed).tolist()))
    over[(allowed < size) & (size <= allowed + noise)] = 1.0
    over[allowed <= 0] = math.inf
    over[size <= noise] = 0.0
    return over


class _Usual(NamedTuple):
    """How values of one kind are usually measured."""

    type: type
    fits: Callable[[Any, Any], bool]
    """Whether two values of the type are measured so; others may have a remark, or no number at all."""
    drift: Callable[[_Values, _Values], Sequence[float]] | None
    """How far the second ones are from the first; None where unlike ones have no distance."""


def _in_arrays(operation: Callable[[_Array, _Array], _Array]) -> Callable[[_Values, _Values], list[float]]:
    def drift(references: _Values, values: _Values) -> list[float]:
        with np.errstate(all="ignore"):
            off: list[float] = operation(np.array(references), np.array(values)).tolist()
            return off

    return drift


def _one_by_one(measured: Callable[[Any, Any], float]) -> Callable[[_Values, _Values], list[float]]:
    return lambda references, values: list(map(measured, references, values))


def _have_stops(a: Level, b: Level) -> bool:
    return a.quantity == b.quantity and 0.0 < a.value < math.inf and 0.0 < b.value < math.inf


def _apart(a: tuple[float, ...], b: tuple[float, ...]) -> float:
    return 0.0 if same_place(b, a) else math.dist(a, b)


def _are_other(a: object, b: object) -> bool:
    return a != b


_OTHERS = {
    kind: _Usual(held, _are_other, None)
    for kind, held in ((kinds.SWITCH, bool), (kinds.CHOICE, str), (kinds.TEXT, str))
}
_PERCENT = _Usual(float, lambda a, b: a != 0.0, _in_arrays(lambda a, b: 100.0 * (b - a) / np.abs(a)))
_USUAL: dict[str, _Usual] = {
    kinds.LEVEL: _Usual(
        Level,
        _have_stops,
        lambda references, values: [
            math.log2(b.value) - math.log2(a.value) for a, b in zip(references, values, strict=True)
        ],
    ),
    kinds.COLOUR: _Usual(Colour, lambda a, b: True, _one_by_one(lambda a, b: steps((a.u, a.v), (b.u, b.v)))),
    kinds.DIRECTION: _Usual(tuple, lambda a, b: is_vector(a) and is_vector(b), _one_by_one(angle_between)),
    kinds.POSITION: _Usual(tuple, lambda a, b: len(a) == len(b), _one_by_one(_apart)),
    kinds.TEMPERATURE: _Usual(
        float, lambda a, b: a > 0.0 and b > 0.0, _in_arrays(lambda a, b: 1e6 / b - 1e6 / a)
    ),
    kinds.LENGTH: _PERCENT,
    kinds.NUMBER: _PERCENT,
    kinds.DURATION: _PERCENT,
    kinds.ANGLE: _Usual(float, lambda a, b: True, _one_by_one(turn_between)),
    kinds.COUNT: _Usual(float, lambda a, b: a > 0.0 and b >= 0.0, _in_arrays(lambda a, b: b / a)),
    kinds.FRACTION: _Usual(float, lambda a, b: True, _in_arrays(lambda a, b: 100.0 * (b - a))),
    kinds.SET: _Usual(frozenset, lambda a, b: True, _one_by_one(lambda a, b: float(len(a ^ b)))),
    **_OTHERS,
}
