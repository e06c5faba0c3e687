"""How the work of something grows with its size, by the processor's own time: no limit, only a power."""

from __future__ import annotations

import gc
import math
import time
from collections.abc import Callable

TIMES = 4
"""The shortest of so many runs counts: whatever else the machine does only adds to it."""

APART = 16
"""How many times the small size the large one is. A machine that is three times as slow for the one as for the other
moves the power by 0.4 at that distance, and at four times the size by 0.8."""

ABOUT_LINEAR = 1.5
"""Work that grows with its size has the power 1, with its square 2; this is half way between them."""


def growth(work: Callable[[int], object], small: int) -> float:
    """The power of the size by which the time of `work(size)` grows from `small` to `APART` times as much.

    What is about linear is not looked at again: the large size in a shorter time would only make the power less.
    """
    shortest, power = dict.fromkeys((small, APART * small), math.inf), math.inf
    for _ in range(TIMES):
        for size in (*[small] * TIMES, APART * small):
            shortest[size] = min(shortest[size], _time_of(work, size))
        power = math.log(shortest[APART * small] / shortest[small]) / math.log(APART)
        if power < ABOUT_LINEAR:
            break
    return power


def _time_of(work: Callable[[int], object], size: int) -> float:
    """CPU seconds of one run, in which Python looks for no garbage."""
    gc.disable()
    try:
        start = time.process_time()
        work(size)
        return time.process_time() - start
    finally:
        gc.enable()
