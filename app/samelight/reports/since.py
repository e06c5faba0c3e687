"""How a sequence stood earlier, to say what is new since: by a saved check, or at a moment, by the versions that were there then."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np

from samelight.decisions.state import State
from samelight.drift.cells import CellName, Grade
from samelight.drift.follows import following
from samelight.drift.table import build_table
from samelight.drift.words import drift_text
from samelight.findings.finding import CASES
from samelight.reports.as_data import cell_data
from samelight.reports.compare import OFF, SavedCheck, read_check, same_values
from samelight.sequence.case_events import CaseNow, Event, Snapshot, events, snapshot
from samelight.sequence.session import Session
from samelight.sheets.errors import SamelightError
from samelight.sheets.sheet import Sheet

SETTLED = (Event.GONE, Event.MENDED, Event.CLOSED)
"""What is off no more, or came back mended."""

_WORDS: tuple[tuple[tuple[Event, ...], str], ...] = (
    (SETTLED, "mended"),
    ((Event.OPENED,), "new"),
    ((Event.MOVED,), "moved"),
    ((Event.SENT_BACK,), "sent back"),
    ((Event.TAKEN_UP,), "taken up"),
    ((Event.INTENDED,), "intended"),
    ((Event.ASKS_AGAIN,), "asks again"),
    ((Event.TWO_OPINIONS,), "with two opinions"),
    ((Event.WITHDRAWN,), "withdrawn"),
)


@dataclass(frozen=True, slots=True, eq=False)
class Since:
    """How cases stood, and since when that is, in words that go on after "since". `cells_alone` where it is not known what findings
    said then."""

    says: str
    before: Snapshot
    cells_alone: bool = False

    def happened(self, session: Session) -> dict[CellName, Event]:
        """What happened to each case since then."""
        found = {name: event for event, name, _ in events(self.before, snapshot(session))}
        if self.cells_alone:
            found = {name: event for name, event in found.items() if not name[1].startswith(f"{CASES}.")}
        return found

    def sentence(self, happened: Mapping[CellName, Event]) -> str:
        """All of it in one sentence.

        >>> Since("Monday", {}).sentence({("A", "x"): Event.GONE, ("A", "y"): Event.OPENED, ("B", "y"): Event.OPENED})
        'Since Monday: 1 mended, 2 new'
        """
        found = list(happened.values())
        counts = [(sum(map(found.count, kinds)), word) for kinds, word in _WORDS]
        said = ", ".join(f"{count} {_many(word, count)}" for count, word in counts if count)
        return f"Since {self.says}: {said or 'nothing changed'}"


def since_sign(event: Event) -> str:
    """The sign at a cell of what happened to it; empty for what was decided, which has signs of its own.

    >>> since_sign(Event.OPENED), since_sign(Event.MOVED), since_sign(Event.GONE), since_sign(Event.INTENDED)
    ('+', '~', '=', '')
    """
    return "=" if event in SETTLED else {Event.OPENED: "+", Event.MOVED: "~"}.get(event, "")


def _many(word: str, count: int) -> str:
    return "ask again" if word == "asks again" and count > 1 else word


def since_check(session: Session, path: Path) -> Since:
    """How a sequence stood by a saved check. Raises `SheetError` for a file that is none."""
    return Since(path.name, _of_check(session, read_check(path)))


def _of_check(session: Session, saved: SavedCheck) -> Snapshot:
    table, north = session.table, session.contents.sequence.conventions.north
    looked = None if saved.shots is None else set(saved.shots)
    found: dict[CellName, CaseNow] = {}
    for name, data in saved.cells.items():
        if (data["level"] not in OFF and data["state"] == State.UNDECIDED) or data.get("follows"):
            continue
        found[name] = CaseNow(data["level"], State(data["state"]), _off(data))
        row, column = table.row(name[1]), table.column(name[0])
        if row is None or column is None:
            continue
        now = table.cell(row, column)
        if same_values(data, cell_data(now, session.cases.state(row, column), north)):
            found[name] = CaseNow(data["level"], State(data["state"]), drift_text(now))
    if looked is not None:  # nobody knows how a shot stood that was not looked at
        found |= {name: now for name, now in snapshot(session).items() if name[0] not in looked}
    return found


def _off(data: Mapping[str, Any]) -> str:
    return f"{data.get('drift')} {data.get('unit', '')} then"


def since_moment(session: Session, moment: datetime) -> Since:
    """How a sequence stood at a moment: by the versions of shots and masters whose files are not newer, and by what was decided by
    then. Where a shot had none yet, nothing of it was off."""
    shots = [shot for shot in session.contents.shots if shot in session.contents.sheets]
    found: dict[CellName, CaseNow] = {}
    for setup in session.contents.parts:
        own = [shot for shot in shots if session.contents.setup_of(shot) is setup]
        versions = [
            version
            for version in sorted(setup.masters)
            if _is_there(setup.masters[version].path, moment) and version <= (setup.master_version or 0)
        ]
        master = setup.masters[versions[-1]] if versions else setup.master if setup.follows else None
        sheets = {shot: sheet for shot in own if (sheet := _sheet_then(session, shot, moment)) is not None}
        if master is None or not sheets:
            continue
        table = build_table(own, sheets, master, setup.policy)
        cases = following(table).case
        for row, column in np.argwhere(cases & (table.grade >= Grade.DRIFT)).tolist():
            cell = table.cell(row, column)
            judged = session.ledger.judgement(
                cell.shot, cell.parameter, *table.bound(row, column), until=moment
            )
            found[cell.shot, cell.parameter] = CaseNow(cell.grade.word, judged.state, drift_text(cell))
    return Since(f"{moment:%d %B %H:%M}", found, cells_alone=True)


def _sheet_then(session: Session, shot: str, moment: datetime) -> Sheet | None:
    """The newest sheet of a shot that was there at a moment; None where there was none, or it cannot be read."""
    there = {
        version: path
        for version, path in session.contents.versions.get(shot, {}).items()
        if _is_there(path, moment)
    }
    now = session.contents.sheets.get(shot)
    if not there:
        return None
    version = max(there)
    if now is not None and now.version == version:
        return now
    try:
        return session.contents.read_sheet(there[version], shot, version)
    except SamelightError:
        return None


def _is_there(path: Path, moment: datetime) -> bool:
    """Whether a file was there at a moment, by when it was written."""
    try:
        return path.stat().st_mtime <= moment.timestamp()
    except OSError:
        return False
