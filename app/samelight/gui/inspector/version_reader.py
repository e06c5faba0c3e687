"""Finds a cell's history: older versions are read beside the window, and what was found is kept."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from PySide6.QtCore import QObject, Signal

from samelight.drift.derived_names import SECTIONS
from samelight.drift.rows import Row
from samelight.gui.background.background import Background
from samelight.gui.inspector.version_data import Past, VersionHistory, master_history, shot_history
from samelight.gui.state.cell_words import key_of
from samelight.sequence.contents import Contents
from samelight.sequence.references import Against, Comparison
from samelight.sequence.session import Session
from samelight.sheets.errors import SheetError
from samelight.sheets.sheet import Sheet

_MOST_KEPT = 400


@dataclass(frozen=True, slots=True)
class Wanted:
    """The cell whose history is asked for: a row, the column that the grid shows, and the shot whose versions are meant."""

    parameter: str
    column: str
    shot: str


@dataclass(frozen=True, slots=True, eq=False)
class Histories:
    """The histories of a cell, and the version of the shot that the grid shows."""

    shot: VersionHistory | None
    master: VersionHistory | None
    current: int | None


class VersionReader(QObject):
    """Asks for one cell at a time; only the last that was asked for is told."""

    found = Signal(object)
    """A `Histories`."""
    reading = Signal(object)
    """It takes a while; the `Histories` that is there already, without the shot's versions."""
    failed = Signal(str)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._background = Background(self)
        self._comparison: Comparison | None = None
        self._kept: dict[Wanted, Histories] = {}

    def ask(self, session: Session, row: Row, column: str) -> None:
        """Find the history of a cell."""
        comparison = session.comparison
        if comparison is not self._comparison or len(self._kept) > _MOST_KEPT:
            self._kept.clear()
            self._comparison = comparison
        reference = session.comparison.reference
        shot = reference.shot if reference.against is Against.VERSIONS and reference.shot else column
        wanted = Wanted(row.parameter, column, shot)
        self.forget()
        if wanted in self._kept:
            self.found.emit(self._kept[wanted])
            return
        search = _Search(session, row, wanted)
        if search.is_quick:
            self._done(wanted, search.run())
            return
        self.reading.emit(search.before_reading())
        self._background.run("history", search.run, partial(self._done, wanted), self.failed.emit)

    def forget(self) -> None:
        """Nothing is asked for any more."""
        self._background.cancel("history")

    def again(self, session: Session, row: Row, column: str) -> None:
        """Find the history of a cell once more: what could not be read may be there now."""
        self._kept.clear()
        self.ask(session, row, column)

    def _done(self, wanted: Wanted, found: Histories) -> None:
        if not _has_faults(found):
            self._kept[wanted] = found
        self.found.emit(found)


def _has_faults(found: Histories) -> bool:
    return found.shot is not None and any(version.fault for version in found.shot.versions)


class _Search:
    """Everything that finding a history needs, taken from the session at once, so that a thread can go on without it."""

    def __init__(self, session: Session, row: Row, wanted: Wanted) -> None:
        self._contents: Contents = session.contents.setup_of(wanted.shot)
        self._row, self._wanted = row, wanted
        self._reference: Sheet | None = session.comparison.reference_sheets.get(wanted.column)
        self._sheet: Sheet | None = session.comparison.sheets.get(wanted.column)
        self._key = key_of(session, wanted.shot, self._reference)
        self._paths: Mapping[int, Path] = self._contents.versions.get(wanted.shot, {})

    @property
    def is_quick(self) -> bool:
        """Whether nothing has to be read and little computed, so that it is done at once."""
        current = self._contents.sheets.get(self._wanted.shot)
        unread = [version for version in self._paths if current is None or version != current.version]
        return not unread and self._row.section not in SECTIONS

    def before_reading(self) -> Histories:
        """What is known at once: every master setup is in memory, and what it holds needs no computing."""
        return Histories(None, None if self._row.section in SECTIONS else self._masters(), None)

    def run(self) -> Histories:
        """The whole of it; where an older version has to be read, that takes as long as its share does."""
        past, north = self._past(), self._contents.sequence.conventions.north
        shot = shot_history(self._row, past, self._reference, self._key, north) if self._paths else None
        current = self._sheet.version if self._sheet is not None else None
        return Histories(shot, self._masters(), current)

    def _masters(self) -> VersionHistory | None:
        contents = self._contents
        if contents.master is None or len(contents.masters) < 2:
            return None
        return master_history(
            self._row,
            contents.masters,
            contents.master,
            self._sheet,
            contents.sequence.key_shot,
            contents.sheets,
            contents.sequence.conventions.north,
        )

    def _past(self) -> Past:
        sheets: dict[int, Sheet] = {}
        faults: dict[int, str] = {}
        current = self._contents.sheets.get(self._wanted.shot)
        for version, path in self._paths.items():
            if current is not None and current.version == version:
                sheets[version] = current
                continue
            try:
                sheets[version] = self._contents.read_sheet(path, self._wanted.shot, version)
            except SheetError as error:
                faults[version] = str(error.faults[0])
            except OSError as error:
                faults[version] = f"{path.name}: {error.strerror or error}"
        return Past(sheets, faults)
