"""What was read of the shots of a sequence, kept from one reading to the next: of a film few shots change at a time."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TypeVar

from samelight.sequence.cut_order import CutOrder
from samelight.sequence.stored import Rules
from samelight.sequence.troubles import Trouble
from samelight.sheets.sheet import Sheet

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class ReadBy:
    """What the reading of a shot hangs on beside its own files: the cut with what sequence.yaml says, the rules, and the newest
    master of each set-up."""

    order: CutOrder
    rules: Rules
    newest: Mapping[str, int]

    def is_as(self, other: ReadBy) -> bool:
        """Whether a shot is read as by the other."""
        return self.order is other.order and (self.rules, self.newest) == (other.rules, other.newest)

    def newest_for(self) -> Callable[[str], int]:
        """Says of a shot the newest master of its set-up; 0 without any."""
        of_one, members = self.newest.get("", 0), self.order.members
        if members.is_one:
            return lambda shot: of_one
        each = {shot: self.newest[name] for name, shots in members.shots.items() for shot in shots}
        return lambda shot: each.get(shot, 0)


@dataclass(frozen=True, slots=True)
class ShotsRead:
    """The readable sheets and all versions of some shots, in cut order, and what there is to say of their listing and reading."""

    by: ReadBy
    sheets: dict[str, Sheet] = field(default_factory=dict)
    versions: dict[str, dict[int, Path]] = field(default_factory=dict)
    rivals: dict[str, list[Trouble]] = field(default_factory=dict)
    said: dict[str, list[Trouble]] = field(default_factory=dict)

    def with_anew(self, few: ShotsRead) -> ShotsRead:
        """With some of its shots read anew."""
        versions = {**self.versions, **few.versions}
        sheets = _replaced(self.sheets, few.sheets, few.versions)
        if sheets.keys() - self.sheets.keys():
            sheets = {shot: sheets[shot] for shot in versions if shot in sheets}
        rivals, said = (
            _replaced(was, now, few.versions)
            for was, now in ((self.rivals, few.rivals), (self.said, few.said))
        )
        return ShotsRead(few.by, sheets, versions, rivals, said)

    def in_order(self, of: Mapping[str, Sequence[Trouble]]) -> Iterator[Trouble]:
        """What there is to say of shots, in cut order."""
        for shot in self.versions if len(of) > 1 else of:
            yield from of.get(shot, ())


def _replaced(was: Mapping[str, T], now: Mapping[str, T], shots: Iterable[str]) -> dict[str, T]:
    """What is said of shots, of these as it is now; one that has a place keeps it."""
    found = {**was, **now}
    for shot in shots:
        if shot not in now:
            found.pop(shot, None)
    return found
