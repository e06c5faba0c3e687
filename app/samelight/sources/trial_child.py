"""The process that reads files for another, of which `trial` is the other side: one piece of work after another.

What comes on its standard input, and what goes out, is pickled: which folder paths are taken from, how long to wait for the next
work, and the work; then that it was taken up, and at last the answer.
"""

from __future__ import annotations

import os
import pickle
import queue
import signal
import threading
from collections.abc import Callable
from typing import IO, Any, NamedTuple, NoReturn

from samelight.sources.limits import Limits, become_child, is_spent, limit, memory_limit

READS = "--reads-files-for-another"
"""What a packaged program, which has no Python beside it, is told to be a child."""

READY = b"samelight reads\n"
"""The line behind which a child tells what it has to tell: before, others may have printed."""

Work = tuple[Limits, Callable[..., Any], tuple[Any, ...], dict[str, Any]]
"""What to hold to, a function of a module, and what it is called with."""


class Reply(NamedTuple):
    """What came of a piece of work: a result, or what it raised."""

    result: Any = None
    raised: BaseException | None = None
    spent: bool = False
    """Whether the process is better not kept for the next file."""
    memory: int = 0
    """The bytes that it might take at last."""


def serve() -> NoReturn:
    """Do what is asked for, and end this process where nothing comes for a while or the other process ends."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl+C ends the parent, which ends it
    become_child()
    asked, told = _own(0, "rb", os.O_RDONLY), _own(1, "wb", os.O_WRONLY)
    told.write(b"\n" + READY)
    waiting: queue.SimpleQueue[tuple[str, float, bytes]] = queue.SimpleQueue()
    threading.Thread(target=_listen, args=(asked, waiting), daemon=True).start()
    waits: float | None = None
    while True:
        try:
            folder, waits, work = waiting.get(timeout=waits)
            os.chdir(folder)
        except (queue.Empty, OSError):
            os._exit(0)
        _tell(told, b"")  # it has begun
        _tell(told, _packed(work))


def _own(stream: int, mode: str, flags: int) -> IO[bytes]:
    """A stream of this process for itself: what libraries print in C, or read, is nothing from now on."""
    own = os.dup(stream)
    nothing = os.open(os.devnull, flags)
    os.dup2(nothing, stream)
    os.close(nothing)
    return os.fdopen(own, mode)


def _listen(asked: IO[bytes], waiting: queue.SimpleQueue[tuple[str, float, bytes]]) -> None:
    """Hand over what is asked for, in a thread of its own; the end of who asks ends this process, whatever it does."""
    try:
        while True:
            waiting.put(pickle.load(asked))
    finally:
        os._exit(1)


def _tell(told: IO[bytes], said: bytes) -> None:
    pickle.dump(said, told)
    told.flush()


def _packed(work: bytes) -> bytes:
    answer = _answer(work)
    try:
        packed = pickle.dumps(answer)
        if answer.raised is not None:
            pickle.loads(packed)  # some errors cannot be made anew
        return packed
    except MemoryError as error:
        return pickle.dumps(Reply(raised=error, spent=True, memory=memory_limit()))
    except Exception as error:  # noqa: BLE001 - what was raised, or made, cannot be sent
        told = answer.raised if answer.raised is not None else error
        return pickle.dumps(Reply(raised=RuntimeError(f"{type(told).__name__}: {told}")))


def _answer(packed: bytes) -> Reply:
    work: Work = pickle.loads(packed)
    limits, function, args, kwargs = work
    limit(limits)
    try:
        result = function(*args, **kwargs)
    except Exception as error:  # noqa: BLE001 - it is raised where the answer goes
        spent = isinstance(error, MemoryError) or is_spent()
        return Reply(raised=error, spent=spent, memory=memory_limit())
    return Reply(result, spent=is_spent())
