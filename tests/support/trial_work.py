"""What a child process is given to do in tests of it; it imports these by their names."""

from __future__ import annotations

import os
import signal
import sys
import time
from pathlib import Path
from typing import Any, NoReturn

from samelight.sheets.errors import Fault, SheetError
from samelight.sources.errors import CaptureError


def which() -> int:
    """The process that does it."""
    return os.getpid()


def die() -> None:
    """As a fault in a library would have it."""
    os.kill(os.getpid(), signal.SIGSEGV)


def leave() -> None:
    """As a library that ends the process by itself."""
    os._exit(3)


def take(size: int) -> int:
    """Take so much memory."""
    return len(bytearray(size))


def work_on() -> NoReturn:
    """Never come to an end."""
    while True:
        pass


def wait_on() -> None:
    """Wait for what never comes."""
    time.sleep(1000)


def speak() -> str:
    """Print, as libraries do, past Python."""
    os.write(1, b"spoken\n")
    os.write(2, b"spoken\n")
    return "done"


class OddError(Exception):
    """One that cannot be made anew from what it holds."""

    def __init__(self, one: str, other: str) -> None:
        super().__init__(f"{one} and {other}")


class _Heavy:
    def __reduce__(self) -> NoReturn:
        raise MemoryError


def odd() -> NoReturn:
    """Raise such an error."""
    raise OddError("this", "that")


def heavy() -> object:
    """What takes too much memory as it is sent."""
    return _Heavy()


def fail(kind: str, path: Path) -> NoReturn:
    """Raise an error of this kind."""
    if kind == "capture":
        raise CaptureError(path, "a scene", "none", path="lights", line=3, column=4, nearest="light")
    if kind == "sheet":
        raise SheetError([Fault(str(path), "", "this", "that", 7), Fault(str(path), "", "one", "two")])
    raise ZeroDivisionError("so it goes")


def something_that_cannot_be_sent() -> Any:
    """A thing of this process alone."""
    return sys.stdout


def peak() -> int:
    """The most memory that this process has had, in bytes."""
    import resource

    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024
