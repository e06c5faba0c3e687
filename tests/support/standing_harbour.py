"""A harbour that stands for many tests: copied and read once in a process, and the same again after each of them."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from samelight.decisions.ledger import open_ledger
from samelight.findings.registry import Drawn, find_all
from samelight.sequence.contents import Contents
from samelight.sequence.evidence import evidence_of
from samelight.sequence.references import Comparison
from samelight.sequence.session import Session, open_session
from samelight.sheets.stamps import Stamp, stamp_of
from samples import copy_of


@dataclass(slots=True)
class Untouched(Session):
    """A session whose first findings are known: drawn once, they need not be drawn again while nothing was decided or read."""

    known: tuple[Contents, Comparison, Drawn] | None = None

    def refresh_findings(self) -> None:
        if self.known is not None:
            contents, comparison, drawn = self.known
            same = self.contents is contents and self.comparison is comparison
            if same and self.ledger.revision == 0 and not self.ledger.faults:
                self.take_findings(replace(drawn, findings=list(drawn.findings)))
                return
        Session.refresh_findings(self)


class StandingHarbour:
    """A copy of the sample in which nothing is decided. Each test has a session of its own on what was read of it.

    `prepare` changes the copy before it is read.
    """

    def __init__(self, folder: Path, prepare: Callable[[Path], object] = lambda folder: None) -> None:
        self.folder, self._prepare = folder, prepare
        self._make()

    def _make(self) -> None:
        shutil.rmtree(self.folder, ignore_errors=True)
        self._prepare(copy_of("harbour", self.folder, decided=False))
        self._opened = open_session(self.folder)
        self._drawn = find_all(evidence_of(self._opened.cases))
        table = self._opened.table
        for array in (table.codes, *table.of_entries, table.grade):
            array.flags.writeable = False
        self._files = _stamps(self.folder)

    def session(self, *, at_once: bool = True) -> Session:
        """A session as opening the folder gives it: nothing was decided or read since. Without `at_once` findings are left
        to be drawn."""
        contents, comparison = self._contents(), self._opened.comparison
        known = contents, comparison, self._drawn
        return Untouched(contents, comparison, open_ledger(self.folder), at_once=at_once, known=known)

    def _contents(self) -> Contents:
        """What was read, with a store that learns for one session alone."""
        store = self._opened.contents.store
        known = ("_read", "_at_hand", "_kept", "_listed")
        own: dict[str, Any] = {name: dict(getattr(store, name)) for name in known}
        apart = replace(store, **own)
        return replace(self._opened.contents, store=apart)

    def put_back(self) -> None:
        """Take away what came. Fails where a file is another or gone: who changes files takes a folder of their own."""
        now = _stamps(self.folder)
        for path in sorted(
            now.keys() - self._files.keys(), reverse=True
        ):  # what is in a folder goes before it
            if now[path] is None:
                shutil.rmtree(path)
            else:
                Path(path).unlink(missing_ok=True)
        changed = sorted(path for path, stamp in self._files.items() if now.get(path) != stamp)
        if changed:
            self._make()  # the tests to come have nothing to do with it
            raise AssertionError(
                f"a test changed files that others read; it needs `harbour_folder`: {changed}"
            )


def _stamps(folder: str | Path) -> dict[str, Stamp | None]:
    """Every file by its stamp; a folder only by its name, since what comes and goes in it changes it."""
    found: dict[str, Stamp | None] = {}
    with os.scandir(folder) as entries:
        for entry in entries:
            if entry.is_dir(follow_symlinks=False):
                found[entry.path] = None
                found |= _stamps(entry.path)
            else:
                found[entry.path] = stamp_of(entry.path, follow=False)
    return found
