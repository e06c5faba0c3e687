"""How far each cell of a table is off, in figures that stand once for each entry: a film has far fewer entries than cells."""

from __future__ import annotations

from collections.abc import Sequence
from operator import attrgetter
from typing import Any, NamedTuple, overload

import numpy as np
from numpy.typing import DTypeLike, NDArray

from samelight.drift.cells import Cell
from samelight.drift.rows import NOTHING, Entry


class CellFigures:
    """A figure (float64) for every cell, shape (rows, shots): that of the entry which the cell holds.

    It is indexed as an array is, and only what is asked for is made.
    """

    __slots__ = ("_codes", "of_entries")

    def __init__(self, of_entries: NDArray[np.float64], codes: NDArray[np.int32]) -> None:
        self.of_entries = of_entries
        self._codes = codes

    @overload
    def __getitem__(self, index: Cell) -> np.float64: ...
    @overload
    def __getitem__(self, index: Any) -> NDArray[np.float64]: ...
    def __getitem__(self, index: Any) -> Any:
        return self.of_entries[self._codes[index]]

    def at(self, cells: Sequence[Cell]) -> list[float]:
        """The figure of each of some cells."""
        rows, columns = np.array(cells, dtype=np.intp).reshape(-1, 2).T
        found: list[float] = self[rows, columns].tolist()
        return found

    def take(self, places: NDArray[np.intp]) -> NDArray[np.float64]:
        """The figures at places in the flattened table."""
        found: NDArray[np.float64] = self.of_entries[self._codes.take(places)]
        return found

    def __array__(self, dtype: DTypeLike | None = None, copy: bool | None = None) -> NDArray[np.float64]:
        return np.asarray(self.of_entries[self._codes], dtype or np.float64)


class OfEntries(NamedTuple):
    """Drift, severity (float64) and grade (uint8) of every entry of a pool, each an array of its length."""

    drift: NDArray[np.float64]
    severity: NDArray[np.float64]
    grade: NDArray[np.uint8]

    @classmethod
    def of(cls, pool: Sequence[Entry | None]) -> OfEntries:
        """Those of a pool."""
        held = [entry or NOTHING for entry in pool]
        return cls(
            np.fromiter(map(attrgetter("drift"), held), np.float64, len(held)),
            np.fromiter(map(attrgetter("severity"), held), np.float64, len(held)),
            np.frombuffer(bytearray(map(attrgetter("grade"), held)), np.uint8),
        )

    def with_more(self, more: OfEntries) -> OfEntries:
        """With those of another pool after them, but for its first, which is nothing in both."""
        return OfEntries(
            np.concatenate((self.drift, more.drift[1:])),
            np.concatenate((self.severity, more.severity[1:])),
            np.concatenate((self.grade, more.grade[1:])),
        )

    def only(self, used: NDArray[np.bool_]) -> OfEntries:
        """Those of some entries."""
        return OfEntries(self.drift[used], self.severity[used], self.grade[used])
