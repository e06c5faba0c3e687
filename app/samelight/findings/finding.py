"""What a finding is, and what it is drawn from."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import IntEnum, StrEnum

from samelight.decisions.decision import Verb
from samelight.decisions.state import UNDECIDED, Judgement, State, may
from samelight.drift.cells import Cell, CellName, Grade
from samelight.drift.policy import Policy
from samelight.drift.table import Table, TablePart
from samelight.findings.over_frames import FramePoint
from samelight.sheets.measured import Witness
from samelight.sheets.sheet import Sheet
from samelight.sheets.shot_lists import Lighters
from samelight.sheets.values import Named


@dataclass(frozen=True, slots=True)
class Evidence:
    """Everything a finding may look at. `judgements` holds the cells that decisions were made on; `key_shot` is the one that
    the sequence names, if it names one, `lighters` who lights what by its word."""

    table: Table
    sheets: Mapping[str, Sheet]
    master: Sheet | None
    masters: Mapping[int, Sheet]
    policy: Policy
    judgements: Mapping[Cell, Judgement]
    frame_rate: float = 24.0
    key_shot: str | None = None
    lighters: Lighters = field(default_factory=dict)
    measured: Mapping[str, Witness] = field(default_factory=dict)
    """What was measured in the frames of shots."""
    setup: str = ""
    """The set-up that all this is of, where a sequence has several."""
    newest_master: int = 0
    """The newest version that is published, whether or not it can be read; 0 without any."""
    apart: frozenset[int] = frozenset()
    """The columns after which the next one is not the next of the cut."""
    parts: tuple[tuple[TablePart, Evidence], ...] = ()
    """The evidence of each set-up, and where its table stands in this one."""


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
    """What one click on a finding can do: send its cells back, say that they are meant, close what was mended, or show them."""

    RETURN = "return"
    INTEND = "intend"
    CLOSE = "close"
    SHOW = "show"


NOTHING_TO_DO = "Say that it is meant; nothing has to change."
"""What to do about what is right in itself."""

CASES = "findings"
"""First part of the name by which a case of a finding is decided on."""


def case_name(finding: str, subject: str = "") -> str:
    """The name by which a finding's case in a shot is decided on, in place of a parameter.

    >>> case_name("one-frame", "background"), case_name("light-count")
    ('findings.one-frame.background', 'findings.light-count')
    """
    return ".".join(part for part in (CASES, finding, subject) if part)


@dataclass(frozen=True, slots=True)
class Case:
    """What a finding says of one shot where no cell is out of tolerance that one could decide on.

    `parameter` is the name by which it is decided on (see `case_name`), `level` what the policy says of it. A decision is
    bound to `value`, the values of the shot that the finding rests on, and to `master`, what they are compared with where
    that is not the master setup; when they change, it lapses.
    """

    shot: str
    parameter: str
    level: Grade
    value: Named
    master: Named | None = None
    judgement: Judgement = UNDECIDED

    @property
    def state(self) -> State:
        """What was decided on it."""
        return self.judgement.state

    def may(self, verb: Verb) -> bool:
        """Whether it goes on by this verb from where it stands."""
        return may(verb, self.judgement, inside=self.level < Grade.DRIFT)


@dataclass(frozen=True, slots=True)
class Harm:
    """What a finding does to the light on the mark that it changes most, in the shot where it does.

    `stops` is how much brighter the mark gets (minus infinity where it goes dark), `steps` about how far its colour moves,
    as CIE TN 001:2014 counts, `side` the side from which its key comes instead of the master's: "left for right".
    """

    shot: str
    mark: str
    stops: float
    steps: float
    side: str = ""


@dataclass(frozen=True, slots=True)
class Finding:
    """A sentence with its cells.

    `finding` is the short name that `--only` takes; `known` says what the data shows, `guessed` what is
    inferred from it, `do` what to do. `cells` are (row, column) of the table that the finding explains, and
    `explained` the same as (shot, parameter). A finding without cells is about something that is no cell, such
    as a moving camera; `shots` and `parameters` then say where to look. `worst` is the largest severity of its
    cells (infinite where presence drifts), `worst_text` that drift in words.

    `rests_on` are the cells that it stands and falls with, also those that are intended or that another finding explains.
    `cases` are what is to be decided on in the shots where none of those is out of tolerance. `level` and `state` are the
    worst of both; a finding that nobody can decide on has no level (`Grade.NONE`). `harm` is None where no mark shows it. `setup` names the one that it
    is about, where a sequence has several. `frames` are the measured frames of a mark over which it is told.
    """

    finding: str
    says: str
    shots: tuple[str, ...]
    parameters: tuple[str, ...]
    cells: tuple[Cell, ...] = ()
    sureness: Sureness = Sureness.CERTAIN
    known: str = ""
    guessed: str = ""
    do: str = ""
    worst: float = 0.0
    worst_text: str = ""
    concern: Concern = Concern.PICTURE
    actions: tuple[Action, ...] = (Action.SHOW,)
    explained: tuple[CellName, ...] = ()
    rests_on: tuple[Cell, ...] = ()
    cases: tuple[Case, ...] = ()
    level: Grade = Grade.NONE
    state: State = State.UNDECIDED
    harm: Harm | None = None
    setup: str = ""
    frames: tuple[FramePoint, ...] = ()

    @property
    def advice(self) -> str:
        """What a lighter can do about it; empty where it only asks whoever decides."""
        return "" if _ASKS.search(self.do) else self.do


_ASKS = re.compile(r"send it back|[Ss]ettle it|^Say that|^Look at")
"""What a finding says to whoever decides, and not to whoever mends."""
