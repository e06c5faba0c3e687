"""Numbers of other people's files as a sheet writes them."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from samelight.light.noise import figure


def tidy(number: float) -> float:
    """Without the noise of the last digits that a change of units or axes leaves, and without -0.0.

    >>> tidy(0.35 * 0.01), tidy(-0.0)
    (0.0035, 0.0)
    """
    return figure(round(number, 12)) + 0.0


def shortest(number: float) -> float:
    """The shortest number that a 32-bit float reads as the same: what was typed, not its binary neighbour.

    >>> shortest(0.3499999940395355)
    0.35
    """
    return float(str(np.float32(number))) if math.isfinite(number) else number


def as_typed(number: float) -> float:
    """What was typed, where a number is exactly a 32-bit float; any other number as it is.

    >>> as_typed(0.800000011920929), as_typed(0.8000000001)
    (0.8, 0.8000000001)
    """
    return shortest(number) if abs(number) < 3e38 and float(np.float32(number)) == number else number


def finite(value: Any) -> bool:
    """Whether every number in a plain value is finite."""
    if isinstance(value, list):
        return all(finite(item) for item in value)
    return not isinstance(value, float) or math.isfinite(value)
