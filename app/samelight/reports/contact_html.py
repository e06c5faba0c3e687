"""The shots as frames in cut order, to print: each with its marks, what is undecided in it and its worst drift."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

from samelight.decisions.tally import Tallies
from samelight.drift.words import drift_named
from samelight.reports.html_parts import printed
from samelight.reports.lighter_pages import ShotPicture, pictures_of
from samelight.reports.pages_html import rings
from samelight.sequence.session import Session
from samelight.sequence.troubles import Trouble

LONGEST = 320
"""Pixels of a frame's longer side: four stand beside each other on a sheet of paper."""


@dataclass(frozen=True, slots=True)
class ContactFrame:
    """A shot: who lights it, how much is undecided in it, its worst unsettled drift in words, and its frame where it has one."""

    shot: str
    lighter: str
    undecided: int
    worst: str
    picture: ShotPicture | None


@dataclass(frozen=True, slots=True)
class PrintedSheet:
    """The shots at one moment, in cut order; `troubles` say why a frame is missing that is there."""

    title: str
    master: int | None
    made: datetime
    frames: tuple[ContactFrame, ...]
    troubles: tuple[str, ...]


def contact_sheet(session: Session, made: datetime, shots: Collection[str] | None = None) -> PrintedSheet:
    """The sheet of these shots (None: of all)."""
    wanted = [shot for shot in session.contents.shots if shots is None or shot in shots]
    pictures, troubles = pictures_of(session, wanted, LONGEST)
    tallies, unreadable = session.cases.tallies(), session.unreadable()
    frames = tuple(
        _frame(session, tallies, shot, unreadable.get(shot), pictures.get(shot)) for shot in wanted
    )
    return PrintedSheet(
        session.contents.sequence.title, session.contents.master_version, made, frames, troubles
    )


def _frame(
    session: Session, tallies: Tallies, shot: str, trouble: Trouble | None, picture: ShotPicture | None
) -> ContactFrame:
    lighter, column = session.crew.who(shot), session.table.column(shot)
    if trouble is not None or column is None:
        return ContactFrame(shot, lighter, 0, trouble.says if trouble is not None else "", picture)
    table = session.table
    worst = table.furthest_off((row, column) for row in session.cases.unsettled_rows(column))
    says = drift_named(table.cell(*worst), table.rows[worst[0]]) if worst is not None else ""
    return ContactFrame(shot, lighter, tallies[column].undecided, says, picture)


def contact_html(sheet: PrintedSheet) -> str:
    """The document; it needs no network, no server and no script."""
    return printed("frames.html.j2", sheet=sheet, rings=rings)
