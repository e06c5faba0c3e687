"""What happened to the cases of a session since a moment that is looked back to. No Qt."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from samelight.drift.cells import Cell, CellName
from samelight.reports.since import Since, since_sign
from samelight.sequence.case_events import Event
from samelight.sequence.session import Session


@dataclass(frozen=True, slots=True)
class LookedBack:
    """What is new, moved and mended since a moment; nothing where none is marked."""

    since: Since | None = None
    happened: Mapping[CellName, Event] = field(default_factory=dict)
    """What happened to cases."""
    cells: Mapping[Cell, Event] = field(default_factory=dict)
    """The same of those that the table has as cells."""
    signs: Mapping[int, list[tuple[int, str]]] = field(default_factory=dict)
    """The columns of each row that have a sign for it, with the sign."""

    @classmethod
    def to(cls, since: Since | None, session: Session) -> LookedBack:
        """What happened in a session as it stands now."""
        if since is None:
            return cls()
        happened, table = since.happened(session), session.table
        cells: dict[Cell, Event] = {}
        signs: dict[int, list[tuple[int, str]]] = {}
        for (shot, parameter), event in happened.items():
            row, column = table.row(parameter), table.column(shot)
            if row is None or column is None:
                continue
            cells[row, column] = event
            if sign := since_sign(event):
                signs.setdefault(row, []).append((column, sign))
        return cls(since, happened, cells, signs)
