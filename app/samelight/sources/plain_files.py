"""What a file must be before anything is read from it."""

from __future__ import annotations

from io import BufferedReader
from pathlib import Path

from samelight.sheets.plain_files import UnfitFileError, check_plain, open_plain
from samelight.sources.errors import CaptureError


def check_plain_file(path: Path, expected: str, largest: int) -> None:
    """Raise `CaptureError` unless there is a file of at most `largest` bytes: a folder, a pipe or a device would fail
    late, or never end. OSError passes, for the caller to say with its own.
    """
    try:
        check_plain(path, largest)
    except FileNotFoundError:
        raise CaptureError(path, expected, "no such file") from None
    except UnfitFileError as error:
        raise CaptureError(path, error.expected or expected, error.found) from None


def open_plain_file(path: Path, expected: str, largest: int) -> BufferedReader:
    """Open a file for reading. Raises as `check_plain_file`."""
    try:
        return open_plain(path, largest)
    except FileNotFoundError:
        raise CaptureError(path, expected, "no such file") from None
    except UnfitFileError as error:
        raise CaptureError(path, error.expected or expected, error.found) from None
