"""Files of the user's own alone, outside any sequence: what the program keeps, and what it notes of itself.

The folder lets nobody else in (0700) and its files are nobody else's (0600). What somebody else owns or may write to, a
link, a pipe and a device are refused, before anything of them is opened or read. Where a system has no such owners and
modes, its own rules for the user's folders hold.
"""

from __future__ import annotations

import contextlib
import os
import stat
from pathlib import Path

_NOBODY_ELSE = 0o077
_HAS_OWNERS = os.name == "posix"


def make_folder(folder: Path) -> None:
    """Make a folder of the user's own, or see that it is one. Raises OSError where it is not, or cannot be made."""
    folder.parent.mkdir(parents=True, exist_ok=True)
    with contextlib.suppress(FileExistsError):
        folder.mkdir(mode=0o700)
    _check_folder(folder, folder.lstat())
    if _HAS_OWNERS and stat.S_IMODE(folder.lstat().st_mode) & _NOBODY_ELSE:
        folder.chmod(0o700)  # the user's own, made when it still let others look in


def read_own(path: Path, most: int) -> bytes:
    """The bytes of a file that `write_own` wrote. Raises OSError where it is not there, or not the user's own alone,
    and ValueError where it has more than `most` bytes."""
    folder = path.parent.lstat()
    _check_folder(path.parent, folder)
    _check_closed(path.parent, folder)
    before = path.lstat()
    _check_file(path, before)
    handle = os.open(path, os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0))
    with os.fdopen(handle, "rb") as file:
        now = os.fstat(file.fileno())
        _check_file(path, now)
        if now.st_size > most:
            raise ValueError(f"{path} has more than {most:,} bytes")
        return file.read(now.st_size)


def keep_latest(newest: Path, ending: str, most: int) -> None:
    """Remove the files beside the newest one that were not written or met for longest, where there are more than `most` of that
    ending. What cannot be removed stays."""
    with contextlib.suppress(OSError):
        others = [path for path in newest.parent.glob(f"*{ending}") if path != newest]
        others.sort(key=lambda path: path.stat().st_mtime_ns, reverse=True)
        for path in others[most - 1 :]:
            path.unlink(missing_ok=True)


def write_own(path: Path, content: bytes) -> None:
    """Write a file that nobody else may read, whole or not at all. Raises OSError."""
    make_folder(path.parent)
    temporary = path.parent / f".{path.name}.{os.getpid()}.{os.urandom(4).hex()}.tmp"
    handle = os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_NOFOLLOW", 0), 0o600)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        temporary.replace(path)
    finally:
        temporary.unlink(missing_ok=True)


def _check_folder(folder: Path, state: os.stat_result) -> None:
    if not stat.S_ISDIR(state.st_mode):
        raise NotADirectoryError(f"{folder} is no folder")
    _check_owner(folder, state)


def _check_file(path: Path, state: os.stat_result) -> None:
    if not stat.S_ISREG(state.st_mode):
        raise PermissionError(f"{path} is no file")
    _check_owner(path, state)
    _check_closed(path, state)


def _check_closed(path: Path, state: os.stat_result) -> None:
    if _HAS_OWNERS and stat.S_IMODE(state.st_mode) & _NOBODY_ELSE:
        raise PermissionError(f"{path} is open to others")


def _check_owner(path: Path, state: os.stat_result) -> None:
    if _HAS_OWNERS and state.st_uid != os.geteuid():
        raise PermissionError(f"{path} is somebody else's")
