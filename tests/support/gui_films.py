"""Sessions made in memory: a whole film, or a few shots, with no file behind them."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from benchmarks.film import film
from samelight.decisions.ledger import Ledger
from samelight.drift.policy import Policy, default_policy
from samelight.sequence.contents import Contents, SheetStore
from samelight.sequence.references import compare
from samelight.sequence.session import Session
from samelight.sheets.sequence import SequenceFile
from samelight.sheets.sheet import Sheet


class FilmSession(Session):
    """A session that draws no findings: on a film of made-up drift they say nothing and take minutes."""

    def refresh_findings(self) -> None:
        self.cases.take_findings([])


def session_of(
    master: Sheet, sheets: Mapping[str, Sheet], folder: Path, *, policy: Policy | None = None
) -> FilmSession:
    """A session of these sheets, in this order. `folder` need not exist; decisions would go there."""
    contents = Contents(
        sequence=SequenceFile(folder, folder.name, tuple(sheets)),
        policy=policy or default_policy(),
        own_policy=Policy(),
        shots=tuple(sheets),
        masters={1: master},
        master_version=1,
        sheets=dict(sheets),
        versions={shot: {1: sheet.path} for shot, sheet in sheets.items()},
        troubles=(),
        store=SheetStore(folder),
    )
    return FilmSession(contents, compare(contents), Ledger(folder / "decisions"))


def film_session(folder: Path, shots: int, drift: float = 0.03) -> FilmSession:
    """A film of 565 rows in which a known share of the values drifts."""
    master, sheets = film(shots, drift)
    return session_of(master, sheets, folder)
