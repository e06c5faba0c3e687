"""Whole sequences shared out: to processes of this machine, or to the workers of a farm.

What a worker says is what this machine would say, to the byte: it runs the same command on the same files, and one that has
another version of the program is refused. What nobody could do, because workers ended or none is left, is done here.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Collection, Iterator, Sequence
from concurrent.futures import Future
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any, TypeVar

from samelight import __version__
from samelight.cli.terminal import complain
from samelight.cli.workers import client_of, processes
from samelight.sheets.errors import SamelightError
from samelight.sheets.resources import resource

T = TypeVar("T")
R = TypeVar("R")

TRIES = 4
"""How often a sequence is given to workers before it is done here."""

LOOK = 0.5
"""Seconds between two looks at whether there is still a worker for what is waited for."""

_COUNTS = ("numpy", "deepdiff", "PyYAML", "sunposition")
"""Libraries by whose version an answer may differ."""

Share = Callable[[Callable[[T], R], Sequence[T]], Iterator[R | None]]
"""Gives what work makes of each task, in their order; None for what nobody could do."""


@cache
def program_here() -> str:
    """What tells one program from another wherever it is installed: its code, its resources, and what it counts with."""
    found = hashlib.sha256(__version__.encode())
    code = Path(__file__).parents[1]
    for place, pattern in ((code, "**/*.py"), (resource(), "*.yaml")):
        for path in sorted(place.glob(pattern)):
            name = path.relative_to(place).as_posix()
            if not name.startswith("gui/"):
                found.update(name.encode() + b"\0" + path.read_bytes() + b"\0")
    for name in _COUNTS:
        try:
            found.update(f"{name} {version(name)}\n".encode())
        except PackageNotFoundError:
            found.update(f"{name}\n".encode())
    return found.hexdigest()


@contextmanager
def shared_out(jobs: int, scheduler: str | None) -> Iterator[Share[Any, Any]]:
    """Where sequences are worked on: on a farm, or in so many processes. Raises `SamelightError` where there is no farm."""
    if scheduler is None:
        yield lambda work, tasks: _in_processes(min(jobs, len(tasks)), work, tasks)
        return
    with client_of(scheduler) as client:
        yield Farm(client, scheduler).results


def _in_processes(jobs: int, work: Callable[[T], R], tasks: Sequence[T]) -> Iterator[R | None]:
    try:
        with processes(jobs) as pool:
            for future in [pool.submit(work, task) for task in tasks]:
                yield _done(future)
    except (OSError, ImportError):  # processes cannot be had here
        return


def _done(future: Future[R]) -> R | None:
    try:
        return future.result()
    except (BrokenProcessPool, OSError):
        return None


class Farm:
    """The workers of a scheduler that have this program."""

    def __init__(self, client: Any, address: str) -> None:
        self._client = client
        self._refused: set[str] = set()
        self._known: dict[str, bool] = {}
        if not self._able():
            why = "none that has this version of the program" if self._known else "none"
            raise SamelightError(f"{address}: expected workers, found {why}")

    def _able(self) -> Collection[str]:
        """The workers that are there now and have this program; the others are refused, each in one sentence."""
        there = set(self._client.scheduler_info(n_workers=-1)["workers"])
        new = sorted(there - self._known.keys())
        if new:
            answers = self._client.run(program_here, workers=new, on_error="return")
            for worker in new:
                if worker in answers:
                    self._known[worker] = answers[worker] == program_here()
        for worker in sorted(there - self._refused):
            if self._known.get(worker) is False:
                self._refused.add(worker)
                complain(f"the worker {worker} has another version of the program: nothing is given to it")
        return {worker for worker in there if self._known.get(worker)}

    def results(self, work: Callable[[T], R], tasks: Sequence[T]) -> Iterator[R | None]:
        """What work makes of each task. Those of workers that ended are given to others."""
        able = self._able()
        waiting = [self.send(work, task, able) for task in tasks]
        for task, sent in zip(tasks, waiting, strict=True):
            yield self._result(work, task, sent)

    def send(
        self, work: Callable[[T], R], task: T, able: Collection[str]
    ) -> tuple[Any, Collection[str]] | None:
        """Give a task to one of the workers that are able to do it, whichever is free first; None where there is none."""
        if not able:
            return None
        return self._client.submit(work, task, pure=False, workers=list(able), retries=0), able

    def _result(self, work: Callable[[T], R], task: T, sent: tuple[Any, Collection[str]] | None) -> R | None:
        for _ in range(TRIES):
            if sent is None:
                return None
            future, given = sent
            try:
                found: R = self._wait(future, given)
            except Exception:  # noqa: BLE001 - the worker ended, or cannot run this: another one is tried
                future.cancel()
                sent = self.send(work, task, self._able())
            else:
                return found
        return None

    def _wait(self, future: Any, given: Collection[str]) -> Any:
        """The result, as long as one of the workers that it was given to is there. Raises whatever ended it."""
        while True:
            try:
                return future.result(timeout=LOOK)
            except TimeoutError:
                there = self._client.scheduler_info(n_workers=-1)["workers"]
                if not any(worker in there for worker in given):
                    raise
