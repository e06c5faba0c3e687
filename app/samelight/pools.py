"""What shares work out: executors, made where they are wanted."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Executor
from contextlib import AbstractContextManager

Pool = Callable[[int], AbstractContextManager[Executor]]
"""Makes an executor with at most so many workers."""
