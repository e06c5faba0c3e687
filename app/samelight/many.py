"""Many sheets read in processes beside this one, which pays for some hundreds of them."""

from __future__ import annotations

import multiprocessing
import os
import signal
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, BrokenExecutor, Future, ProcessPoolExecutor, wait
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from samelight.sheets.conventions import Conventions
from samelight.sheets.errors import Fault, SheetError
from samelight.sheets.packed import packed, unpacked
from samelight.sheets.sheet import Sheet, read_sheet
from samelight.sheets.vocabulary import Patterns

FEWEST = 240
"""Sheets. Fewer are read before the other processes have started."""

_CHUNK = 40
_MOST = 61  # processes; a pool on Windows can wait for no more
_LOOK = 0.1  # seconds between looks whether to stop

Stat = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Job:
    """A sheet to read: its file, and the shot and version it should be of."""

    path: Path
    shot: str | None
    version: int


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of a job, and the file's size and time just before it was read."""

    job: Job
    stat: Stat | None
    result: Sheet | SheetError


def stat_of(path: Path) -> Stat | None:
    """A file's size and the time it was changed, in nanoseconds; None where there is none."""
    try:
        stat = path.stat()
    except OSError:
        return None
    return stat.st_size, stat.st_mtime_ns


def processors() -> int:
    """How many processors this process may use."""
    here = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    return min(here, _MOST)


_Chunk = tuple[list[Job], list[Stat | None], dict[str, Any], list[tuple[Job, Stat | None, tuple[Fault, ...]]]]


def read_many(
    jobs: Sequence[Job], given: Conventions, kinds: Patterns, workers: int, cancelled: Callable[[], bool]
) -> Iterator[Outcome]:
    """The outcomes of jobs, in whatever order they come; fewer of them when cancelled, or when no process can be had.

    The processes start afresh and import the main module, which must not begin its work when it is imported.
    """
    chunks = iter([jobs[start : start + _CHUNK] for start in range(0, len(jobs), _CHUNK)])
    pool = ProcessPoolExecutor(
        min(workers, _MOST),
        mp_context=multiprocessing.get_context("spawn"),
        initializer=signal.signal,
        initargs=(signal.SIGINT, signal.SIG_IGN),  # Ctrl+C ends the parent, which ends them
    )
    try:
        # No more than a few at once are under way, so that results do not pile up.
        waiting: set[Future[_Chunk]] = set()
        for chunk in chunks:
            waiting.add(pool.submit(read_chunk, chunk, given, kinds))
            if len(waiting) > 2 * workers:
                yield from _first_of(waiting, cancelled)
            if cancelled():
                return
        while waiting and not cancelled():
            yield from _first_of(waiting, cancelled)
    except (OSError, BrokenExecutor, NotImplementedError):
        return  # what is missing is read here
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def _first_of(waiting: set[Future[_Chunk]], cancelled: Callable[[], bool]) -> Iterator[Outcome]:
    done: set[Future[_Chunk]] = set()
    while not done and not cancelled():
        done, _ = wait(waiting, _LOOK, FIRST_COMPLETED)
    for future in done:
        waiting.discard(future)
        jobs, stats, data, faulty = future.result()
        for job, stat, sheet in zip(jobs, stats, unpacked(data, [job.path for job in jobs]), strict=True):
            yield Outcome(job, stat, sheet)
        for job, stat, faults in faulty:
            yield Outcome(job, stat, SheetError(faults))


def read_chunk(jobs: Sequence[Job], given: Conventions, kinds: Patterns) -> _Chunk:
    """Read sheets in a process of its own, and pack what was read."""
    sound: list[Job] = []
    sheets: list[Sheet] = []
    stats: list[Stat | None] = []
    faulty: list[tuple[Job, Stat | None, tuple[Fault, ...]]] = []
    for job in jobs:
        stat = stat_of(job.path)
        try:
            sheet = read_sheet(job.path, shot=job.shot, version=job.version, given=given, kinds=kinds)
        except SheetError as error:
            faulty.append((job, stat, error.faults))
        else:
            sound.append(job)
            sheets.append(sheet)
            stats.append(stat)
    return sound, stats, packed(sheets), faulty
