"""What the contact sheet says of each shot, and in which order the shots lie. No Qt."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from samelight.drift.words import drift_named
from samelight.gui.state.cell_states import Stand
from samelight.gui.state.rows import GridState


class Lay(StrEnum):
    """In which order the shots lie."""

    CUT = "in cut order"
    WORST = "worst first"
    LIGHTER = "by lighter"


@dataclass(frozen=True, slots=True)
class ShotFrame:
    """One shot: its column of the table, who lights it, how much is undecided in it, and what needs a look most: the drift
    in words with the parameter's name, and how many tolerances it is (0 where nothing is left that drifts). `key_shot` is the
    shot that its master was lit on, empty where that is itself or not known."""

    column: int
    shot: str
    lighter: str
    undecided: int
    worst: str
    severity: float
    key_shot: str = ""

    @property
    def says(self) -> str:
        """All of it in words."""
        who = f", lit by {self.lighter}" if self.lighter else ""
        left = f", {self.undecided} undecided" if self.undecided else ""
        return f"{self.shot}{who}{left}" + (f". Worst: {self.worst}" if self.worst else "")


def shot_frames(state: GridState, lay: Lay) -> list[ShotFrame]:
    """The shots that are listed. Of equal ones the first in the cut comes first."""
    frames = [_frame(state, column) for column in state.listing.columns]
    if lay is Lay.WORST:
        score = state.standing.score
        return sorted(frames, key=lambda one: -float(score[:, one.column].max(initial=0.0)))
    if lay is Lay.LIGHTER:
        return sorted(frames, key=lambda one: (not one.lighter, one.lighter))
    return frames


def _frame(state: GridState, column: int) -> ShotFrame:
    shot, standing = state.table.shots[column], state.standing
    worst, severity = "", 0.0
    if len(state.table.rows):
        row = int(np.argmax(standing.score[:, column]))
        if standing.stands.item(row, column) >= Stand.RETURNED:
            worst = drift_named(state.table.cell(row, column), state.table.rows[row])
            severity = float(state.table.severity[row, column])
    undecided = state.my_cases.in_shot(column).undecided
    key_shot = state.session.contents.setup_of(shot).lit_on or ""
    who = state.session.crew.who(shot)
    return ShotFrame(column, shot, who, undecided, worst, severity, key_shot if key_shot != shot else "")
