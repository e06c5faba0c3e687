"""What is handed over between people: the lists of what somebody has to do something about, and how many are in each. No Qt."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from samelight.decisions.state import State
from samelight.drift.cells import Grade
from samelight.findings.finding import Case
from samelight.gui.state.cell_states import STATES, Standing
from samelight.sequence.saved_views import Show

LISTS: Mapping[Show, tuple[State, ...]] = {
    Show.SENT_BACK: (State.SENT_BACK, State.TAKEN_UP),
    Show.WAITING: (State.MENDED,),
    Show.AGAIN: (State.ASKS_AGAIN,),
    Show.OPINIONS: (State.TWO_OPINIONS,),
}
"""The lists, each with the states of what is in it."""

MOST = 999
"""Of more, no more is said: a figure in a bar keeps its width."""


def listed_cells(standing: Standing, show: Show) -> NDArray[np.bool_]:
    """Which cells are in a list, shape (rows, shots). What asks again is in it while it drifts."""
    codes = np.zeros(len(STATES), dtype=np.bool_)
    codes[[STATES.index(state) for state in LISTS[show]]] = True
    mask: NDArray[np.bool_] = codes[standing.states] & ~standing.follows
    if show is Show.AGAIN:
        mask &= standing.table.grade >= Grade.DRIFT
    return mask


def lists_case(case: Case, show: Show) -> bool:
    """Whether a case of a finding is in a list."""
    return case.state in LISTS[show] and (show is not Show.AGAIN or case.level >= Grade.DRIFT)


def counts_line(counts: Mapping[Show, int]) -> str:
    """How many there are in all lists, for a narrow place.

    >>> counts_line({Show.SENT_BACK: 3, Show.AGAIN: 1}), counts_line({Show.SENT_BACK: 1200})
    ('Handed over: 4', 'Handed over: 999+')
    """
    count = sum(counts.values())
    return f"Handed over: {count if count <= MOST else f'{MOST}+'}"
