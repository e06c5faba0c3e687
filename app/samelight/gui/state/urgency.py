"""Which of several groups or rows stands first where the grid is ordered by what drifts. No Qt."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from samelight.gui.state.cell_states import Stand, Standing
from samelight.sequence.saved_views import Order


@dataclass(frozen=True, slots=True, eq=False)
class Urgency:
    """How much each row of a table needs a look in the shots that are listed, which are its `columns`.

    `most` (float64, shape (rows,)) is the highest score of a row's cells, `drifts` (shape (rows, shots listed)) which of
    them drift.
    """

    standing: Standing
    columns: Sequence[int]
    most: NDArray[np.float64]
    drifts: NDArray[np.bool_]

    @classmethod
    def of(cls, standing: Standing, columns: Sequence[int], before: Urgency | None = None) -> Urgency:
        """The urgency in some columns of the table, at least one; of rows in which nothing changed it is as it was `before`."""
        across = slice(None) if len(columns) == standing.stands.shape[1] else np.asarray(columns)
        changed = None
        if before is not None and before.columns == columns:
            changed = standing.changed_since(before.standing)
        if before is None or changed is None:
            rows = list(range(len(standing.stands)))
            most, drifts = np.zeros(len(rows)), standing.stands[:, across] >= Stand.INTENDED
        elif not changed.size:
            return replace(before, standing=standing)
        else:
            rows = np.flatnonzero(np.bincount(changed // standing.stands.shape[1])).tolist()
            most, drifts = before.most.copy(), before.drifts.copy()
            drifts[rows] = standing.stands[rows][:, across] >= Stand.INTENDED
        for row in rows:
            most[row] = standing.score[row, across].max()
        return cls(standing, columns, most, drifts)

    def ordered(self, items: Sequence[int], members: Sequence[Sequence[int]], order: Order) -> list[int]:
        """Items by the rows that each stands for, most urgent first; ties stay as they are."""
        if not items:
            return []
        rows = np.concatenate([np.asarray(rows, dtype=np.intp) for rows in members])
        starts = np.cumsum([0, *map(len, members)])[:-1]
        most = np.maximum.reduceat(self.most[rows], starts).tolist()
        shots = np.logical_or.reduceat(self.drifts[rows], starts).sum(axis=1).tolist()
        keys = [*zip(most, shots, strict=True)] if order is Order.WORST else [*zip(shots, most, strict=True)]
        places = sorted(range(len(keys)), key=lambda place: keys[place], reverse=True)
        return [items[place] for place in places]
