"""What tells of a file that it changed, without reading it."""

from __future__ import annotations

import os
from pathlib import Path

Stamp = tuple[int, int, int, int]
"""When a file was last written, how long it is, which file it is (another one under the name has another), and when anything
about it changed, such as who may read it, which no copying sets back (on Windows when it was made). Times in nanoseconds."""

SAME_MOMENT = 2_000_000_000
"""Nanoseconds. A file that was written this shortly before it was noted may have changed since under the same stamp."""


def stamp_of(path: Path | str, *, follow: bool = True) -> Stamp:
    """The stamp of a file as it is now. Raises OSError."""
    stat = os.stat(path, follow_symlinks=follow)  # noqa: PTH116 - to make a path object of each takes longer than to look
    return stat.st_mtime_ns, stat.st_size, stat.st_ino, stat.st_ctime_ns


def stamp_if_there(path: Path) -> Stamp | None:
    """The stamp of a file as it is now; None where it cannot be looked at."""
    try:
        return stamp_of(path)
    except (OSError, ValueError):  # ValueError: no file can have such a name
        return None
