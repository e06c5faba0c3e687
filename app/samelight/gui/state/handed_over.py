"""What is handed over between people: the lists of what somebody has to do something about, and how many are in each. No Qt."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from samelight.decisions.decision import Verb
from samelight.decisions.state import Judgement, State
from samelight.drift.cells import Grade
from samelight.findings.finding import Case, Finding
from samelight.gui.state.cell_states import STATES, Standing
from samelight.sequence.saved_views import Show
from samelight.sequence.session import Session

LISTS: Mapping[Show, tuple[State, ...]] = {
    Show.SENT_BACK: (State.SENT_BACK, State.TAKEN_UP),
    Show.WAITING: (State.MENDED,),
    Show.AGAIN: (State.ASKS_AGAIN,),
    Show.OPINIONS: (State.TWO_OPINIONS,),
}
"""The lists, each with the states of what is in it."""

MOST = 999
"""Of more, no more is said: a figure in a bar keeps its width."""


def listed_cells(standing: Standing, show: Show) -> NDArray[np.intp]:
    """The cells in a list, as places in the flattened table. What asks again is in it while it drifts."""
    codes = np.zeros(len(STATES), dtype=np.bool_)
    codes[[STATES.index(state) for state in LISTS[show]]] = True
    decided = standing.decided
    found = decided[codes[standing.states.take(decided)] & ~standing.follows.take(decided)]
    return found[standing.table.grade.take(found) >= Grade.DRIFT] if show is Show.AGAIN else found


def lists_case(case: Case, show: Show) -> bool:
    """Whether a case of a finding is in a list."""
    return case.state in LISTS[show] and (show is not Show.AGAIN or case.level >= Grade.DRIFT)


@dataclass(frozen=True, eq=False)
class HandedOver:
    """What of my shots, a mask over the table's, is in each of the lists, for whoever decides under the name `who`."""

    session: Session
    standing: Standing
    mine: NDArray[np.bool_]
    who: str

    @cached_property
    def counts(self) -> Mapping[Show, int]:
        """How many cells and findings each list has."""
        listed = {show: listed_cells(self.standing, show) for show in LISTS}
        listed[Show.WAITING] = self.waiting()
        return {
            show: int(self.mine[cells % len(self.mine)].sum()) + len(self._cases(show))
            for show, cells in listed.items()
        }

    @cached_property
    def findings(self) -> Mapping[Show, list[Finding]]:
        """The findings that each list has beside its cells, which stand among the findings."""
        found: dict[Show, list[Finding]] = {}
        for show in LISTS:
            named = {id(case) for case in self._cases(show)}
            found[show] = [
                one for one in self.session.cases.findings if any(id(case) in named for case in one.cases)
            ]
        return found

    def waiting(self) -> NDArray[np.intp]:
        """The cells that came back mended for my look, as places in the flattened table: those that were sent back under my
        name, or all where none was."""
        cells, shots = listed_cells(self.standing, Show.WAITING), len(self.mine)
        judged = (self.session.cases.judgement(*divmod(cell, shots)) for cell in cells.tolist())
        mine = np.array([self._sent_back_by_me(one) for one in judged], dtype=np.bool_)
        return cells[mine] if mine.any() else cells

    @cached_property
    def _my_cases(self) -> list[Case]:
        shots = self.standing.table.shots
        mine = {shot for shot, is_mine in zip(shots, self.mine.tolist(), strict=True) if is_mine}
        return self.session.cases.finding_cases(mine, Grade.NONE)

    def _cases(self, show: Show) -> list[Case]:
        """The cases of findings in a list, by the same name."""
        found = [case for case in self._my_cases if lists_case(case, show)]
        mine = [case for case in found if self._sent_back_by_me(case.judgement)]
        return mine if show is Show.WAITING and mine else found

    def _sent_back_by_me(self, judged: Judgement) -> bool:
        return any(one.verb is Verb.RETURN and one.who == self.who for one in judged.decisions)


def counts_line(counts: Mapping[Show, int]) -> str:
    """How many there are in all lists, for a narrow place.

    >>> counts_line({Show.SENT_BACK: 3, Show.AGAIN: 1}), counts_line({Show.SENT_BACK: 1200})
    ('Handed over: 4', 'Handed over: 999+')
    """
    count = sum(counts.values())
    return f"Handed over: {count if count <= MOST else f'{MOST}+'}"
