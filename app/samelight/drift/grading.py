"""Many pairs of values measured and graded together, kind by kind.

Each comes out as `plain_entry` makes it by itself, to the last bit: numbers go through the same operations, in arrays where
those are exact on every processor and by the same functions where they are not. What is not of the type that its kind
usually has goes the plain way.
"""

from __future__ import annotations

import math
import operator
from collections.abc import Callable, Iterable, Sequence
from functools import partial
from itertools import chain, compress, islice, repeat
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from samelight.drift.cells import Grade
from samelight.drift.metrics import SCALES, is_vector, says_nothing
from samelight.drift.rows import Entry, Row, bad_grade, costs_only, entry_of
from samelight.light.directions import angle_between, turn_between
from samelight.light.locus import steps
from samelight.light.noise import Numbers, figures, same_place
from samelight.sheets import vocabulary as kinds
from samelight.sheets.values import Colour, Level, Value

_Array = NDArray[np.float64]
_Values = Sequence[Any]
_GRADES = tuple(Grade)
_entry = partial(tuple.__new__, Entry)
_TOGETHER = 16_384
"""So many values at once keep the arrays small."""


class Compared(NamedTuple):
    """What one row holds in shots that are compared with one thing; a value may be None where that is not, and it where none is."""

    row: Row
    reference: Value | None
    values: Sequence[Value | None]


def plain_entry(row: Row, reference: Value | None, value: Value | None) -> Entry:
    """One parameter compared with its reference."""
    if says_nothing(row.section, row.leaf, reference, value):
        side = "the reference" if reference is None else "the shot"
        return Entry(reference, value, math.nan, 0.0, Grade.NONE, f"{side} states no roll")
    return entry_of(row, reference, value)


def entries_of(compared: Iterable[Compared]) -> list[Entry]:
    """The entries of all that is compared, one after the other, each as `plain_entry` makes it."""
    found: list[Entry] = []
    some: list[Compared] = []
    count = 0
    for one in compared:
        some.append(one)
        count += len(one.values)
        if count >= _TOGETHER:
            found += _entries_of(some)
            some, count = [], 0
    return found + _entries_of(some)


def _entries_of(compared: Sequence[Compared]) -> list[Entry]:
    parts: list[Iterable[Entry]] = []
    together: dict[str, list[int]] = {}
    for index, (row, reference, values) in enumerate(compared):
        usual = _USUAL.get(row.kind)
        if usual is not None and {type(reference), *map(type, values)} == {usual.type}:
            together.setdefault(row.kind, []).append(index)
            parts.append(())
        else:
            parts.append([plain_entry(row, reference, value) for value in values])
    for kind, indices in together.items():
        entries = iter(_of_kind(kind, [compared[index] for index in indices]))
        for index in indices:
            parts[index] = list(islice(entries, len(compared[index].values)))
    return list(chain.from_iterable(parts))


def _of_kind(kind: str, compared: Sequence[Compared]) -> list[Entry]:
    """The entries of values that are all of the type that is usual for their kind."""
    counts = [len(one.values) for one in compared]
    which = [*chain.from_iterable(map(repeat, range(len(compared)), counts))]
    references = [*chain.from_iterable(map(repeat, [one.reference for one in compared], counts))]
    values = [*chain.from_iterable([one.values for one in compared])]
    fits = list(map(_USUAL[kind].fits, references, values))
    if all(fits):
        return _graded(kind, compared, which, references, values)
    usual = (list(compress(side, fits)) for side in (references, values))
    entries = iter(_graded(kind, compared, list(compress(which, fits)), *usual))
    return [
        next(entries) if fit else plain_entry(compared[place].row, reference, value)
        for fit, place, reference, value in zip(fits, which, references, values, strict=True)
    ]


def _graded(
    kind: str, compared: Sequence[Compared], which: Sequence[int], references: _Values, values: _Values
) -> list[Entry]:
    """The entries of values that the usual way of measuring their kind fits; `which` says in which of them each is."""
    measured, rows = _USUAL[kind].drift, [one.row.of(one.reference) for one in compared]
    bad = np.frombuffer(bytearray(map(bad_grade, rows)), np.uint8)[which]
    if measured is None:  # they are other ones, and how far apart there is no saying
        drift, heavy, grades = [math.nan] * len(values), [math.inf] * len(values), bad
    else:
        off = figures(measured(references, values))
        at_most = np.array([row.tolerance.at_most for row in rows])[which]
        severity = _severities(kind, off, at_most)
        if kind == kinds.COUNT:
            costs = np.array([costs_only(row, math.inf) for row in rows])[which] & (off > 1.0)
            bad = np.where(costs, np.uint8(Grade.DRIFT), bad)
        grades = np.where(severity <= 1.0, np.where(severity == 0.0, Grade.SAME, Grade.WITHIN), bad)
        drift, heavy = off.tolist(), severity.tolist()
    graded = map(_GRADES.__getitem__, grades.tolist())
    return list(map(_entry, zip(references, values, drift, heavy, graded, repeat(""), repeat(0.0))))


def _severities(kind: str, drift: _Array, tolerance: _Array) -> _Array:
    """`metrics.severity` of drifts of one kind, none of them NaN, each with its tolerance."""
    noise = SCALES[kind].noise
    if kind == kinds.COUNT:
        size = np.array([abs(math.log(ratio)) if ratio > 0 else math.inf for ratio in drift.tolist()])
        allowed = np.array([math.log(max(factor, 1.0)) for factor in tolerance.tolist()])
    else:
        size, allowed = np.abs(drift), tolerance
    with np.errstate(all="ignore"):
        over = figures(size / allowed)
    over[(allowed < size) & (size <= allowed + noise)] = 1.0
    over[allowed <= 0] = math.inf
    over[size <= noise] = 0.0
    return over


class _Usual(NamedTuple):
    """How values of one kind are usually measured."""

    type: type
    fits: Callable[[Any, Any], bool]
    """Whether two values of the type are measured so; others may have a remark, or no number at all."""
    drift: Callable[[_Values, _Values], Numbers] | None
    """How far the second ones are from the first; None where unlike ones have no distance."""


def _in_arrays(operation: Callable[[_Array, _Array], _Array]) -> Callable[[_Values, _Values], _Array]:
    def drift(references: _Values, values: _Values) -> _Array:
        with np.errstate(all="ignore"):
            return operation(np.array(references), np.array(values))

    return drift


def _one_by_one(measured: Callable[[Any, Any], float]) -> Callable[[_Values, _Values], list[float]]:
    return lambda references, values: list(map(measured, references, values))


def _have_stops(a: Level, b: Level) -> bool:
    return a.quantity == b.quantity and 0.0 < a.value < math.inf and 0.0 < b.value < math.inf


def _apart(a: tuple[float, ...], b: tuple[float, ...]) -> float:
    return 0.0 if same_place(b, a) else math.dist(a, b)


_OTHERS = {
    kind: _Usual(usual, operator.ne, None)
    for kind, usual in ((kinds.SWITCH, bool), (kinds.CHOICE, str), (kinds.TEXT, str))
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
