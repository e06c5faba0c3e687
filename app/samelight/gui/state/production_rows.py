"""What the overview of a production says of each sequence. Plain objects, no Qt."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from samelight.decisions.tally import Tally
from samelight.drift.cells import Grade
from samelight.reports.held import held_shots
from samelight.reports.render_plan import render_plan
from samelight.sequence.session import Session, open_store
from samelight.sequence.store import SheetStore
from samelight.sheets.production import Production

_NOBODY: NDArray[np.float64] = np.zeros(0)


@dataclass(frozen=True, slots=True, eq=False)
class SequenceRow:
    """One sequence. `held` is what its shots are held against, by set-up; `strip` has for each shot of the cut how far its worst
    unsettled cell is out of tolerance, infinite where something is there or not, 0 where all is settled.

    `trouble` says why nothing is known of it, or how much could not be read; `hours` are those of the render plan, None where it has none.
    """

    name: str
    folder: Path
    title: str = ""
    held: str = ""
    strip: NDArray[np.float64] = field(default_factory=lambda: _NOBODY)
    tally: Tally | None = None
    hours: float | None = None
    lighters: tuple[str, ...] = ()
    trouble: str = ""

    @property
    def shots(self) -> int:
        """How many shots are in the cut."""
        return len(self.strip)

    @property
    def unsettled_shots(self) -> int:
        """In how many of them something is unsettled."""
        return int(np.count_nonzero(self.strip))


def waiting_row(production: Production, name: str) -> SequenceRow:
    """A sequence that was not read yet."""
    return SequenceRow(name, production.sequences[name], trouble="not read yet")


def broken_row(production: Production, name: str, why: str) -> SequenceRow:
    """A sequence that cannot be opened, and why, in words that do not begin with the whole way to it."""
    folder = production.sequences[name]
    said = why.splitlines()[0].replace(f"{folder}/", "").replace(f"{folder}: ", "")
    return SequenceRow(name, folder, trouble=f"cannot be read: {said}")


def read_row(production: Production, name: str) -> SequenceRow:
    """Read a sequence for its row, in any thread. Raises `SamelightError`."""
    folder = production.sequences[name]
    return row_of(name, open_store(SheetStore(folder, common=production.common(name))))


def row_of(name: str, session: Session) -> SequenceRow:
    """The row of an opened sequence."""
    plan = render_plan(session.sheets, session.findings)
    unread = session.unreadable()
    trouble = next(iter(unread.values())).says if unread else ""
    if not session.has_master:
        trouble = trouble or "There is no master setup to compare the shots with."
    elif len(unread) > 1:
        trouble = f"{trouble} ({len(unread) - 1} more shots are not compared.)"
    return SequenceRow(
        name,
        session.folder,
        session.sequence.title,
        _held(session),
        _strip(session),
        session.tally(),
        plan.seconds / 3600.0 if plan.timed else None,
        tuple(session.sequence.lighters),
        trouble,
    )


def _held(session: Session) -> str:
    """The set-ups with the version of each one's master."""
    parts = {one.setup: one.master for one in held_shots(session) if not one.follows}
    if not parts:
        parts = {"": session.master_version}
    said = (
        f"{name} {'—' if version is None else f'v{version:03d}'}".lstrip() for name, version in parts.items()
    )
    return ", ".join(said)


def _strip(session: Session) -> NDArray[np.float64]:
    unsettled = session.unsettled_mask(Grade.DRIFT)
    severity = np.where(unsettled, session.table.severity, 0.0)
    strip: NDArray[np.float64] = np.nan_to_num(severity, posinf=np.inf).max(axis=0, initial=0.0)
    for case in session.unsettled_cases():
        column = session.table.column(case.shot)
        if column is not None:
            strip[column] = max(strip[column], 1.0)
    return strip
