"""Opens a file in the program in which people edit such files, at the line that is meant where that program can be told."""

from __future__ import annotations

import os
import shlex
from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QProcess, QUrl
from PySide6.QtGui import QDesktopServices

ASKED_BY = "SAMELIGHT_EDITOR"
"""The environment variable that says which program opens a file: a command in which {file} and {line} stand for both."""
_TEXTS = {".yaml", ".yml", ".json", ".edl", ".otio", ".usda", ".gltf"}
"""What is opened: a file of another kind might be run."""


def _start(words: Sequence[str]) -> bool:
    found: object = QProcess.startDetached(words[0], list(words[1:]))
    return bool(found[0]) if isinstance(found, tuple) else bool(found)


def _open(path: Path) -> bool:
    return QDesktopServices.openUrl(QUrl.fromLocalFile(str(path.absolute())))


def open_at(path: Path, line: int | None) -> str:
    """Open a text file for editing; what was done, or why not, in one sentence.

    `line` counts from 1. The command of `SAMELIGHT_EDITOR` is taken apart as a shell would, and started without one.
    """
    where = path.name if line is None else f"{path.name}, line {line}"
    if path.suffix.lower() not in _TEXTS or not path.is_file():
        return f"{where}: no text file to open"
    try:
        words = shlex.split(os.environ.get(ASKED_BY, ""))
    except ValueError as error:
        return f"{ASKED_BY} cannot be read: {error}"
    if not words:
        return f"Opened {where}" if _open(path) else f"No program is known that opens {where}: set {ASKED_BY}"
    if not any("{file}" in word for word in words):
        words.append("{file}")
    filled = [
        word.replace("{line}", str(line or 1)).replace("{file}", str(path.absolute())) for word in words
    ]
    return (
        f"Opened {where}"
        if _start(filled)
        else f"{words[0]} could not be started to open {where}: see {ASKED_BY}"
    )
