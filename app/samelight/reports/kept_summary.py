"""The summaries of sequences, kept: one whose files are as they were is told without opening it.

What is kept lies in the user's own cache, may be deleted at any time, and counts as nothing where any file of the sequence,
of the program or of what the production gives it is another, or may have changed under the same time.
"""

from __future__ import annotations

import hashlib
import json
import os
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from functools import cache
from pathlib import Path
from typing import Any

from samelight.reports.summary import CaseKey, Summary, summary_from, summary_of
from samelight.sequence.disk import DAMAGE, read_kept, write_kept
from samelight.sequence.keeping import is_of_its_folder
from samelight.sequence.session import Session, open_store
from samelight.sequence.store import SheetStore
from samelight.sheets.at_rest import (
    NOT_LOOKED_INTO,
    SAME_MOMENT,
    UncertainError,
    program_state,
    state_of,
    state_of_file,
)
from samelight.sheets.production import CommonRules

_ENDING, _DAYS = "summary", "days"


@dataclass(frozen=True, slots=True)
class Changes:
    """What became of the cases of a sequence since a day, or since a saved check: how many are new, are settled or gone, and stand
    otherwise than then."""

    since: str
    new: int = 0
    settled: int = 0
    moved: int = 0

    @property
    def says(self) -> str:
        """In words, short.

        >>> Changes("2026-03-01", 2, 5).says, Changes("2026-03-01").says
        ('2 new, 5 settled', 'as it was')
        """
        parts = ((self.new, "new"), (self.settled, "settled"), (self.moved, "moved"))
        return ", ".join(f"{count} {word}" for count, word in parts if count) or "as it was"


def changes_between(since: str, before: Mapping[CaseKey, str], now: Mapping[CaseKey, str]) -> Changes:
    """What became of cases, each with how it stood; one of which only the state was noted has not moved while that holds."""
    both = before.keys() & now.keys()
    moved = sum(not now[key].endswith(before[key]) for key in both)
    return Changes(since, len(now.keys() - both), len(before.keys() - both), moved)


def kept_summary(folder: Path, common: CommonRules) -> Summary | None:
    """The summary of a sequence that was kept; None where it is to be opened."""
    state = _state(folder, common)
    return None if state is None else _kept(folder, state)


def read_summary(
    folder: Path, common: CommonRules, opened: Callable[[Path, CommonRules], Session] | None = None
) -> Summary:
    """The summary of a sequence as its files are now, which is `opened` where nothing is kept of it as it is. Raises as
    `open_store`."""
    start = time.time_ns() - SAME_MOMENT
    state = _state(folder, common)
    found = None if state is None else _kept(folder, state)
    if found is not None:
        return found
    session = (opened or _opened)(folder, common)
    found = summary_of(session)
    certain = session.whole and is_of_its_folder(session.contents)
    if state is not None and certain and state == _state(folder, common, settled=start):
        body = {"of": state, "summary": found.as_data()}
        write_kept(folder, _ENDING, json.dumps(body).encode())
    return found


def _opened(folder: Path, common: CommonRules) -> Session:
    return open_store(SheetStore(folder, common=common))


def _kept(folder: Path, state: str) -> Summary | None:
    try:
        data = json.loads(read_kept(folder, _ENDING))
        return summary_from(data["summary"]) if data["of"] == state else None
    except DAMAGE:
        return None


def _state(folder: Path, common: CommonRules, settled: int | None = None) -> str | None:
    """A digest of all that a summary is made of; None where it cannot be told, or not for certain."""
    if os.name != "posix":
        return None  # a time that was set back tells of no change there
    real = os.path.realpath(folder)
    try:
        parts = [program_here(), real, repr(common)]
        if common.policy is not None:
            parts.append(state_of_file(os.path.realpath(common.policy), settled))
        parts += state_of(real, NOT_LOOKED_INTO, settled)
    except (OSError, UncertainError):
        return None
    return hashlib.sha256("\n".join(parts).encode("utf-8", "surrogatepass")).hexdigest()


@cache
def program_here() -> str:
    """The state of the program as this process loaded it."""
    return "\n".join(program_state())


def changes_since_before(folder: Path, summary: Summary, today: date | None = None) -> Changes | None:
    """What changed since the last day before today on which somebody looked; None where nobody did. How it stands today is
    noted for tomorrow."""
    day = (today or datetime.now().astimezone().date()).isoformat()
    last, before = _days(folder)
    if last is not None and last[0] != day:
        before = last
    if last is None or last != (day, dict(summary.cases)):
        write_kept(
            folder, _DAYS, json.dumps([_noted(day, dict(summary.cases)), before and _noted(*before)]).encode()
        )
    return None if before is None else changes_between(before[0], before[1], dict(summary.cases))


_Day = tuple[str, dict[CaseKey, str]]


def _noted(day: str, cases: dict[CaseKey, str]) -> list[Any]:
    return [day, [[*key, said] for key, said in cases.items()]]


def _days(folder: Path) -> tuple[_Day | None, _Day | None]:
    """How a sequence stood on the last day that somebody looked, and on the last one before."""
    try:
        last, before = json.loads(read_kept(folder, _DAYS))
        return _day(last), None if before is None else _day(before)
    except DAMAGE:
        return None, None


def _day(data: Any) -> _Day:
    return str(data[0]), {(str(shot), str(name)): str(said) for shot, name, said in data[1]}
