"""Where work is shared out: processes and threads of this machine."""

from __future__ import annotations

import signal
import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor, Future, ProcessPoolExecutor, ThreadPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from multiprocessing import get_context
from typing import TypeVar

from samelight.sources.pools import MOST, end_with_parent
from samelight.sources.trial import end_children

T = TypeVar("T")
R = TypeVar("R")


@contextmanager
def processes(workers: int) -> Iterator[Executor]:
    """A pool of processes of this machine.

    They start afresh: a fork of a process that has read scenes, or has threads, may hang.
    """
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


def shared_out(jobs: int, work: Callable[[T], R], tasks: Sequence[T]) -> Iterator[R | None]:
    """What so many processes make of each task, in their order; None of one whose process ended. It ends early where none can be had."""
    try:
        with processes(min(jobs, len(tasks))) as pool:
            for future in [pool.submit(work, task) for task in tasks]:
                yield _done(future)
    except (OSError, ImportError):
        return


def _done(future: Future[R]) -> R | None:
    try:
        return future.result()
    except (BrokenProcessPool, OSError):
        return None


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
