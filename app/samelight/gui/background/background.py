"""Work done beside the window: reading from slow shares, finding causes, comparing a whole film, loading frames."""

from __future__ import annotations

import contextlib
import threading
from collections import deque
from collections.abc import Callable, Hashable
from functools import partial
from typing import ClassVar, TypeVar

from PySide6.QtCore import QObject, Signal

from samelight.sheets.errors import SamelightError
from samelight.sheets.unforeseen import what_failed

T = TypeVar("T")

PATIENCE = 20.0
"""Seconds that the end waits for what is still being done: a share that hangs must not keep the program from ending."""
LINGER = 1.0
"""Seconds for which a thread that has nothing to do waits for more."""


def reason(error: BaseException) -> str:
    """An error as the user is told of it; the traceback of one that nobody foresaw is kept."""
    if isinstance(error, OSError) and error.filename:
        return f"{error.filename}: {error.strerror}"
    if isinstance(error, SamelightError | OSError):
        return str(error) or type(error).__name__
    return what_failed(error)


def _nothing(*_: object) -> None:
    pass


def _raise(error: BaseException) -> None:
    raise error


class _Job:
    """One thing to do, and whom to tell. `tell` is for the window's thread, once it is done."""

    def __init__(
        self, name: Hashable, do: Callable[[], Callable[[], object]], stop: Callable[[], object], rank: int
    ) -> None:
        self.name, self.stop, self.rank = name, stop, rank
        self.tell: Callable[[], object] = _nothing
        self._do = do

    def do(self) -> None:
        self.tell = self._do()


class _Crew(QObject):
    """Threads that do what waits, the lowest rank first. They stay for a moment when nothing does: to start one holds up the
    window longer than most of what is asked of it.

    What a job holds may be a widget, and a thread beside the window must not be the last to hold one: it would wait for Python
    with a lock of Qt's. So a job that is done is handed over whole, and a crew is let go of in the window's thread, once its
    threads have ended, whoever had it.
    """

    all: ClassVar[set[_Crew]] = set()
    """Those that have threads, or had them when that was looked at last."""
    told = Signal(object)
    """A job that is done, in the window's thread."""
    _rung = Signal()
    """A job is done; from any thread."""

    def __init__(self, threads: int) -> None:
        super().__init__()
        self._most = threads
        self._changed = threading.Condition()
        self._waiting: list[_Job] = []
        self._busy = self._idle = 0
        self._lingers = True
        """Whether threads that have nothing to do stay for more."""
        self._threads: list[threading.Thread] = []
        self._done: deque[_Job] = deque()
        self._rung.connect(self._hear)

    def ask(self, job: _Job) -> None:
        with self._changed:
            self._lingers = True
            self._waiting.append(job)
            self._waiting.sort(key=lambda one: one.rank)
            self._changed.notify_all()
            if len(self._waiting) <= self._idle or self._busy + self._idle == self._most:
                return
            self._idle += 1
        # A daemon: the program waits for what it asked for, but not forever.
        thread = threading.Thread(target=self._run, daemon=True, name="background")
        self._threads = [*filter(threading.Thread.is_alive, self._threads), thread]
        thread.start()
        _Crew.all = {self, *filter(_Crew._is_needed, self.all)}

    def _is_needed(self) -> bool:
        return bool(self._done) or any(thread.is_alive() for thread in self._threads)

    def drop(self, job: _Job) -> bool:
        """Do not begin a job; False where it has begun."""
        with self._changed:
            waits = job in self._waiting
            if waits:
                self._waiting.remove(job)
                self._changed.notify_all()
            return waits

    def wait(self, seconds: float) -> bool:
        with self._changed:
            self._lingers = False
            self._changed.notify_all()
            return self._changed.wait_for(lambda: not (self._busy or self._waiting), seconds)

    def _run(self) -> None:
        while (job := self._next()) is not None:
            job.do()
            with self._changed:
                self._done.append(job)
                del job
            with contextlib.suppress(RuntimeError):  # the program has ended meanwhile
                self._rung.emit()
            with self._changed:
                self._busy, self._idle = self._busy - 1, self._idle + 1
                self._changed.notify_all()

    def _next(self) -> _Job | None:
        with self._changed:
            self._changed.wait_for(lambda: self._waiting or not self._lingers, LINGER)
            self._idle -= 1
            if not self._waiting:
                return None
            self._busy += 1
            return self._waiting.pop(0)

    def _hear(self) -> None:
        with self._changed:
            job = self._done.popleft()
        self.told.emit(job)


class Background(QObject):
    """Does things by name in threads of its own. Of one name only what was asked for last is told.

    Whatever is told is told in the window's thread. Nothing is told once it was cancelled, or once this object is gone
    with the part of the window that it belongs to.
    """

    def __init__(self, parent: QObject | None = None, threads: int = 1) -> None:
        super().__init__(parent)
        self._crew = _Crew(threads)
        self._crew.told.connect(self._tell)
        self._wanted: dict[Hashable, _Job] = {}

    @property
    def busy(self) -> bool:
        """Whether something that was asked for is still to be told."""
        return bool(self._wanted)

    def __contains__(self, name: Hashable) -> bool:
        """Whether something of this name is still to be told."""
        return name in self._wanted

    def run(
        self,
        name: Hashable,
        work: Callable[[], T],
        done: Callable[[T], object] = _nothing,
        failed: Callable[[str], object] | None = None,
        *,
        stop: Callable[[], object] = _nothing,
        rank: int = 0,
    ) -> None:
        """Do some work in a thread, in the place of what was asked for by the same name.

        `done` gets what came of it, `failed` the sentence that says why nothing did; without `failed`, that is an error of
        the program, raised in the window's thread. `stop` asks the work to end soon, and is called where it is cancelled.
        What waits is begun in the order of `rank`, the lowest first.
        """

        def do() -> Callable[[], object]:
            try:
                found = work()
            except BaseException as error:  # noqa: BLE001 - a mistake of our own must not end the thread unheard
                return partial(_raise, error) if failed is None else partial(failed, reason(error))
            return partial(done, found)

        self.cancel(name)
        job = self._wanted[name] = _Job(name, do, stop, rank)
        self._crew.ask(job)

    def cancel(self, name: Hashable) -> None:
        """Tell nothing of this name any more: what waits is not begun, what is being done is asked to end."""
        job = self._wanted.pop(name, None)
        if job is not None:
            job.stop()
            self._crew.drop(job)

    def cancel_waiting(self) -> None:
        """Begin nothing that has not begun."""
        for name, job in list(self._wanted.items()):
            if self._crew.drop(job):
                del self._wanted[name]

    def wait(self) -> bool:
        """Return when nothing is being done and nothing waits, with True; with False where that takes too long."""
        return self._crew.wait(PATIENCE)

    def cancel_all(self) -> None:
        """Tell nothing any more of whatever was asked for."""
        for name in list(self._wanted):
            self.cancel(name)

    def _tell(self, job: _Job) -> None:
        if self._wanted.get(job.name) is job:
            del self._wanted[job.name]
            job.tell()


def wait_for_all() -> None:
    """Wait for what is done for any window, also for parts of windows that are gone."""
    for crew in list(_Crew.all):
        crew.wait(PATIENCE)
