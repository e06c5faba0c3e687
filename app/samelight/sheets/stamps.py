"""What tells of a file that it changed, without reading it."""

from __future__ import annotations

import os
from pathlib import Path

Stamp = tuple[int, int, int, int]
"""When a file was last written, how long it is, which file it is (another one under the name has another), and when anything
about it changed, such as who may read it."""


def stamp_of(path: Path | str, *, follow: bool = True) -> Stamp:
    """The stamp of a file as it is now. Raises OSError."""
    stat = os.stat(path, follow_symlinks=follow)  # noqa: PTH116 - to make a path object of each takes longer than to look
    return stat.st_mtime_ns, stat.st_size, stat.st_ino, stat.st_ctime_ns
