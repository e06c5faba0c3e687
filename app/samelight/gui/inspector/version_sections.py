"""The inspector's sections of versions: those of the shot, which may have to be read, and those of the master."""

from __future__ import annotations

from PySide6.QtCore import QObject

from samelight.drift.rows import Row
from samelight.gui.inspector.sections import Sections
from samelight.gui.inspector.version_reader import Histories, VersionReader
from samelight.gui.inspector.versions_part import VersionsPart
from samelight.sequence.references import Against
from samelight.sequence.session import Session


class VersionSections(QObject):
    """Has the versions of one value read, and shows them as they come."""

    def __init__(
        self, versions: VersionsPart, masters: VersionsPart, sections: Sections, parent: QObject
    ) -> None:
        super().__init__(parent)
        self._versions, self._masters, self._sections = versions, masters, sections
        self._at: tuple[Session, Row, str] | None = None
        self._reader = VersionReader(self)
        self._reader.found.connect(self._show)
        self._reader.reading.connect(self._show_reading)
        self._reader.failed.connect(self._show_failed)
        versions.asked_again.connect(self._read_again)

    def rest(self) -> None:
        """Nothing is shown or read any more."""
        self._at = None
        self._reader.forget()
        self._versions.rest()

    def show_for(self, session: Session, row: Row, shot: str) -> None:
        """Show the versions of a value of a shot."""
        self._at = session, row, shot
        self._reader.ask(session, row, shot)

    def _read_again(self) -> None:
        if self._at is not None:
            self._reader.again(*self._at)

    def _title(self, session: Session, shot: str) -> str:
        reference = session.comparison.reference
        return f"Versions of {reference.shot if reference.against is Against.VERSIONS else shot}"

    def _show_reading(self, known: Histories) -> None:
        if self._at is not None:
            session, _, shot = self._at
            self._show_masters(session, shot, known)
            self._sections.entitle("versions", self._title(session, shot))
            self._versions.show_reading()
            self._sections.show_now("versions")

    def _show(self, found: Histories) -> None:
        if self._at is None:
            return
        session, _, shot = self._at
        has_versions = found.shot is not None and bool(found.shot.versions)
        if found.shot is not None and has_versions:
            self._sections.entitle(
                "versions", f"{self._title(session, shot)}, compared with {found.shot.held}"
            )
            self._versions.show_history(found.shot, found.current)
        self._sections.show_now("versions", has_versions)
        self._show_masters(session, shot, found)

    def _show_masters(self, session: Session, shot: str, found: Histories) -> None:
        if found.master is not None:
            title = f"Versions of the master, compared with {found.master.held}"
            self._sections.entitle("masters", title)
            self._masters.show_history(found.master, session.contents.setup_of(shot).master_version)
        self._sections.show_now("masters", found.master is not None)

    def _show_failed(self, why: str) -> None:
        if self._at is not None:
            session, _, shot = self._at
            self._sections.entitle("versions", self._title(session, shot))
            self._versions.show_failed(why)
            self._sections.show_now("versions")
