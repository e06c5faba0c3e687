"""Reading a file of another program in a child process, with limits of time and memory.

The libraries that read scenes, cuts and pictures are written for sound files. On a damaged one they may take all memory,
never end, print to the terminal or end the process that they run in. What happens to a child is a sentence.

A child stays for the next file, so that only the first one waits for it to start, and ends where none comes for a while. What is sent is a function's name and
plain data, and what comes back is its result or what it raised (`trial_child`). In a child work is done in place.
"""

from __future__ import annotations

import atexit
import contextlib
import pickle
import queue
import signal
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import IO, ParamSpec, TypeVar, cast

from samelight.sources.errors import CaptureError
from samelight.sources.limits import Limits, is_child
from samelight.sources.trial_child import READS, READY, Reply

P = ParamSpec("P")
T = TypeVar("T")

_WAITING = 4
"""Times the seconds of a processor that a child may take by the clock: a share may be slow."""
_STANDSTILL = 60
"""Seconds in which a child neither works nor reads: it waits for something that never comes."""
_LOOK = 0.5
"""Seconds between two looks at what a child does."""
_LAST = 5.0
"""Seconds that the system may take to put a process away that has ended."""
KEPT = 60.0
"""Seconds that a child waits for the next file: it holds on to memory, and to what its libraries hold on to."""


def tried(file: Path, limits: Limits, work: Callable[P, T], *args: P.args, **kwargs: P.kwargs) -> T:
    """What `work`, a function of a module, makes of a file in a child process.

    Raises what `work` raises, and `ReaderEndedError` where the child ends, takes too long (`TooLongError`) or needs too much memory.
    """
    if is_child():
        return work(*args, **kwargs)
    if not _here():  # no child can begin there, and none may look for a file elsewhere
        found = "that the current folder is no more: go to another"
        raise ReaderEndedError(file, "a folder to read it from", found)
    job = pickle.dumps((limits, work, args, kwargs))
    try:
        answer = _asked(job, limits)
    except _GoneError as gone:
        raise ReaderEndedError(file, "a process to read it in", str(gone)) from None
    except _DiedError as died:
        kind = TooLongError if died.took_too_long else ReaderEndedError
        raise kind(file, "a file that can be read to its end", str(died)) from None
    if isinstance(answer.raised, MemoryError):
        from samelight.sheets.plain_files import size_in_words

        found = f"one that takes more than {size_in_words(answer.memory)} of memory"
        raise ReaderEndedError(file, "a file that can be read to its end", found)
    if answer.raised is not None:
        raise answer.raised
    result: T = answer.result
    return result


class ReaderEndedError(CaptureError):
    """A file whose reader ended before it: the child was taken down, took too long or needed too much memory."""


class TooLongError(ReaderEndedError):
    """A file that takes its reader longer than a sound one of its size would."""


def end_children() -> None:
    """End every child, also those that are reading, whose callers then hear that it ended."""
    with _lock:
        idle, busy = [*_idle], [*_busy]
        _idle.clear()
    for child in busy:
        child.end()
    for child in idle:
        child.close()


class _GoneError(Exception):
    """A child was not there to take the work; the text says why."""

    def __init__(self, says: str = "one that ended as it began") -> None:
        super().__init__(says)


class _DiedError(Exception):
    """A child did not come to the end of its work; the text says how that was."""

    def __init__(self, says: str, *, took_too_long: bool = True) -> None:
        self.took_too_long = took_too_long
        super().__init__(says)


class _Child:
    """A process that does one piece of work after another."""

    def __init__(self) -> None:
        from subprocess import DEVNULL, PIPE, Popen  # which a child has no use for

        self._process = Popen(_program(), stdin=PIPE, stdout=PIPE, stderr=DEVNULL)
        self._asks, tells = cast("IO[bytes]", self._process.stdin), cast("IO[bytes]", self._process.stdout)
        self._told: queue.SimpleQueue[bytes | None] = queue.SimpleQueue()
        self._hears = threading.Thread(target=_hear, args=(tells, self._told), daemon=True)
        self._hears.start()
        self.is_spent = False

    def asked(self, job: bytes, limits: Limits) -> Reply:
        """What became of a job. Raises `_GoneError` and `_DiedError`."""
        self.is_spent = True  # unless it answers
        try:
            pickle.dump((_here(), KEPT, job), self._asks)
            self._asks.flush()
        except OSError:
            raise _GoneError from None
        if self._told.get() is None:  # it has not begun
            raise _GoneError
        told = self._wait(limits)
        if told is None:
            raise _how(self._status(), limits)
        answer: Reply = pickle.loads(told)
        self.is_spent = answer.spent
        return answer

    def _wait(self, limits: Limits) -> bytes | None:
        """The answer; None where the child ends before it. Raises `_DiedError` where it takes too long."""
        begun = moved = time.monotonic()
        before = None
        while True:
            with contextlib.suppress(queue.Empty):
                return self._told.get(timeout=_LOOK if limits.clock is None else min(_LOOK, limits.clock / 4))
            now, work = time.monotonic(), _work_of(self._process.pid)
            if work is None or work != before:
                before, moved = work, now
            most = _WAITING * limits.seconds if limits.clock is None else limits.clock
            if now - begun > most:
                raise _DiedError(f"one that takes more than {most:g} s")
            if now - moved > _STANDSTILL:
                raise _DiedError(f"one at which nothing happens for {_STANDSTILL} s")

    def _status(self) -> int | None:
        """How the process ended; None where it has not, though it says no more."""
        from subprocess import TimeoutExpired

        with contextlib.suppress(TimeoutExpired):
            return self._process.wait(_LAST)
        return None

    def end(self) -> None:
        """End the process, whatever it does."""
        self.is_spent = True
        self._process.kill()
        self._process.wait()

    def close(self) -> None:
        """End the process, and let go of what was kept for it."""
        self.end()
        self._hears.join(_LAST)
        with contextlib.suppress(OSError):  # what it was still to be told, it will not hear
            self._asks.close()


def _hear(tells: IO[bytes], told: queue.SimpleQueue[bytes | None]) -> None:
    """Hand over what a child says, in a thread of its own, and None when it ends."""
    with tells, contextlib.suppress(Exception):  # what is no message is an end as well
        for line in tells:  # what starts with every Python of a house may print
            if line == READY:
                break
        while True:
            told.put(pickle.load(tells))
    told.put(None)


def _program() -> list[str]:
    """What starts a child, which finds its modules where this process does."""
    if getattr(sys, "frozen", False):
        return [sys.executable, READS]
    begin = "import sys; sys.path[:] = sys.argv[1:]; from samelight.sources.trial_child import serve; serve()"
    own = sys.flags
    asked = {"-E": own.ignore_environment, "-s": own.no_user_site, "-S": own.no_site, "-Xutf8": own.utf8_mode}
    flags = [flag for flag, is_set in {**asked, "-P": True, "-B": sys.dont_write_bytecode}.items() if is_set]
    return [sys.executable, *flags, "-c", begin, *map(str, sys.path)]


_idle: list[_Child] = []
_busy: set[_Child] = set()
_lock = threading.Lock()


def _here() -> str:
    """The folder that paths are taken from; empty where it is no more."""
    try:
        return str(Path.cwd())
    except OSError:
        return ""


def _asked(job: bytes, limits: Limits, *, fresh: bool = False) -> Reply:
    """What became of a job, in a fresh child or in one that waits. Raises `_GoneError` and `_DiedError`."""
    child = _take(fresh=fresh)
    try:
        return child.asked(job, limits)
    except _GoneError:
        if fresh:
            raise
    finally:
        _give_back(child)
    return _asked(job, limits, fresh=True)  # it ended while it had nothing to do


def _take(*, fresh: bool) -> _Child:
    with _lock:
        child = _idle.pop() if _idle and not fresh else None
    try:
        child = child or _Child()
    except OSError as error:  # there are too many processes, or too many open files
        raise _GoneError(f"that none can be started: {error.strerror or error}") from None
    with _lock:
        _busy.add(child)
    return child


def _give_back(child: _Child) -> None:
    with _lock:
        _busy.discard(child)
        if not child.is_spent:
            _idle.append(child)
            return
    child.close()


atexit.register(end_children)


def _work_of(pid: int | None) -> tuple[str, ...] | None:
    """What a process has worked and read so far; None where the system does not tell."""
    try:
        spent = Path(f"/proc/{pid}/stat").read_text("ascii", "replace").rpartition(")")[2].split()
        read = Path(f"/proc/{pid}/io").read_text("ascii", "replace").partition("\n")[0]
        return spent[11], spent[12], read
    except (OSError, IndexError):
        return None


def _how(status: int | None, limits: Limits) -> _DiedError:
    says = "one that takes its reader down"
    if status is not None and status < 0:
        ended = -status
        if ended == getattr(signal, "SIGXCPU", 0):
            return _DiedError(f"one that takes more than {limits.seconds} s of a processor")
        name = signal.Signals(ended).name if ended in set(signal.Signals) else f"signal {ended}"
        says += f" ({name}), being damaged or in need of more memory than it may take"
    return _DiedError(says, took_too_long=False)
