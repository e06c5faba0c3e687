"""The answer of a check, kept: where nothing that it was made of changed, it is given again, and nothing is computed.

A gate runs once a shot on a farm, mostly on what was checked before. An answer is known by the words of the command and by
the state of every file of the sequence: its place, length, times and number. Any file that was changed, came or went, also
while it was computed, another program or another way to print makes it count as nothing, as does a file that was written so
shortly before that it may have changed since under the same time, and a link, behind which anything may change. Only what a
check says where it has nothing to complain of is kept; at a terminal as it was said there, for one of that size and kind. On Windows, which does
not tell when a file was changed under a time that was set back, nothing is kept.

It lies in the user's cache folder, which lets nobody else in, and may be deleted at any time. It says itself what it answers,
so that under another's name it counts as nothing.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import sys
import time
from collections.abc import Sequence
from io import StringIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

from samelight.sheets.at_rest import (
    NOT_LOOKED_INTO,
    SAME_MOMENT,
    UncertainError,
    program_state,
    state_above,
    state_of,
)
from samelight.sheets.private import keep_latest, read_own, write_own

if TYPE_CHECKING:
    import argparse

COMMAND = "check"

LARGEST = 4 * 2**20
"""Characters of an answer that is kept: a longer one takes longer to make than to compute."""

MOST_KEPT = 4096
"""Answers; the one that was not given for longest goes first."""

_ENDING = ".answer"

_TELL_TERMINAL = (
    *(
        "TERM",
        "COLORTERM",
        "NO_COLOR",
        "FORCE_COLOR",
        "TTY_COMPATIBLE",
        "TTY_INTERACTIVE",
        "COLUMNS",
        "LINES",
    ),
    *("JUPYTER_COLUMNS", "JUPYTER_LINES"),
)
"""What in the environment says how a terminal is written to, after the documentation of rich."""


def kept(words: Sequence[str]) -> int | None:
    """Give the answer that is kept of these words, and its exit status; None where none is."""
    file = _file(words)
    if file is None:
        return None
    try:
        stated, _, body = read_own(file, 8 * LARGEST).partition(b"\n")
        if hashlib.sha256(body).hexdigest().encode() != stated:
            return None
        data = json.loads(body)
        if data["asked"] != _asked(words) or data["of"] != _of(data["folder"]):
            return None
        text, status = str(data["text"]), int(data["status"])
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return None
    with contextlib.suppress(OSError):
        os.utime(file)
    sys.stdout.write(text)
    return status


def answered(words: Sequence[str], arguments: argparse.Namespace) -> int:
    """Run a command, and keep what it says where `arguments.keeps` says afterwards that it may be given again."""
    file = _file(words)
    start = time.time_ns() - SAME_MOMENT
    of = None if file is None else _of(str(arguments.folder), settled=start)
    if file is None or of is None:
        return int(arguments.run(arguments))
    heard: Any = _Heard(sys.stdout)
    with contextlib.redirect_stdout(heard):
        status = int(arguments.run(arguments))
    text = heard.text()
    if getattr(arguments, "keeps", False) and text is not None and of == _of(str(arguments.folder)):
        data = {
            "asked": _asked(words),
            "folder": str(arguments.folder),
            "of": of,
            "text": text,
            "status": status,
        }
        body = json.dumps(data).encode()
        with contextlib.suppress(OSError):
            write_own(file, hashlib.sha256(body).hexdigest().encode() + b"\n" + body)
            keep_latest(file, _ENDING, MOST_KEPT)
    return status


class _Heard:
    """A stream that also keeps what is written to it, as long as that is not too much."""

    def __init__(self, stream: Any) -> None:
        self._stream = stream
        self._said = StringIO()
        self._length = 0

    def write(self, text: str) -> int:
        """Write, and keep."""
        self._length += len(text)
        if self._length <= LARGEST:
            self._said.write(text)
        return int(self._stream.write(text))

    def text(self) -> str | None:
        """All that was written; None where that was too much."""
        return self._said.getvalue() if self._length <= LARGEST else None

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)


def folder() -> Path:
    """Where answers lie."""
    from platformdirs import user_cache_path

    return user_cache_path("samelight", appauthor=False) / "answers"


def _file(words: Sequence[str]) -> Path | None:
    """Where the answer to these words lies; None where none is kept of them: of another command."""
    if os.name != "posix" or words[:1] != [COMMAND]:
        return None
    try:
        key = hashlib.sha256(json.dumps(_asked(words)).encode()).hexdigest()[:40]
    except (OSError, ValueError, AttributeError):
        return None
    return folder() / f"{key}{_ENDING}"


def _asked(words: Sequence[str]) -> list[str | None]:
    """What was asked, from where, and how it is printed. Raises OSError, and AttributeError where stdout is no file."""
    return [*words, str(Path.cwd()), sys.stdout.encoding, sys.stdout.errors, *time.tzname, *_terminal()]


def _terminal() -> list[str | None]:
    """What decides in which width and colours a terminal is written to, or that none is there."""
    sizes = [str(os.get_terminal_size(handle)) if os.isatty(handle) else None for handle in range(3)]
    return [str(sys.stdout.isatty()), *sizes, *map(os.environ.get, _TELL_TERMINAL)]


def _of(place: str, settled: int | None = None) -> str | None:
    """A digest of what an answer is made of; None where it cannot be told, or not for certain.

    With `settled` a file that changed after that time is too new to be told by its time.
    """
    real = os.path.realpath(place)
    try:
        parts = [
            real,
            *program_state(),
            *state_above(real, settled),
            *state_of(real, NOT_LOOKED_INTO, settled),
        ]
    except (OSError, UncertainError):
        return None
    return hashlib.sha256("\n".join(parts).encode("utf-8", "surrogatepass")).hexdigest()
