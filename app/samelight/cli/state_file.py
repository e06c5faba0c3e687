"""The file in which `samelight watch --state` keeps how cases stood, for the next run."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, TypeVar

from samelight.sheets.documents import refuse_of_sequence, write_document
from samelight.sheets.errors import SamelightError
from samelight.sheets.plain_files import UnfitFileError, read_plain
from samelight.sheets.writing import WriteError, json_text

T = TypeVar("T")

_EXPECTED = "what `samelight watch --state` keeps"
_LARGEST = 2**28
"""Bytes of a file of what was told."""


class StateFile:
    """A file that is written where it is to hold something else; of no path it is none, and nothing is kept.

    Where it cannot be written `tell` hears that once, and each further `keep` tries again.
    """

    def __init__(self, path: Path | None, tell: Callable[[str], None]) -> None:
        if path is not None:
            refuse_of_sequence(path)
        self._path, self._tell = path, tell
        self._holds: Mapping[str, Any] | None = None
        self.trouble = ""
        """Why it does not hold what it should; empty where it does."""

    def read(self, told: Callable[[Any], T], of: str = "") -> T | None:
        """What it keeps, by what takes it from the file's data; None where there is no file. Raises `SamelightError`."""
        if self._path is None or not self._path.exists():
            return None
        try:
            self._holds = json.loads(read_plain(self._path, _LARGEST))
            return told(self._holds)
        except (
            OSError,
            UnfitFileError,
            ValueError,
            KeyError,
            TypeError,
            AttributeError,
            RecursionError,
        ) as error:
            raise SamelightError(
                f"{self._path}: expected {_EXPECTED}{of}, found something else ({str(error)[:80]})"
            ) from None

    def keep(self, data: Mapping[str, Any]) -> None:
        """Have it hold this."""
        if self._path is None or (self._holds == data and self._path.exists()):
            return
        try:
            write_document(self._path, json_text(data))
        except WriteError as error:
            if str(error) != self.trouble:
                self._tell(str(error))
            self.trouble = str(error)
        else:
            self._holds, self.trouble = data, ""
