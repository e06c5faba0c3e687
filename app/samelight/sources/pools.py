"""What shares work out: executors, made where they are wanted."""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import Executor
from contextlib import AbstractContextManager
from multiprocessing import parent_process
from multiprocessing.connection import wait

Pool = Callable[[int], AbstractContextManager[Executor]]
"""Makes an executor with at most so many workers."""


def end_with_parent() -> None:
    """Wait for the end of the process that started this one, in a thread of its own, and end this one."""
    parent = parent_process()
    if parent is not None:
        wait([parent.sentinel])
        os._exit(1)
