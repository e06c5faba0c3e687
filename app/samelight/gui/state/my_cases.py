"""The cases of the shots that are listed and counted: how many there are, and which need a look. No Qt."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from samelight.decisions.tally import Tallies, Tally
from samelight.drift.cells import Grade
from samelight.findings.finding import Case
from samelight.gui.state.cell_states import Stand, Standing
from samelight.sequence.session import Session


@dataclass(frozen=True, eq=False)
class MyCases:
    """The cases of a session in my shots, which are a mask over the table's: the figures that everything in a window says."""

    session: Session
    standing: Standing
    mine: NDArray[np.bool_]

    @cached_property
    def tallies(self) -> Tallies:
        """The cases of every shot, mine or not, by what was decided on them: cells, and what findings say beside cells."""
        return self.session.cases.tallies()

    def in_shot(self, column: int) -> Tally:
        """The cases of a shot; none where it is not mine."""
        return self.tallies[column] if self.mine[column] else Tally()

    def in_shots(self, columns: Sequence[int]) -> list[Tally]:
        """The same of many shots."""
        tallies, mine, none = self.tallies, self.mine, Tally()
        return [tallies[column] if mine[column] else none for column in columns]

    def tally(self) -> Tally:
        """The cases of my shots."""
        return self.tallies.total(self.mine)

    def cells_left(self) -> int:
        """How many of the undecided cases of `tally` are cells; the others are findings."""
        return self.cells_that_stand(Stand.LEFT)

    def cells_that_stand(self, stand: Stand) -> int:
        """How many cells of my shots stand so."""
        return int(self.standing.tallies[stand, self.mine].sum())

    def is_left(self, case: Case) -> bool:
        """Whether a case of a finding drifts, is of my shots, and is left to decide."""
        column = self.standing.table.column(case.shot)
        drifts = case.level >= Grade.DRIFT and Tally.of([case.state]).undecided > 0
        return drifts and column is not None and bool(self.mine[column])

    def unsettled_mask(self) -> NDArray[np.bool_]:
        """Which cells of my shots need a look: they drift and nobody has said that it is meant."""
        return self._standing_at_least(Stand.RETURNED)

    def undecided_mask(self) -> NDArray[np.bool_]:
        """Which cells are left to decide: the unsettled ones that were not sent back to be mended."""
        return self._standing_at_least(Stand.LEFT)

    def _standing_at_least(self, stand: Stand) -> NDArray[np.bool_]:
        mask: NDArray[np.bool_] = (self.standing.stands >= stand) & self.mine
        return mask
