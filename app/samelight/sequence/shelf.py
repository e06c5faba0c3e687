"""What was read of a sequence so far, so that it is read again only where it changed."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, TypeVar

from samelight.sequence.cut_order import CutOrder, cut_order
from samelight.sequence.kept import Kept
from samelight.sequence.troubles import Trouble
from samelight.sheets.conventions import Conventions
from samelight.sheets.errors import SheetError, is_the_systems
from samelight.sheets.sequence import Published, SequenceFile, published_in
from samelight.sheets.sheet import Sheet
from samelight.sheets.stamps import Stamp, stamp_of
from samelight.sheets.vocabulary import Patterns
from samelight.sources.cut.cuts import Cut

T = TypeVar("T")

Asked = tuple[int | None, tuple[Conventions, Patterns]]
"""How a shot's sheet is to be read: the version that is pinned, if one, and what every sheet is read by."""


@dataclass(slots=True)
class Seen:
    """A shot as it was when it was looked at: its sheets, and what came of the one that was chosen.

    `file` and `stamp` are of that one. There is no `file` where none was, and no `stamp` where it was gone.
    """

    asked: Asked
    published: Published
    file: str | None
    stamp: Stamp | None
    sheet: Sheet | None
    troubles: tuple[Trouble, ...]


@dataclass(slots=True)
class Shelf:
    """Files already read. One is read again only when it changed on disk, or is to be read in another way."""

    _read: dict[Path, tuple[tuple[Stamp | None, Hashable], Any]] = field(default_factory=dict)
    _seen: dict[str, Seen] = field(default_factory=dict)
    _rules: tuple[Conventions, Patterns] | None = None
    _order: CutOrder | None = None
    policy: Path | None = None
    """The policy that the user named in the place of the sequence's own."""
    kept: Kept | None = None
    """What another day left of the sequence, where it is large enough; `keep` it anew when there is time."""

    @property
    def has_sheets(self) -> bool:
        """Whether any sheet was read."""
        # A copy: while this is asked, the versions of a shot may be read in another thread.
        return any(isinstance(outcome, Sheet) for _, outcome in list(self._read.values()))

    def get(self, path: Path, way: Hashable, read: Callable[[], T]) -> T:
        """What `read` makes of the file. Raises the `SheetError` that it raised, also when it is remembered.

        `way` is everything else that the outcome hangs on.
        """
        _, outcome = self.outcome(path, way, read)
        if isinstance(outcome, SheetError):
            raise SheetError(outcome.faults)
        return outcome

    def outcome(
        self, path: Path, way: Hashable, read: Callable[[], T]
    ) -> tuple[Stamp | None, T | SheetError]:
        """As `get`, with the stamp of the file from before it was read; an error is not raised.

        What the system could not read has no stamp and is not remembered: it may be there again, and the same.
        """
        stamp = _stamp(path)
        known, key = self._read.get(path), (stamp, way)
        if known is None or known[0] != key or stamp is None:
            outcome: T | SheetError
            try:
                outcome = read()
            except SheetError as error:
                outcome = error
                if is_the_systems(error):
                    self.forget(path)
                    return None, outcome
            known = self._read[path] = (key, outcome)
        return stamp, known[1]

    def forget(self, path: Path) -> None:
        """Read a file again next time, whether it changed or not."""
        self._read.pop(path, None)

    def rules(self, conventions: Conventions, kinds: Patterns) -> tuple[Conventions, Patterns]:
        """What every sheet is read by: the same object while it is equal, so that no shot's has to be compared."""
        rules = (conventions, kinds)
        if self._rules is None or self._rules != rules:
            self._rules = rules
        return self._rules

    def order(self, sequence: SequenceFile, cut: Cut | None) -> CutOrder:
        """The cut order."""
        self._order = cut_order(sequence, cut, self._order)
        return self._order

    def as_seen(self, shot: str, asked: Asked) -> Seen | None:
        """A shot as it was looked at last; None where its sheet is to be read in another way now."""
        seen = self._seen.get(shot)
        return seen if seen is not None and seen.asked == asked else None

    def look(self, shot: str, place: str, asked: Asked) -> Seen | Published:
        """A shot as it was where it still is so in its folder, `place`; else its sheets as they are listed now.

        A film's shots are looked at all the time: names and times are asked for, and no path is made.
        """
        seen = self._seen.get(shot)
        published = published_in(place, shot, None if seen is None else seen.published)
        if seen is None or published is not seen.published or seen.asked != asked:
            return published
        is_same = seen.file is None or (seen.stamp is not None and _stamp(seen.file) == seen.stamp)
        return seen if is_same else published

    def put(self, shot: str, seen: Seen) -> Seen:
        """Remember a shot as it was looked at."""
        self._seen[shot] = seen
        return seen


def _stamp(path: Path | str) -> Stamp | None:
    try:
        return stamp_of(path)
    except OSError:
        return None
