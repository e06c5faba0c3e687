"""Canonical values of many moments as arrays, one parameter at a time."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from samelight.sheets.values import Curve, Group, Level, Static

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Words = NDArray[np.object_]
Column = list[Static | None]

_NOTHING: Group = {}


def column(groups: Sequence[Group | None], leaf: str, frames: Sequence[float]) -> Column:
    """One parameter of each group, at its frame; None where the group or the parameter is not there."""
    values: list[Any] = [(group or _NOTHING).get(leaf) for group in groups]
    if Curve in set(map(type, values)):
        return [
            value.at(frame) if isinstance(value, Curve) else value
            for value, frame in zip(values, frames, strict=True)
        ]
    return values


def numbers(values: Column) -> Array:
    """Plain numbers, shape (n,); NaN for anything else."""
    if set(map(type, values)) != {float}:
        values = [value if type(value) is float else np.nan for value in values]
    return _filled(values, ())


def vectors(values: Column) -> Array:
    """Vectors of three numbers, shape (n, 3); NaN for anything else."""
    if set(map(type, values)) != {tuple}:
        values = [value if type(value) is tuple and len(value) == 3 else (np.nan,) * 3 for value in values]
    return _filled(values, (3,))


def levels(values: Column) -> tuple[Array, Words]:
    """The values of levels, NaN for anything else, and their quantities, "" for anything else."""
    amounts: Column = [value.value if isinstance(value, Level) else np.nan for value in values]
    return _filled(amounts, ()), words(
        [value.quantity if isinstance(value, Level) else "" for value in values]
    )


def factors(values: Column) -> Array:
    """Multipliers: the values of levels and plain numbers, never under 0; 1 where none is given."""
    if values.count(None) == len(values):
        return np.broadcast_to(np.float64(1.0), (len(values),))
    read = [v.value if isinstance(v, Level) else v if type(v) is float else 1.0 for v in values]
    return np.maximum(np.array(read, dtype=np.float64), 0.0)


def words(values: Sequence[object]) -> Words:
    """Texts as an array of str; "" for anything else."""
    found = np.empty(len(values), dtype=np.object_)
    found[:] = [value if isinstance(value, str) else "" for value in values]
    return found


def truth(values: Column, test: Callable[[Any], bool]) -> Mask:
    """Whether each value passes a test, which is asked once for each distinct value."""
    answers = {value: test(value) for value in set(values)}
    return np.array([answers[value] for value in values], dtype=np.bool_)


def _filled(values: Column, shape: tuple[int, ...]) -> Array:
    first = values[0] if values else None
    if first is not None and len(values) > 1 and values.count(first) == len(values):
        # Most of a sequence equals its master: one conversion serves the column.
        return np.broadcast_to(np.asarray(first, dtype=np.float64), (len(values), *shape))
    return np.array(values, dtype=np.float64).reshape(len(values), *shape)
