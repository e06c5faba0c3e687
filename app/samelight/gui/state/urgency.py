"""Which of several groups or rows stands first where the grid is ordered by what drifts. No Qt."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from samelight.gui.state.cell_states import Stand, Standing
from samelight.sequence.saved_views import Order


@dataclass(frozen=True, slots=True, eq=False)
class Urgency:
    """How much each row of a table needs a look in the shots that are listed.

    `most` (float64, shape (rows,)) is the highest score of a row's cells, `drifts` (shape (rows, shots listed)) which of
    them drift.
    """

    most: NDArray[np.float64]
    drifts: NDArray[np.bool_]

    @classmethod
    def of(cls, standing: Standing, columns: Sequence[int]) -> Urgency:
        """The urgency in some columns of the table, at least one."""
        score, stands = standing.score, standing.stands
        if len(columns) < score.shape[1]:
            score, stands = score[:, columns], stands[:, columns]
        return cls(score.max(axis=1), stands >= Stand.INTENDED)

    def ordered(self, items: Sequence[int], members: Sequence[Sequence[int]], order: Order) -> list[int]:
        """Items by the rows that each stands for, most urgent first; ties stay as they are."""
        keys = [self._key(np.asarray(rows), order) for rows in members]
        places = sorted(range(len(keys)), key=lambda place: keys[place], reverse=True)
        return [items[place] for place in places]

    def _key(self, rows: NDArray[np.int64], order: Order) -> tuple[float, float]:
        shots = float(np.count_nonzero(self.drifts[rows].any(axis=0)))
        most = float(self.most[rows].max())
        return (most, shots) if order is Order.WORST else (shots, most)
