"""What is said when input is wrong: one base error, and faults that name file, line, expected and found."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

Place = tuple[str | int, ...]
"""The way from the root of a file to a value: keys of mappings and indices of lists."""

_SHOWN = 60


class SamelightError(Exception):
    """Base of every error meant for the user; its text is the whole message."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong in one file.

    `line` and `column` count from 1 and are None where the fault concerns the whole file.
    """

    file: str
    path: str
    expected: str
    found: str
    line: int | None = None
    column: int | None = None
    nearest: str | None = None

    def __str__(self) -> str:
        where = self.file
        if self.line is not None:
            where += f":{self.line}"
            if self.column is not None:
                where += f":{self.column}"
        subject = f"{self.path}: " if self.path else ""
        hint = f" (did you mean {self.nearest}?)" if self.nearest else ""
        return f"{where}: {subject}expected {self.expected}, found {self.found}{hint}"


class SheetError(SamelightError):
    """A file that cannot be used, with every fault that was found in it."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))


def nearest_name(name: str, known: Iterable[str]) -> str | None:
    """The known name closest to a misspelt one, or None when none is close.

    >>> nearest_name("lighst", ["lights", "render"])
    'lights'
    """
    close = difflib.get_close_matches(name, list(known), n=1, cutoff=0.6)
    return close[0] if close else None


def shown(value: object) -> str:
    """A value as a fault quotes it: short, on one line, control characters escaped."""
    if isinstance(value, dict):
        return f"a mapping of {len(value)}"
    if isinstance(value, list | tuple) and len(value) > 6:
        return f"a list of {len(value)}"
    if value is None:
        return "nothing"
    if isinstance(value, bool):
        return "true" if value else "false"
    text = repr(value)
    return text if len(text) <= _SHOWN else text[: _SHOWN - 1] + "…"


def dotted(place: Place) -> str:
    """The place as text.

    >>> dotted(("lights", "sun", "color", 1))
    'lights.sun.color[1]'
    """
    text = ""
    for step in place:
        text += f"[{step}]" if isinstance(step, int) else f".{step}" if text else step
    return text


Locate = Callable[[Place], tuple[int, int] | None]
"""Finds line and column (from 1) of a place, or of its nearest known ancestor."""


class Faults:
    """Collects the faults of one file so that they are reported together."""

    def __init__(self, file: Path, locate: Locate) -> None:
        self.file = file
        self._locate = locate
        self._faults: list[Fault] = []

    def add(self, place: Place, expected: str, found: object, nearest: str | None = None) -> None:
        """Note a fault at a place; `found` is quoted with `shown` unless it is a `Found`."""
        position = self._locate(place)
        line, column = position if position else (None, None)
        said = found.text if isinstance(found, Found) else shown(found)
        self._faults.append(Fault(str(self.file), dotted(place), expected, said, line, column, nearest))

    def __len__(self) -> int:
        return len(self._faults)

    def raise_if_any(self) -> None:
        """Raise `SheetError` with all that was noted, in the order of the file."""
        if self._faults:
            raise SheetError(sorted(self._faults, key=lambda fault: (fault.line or 0, fault.column or 0)))


@dataclass(frozen=True, slots=True)
class Found:
    """What was found, in words of its own instead of a quoted value."""

    text: str
