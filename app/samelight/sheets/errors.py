"""What is said when input is wrong: one base error, and faults that name file, line, expected and found."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from itertools import islice
from pathlib import Path
from typing import NamedTuple, NoReturn

Place = tuple[str | int, ...]
"""The way from the root of a file to a value: keys of mappings and indices of lists."""

Position = tuple[int, int]
"""Line and column, both from 1."""

MOST_FAULTS = 1000
"""A file with more faults than this is not a sheet with slips in it; reading stops there."""

MOST_COMPARED = 5_000
"""Names among which one that is like a misspelt one is looked for: more than a film has shots."""

_SHOWN = 60
_BITS_SHOWN = 190


class SamelightError(Exception):
    """Base of every error meant for the user; its text is the whole message."""


class Fault(NamedTuple):  # as `dataclasses` takes a third of the time in which a command starts
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

    def __reduce__(self) -> tuple[type[SheetError], tuple[Sequence[Fault]]]:
        """So that it can be told by one process to another."""
        return SheetError, (self.faults,)


def nearest_name(name: str, known: Iterable[str]) -> str | None:
    """The known name closest to a misspelt one, or None when none is close, and among more than `MOST_COMPARED`: there one always
    is, by chance, and each takes a while.

    >>> nearest_name("lighst", ["lights", "render"])
    'lights'
    """
    among = list(islice(known, MOST_COMPARED + 1))
    if len(name) > _SHOWN or len(among) > MOST_COMPARED:
        return None
    import difflib  # for whoever has misspelt something

    close = difflib.get_close_matches(name, among, n=1, cutoff=0.6)
    return close[0] if close else None


def shown(value: object) -> str:
    """A value as a fault quotes it: short, on one line, control characters escaped.

    >>> shown([1, True, "a b"]), shown({"x": 1}), shown(None)
    ("[1, true, 'a b']", 'a group of 1', 'nothing')
    """
    if isinstance(value, dict):
        return f"a group of {len(value)}" if value else "an empty group"
    if isinstance(value, list | tuple):
        if not value:
            return "an empty list"
        if len(value) > 6 or any(isinstance(item, dict | list | tuple) and item for item in value):
            return f"a list of {len(value)}"
        return _cut(f"[{', '.join(shown(item) for item in value)}]")
    if value is None:
        return "nothing"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int) and value.bit_length() > _BITS_SHOWN:
        return "a very large number"  # Python refuses to write very many digits
    if isinstance(value, str):
        return "an empty text" if not value else _cut(repr(value[: 2 * _SHOWN]))
    return _cut(repr(value))


def _cut(text: str) -> str:
    return text if len(text) <= _SHOWN else text[: _SHOWN - 1] + "…"


def shown_name(name: str) -> str:
    """A name as a fault writes it: as it stands where that is short and printable, quoted otherwise.

    >>> shown_name("sun"), shown_name(""), shown_name("a\\nb")
    ('sun', "''", "'a\\\\nb'")
    """
    plain = name.isprintable() and name == name.strip() and 0 < len(name) <= _SHOWN
    return name if plain else _cut(repr(name[: 2 * _SHOWN]))


def dotted(place: Place) -> str:
    """The place as text.

    >>> dotted(("lights", "sun", "color", 1))
    'lights.sun.color[1]'
    """
    text = ""
    for step in place:
        if isinstance(step, int):
            text += f"[{step}]"
        else:
            text += f".{shown_name(step)}" if text else shown_name(step)
    return text


Locate = Callable[[Place], Position | None]
"""Finds line and column of a place, or of its nearest known ancestor."""

Written = Callable[[Place], str | None]
"""The text of a scalar as it was written: `010` where the tree has 10; None where no scalar stands."""


def _unwritten(place: Place) -> str | None:
    return None


class Faults:
    """Collects the faults of one file so that they are reported together."""

    def __init__(self, file: Path, locate: Locate, written: Written = _unwritten) -> None:
        self.file = file
        self.locate = locate
        self._written = written
        self._called: Mapping[Place, Place] = {}
        self._faults: dict[tuple[str, int | None, int | None], Fault] = {}

    def were_called(self, renamed: Mapping[Place, Place]) -> None:
        """From now on tell faults of these places by the names on the right: those that the file itself has."""
        self._called = {**self._called, **renamed}

    def in_file(self, place: Place) -> Place:
        """A place by the names that stand in the file."""
        if self._called:
            for size in range(len(place), 0, -1):
                if place[:size] in self._called:
                    return (*self._called[place[:size]], *place[size:])
        return place

    def written(self, place: Place) -> str | None:
        """A scalar as it was written: `010` where the tree has 10; None where none stands there."""
        return self._written(self.in_file(place))

    def add(
        self,
        place: Place,
        expected: str,
        found: object,
        nearest: str | None = None,
        at: Position | None = None,
    ) -> None:
        """Note a fault at a place; `found` is quoted with `shown` unless it is a `Found`.

        `at` is its line and column where they are known already; otherwise they are looked up. Of one place only
        the first fault is noted: what follows from it would confuse. Raises `SheetError` with all of them when
        there are more than `MOST_FAULTS`.
        """
        place = self.in_file(place)
        line, column = at or self.locate(place) or (None, None)
        said = found.text if isinstance(found, Found) else shown(found)
        fault = Fault(str(self.file), dotted(place), expected, said, line, column, nearest)
        if len(self._faults) >= MOST_FAULTS:
            self.stop(f"at most {MOST_FAULTS:,} faults in one file", "more, so the rest was not read")
        self._faults.setdefault((fault.path, line, column), fault)

    def unknown_key(
        self, place: Place, expected: str, known: Iterable[str], at: Position | None = None
    ) -> None:
        """Note that the last step of a place is no key of those known there."""
        key = str(self.in_file(place)[-1])
        self.add(place, expected, Found(f"the key {shown_name(key)}"), nearest_name(key, known), at)

    def stop(self, expected: str, found: str, at: Position | None = None) -> NoReturn:
        """Raise `SheetError` with all that was noted and this, after which the file cannot be read on."""
        line, column = at or (None, None)
        raise SheetError([*self._in_order(), Fault(str(self.file), "", expected, found, line, column)])

    def __len__(self) -> int:
        return len(self._faults)

    def raise_if_any(self) -> None:
        """Raise `SheetError` with all that was noted, in the order of the file."""
        if self._faults:
            raise SheetError(self._in_order())

    def _in_order(self) -> list[Fault]:
        return sorted(self._faults.values(), key=lambda fault: (fault.line or 0, fault.column or 0))


class Found(NamedTuple):
    """What was found, in words of its own instead of a quoted value."""

    text: str


def is_the_systems(error: BaseException | None) -> bool:
    """Whether an error tells that the system could not read a file, not what is wrong in it."""
    while error is not None and not isinstance(error, OSError):
        error = error.__context__
    return error is not None
