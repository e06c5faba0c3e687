"""How many cases there are, by what was decided on them: the figures that the window, reports and the gate all give."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from samelight.decisions.state import State


@dataclass(frozen=True, slots=True)
class Tally:
    """Cases that nobody decided on so that it holds, that were sent back, and that are intended.

    A decision that has lapsed asks again, two opinions are none, and what comes back mended waits for a look: all leave a
    case undecided. What a lighter took up counts as sent back.
    """

    undecided: int = 0
    sent_back: int = 0
    intended: int = 0

    @classmethod
    def of(cls, states: Iterable[State]) -> Tally:
        """The tally of cases in these states.

        >>> Tally.of([State.UNDECIDED, State.ASKS_AGAIN, State.SENT_BACK, State.INTENDED])
        Tally(undecided=2, sent_back=1, intended=1)
        """
        listed = list(states)
        returned, intended = sum(state.to_mend for state in listed), listed.count(State.INTENDED)
        return cls(len(listed) - returned - intended, returned, intended)

    @property
    def unsettled(self) -> int:
        """Those that are not intended."""
        return self.undecided + self.sent_back

    def __add__(self, other: Tally) -> Tally:
        return Tally(
            self.undecided + other.undecided, self.sent_back + other.sent_back, self.intended + other.intended
        )

    @property
    def says(self) -> str:
        """In words.

        >>> Tally(47, 3, 5).says
        '47 undecided, 3 sent back, 5 intended'
        """
        return f"{self.undecided} undecided, {self.sent_back} sent back, {self.intended} intended"


@dataclass(frozen=True, slots=True, eq=False)
class Tallies:
    """The tally of each shot of a table, by its column. The arrays (int64) have the shape (shots,)."""

    undecided: NDArray[np.int64]
    sent_back: NDArray[np.int64]
    intended: NDArray[np.int64]

    def __getitem__(self, column: int) -> Tally:
        return Tally(int(self.undecided[column]), int(self.sent_back[column]), int(self.intended[column]))

    def add(self, column: int, state: State) -> None:
        """Count one more case in a shot."""
        more = Tally.of([state])
        self.undecided[column] += more.undecided
        self.sent_back[column] += more.sent_back
        self.intended[column] += more.intended

    @property
    def unsettled(self) -> NDArray[np.int64]:
        """Of each shot the cases that are not intended."""
        found: NDArray[np.int64] = self.undecided + self.sent_back
        return found

    def total(self, of: NDArray[np.bool_] | None = None) -> Tally:
        """Of all shots, or of those that a mask over them has."""
        each = (self.undecided, self.sent_back, self.intended)
        return Tally(*(int((counts if of is None else counts[of]).sum()) for counts in each))
