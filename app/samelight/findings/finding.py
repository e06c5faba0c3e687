"""What a finding is, and what it is drawn from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import IntEnum, StrEnum

from samelight.decisions.state import Judgement
from samelight.drift.policy import Policy
from samelight.drift.table import Table
from samelight.sheets.sheet import Sheet


@dataclass(frozen=True, slots=True)
class Evidence:
    """Everything a finding may look at. `judgements` holds the cells that decisions were made on."""

    table: Table
    sheets: Mapping[str, Sheet]
    master: Sheet | None
    masters: Mapping[int, Sheet]
    policy: Policy
    judgements: Mapping[tuple[int, int], Judgement]
    frame_rate: float = 24.0


class Sureness(StrEnum):
    """How sure a finding is: it follows from the data, or it is the likeliest reading, or one reading of several."""

    CERTAIN = "certain"
    LIKELY = "likely"
    POSSIBLE = "possible"


class Concern(IntEnum):
    """Where a finding shows, the worst first: in the picture, as noise, in cost and order, or nowhere: it is sound."""

    PICTURE = 0
    NOISE = 1
    ORDER = 2
    SOUND = 3


class Action(StrEnum):
    """What one click on a finding can do: send its cells back, say that they are meant, or show them."""

    RETURN = "return"
    INTEND = "intend"
    SHOW = "show"


@dataclass(frozen=True, slots=True)
class Finding:
    """A sentence with its cells.

    `finding` is the short name that `--only` takes; `known` says what the data shows, `guessed` what is
    inferred from it, `do` what to do. `cells` are (row, column) of the table that the finding explains, and
    `explained` the same as (shot, parameter). A finding without cells is about something that is no cell, such
    as a moving camera; `shots` and `parameters` then say where to look. `worst` is the largest severity of its
    cells (infinite where presence drifts), `worst_text` that drift in words.
    """

    finding: str
    says: str
    shots: tuple[str, ...]
    parameters: tuple[str, ...]
    cells: tuple[tuple[int, int], ...] = ()
    sureness: Sureness = Sureness.CERTAIN
    known: str = ""
    guessed: str = ""
    do: str = ""
    worst: float = 0.0
    worst_text: str = ""
    concern: Concern = Concern.PICTURE
    actions: tuple[Action, ...] = (Action.SHOW,)
    explained: tuple[tuple[str, str], ...] = ()
