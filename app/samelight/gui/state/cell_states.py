"""How every cell of a table stands: what was decided on it, and how much it needs a look. No Qt.

Of a standing that is made after another, only the cells that changed are worked out.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import IntEnum
from typing import Any
from weakref import ref

import numpy as np
from numpy.typing import NDArray

from samelight.decisions.state import State
from samelight.drift.cells import Cell, Grade
from samelight.drift.rebuilt import unlike
from samelight.drift.table import Table

STATES: tuple[State, ...] = tuple(State)
"""Codes of states in arrays are places in this list; 0 is undecided."""

_CODE = {state: code for code, state in enumerate(STATES)}

INTENDED = STATES.index(State.INTENDED)
"""The code of what is intended."""

_MANY = 8
"""Where more than one in so many cells changed, all are worked out anew."""


class Stand(IntEnum):
    """What there is to do about a cell, from nothing to a decision."""

    QUIET = 0
    """It is as the master's, or follows from others that are decided on."""
    WITHIN = 1
    INTENDED = 2
    RETURNED = 3
    """It was sent back, whether or not a lighter has taken it up."""
    LEFT = 4
    """It drifts, and nobody has decided on it."""


def _stand(grade: Grade, state: State) -> Stand:
    if grade < Grade.DRIFT:
        return Stand.WITHIN if grade is Grade.WITHIN else Stand.QUIET
    if state.to_mend:
        return Stand.RETURNED
    return Stand.INTENDED if state is State.INTENDED else Stand.LEFT


_STANDS = np.array([_stand(grade, state) for grade in Grade for state in STATES], dtype=np.uint8)
"""By grade, then by state."""


@dataclass(frozen=True, slots=True)
class Scores:
    """A score (float64) for every cell, the higher the more it needs a look: unsettled before intended, then by grade, then
    by how far it is off. Indexed as an array of the shape (rows, shots) is; only what is asked for is worked out."""

    of_entries: NDArray[np.float64]
    """The score of each entry of the table's pool, where it is settled."""
    codes: NDArray[np.int32]
    stands: NDArray[np.uint8]

    @classmethod
    def of(cls, table: Table, stands: NDArray[np.uint8]) -> Scores:
        """The scores of a table's cells, which stand so."""
        _, severity, grade = table.of_entries
        # Three scales that do not overlap.
        return cls(np.minimum(severity, 900.0) + grade * 1e3, table.codes, stands)

    def __getitem__(self, index: Any) -> NDArray[np.float64]:
        settled: NDArray[np.float64] = self.of_entries[self.codes[index]]
        return settled + np.where(self.stands[index] >= Stand.RETURNED, 1e4, 0.0)


@dataclass(frozen=True, slots=True, eq=False, weakref_slot=True)
class Standing:
    """How a table's cells stand; the first three are of the shape (rows, shots).

    `states` (uint8) are places in `STATES`, `stands` (uint8) are of `Stand`. `follows` marks the cells that follow from
    others: these have a state and nothing to do about them. `tallies` (int64, shape (stands, shots)) counts the cells of
    each shot that stand so, and `decided` are those of any other state than the first, as places in the flattened table.
    """

    table: Table
    states: NDArray[np.uint8]
    stands: NDArray[np.uint8]
    follows: NDArray[np.bool_]
    tallies: NDArray[np.int64]
    decided: NDArray[np.intp]
    since: tuple[ref[Standing], NDArray[np.intp]] | None = field(default=None, repr=False)
    """The standing that this one was made after, and what changed in between."""
    score: Scores = field(init=False, repr=False)
    """How much each cell needs a look."""

    def __post_init__(self) -> None:
        object.__setattr__(self, "score", Scores.of(self.table, self.stands))

    def changed_since(self, before: Standing) -> NDArray[np.intp] | None:
        """The cells that hold another entry or stand in another state than before, as indices into the flattened table.

        None where the tables have not the same rows and shots, or too much changed to be worth the knowing.
        """
        if self.since is not None and self.since[0]() is before:
            return self.since[1]
        return _changed(self.table, self.states, self.follows, before)


def _changed(
    table: Table, states: NDArray[np.uint8], follows: NDArray[np.bool_], before: Standing
) -> NDArray[np.intp] | None:
    others = unlike(before.table, table)
    if others is None:
        return None
    is_another = (states != before.states) | (follows != before.follows)
    is_another.put(others, True)
    found = np.flatnonzero(is_another)
    return found if found.size * _MANY <= states.size else None


def standing_of(
    table: Table,
    decided: Mapping[Cell, State],
    before: Standing | None = None,
    follows: NDArray[np.bool_] | None = None,
) -> Standing:
    """How the cells of a table stand, given the state of those that were `decided` on, and which of them follow from others.

    `before` is of the same table or an earlier one; it costs nothing to give one that has nothing to do with it.
    """
    states = np.zeros(table.grade.shape, dtype=np.uint8)
    cells = np.array(list(decided), dtype=np.intp).reshape(-1, 2)
    states[cells[:, 0], cells[:, 1]] = [_CODE[state] for state in decided.values()]
    places = cells[:, 0] * len(table.shots) + cells[:, 1]
    places = places[states.take(places) > 0]
    if follows is None:
        follows = np.zeros(table.grade.shape, dtype=np.bool_)
    changed = None if before is None else _changed(table, states, follows, before)
    if before is not None and changed is not None:
        return _mended(before, table, states, follows, places, changed)
    stands = _stands(table.grade, states, follows)
    tallies = np.array([(stands == stand).sum(axis=0) for stand in Stand], dtype=np.int64)
    return Standing(table, states, stands, follows, tallies, places)


def _mended(
    before: Standing,
    table: Table,
    states: NDArray[np.uint8],
    follows: NDArray[np.bool_],
    decided: NDArray[np.intp],
    changed: NDArray[np.intp],
) -> Standing:
    """The standing before with the changed cells worked out anew."""
    if not changed.size:
        since = ref(before), changed
        return Standing(table, states, before.stands, follows, before.tallies, decided, since)
    stands, tallies = before.stands.copy(), before.tallies.copy()
    shots, grade, was = len(table.shots), table.grade.take(changed), stands.take(changed)
    columns, now = changed % shots, _stands(grade, states.take(changed), follows.take(changed))
    stands.put(changed, now)
    for stand in Stand:
        tallies[stand] += np.bincount(columns[now == stand], minlength=shots)
        tallies[stand] -= np.bincount(columns[was == stand], minlength=shots)
    return Standing(table, states, stands, follows, tallies, decided, (ref(before), changed))


def _stands(
    grade: NDArray[np.uint8], states: NDArray[np.uint8], follows: NDArray[np.bool_]
) -> NDArray[np.uint8]:
    found: NDArray[np.uint8] = _STANDS.take(grade * np.uint8(len(STATES)) + states)
    found[follows] = Stand.QUIET
    return found
