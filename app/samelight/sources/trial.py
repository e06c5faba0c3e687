"""Reading a file of another program in a child process, with limits of time and memory.

The libraries that read scenes, cuts and pictures are written for sound files. On a damaged one they may take all memory,
never end, print to the terminal or end the process that they run in. What happens to a child is a sentence.

A child stays for the next file, so that only the first one waits for it to start, and ends where none comes for a while. What is sent is a function's name and
plain data, and what comes back is its result or what it raised. In a child work is done in place.
"""

from __future__ import annotations

import atexit
import contextlib
import math
import os
import pickle
import signal
import sys
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from multiprocessing import current_process, get_context
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any, NamedTuple, ParamSpec, TypeVar

from samelight.sheets.plain_files import size_in_words
from samelight.sources.errors import CaptureError
from samelight.sources.pools import end_with_parent

P = ParamSpec("P")
T = TypeVar("T")


class Limits(NamedTuple):
    """Bytes that reading a file may take beside what the process has by then, and seconds of a processor."""

    memory: int
    seconds: int
    clock: float | None = None
    """Seconds by the clock, where somebody says how long to wait; then it is not tried in another way either."""


SCENE = Limits(4 * 2**30, 600)
"""A film's set with everything loaded takes gigabytes and minutes."""
LAYER = Limits(128 * 2**20, 600)
"""The layers of a scene before they are put together, beside `LAYER_FACTOR` times their size."""
LAYER_FACTOR = 64
ALONE = Limits(128 * 2**20, 600)
"""A scene made of its layers alone, beside `ALONE_FACTOR` times their size: nothing in them is packed better."""
ALONE_FACTOR = 256
CUT = Limits(512 * 2**20, 120)
PICTURE = Limits(4 * 2**30, 120)
"""The pixels of `pictures.MOST_BYTES`, and as much again while they are unpacked."""
VIEW = Limits(2 * 2**30, 20)
"""A colour config with all the LUTs of a view; a picture through it may take `VIEW_OF_A_MEGAPIXEL` more."""
VIEW_OF_A_MEGAPIXEL = 8
"""Seconds; a view of the ACES configs takes one."""

_WAITING = 4
"""Times the seconds of a processor that a child may take by the clock: a share may be slow."""
_STANDSTILL = 60
"""Seconds in which a child neither works nor reads: it waits for something that never comes."""
_LOOK = 0.5
"""Seconds between two looks at what a child does."""
KEPT = 60.0
"""Seconds that a child waits for the next file: it holds on to memory, and to what its libraries hold on to."""
_SPENT = 512 * 2**20
"""Bytes. A child that took so much is not kept for the next file."""
_A_THREAD = 16 * 2**20
"""Bytes that a thread of a library may take for itself."""


def tried(file: Path, limits: Limits, work: Callable[P, T], *args: P.args, **kwargs: P.kwargs) -> T:
    """What `work`, a function of a module, makes of a file in a child process.

    Raises what `work` raises, and `ReaderEndedError` where the child ends, takes too long (`TooLongError`) or needs too much memory.
    """
    if _is_child or current_process().daemon:
        return work(*args, **kwargs)
    if not _here():  # no child can begin there, and none may look for a file elsewhere
        found = "that the current folder is no more: go to another"
        raise ReaderEndedError(file, "a folder to read it from", found)
    job = pickle.dumps((limits, work, args, kwargs))
    child = _take()
    try:
        try:
            answer = child.asked(job, limits)
        except _GoneError:  # it ended while it had nothing to do
            _give_back(child)
            child = _take(fresh=True)
            answer = child.asked(job, limits)
    except _DiedError as died:
        kind = TooLongError if died.took_too_long else ReaderEndedError
        raise kind(file, "a file that can be read to its end", str(died)) from None
    finally:
        _give_back(child)
    if isinstance(answer.raised, MemoryError):
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
        children = [*_idle, *_busy]
        _idle.clear()
    for child in children:
        child.end()


class _GoneError(Exception):
    """A child was not there to take the work."""


class _DiedError(Exception):
    """A child did not come to the end of its work; the text says how that was."""

    def __init__(self, says: str, *, took_too_long: bool = True) -> None:
        self.took_too_long = took_too_long
        super().__init__(says)


@dataclass(frozen=True, slots=True)
class _Answer:
    result: Any = None
    raised: BaseException | None = None
    spent: bool = False
    memory: int = 0
    """The bytes that it might take at last."""


class _Child:
    """A process that does one piece of work after another."""

    def __init__(self) -> None:
        context = get_context("spawn")  # a fork of a process with threads may hang
        self._ours, theirs = context.Pipe()
        self._process = context.Process(target=_serve, args=(theirs, KEPT), daemon=True)
        try:
            self._process.start()
        finally:
            theirs.close()
        self.is_spent = False

    def asked(self, job: bytes, limits: Limits) -> _Answer:
        """What became of a job. Raises `_GoneError` and `_DiedError`."""
        try:
            self._ours.send(_here())
            self._ours.send_bytes(job)
            self._ours.recv_bytes()  # it has begun
        except (OSError, EOFError):
            self.is_spent = True
            raise _GoneError from None
        self.is_spent = True  # unless it answers
        self._wait(limits)
        try:
            answer: _Answer = pickle.loads(self._ours.recv_bytes())
        except (OSError, EOFError):
            self._process.join(5)
            raise _how(self._process.exitcode, limits) from None
        self.is_spent = answer.spent
        return answer

    def _wait(self, limits: Limits) -> None:
        """Return when there is an answer, or an end. Raises `_DiedError` where it takes too long."""
        begun = moved = time.monotonic()
        before = None
        while not self._ours.poll(_LOOK if limits.clock is None else min(_LOOK, limits.clock / 4)):
            now, work = time.monotonic(), _work_of(self._process.pid)
            if work is None or work != before:
                before, moved = work, now
            most = _WAITING * limits.seconds if limits.clock is None else limits.clock
            if now - begun > most:
                raise _DiedError(f"one that takes more than {most:g} s")
            if now - moved > _STANDSTILL:
                raise _DiedError(f"one at which nothing happens for {_STANDSTILL} s")

    def end(self) -> None:
        """End the process, whatever it does."""
        self.is_spent = True
        self._process.kill()
        self._process.join()

    def close(self) -> None:
        """End the process, and let go of what was kept for it."""
        self.end()
        self._ours.close()


_idle: list[_Child] = []
_busy: set[_Child] = set()
_lock = threading.Lock()


def _here() -> str:
    """The folder that paths are taken from; empty where it is no more."""
    try:
        return str(Path.cwd())
    except OSError:
        return ""


def _take(*, fresh: bool = False) -> _Child:
    with _lock:
        child = _idle.pop() if _idle and not fresh else None
    child = child or _Child()
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


# In the child

_is_child = False
_memory = 0


def _serve(connection: Connection, kept: float) -> None:
    global _is_child  # noqa: PLW0603 - it says what this process is, once
    _is_child = True
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl+C ends the parent, which ends it
    threading.Thread(target=end_with_parent, daemon=True).start()
    with contextlib.suppress(OSError, ValueError):
        _say_nothing()
    waits: float | None = None
    while connection.poll(waits):
        waits = kept
        try:
            os.chdir(connection.recv())
            job = connection.recv_bytes()
            connection.send_bytes(b"")
        except (OSError, EOFError):
            return
        answer = _answer(job)
        try:
            packed = pickle.dumps(answer)
        except Exception as error:  # noqa: BLE001 - what was raised, or made, cannot be sent
            told = answer.raised if answer.raised is not None else error
            packed = pickle.dumps(_Answer(raised=RuntimeError(f"{type(told).__name__}: {told}")))
        connection.send_bytes(packed)


def _answer(job: bytes) -> _Answer:
    limits, work, args, kwargs = pickle.loads(job)
    limit(limits)
    try:
        result = work(*args, **kwargs)
    except Exception as error:  # noqa: BLE001 - it is raised where the answer goes
        return _Answer(raised=error, spent=isinstance(error, MemoryError) or _is_spent(), memory=_memory)
    return _Answer(result, spent=_is_spent())


def _say_nothing() -> None:
    """Keep what libraries print in C from the terminal."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    for stream in (1, 2):
        os.dup2(nowhere, stream)
    os.close(nowhere)


def limit(limits: Limits) -> None:
    """Hold this process to these limits from now on, if it is a child and the system can do so."""
    if not _is_child:
        return
    try:
        import resource
    except ImportError:  # Windows, where the parent looks at the clock alone
        return
    global _memory  # noqa: PLW0603 - for what is said where it is not enough
    _memory = limits.memory
    spent = resource.getrusage(resource.RUSAGE_SELF)
    seconds = math.ceil(spent.ru_utime + spent.ru_stime) + limits.seconds
    # What a library allocates counts, and not the files that it maps, which may be large and cost nothing.
    kind = resource.RLIMIT_DATA if sys.platform.startswith("linux") else resource.RLIMIT_AS
    memory = _own_memory() + _A_THREAD * (os.cpu_count() or 1) + limits.memory
    # What dies leaves no image of its memory: writing one takes longer than reading the file.
    for which, most in ((resource.RLIMIT_CPU, seconds), (kind, memory), (resource.RLIMIT_CORE, 0)):
        hard = resource.getrlimit(which)[1]
        with contextlib.suppress(OSError, ValueError):
            resource.setrlimit(which, (most if hard < 0 else min(most, hard), hard))


def _own_memory() -> int:
    """Bytes that this process has allocated by now: the library that reads is loaded by then, and is no file's doing."""
    return _status("VmData") or 512 * 2**20


def _is_spent() -> bool:
    # On Linux what is counted of a process begins with the memory of the one that started it; the high-water mark does not.
    largest = _status("VmHWM")
    if largest is None:
        try:
            import resource
        except ImportError:
            return False
        largest = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * (
            1 if sys.platform == "darwin" else 1024
        )
    return largest > _SPENT


def _status(name: str) -> int | None:
    """Bytes that Linux states of this process; None elsewhere."""
    with contextlib.suppress(OSError, ValueError, IndexError):
        for line in Path("/proc/self/status").read_text("ascii", "replace").splitlines():
            if line.startswith(f"{name}:"):
                return int(line.split()[1]) * 1024
    return None
