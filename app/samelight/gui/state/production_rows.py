"""What the overview of a production says of each sequence. Plain objects, no Qt."""

from __future__ import annotations

import hashlib
import json
import threading
from collections.abc import Mapping
from concurrent.futures import CancelledError, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass, field, replace
from multiprocessing import get_context
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from samelight.decisions.tally import Tally
from samelight.reports.kept_summary import (
    Changes,
    changes_between,
    changes_since_before,
    kept_summary,
    program_here,
    read_summary,
)
from samelight.reports.over_film import film_says
from samelight.reports.saved_production import SavedCases
from samelight.reports.summary import Summary
from samelight.sequence.contents import common_policy
from samelight.sequence.disk import DAMAGE, read_kept, write_kept
from samelight.sequence.session import Session, open_store
from samelight.sequence.store import SheetStore
from samelight.sheets.production import CommonRules, Production
from samelight.sources.pools import end_with_parent

MOST_OPEN = 4
"""Sequences that stay open beside the overview."""

_FILM = "film"
"""What is kept of all sequences together."""

_NOBODY: NDArray[np.float64] = np.zeros(0)


@dataclass(frozen=True, slots=True, eq=False)
class SequenceRow:
    """One sequence: its `summary`, None where nothing is known of it, and what changed since an earlier day.

    `trouble` says why nothing is known, or how much could not be read.
    """

    name: str
    folder: Path
    summary: Summary | None = None
    changes: Changes | None = None
    trouble: str = ""
    strip: NDArray[np.float64] = field(default_factory=lambda: _NOBODY)
    """For each shot of the cut how far its worst unsettled cell is out of tolerance."""

    @property
    def title(self) -> str:
        """Its title."""
        return self.summary.title if self.summary is not None else ""

    @property
    def held(self) -> str:
        """What its shots are compared with, by set-up."""
        return self.summary.held if self.summary is not None else ""

    @property
    def tally(self) -> Tally | None:
        """How its cases stand."""
        return self.summary.tally if self.summary is not None else None

    @property
    def mended(self) -> int:
        """How many cases wait for a look."""
        return self.summary.mended if self.summary is not None else 0

    @property
    def hours(self) -> float | None:
        """What the render plan projects; None where it projects nothing."""
        return self.summary.hours if self.summary is not None else None

    @property
    def lighters(self) -> tuple[str, ...]:
        """Who lights it."""
        return self.summary.lighters if self.summary is not None else ()

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


class RowReader:
    """Reads sequences of a production for their rows, in one thread at a time. The sequences that changed last stay open, so that
    the next change in one is a matter of its changed sheets alone."""

    def __init__(self, production: Production) -> None:
        self._production = production
        self._open: dict[Path, Session] = {}
        self._pool: ProcessPoolExecutor | None = None

    def kept(self, name: str) -> SequenceRow | None:
        """The row of a sequence of which no file changed; None where it is to be opened."""
        folder = self._production.sequences[name]
        summary = kept_summary(folder, self._production.common(name))
        return (
            None if summary is None else row_of(name, folder, summary, changes_since_before(folder, summary))
        )

    def read_elsewhere(self, name: str) -> SequenceRow:
        """`read` by another process, also while something is read here. Raises `SamelightError`."""
        folder, common = self._production.sequences[name], self._production.common(name)
        try:
            if self._pool is None:
                self._pool = ProcessPoolExecutor(1, mp_context=get_context("spawn"), initializer=_begin)
            summary = self._pool.submit(read_summary, folder, common).result()
        except (BrokenProcessPool, CancelledError, OSError, ImportError, RuntimeError):
            summary = read_summary(folder, common)  # processes cannot be had here, or it was ended
        return row_of(name, folder, summary, changes_since_before(folder, summary))

    def end(self) -> None:
        """Let the other process go."""
        pool, self._pool = self._pool, None
        if pool is not None:
            pool.shutdown(wait=False, cancel_futures=True)

    def read(self, name: str) -> SequenceRow:
        """The row of a sequence; what was kept of it is taken where none of its files changed. Raises `SamelightError`."""
        folder = self._production.sequences[name]
        summary = read_summary(folder, self._production.common(name), self._opened)
        return row_of(name, folder, summary, changes_since_before(folder, summary))

    def _opened(self, folder: Path, common: CommonRules) -> Session:
        session = self._open.pop(folder, None)
        if session is None:
            session = open_store(SheetStore(folder, common=common))
        else:
            session.reload()
        self._open[folder] = session
        if len(self._open) > MOST_OPEN:
            del self._open[next(iter(self._open))]
        return session


def _begin() -> None:
    """In the other process: whatever ends this one ends it too."""
    threading.Thread(target=end_with_parent, daemon=True).start()


def row_of(name: str, folder: Path, summary: Summary, changes: Changes | None = None) -> SequenceRow:
    """The row of a sequence of which a summary is known."""
    return SequenceRow(
        name, folder, summary, changes, summary.trouble, np.array(summary.strip, dtype=np.float64)
    )


def since(row: SequenceRow, saved: Mapping[str, SavedCases]) -> SequenceRow:
    """A row with what changed since a saved check, where one has its sequence."""
    then = saved.get(row.name)
    if then is None or row.summary is None:
        return row
    return replace(row, changes=changes_between(then.since, then.cases, row.summary.cases))


def said_over_film(production: Production, summaries: Mapping[str, Summary]) -> list[str]:
    """What is odd over the sequences that are known, in story order; what was said of the same is kept. Raises `SamelightError`."""
    policy = common_policy(production.policy)
    looks = {name: summary.looks for name, summary in summaries.items()}
    parts = [program_here(), repr(looks), repr(dict(production.story)), repr(policy)]
    of = hashlib.sha256("\n".join(parts).encode("utf-8", "surrogatepass")).hexdigest()
    try:
        known = json.loads(read_kept(production.folder, _FILM))
        if known["of"] == of:
            return [str(line) for line in known["says"]]
    except DAMAGE:
        pass
    says = film_says(summaries, production.story, policy)
    write_kept(production.folder, _FILM, json.dumps({"of": of, "says": says}).encode())
    return says
