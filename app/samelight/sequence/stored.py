"""What a file held when it was read, and what tells that it still holds that: its stamp here, its digest anywhere."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Any, Generic, NamedTuple, TypeVar

from samelight.sheets.conventions import Conventions
from samelight.sheets.errors import SheetError, is_the_systems
from samelight.sheets.plain_files import digest_of
from samelight.sheets.sheet import Sheet, read_sheet
from samelight.sheets.stamps import Stamp, stamp_if_there
from samelight.sheets.together import FEWEST, fold_ahead
from samelight.sheets.trees import LARGEST_FILE
from samelight.sheets.vocabulary import Patterns

T = TypeVar("T")


class Rules(NamedTuple):
    """What every sheet of a sequence is read by."""

    conventions: Conventions
    kinds: Patterns


class SheetFile(NamedTuple):
    """A sheet's file and how it is read: the shot it is for (None: a master setup), and the version its name states."""

    path: Path
    shot: str | None
    version: int
    rules: Rules

    def read(self) -> Sheet:
        """The sheet. Raises `SheetError`."""
        conventions, kinds = self.rules
        return read_sheet(self.path, shot=self.shot, version=self.version, given=conventions, kinds=kinds)


@dataclass(frozen=True, slots=True)
class Stored(Generic[T]):
    """What reading a file gave: a value, or what is wrong with it.

    `way` is everything else that this hangs on. `stamp` is that of the file before it was read; None where the system
    could not read it, so that it may be there again and the same. `digest` is of what was read; None where it is not certain.
    """

    path: Path
    way: Any
    stamp: Stamp | None
    digest: str | None
    outcome: T | SheetError

    @property
    def value(self) -> T:
        """What was read. Raises the `SheetError` that reading raised."""
        if isinstance(self.outcome, SheetError):
            raise SheetError(self.outcome.faults)
        return self.outcome


StoredSheet = Stored[Sheet]
"""A sheet as it was read; its `way` is the `SheetFile`."""


def read_stored(path: Path, way: object, read: Callable[[], T]) -> Stored[T]:
    """What `read` makes of a file."""
    stamp, outcome = stamp_if_there(path), _outcome(read)
    digest = digest_of(path, LARGEST_FILE)
    is_certain = stamp is not None and stamp_if_there(path) == stamp
    is_there = not (isinstance(outcome, SheetError) and is_the_systems(outcome))
    return Stored(path, way, stamp if is_there else None, digest if is_certain else None, outcome)


def _outcome(read: Callable[[], T]) -> T | SheetError:
    try:
        return read()
    except SheetError as error:
        return error


_TOGETHER = 64
"""Sheets of which what they state alike is folded together."""


def folded_ahead(files: Iterable[SheetFile]) -> Iterator[SheetFile]:
    """The files, which have the same rules; before some are given out, what they state alike is folded together."""
    files = iter(files)
    while some := [*islice(files, _TOGETHER)]:
        if len(some) >= FEWEST:
            fold_ahead([file.path for file in some], *some[0].rules)
        yield from some


def read_stored_sheet(file: SheetFile) -> StoredSheet:
    """A sheet read from its file."""
    return read_stored(file.path, file, file.read)
