"""The decisions on one cell, each made of what its file held only when somebody asks for it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from operator import attrgetter
from typing import overload

from samelight.decisions.decision import Decision, Verb
from samelight.decisions.entries import LedgerEntry
from samelight.decisions.state import standing

_id = attrgetter("id")


class OnCell(Sequence[Decision]):
    """The decisions on one cell, in order of id, made of `entries` that all hold one. It never changes.

    `stand` are those of the entries that no other has overtaken, where that is known already.
    """

    __slots__ = ("_stand", "entries")

    def __init__(self, entries: Iterable[LedgerEntry], stand: Iterable[LedgerEntry] | None = None) -> None:
        self.entries = tuple(entries)
        self._stand = None if stand is None else tuple(stand)

    def __len__(self) -> int:
        return len(self.entries)

    @overload
    def __getitem__(self, place: int) -> Decision: ...
    @overload
    def __getitem__(self, place: slice) -> Sequence[Decision]: ...
    def __getitem__(self, place: int | slice) -> Decision | Sequence[Decision]:
        return _made(self.entries[place]) if isinstance(place, slice) else self.entries[place].made()

    def __iter__(self) -> Iterator[Decision]:
        return (entry.made() for entry in self.entries)

    def __eq__(self, other: object) -> bool:
        return self is other or (isinstance(other, Sequence) and tuple(self) == tuple(other))

    __hash__ = None  # type: ignore[assignment]

    def with_more(self, entries: Iterable[LedgerEntry]) -> OnCell:
        """These and others."""
        return OnCell(sorted((*self.entries, *entries), key=_id))

    def stand(self) -> tuple[LedgerEntry, ...]:
        """The entries of `standing`, in order of id."""
        if self._stand is None:
            ids = {decision.id for decision in standing(self)}
            self._stand = tuple(entry for entry in self.entries if entry.id in ids)
        return self._stand

    def standing(self) -> Sequence[Decision]:
        """What `state.standing` gives of all of them."""
        return _made(self.stand())

    def judged_by(self) -> Sequence[Decision]:
        """As many of them as it takes to judge by, which where something was taken up are all: what was taken up says why."""
        heads = self.standing()
        return self if any(head.verb is Verb.TAKE_UP for head in heads) else heads


def _made(entries: Iterable[LedgerEntry]) -> tuple[Decision, ...]:
    return tuple(entry.made() for entry in entries)
