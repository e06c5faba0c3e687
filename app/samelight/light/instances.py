"""Where the instances of one light stand and how they are turned."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from samelight.light.as_stated import AsStated
from samelight.light.rows import Array

MOST = 512
"""Instances that are counted; of more, every so many, each for as many."""

Placed = tuple[Sequence[float], Sequence[float] | None, Sequence[float] | None]


@dataclass(frozen=True, eq=False)
class Instances(AsStated):
    """The instances of a light: metres, and unit vectors of where they shine to and of their own +X, NaN where they have none,
    shape (count, 3) each. Each counts `weight` times."""

    position: Array
    direction: Array
    across: Array
    weight: float


def instances_of(text: str) -> Instances | None:
    """The instances that a sheet holds as `weight; x y z …`, nine numbers each; None where the text is none.

    >>> instances_of("1; 0 0 0 0 0 -1 1 0 0 2 0 0 0 0 -1 1 0 0").position.tolist(), instances_of("1; 0 0")
    ([[0.0, 0.0, 0.0], [2.0, 0.0, 0.0]], None)
    """
    first, _, rest = text.partition(";")
    try:
        weight = float(first)
        numbers = np.array([float(word) for word in rest.split()])
    except ValueError:
        return None
    sound = 0 < numbers.size <= 9 * MOST and numbers.size % 9 == 0 and math.isfinite(weight) and weight > 0.0
    if not sound or np.isinf(numbers).any() or np.isnan(numbers.reshape(-1, 9)[:, :3]).any():
        return None
    rows = numbers.reshape(-1, 9)
    return Instances(text, rows[:, :3], rows[:, 3:6], rows[:, 6:], weight)


def instances_text(placed: Sequence[Placed]) -> str:
    """Where instances stand, where they shine to and where their own +X lies, as text for a sheet; thinned to `MOST`."""
    step = -(-len(placed) // MOST)
    kept = placed[::step]
    none = (math.nan,) * 3
    numbers = [f"{number + 0.0:.9g}" for one in kept for vector in one for number in (vector or none)]
    return f"{len(placed) / len(kept):.9g}; {' '.join(numbers)}"
