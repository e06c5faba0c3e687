"""Opening a file that may be anything: only a plain file of a sane size is ever read from."""

from __future__ import annotations

import hashlib
import os
import stat
from collections.abc import Iterator
from io import BufferedReader
from pathlib import Path

from samelight.sheets.errors import Fault, SamelightError, SheetError

_FLAGS = os.O_RDONLY | sum(
    getattr(os, name, 0) for name in ("O_NONBLOCK", "O_NOCTTY", "O_CLOEXEC", "O_BINARY")
)

_SPARE = 4096
"""Bytes that are asked for beyond the length of a file, which may grow meanwhile."""

_AT_ONCE = 2**20
"""Bytes of a file that are asked for at most. Room for more than a small file has takes longer to get than that to read."""


class UnfitFileError(SamelightError):
    """Something that is no plain file, or a larger one than is read: what it is, and what was expected of its size."""

    def __init__(self, found: str, expected: str | None = None) -> None:
        self.found, self.expected = found, expected
        super().__init__(found if expected is None else f"expected {expected}, found {found}")


def open_plain(path: Path, largest: int) -> BufferedReader:
    """Open a plain file of at most `largest` bytes for reading.

    It is looked at before it is opened, since opening a device may do something, and once more when it is open, since
    another may stand in its place by then. Opening never waits: a pipe has nobody at its other end. Raises
    `UnfitFileError` and OSError.
    """
    descriptor, _ = _opened(path, largest)
    try:
        return os.fdopen(descriptor, "rb")
    except BaseException:
        os.close(descriptor)
        raise


def _opened(path: Path, largest: int) -> tuple[int, int]:
    """As `open_plain`: the number of the open file, and its bytes."""
    check_plain(path, largest)
    descriptor = os.open(path, _FLAGS)
    try:
        state = os.fstat(descriptor)
        _check(state, largest)
    except BaseException:
        os.close(descriptor)
        raise
    return descriptor, state.st_size


def read_plain(path: Path, largest: int) -> bytes:
    """All bytes of a plain file. Raises as `open_plain`, also where the file grows beyond `largest` meanwhile."""
    return b"".join(_parts(path, largest))


def digest_of(path: Path, largest: int) -> str | None:
    """The SHA-256 of a plain file of at most `largest` bytes; None where it cannot be read."""
    digest = hashlib.sha256()
    try:
        for part in _parts(path, largest):
            digest.update(part)
    except (UnfitFileError, OSError):
        return None
    return digest.hexdigest()


def _parts(path: Path, largest: int) -> Iterator[bytes]:
    descriptor, size = _opened(path, largest)
    total = 0
    try:
        while part := os.read(descriptor, min(max(size - total, 0) + _SPARE, _AT_ONCE)):
            total += len(part)
            if total > largest:
                raise _too_large(total, largest)
            yield part
    finally:
        os.close(descriptor)


def check_plain(path: Path, largest: int) -> None:
    """Raise `UnfitFileError` unless there is a plain file of at most `largest` bytes, and OSError where there is nothing."""
    if not can_be_named(path):
        raise UnfitFileError("a name that no file can have")
    _check(path.stat(), largest)


def can_be_named(path: Path | str) -> bool:
    """Whether a file can have this name: none has a NUL in it, which ends a name, or half of a character.

    >>> can_be_named("maps/dawn.exr"), can_be_named("maps/\\0.exr"), can_be_named("\\ud83c.exr")
    (True, False, False)
    """
    try:
        return b"\0" not in os.fsencode(path)
    except UnicodeEncodeError:
        return False


def is_within(path: Path, *folders: Path) -> bool:
    """Whether a file lies in one of some folders, when every link on the way to it is followed."""
    try:
        real = Path(os.path.realpath(path))
        return any(real.is_relative_to(os.path.realpath(folder)) for folder in folders)
    except (OSError, ValueError):
        return False


def check_own(path: Path) -> None:
    """Raise `SheetError` where a file is a link that leads out of its folder: what is told of a file quotes it."""
    # A name that no file can have is no link; reading it says what is wrong.
    if os.path.islink(path) and not is_within(path, path.parent):  # noqa: PTH114 - pathlib raises for such a name
        raise SheetError([Fault(str(path), "", "a file of this folder", "a link to another file outside it")])


def _check(state: os.stat_result, largest: int) -> None:
    if stat.S_ISDIR(state.st_mode):
        raise UnfitFileError("a folder")
    if not stat.S_ISREG(state.st_mode):
        raise UnfitFileError("a pipe or a device")
    if state.st_size > largest:
        raise _too_large(state.st_size, largest)


def _too_large(size: int, largest: int) -> UnfitFileError:
    return UnfitFileError(size_in_words(size, 1), f"at most {size_in_words(largest)}")


def size_in_words(size: int, digits: int = 0) -> str:
    """A number of bytes as people say it, with so many digits behind the point.

    >>> size_in_words(16 * 2**20), size_in_words(40 * 2**30, 1), size_in_words(900)
    ('16 MiB', '40.0 GiB', '900 bytes')
    """
    for unit, name in ((2**30, "GiB"), (2**20, "MiB"), (2**10, "KiB")):
        if size >= unit:
            return f"{size / unit:.{digits}f} {name}"
    return f"{size:,} bytes"
