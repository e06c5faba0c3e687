"""Numbers of other people's files as a sheet writes them."""

from __future__ import annotations

import math
from typing import Any

import numpy as np


def tidy(number: float) -> float:
    """Without the noise of the last digits that a change of units or axes leaves, and without -0.0.

    >>> tidy(0.35 * 0.01), tidy(-0.0)
    (0.0035, 0.0)
    """
    return round(number, 12) + 0.0


def shortest(number: float) -> float:
    """The shortest number that a 32-bit float reads as the same: what was typed, not its binary neighbour.

    >>> shortest(0.3499999940395355)
    0.35
    """
    return float(str(np.float32(number))) if math.isfinite(number) else number


def finite(value: Any) -> bool:
    """Whether every number in a plain value is finite."""
    if isinstance(value, list):
        return all(finite(item) for item in value)
    return not isinstance(value, float) or math.isfinite(value)
