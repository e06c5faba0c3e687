"""Work done once for equal typed values, wherever in a film they stand.

Sheets of one film repeat each other: most lights differ from the master setup's in one or two values, if in any. What
follows from typed values under the same conventions is therefore kept and shared.
"""

from __future__ import annotations

import marshal
from collections.abc import Callable
from pathlib import Path
from typing import Any, Generic, NoReturn, TypeVar

from samelight.sheets.conventions import Conventions
from samelight.sheets.errors import Faults, Place
from samelight.sheets.quantities import Reader

T = TypeVar("T")

_NO_REFERENCES = 2
"""The version of marshal in which equal data has equal bytes: later ones note which objects are shared."""

_MOST = 50_000
_MOST_CONVENTIONS = 16


class AtFaultError(Exception):
    """Typed values that are at fault, which only a reader that knows their place can tell."""


class _Refusal(Faults):
    """Ends a reading at its first fault."""

    def add(self, *fault: object, **more: object) -> NoReturn:
        raise AtFaultError


def refusal() -> Faults:
    """What raises `AtFaultError` at the first fault that is noted."""
    return _Refusal(Path(), lambda place: None)


def as_bytes(typed: Any) -> bytes:
    """A typed value as a key: equal only where the values are, in type, in the sign of nought and in order too.

    >>> len({as_bytes(value) for value in (1, 1.0, True, -0.0, 0.0, 0, False, "1", [1], {"a": 1})})
    10
    """
    return marshal.dumps(typed, _NO_REFERENCES)


class Sound(dict[tuple[Any, ...], T]):
    """What follows from `as_bytes` of typed values, and of whatever else is given, under the same conventions.

    Looking up a key reads what is not known yet. Raises `AtFaultError`.
    """

    def __init__(self, reading: Callable[..., T], conventions: Conventions) -> None:
        self._reading = reading
        self.reader = Reader(conventions, refusal())
        self.first: dict[tuple[Any, ...], Any] = {}
        """By what their kind tells, the first of things that are much alike, beside which others are read."""

    def __missing__(self, key: tuple[Any, ...]) -> T:
        return self.read(key, marshal.loads(key[0]))

    def read(self, key: tuple[Any, ...], typed: Any) -> T:
        """What follows from typed values, known by this key from now on."""
        return self.met(key, self._reading(typed, self.reader, (), *key[1:]))

    def met(self, key: tuple[Any, ...], made: T) -> T:
        """Have what follows from typed values known by this key from now on."""
        if len(self) >= _MOST:
            self.clear()
        self[key] = made
        return made

    def met_first(self, key: tuple[Any, ...], thing: Any) -> None:
        """Have a thing as the first of its kind."""
        if len(self.first) >= _MOST:
            self.first.clear()
        self.first[key] = thing


class Memo(Generic[T]):
    """A reading whose result follows from typed values and a reader's conventions; it is never None, nor changed.

    `given` is whatever else the result depends on. At a fault the reading is done anew by the reader that was given, so
    that the fault is noted at its place.
    """

    def __init__(self, reading: Callable[..., T]) -> None:
        self.plain = reading
        self.met: dict[Conventions, Sound[T]] = {}
        """What was read under each conventions."""
        self._last: tuple[Conventions, Sound[T]] | None = None

    def __call__(self, typed: Any, read: Reader, place: Place, *given: Any) -> T:
        sound = self.under(read.conventions)
        key = (
            marshal.dumps(typed, _NO_REFERENCES),
            *given,
        )  # as `as_bytes`, which a film calls half a million times
        known = sound.get(key)
        if known is not None:
            return known
        try:
            return sound.read(key, typed)
        except AtFaultError:
            return self.plain(typed, read, place, *given)

    def under(self, conventions: Conventions) -> Sound[T]:
        """The same reading without places, for values that are sound."""
        last = self._last
        if (
            last is not None and last[0] is conventions
        ):  # nearly always, and to compare them takes longer than most readings
            return last[1]
        sound = self.met.get(conventions)
        if sound is None:
            if len(self.met) >= _MOST_CONVENTIONS:
                self.met.clear()
            sound = self.met[conventions] = Sound(self.plain, conventions)
        self._last = conventions, sound
        return sound
