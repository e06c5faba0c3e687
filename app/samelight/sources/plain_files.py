"""What a file must be before anything is read from it."""

from __future__ import annotations

from pathlib import Path

from samelight.sources.errors import CaptureError


def check_plain_file(path: Path, expected: str) -> None:
    """Raise `CaptureError` unless there is a file: a folder, a pipe or a device would fail late, or never end.

    OSError passes, for the caller to say with its own.
    """
    if path.is_dir():
        raise CaptureError(path, expected, "a folder")
    if not path.exists():
        raise CaptureError(path, expected, "no such file")
    if not path.is_file():
        raise CaptureError(path, expected, "a pipe or a device")
