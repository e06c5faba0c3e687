"""The cells that a check lists, each made when it is looked at: with everything listed, a film has a million."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import overload

import numpy as np
from numpy.typing import NDArray

from samelight.decisions.state import State
from samelight.drift.cells import CellName, ComparedCell, Grade
from samelight.sequence.session import Session

_AT_A_TIME = 4096

Mask = NDArray[np.bool_]


class Listed(Sequence[tuple[ComparedCell, State]]):
    """Cells of a session's table with their state, row by row, in cut order.

    `mask` marks those that are listed, shape (rows, shots).
    """

    def __init__(self, session: Session, mask: Mask) -> None:
        self.session = session
        self.mask = mask
        self._decided = session.cases.judged().states
        self._places: NDArray[np.int64] = np.flatnonzero(mask)

    def __len__(self) -> int:
        return len(self._places)

    @overload
    def __getitem__(self, index: int) -> tuple[ComparedCell, State]: ...
    @overload
    def __getitem__(self, index: slice) -> Sequence[tuple[ComparedCell, State]]: ...
    def __getitem__(
        self, index: int | slice
    ) -> tuple[ComparedCell, State] | Sequence[tuple[ComparedCell, State]]:
        """One cell, or several as a list."""
        if isinstance(index, slice):
            return [self._cell(place) for place in self._places[index].tolist()]
        return self._cell(int(self._places[index]))

    def __iter__(self) -> Iterator[tuple[ComparedCell, State]]:
        for start in range(0, len(self._places), _AT_A_TIME):
            yield from self[start : start + _AT_A_TIME]

    def _cell(self, place: int) -> tuple[ComparedCell, State]:
        cell = divmod(place, self.mask.shape[1])
        return self.session.table.cell(*cell), self._decided.get(cell, State.UNDECIDED)

    def follows(self) -> Iterator[tuple[str, ...]]:
        """For each of them the parameters that it follows from."""
        session, width = self.session, self.mask.shape[1]
        follows: list[bool] = session.cases.following().mask[self.mask].tolist()
        for place, is_follower in zip(self._places.tolist(), follows, strict=True):
            yield session.cases.following().parameters(*divmod(place, width)) if is_follower else ()

    def unsettled_at(self, grade: Grade) -> bool:
        """Whether any of them is a case at or above a grade that is not intended."""
        return bool((self.mask & self.session.cases.unsettled_mask(grade)).any())

    def none(self) -> Listed:
        """No cells."""
        return Listed(self.session, np.zeros_like(self.mask))

    def only(self, wanted: Iterable[bool]) -> Listed:
        """Those for which `wanted`, in their order, is true."""
        places = self._places[np.fromiter(wanted, dtype=np.bool_, count=len(self))]
        mask = np.zeros_like(self.mask)
        mask.flat[places] = True
        return Listed(self.session, mask)


def listed_cells(session: Session, above: Grade, shots: Iterable[str]) -> Listed:
    """The cells of these shots above a grade."""
    table = session.table
    mask = table.grade > above
    chosen = np.zeros(len(table.shots), dtype=np.bool_)
    chosen[[column for shot in shots if (column := table.column(shot)) is not None]] = True
    return Listed(session, mask & chosen)


def named_cells(session: Session, names: Iterable[CellName]) -> Mask:
    """The cells of these pairs of shot and parameter, shape (rows, shots)."""
    table = session.table
    mask = np.zeros(table.grade.shape, dtype=np.bool_)
    for shot, parameter in names:
        row, column = table.row(parameter), table.column(shot)
        if row is not None and column is not None:
            mask[row, column] = True
    return mask
