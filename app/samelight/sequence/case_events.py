"""What happened to cases between two looks at a sequence: opened, sent back, taken up, mended, closed, gone."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cache

from samelight.decisions.state import Judgement, State
from samelight.drift.cells import CellName, Grade
from samelight.drift.words import drift_text
from samelight.sequence.session import Session


class Event(StrEnum):
    """What happened to a case. Of one that is decided on, the state that it has come to."""

    OPENED = "opened"
    MOVED = "moved"
    GONE = "gone"
    INTENDED = "intended"
    SENT_BACK = "sent back"
    TAKEN_UP = "taken up"
    MENDED = "mended"
    CLOSED = "closed"
    ASKS_AGAIN = "asks again"
    TWO_OPINIONS = "two opinions"
    WITHDRAWN = "withdrawn"


@dataclass(frozen=True, slots=True)
class CaseNow:
    """A case as it stands: how bad, what was decided, by how much it is off, and who said what last."""

    level: str
    state: State
    off: str
    who: str = ""
    reason: str = ""

    @property
    def drifts(self) -> bool:
        """Whether it is out of its tolerance."""
        return self.level in (Grade.DRIFT.word, Grade.BREAK.word)


def as_rows(cases: Snapshot) -> list[list[str]]:
    """Cases as plain data, the inverse of `from_rows`."""
    return [
        [shot, parameter, now.level, str(now.state), now.off, now.who, now.reason]
        for (shot, parameter), now in cases.items()
    ]


def from_rows(rows: Iterable[Sequence[str]]) -> Snapshot:
    """The cases of which `as_rows` made plain data. Raises ValueError and TypeError for others."""
    called = cache(State)  # a film has a hundred thousand
    return {
        (shot, parameter): CaseNow(level, called(state), off, who, reason)
        for shot, parameter, level, state, off, who, reason in rows
    }


Snapshot = Mapping[CellName, CaseNow]
"""By shot and parameter, every case that drifts or that was decided on."""


def snapshot(session: Session) -> Snapshot:
    """The cases of a sequence as they stand now."""
    found: dict[CellName, CaseNow] = {}
    table, follows, states = session.table, session.cases.following().mask, session.cases.judged().states
    drifting = session.cases.case_mask()
    places = dict.fromkeys(zip(*(part.tolist() for part in drifting.nonzero()), strict=True))
    places.update(dict.fromkeys(cell for cell in states if not follows[cell]))
    for row, column in places:
        cell = table.cell(row, column)
        judged = session.cases.judgement(row, column)
        found[cell.shot, cell.parameter] = _now(cell.grade.word, judged, drift_text(cell))
    for case in session.cases.finding_cases(at_least=Grade.NONE):
        if case.level >= Grade.DRIFT or case.state is not State.UNDECIDED:
            found[case.shot, case.parameter] = _now(case.level.word, case.judgement, "")
    return found


def _now(level: str, judged: Judgement, off: str) -> CaseNow:
    last = judged.decisions[-1] if judged.decisions else None
    return CaseNow(level, judged.state, off, last.who if last else "", last.reason if last else "")


def events(before: Snapshot, after: Snapshot) -> Iterator[tuple[Event, CellName, CaseNow]]:
    """What happened from one look to the next, each case once, with how it stands now (or stood, where it is gone)."""
    for name, now in after.items():
        was = before.get(name)
        happened = _happened(was, now)
        if happened is not None:
            yield happened, name, now
    for name, was in before.items():
        if name not in after and was.drifts:
            yield Event.GONE, name, was


def _happened(was: CaseNow | None, now: CaseNow) -> Event | None:
    state = was.state if was is not None else State.UNDECIDED
    if now.state is not state:
        return Event(now.state) if now.state is not State.UNDECIDED else Event.WITHDRAWN
    drifted = was is not None and was.drifts
    if now.drifts and not drifted:
        return Event.OPENED
    if was is not None and drifted and not now.drifts:
        return Event.GONE
    return Event.MOVED if was is not None and now.drifts and was.off != now.off else None
