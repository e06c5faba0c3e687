"""How much memory and time reading a file of another program may take, and how a child process holds itself to it."""

from __future__ import annotations

import contextlib
import math
import os
import sys
from pathlib import Path
from typing import NamedTuple


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

_SPENT = 512 * 2**20
"""Bytes. A child that took so much is not kept for the next file."""
_A_THREAD = 16 * 2**20
"""Bytes that a thread of a library may take for itself."""

_is_child = False
_memory = 0


def become_child() -> None:
    """Say of this process that it is one that reads files for another, once."""
    global _is_child  # noqa: PLW0603 - it says what this process is
    _is_child = True


def is_child() -> bool:
    """Whether this process reads files for another."""
    return _is_child


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


def memory_limit() -> int:
    """The bytes of the limit that this process was held to last."""
    return _memory


def _own_memory() -> int:
    """Bytes that this process has allocated by now: the library that reads is loaded by then, and is no file's doing."""
    return _status("VmData") or 512 * 2**20


def is_spent() -> bool:
    """Whether this process took so much memory that another had better do the next file."""
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
