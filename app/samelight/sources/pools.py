"""What shares work out: executors, made where they are wanted."""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import Executor
from contextlib import AbstractContextManager

Pool = Callable[[int], AbstractContextManager[Executor]]
"""Makes an executor with at most so many workers."""


MOST = 61
"""Processes; a pool on Windows can wait for no more."""


def processors() -> int:
    """How many processors this process may use."""
    here = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    return min(here, MOST)


def end_with_parent() -> None:
    """Wait for the end of the process that started this one, in a thread of its own, and end this one."""
    from multiprocessing import parent_process  # which is there where one such process started another
    from multiprocessing.connection import wait

    parent = parent_process()
    if parent is not None:
        wait([parent.sentinel])
        os._exit(1)
