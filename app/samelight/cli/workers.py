"""Where captures are worked on: processes of this machine, or a farm."""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator
from concurrent.futures import Executor, ProcessPoolExecutor
from contextlib import contextmanager
from multiprocessing import get_context

from samelight.sheets.errors import SamelightError

_MOST = 61
"""Processes; a pool on Windows can wait for no more."""


def processors() -> int:
    """How many processors this process may use."""
    here = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    return min(here, _MOST)


@contextmanager
def processes(workers: int) -> Iterator[Executor]:
    """A pool of processes of this machine.

    They start afresh: a fork of a process that has read scenes, or has threads, may hang.
    """
    with ProcessPoolExecutor(
        min(workers, _MOST),
        mp_context=get_context("spawn"),
        initializer=signal.signal,
        initargs=(signal.SIGINT, signal.SIG_IGN),  # Ctrl+C ends the parent, which ends them
    ) as pool:
        yield pool


@contextmanager
def farm(address: str) -> Iterator[Executor]:
    """An executor of the farm whose scheduler has this address. Raises `SamelightError` when it is not to be had.

    Its machines need this program, and the sequence under the same path.
    """
    try:
        from distributed import Client
    except ImportError:
        raise SamelightError("a farm needs the extra 'farm': pip install 'samelight[farm]'") from None
    try:
        client = Client(address, timeout=10)
    except (OSError, ValueError) as error:
        raise SamelightError(f"{address}: no scheduler answers there ({type(error).__name__})") from None
    with client, client.get_executor(pure=False) as pool:
        yield pool
