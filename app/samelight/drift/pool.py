"""The distinct entries that the cells of a kept table hold, each made when someone asks for it: of a film few are looked at."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import overload

from samelight.drift.rows import Entry


class Pool(Sequence[Entry | None]):
    """So many entries, the first of which is None; `make` makes one of any other number. Each is one object, whoever asks."""

    __slots__ = ("_count", "_made", "_make")

    def __init__(self, count: int, make: Callable[[int], Entry]) -> None:
        self._count, self._make = count, make
        self._made: dict[int, Entry | None] = {0: None}

    @overload
    def __getitem__(self, index: int) -> Entry | None: ...
    @overload
    def __getitem__(self, index: slice) -> list[Entry | None]: ...
    def __getitem__(self, index: int | slice) -> Entry | list[Entry | None] | None:
        if isinstance(index, slice):
            return [self[code] for code in range(*index.indices(self._count))]
        if index in self._made:
            return self._made[index]
        if not 0 <= index < self._count:
            raise IndexError(index)
        # Two threads may make one at once: that of the first stands.
        return self._made.setdefault(index, self._make(index))

    def __len__(self) -> int:
        return self._count
