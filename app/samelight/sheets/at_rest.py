"""Whether anything in a folder is another than it was: the state of every file below it, without reading any."""

from __future__ import annotations

import os
import sys
from collections.abc import Collection
from pathlib import Path

from samelight import __version__
from samelight.sheets.resources import resource

SAME_MOMENT = 2_000_000_000
"""Nanoseconds. A file that changed this shortly before it was read may have changed since under the same time."""

MOST_FILES = 300_000
"""Files of a folder. To look at more takes longer than a person waits."""

NOT_LOOKED_INTO = frozenset({"frames", "views"})
"""Folders of a sequence in which no check reads anything, unless sequence.yaml names a file there."""


PRODUCTION_FILE = "production.yaml"

LEVELS = 4
"""How many folders above a sequence its production is looked for."""

_TELL_LIBRARIES = ("OTIO_", "PYTHON")
"""How what in the environment has libraries, or Python itself, do otherwise is called."""


class UncertainError(Exception):
    """A link, too many files, or one that is too new, or is being written."""


def state_of(
    place: str, left_out: Collection[str] = (), settled: int | None = None, everywhere: Collection[str] = ()
) -> list[str]:
    """A line for everything that lies in a folder, below it too, but for what is `left_out` of the folder itself, and what
    is left out `everywhere`.

    With `settled` a file that changed after that time is too new to be told by its time. Raises OSError and
    `UncertainError`.
    """
    lines: list[str] = []
    waiting = [place]
    while waiting:
        of = waiting.pop()
        with os.scandir(of) as found:
            entries = sorted(found, key=lambda entry: entry.name)
        for entry in entries:
            if (of == place and entry.name in left_out) or entry.name in everywhere:
                continue
            if entry.is_symlink() or entry.name.endswith(".tmp") or len(lines) >= MOST_FILES:
                raise UncertainError
            if entry.is_file():
                lines.append(state_of_file(entry.path, settled))
            else:
                if entry.is_dir():
                    waiting.append(entry.path)
                lines.append(f"{entry.path} {entry.stat(follow_symlinks=False).st_mode}")
    return lines


def state_above(place: str, settled: int | None = None) -> list[str]:
    """A line for every YAML file beside a production.yaml above a folder: what a production gives its sequences lies there.
    Raises as `state_of`."""
    for above in production_above(place):
        with os.scandir(above) as found:
            names = sorted(entry.path for entry in found if entry.name.endswith(".yaml") and entry.is_file())
        return [above, *(state_of_file(name, settled) for name in names)]
    return []


def production_above(place: str) -> list[str]:
    """The nearest folder above a real path that has a production.yaml, if one has, as a list of one."""
    for _ in range(LEVELS):
        above = os.path.dirname(place)  # noqa: PTH120 - a command that answers from what was kept makes no paths
        if above == place:
            break
        place = above
        if os.path.lexists(f"{place}/{PRODUCTION_FILE}"):
            return [place]
    return []


def state_of_file(path: str, settled: int | None = None) -> str:
    """The line of one file. Raises as `state_of`."""
    state = _opened(path)
    if settled is not None and max(state.st_mtime_ns, state.st_ctime_ns) >= settled:
        raise UncertainError
    times = f"{state.st_mtime_ns} {state.st_ctime_ns}"
    return f"{path} {times} {state.st_size} {state.st_ino} {state.st_mode}"


def _opened(path: str) -> os.stat_result:
    """What a plain file is, opened: only so does a share tell what it is now and not a minute ago, and is it sure that it may
    be read. Raises OSError."""
    handle = os.open(path, os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0))
    try:
        return os.fstat(handle)
    finally:
        os.close(handle)


def program_state() -> list[str]:
    """A line for everything that what the program says of a sequence hangs on, beside that sequence: its code, but for the
    window, its resources, and where libraries come from. Raises as `state_of`."""
    code = str(Path(__file__).parents[1])
    found = [sys.version, __version__, *_libraries()]
    found += state_of(code, ("gui",), everywhere={"__pycache__"})
    return found + state_of(str(resource()), {"pictures"})


def _libraries() -> list[str]:
    """Where libraries come from, when one was last installed or removed there, and what tells them to do otherwise."""
    installed = [path for path in sys.path if path.endswith("-packages")]
    times = [str(os.stat(path).st_mtime_ns) for path in installed if os.path.isdir(path)]  # noqa: PTH112, PTH116 - as `stamp_of` does
    told = sorted(f"{name}={value}" for name, value in os.environ.items() if name.startswith(_TELL_LIBRARIES))
    return [*sys.path, *times, *told]
