"""Where work is shared out: processes of this machine, or a farm."""

from __future__ import annotations

import signal
import threading
from collections.abc import Iterator
from concurrent.futures import Executor, ThreadPoolExecutor
from contextlib import contextmanager
from typing import Any

from samelight.sheets.errors import SamelightError
from samelight.sources.pools import MOST, end_with_parent
from samelight.sources.trial import end_children


@contextmanager
def processes(workers: int) -> Iterator[Executor]:
    """A pool of processes of this machine.

    They start afresh: a fork of a process that has read scenes, or has threads, may hang.
    """
    from concurrent.futures import ProcessPoolExecutor  # few runs have any
    from multiprocessing import get_context

    count = min(workers, MOST)
    pool = ProcessPoolExecutor(count, mp_context=get_context("spawn"), initializer=_begin)
    try:
        with _without_interrupts():
            for _ in range(count):
                pool.submit(int)  # starts one
        yield pool
    finally:
        with _without_interrupts():
            pool.shutdown(cancel_futures=True)


def _begin() -> None:
    """In a new process: Ctrl+C ends the parent, which ends it; whatever else ends the parent ends it too."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=end_with_parent, daemon=True).start()


@contextmanager
def _without_interrupts() -> Iterator[None]:
    """Ctrl+C waits for the end of this, and processes that are started meanwhile do not hear it before they are set up.

    Where there is no such thing a process that is just being started may say that it was interrupted.
    """
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


@contextmanager
def children(workers: int) -> Iterator[Executor]:
    """A pool of threads for work that is done in child processes, which end with it."""
    pool = ThreadPoolExecutor(min(workers, MOST))
    try:
        yield pool
    finally:
        pool.shutdown(wait=False, cancel_futures=True)
        end_children()
        pool.shutdown()


@contextmanager
def client_of(address: str) -> Iterator[Any]:
    """A client of the scheduler that has this address. Raises `SamelightError` when it is not to be had."""
    try:
        from distributed import Client
    except ImportError:
        raise SamelightError("a farm needs the extra 'farm': pip install 'samelight[farm]'") from None
    try:
        client = Client(address, timeout=10)
    except (OSError, ValueError):
        raise SamelightError(f"{address}: no scheduler answers there") from None
    with client:
        yield client


@contextmanager
def farm(address: str) -> Iterator[Executor]:
    """An executor of the farm whose scheduler has this address. Raises as `client_of`.

    Its machines need this program, and the sequence under the same path.
    """
    with client_of(address) as client, client.get_executor(pure=False) as pool:
        yield pool
