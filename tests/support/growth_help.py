"""How the work of something grows with its size, by the processor's own time: no limit, only a ratio."""

from __future__ import annotations

import time
from collections.abc import Callable

TIMES = 3
"""The shortest of so many runs counts: whatever else the machine does only adds to it."""


def growth(work: Callable[[int], object], small: int, large: int) -> float:
    """How many times as long `work(large)` takes as `work(small)`."""
    return _shortest(work, large) / _shortest(work, small)


def _shortest(work: Callable[[int], object], size: int) -> float:
    found = []
    for _ in range(TIMES):
        start = time.process_time()
        work(size)
        found.append(time.process_time() - start)
    return min(found)
