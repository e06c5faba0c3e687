"""Sine and cosine, their inverses, logarithm and power of arrays, number by number by the C library.

NumPy picks its own for the processor that it runs on, and their last digit differs from one to the next. What becomes a
value, or decides a tie, comes from here. NaN stays NaN, and so becomes what a function is not defined for.

>>> log2([8.0, 0.0, -1.0]).tolist()
[3.0, -inf, nan]
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Numbers = npt.ArrayLike


def _each(function: Callable[..., float], inputs: int) -> Callable[..., Array]:
    def defined(*numbers: float) -> float:
        try:
            return function(*numbers)
        except ValueError:
            return math.nan
        except OverflowError:
            return math.inf

    plain, over_all = (np.frompyfunc(one, inputs, 1) for one in (function, defined))

    def of_arrays(*arrays: Numbers) -> Array:
        with np.errstate(all="ignore"):
            try:
                found = plain(*arrays)
            except (ValueError, OverflowError):  # rarely: all others are spared a call of each number
                found = over_all(*arrays)
            return np.asarray(found, dtype=np.float64)

    return of_arrays


sin = _each(math.sin, 1)
cos = _each(math.cos, 1)
arcsin = _each(math.asin, 1)
arccos = _each(math.acos, 1)
arctan = _each(math.atan, 1)
arctan2 = _each(math.atan2, 2)
hypot = _each(math.hypot, 2)
power = _each(math.pow, 2)
log = _each(lambda number: -math.inf if number == 0.0 else math.log(number), 1)
log2 = _each(lambda number: -math.inf if number == 0.0 else math.log2(number), 1)
