"""What others do to the opened folder meanwhile, brought into the session."""

from __future__ import annotations

from PySide6.QtCore import QObject, Signal

from samelight.bases import Base, Comparison
from samelight.contents import Contents
from samelight.drift.mended import changed_cells
from samelight.drift.words import counted, first_names
from samelight.gui.live import Live
from samelight.session import Session
from samelight.sheets.errors import SamelightError

_NAMED = 4


class Watching(QObject):
    """Follows one session's folder. `changed` are the cells that the last change on disk touched, by shot and name."""

    renewed = Signal()
    """The session holds another table."""
    decided = Signal()
    """The ledger holds something new."""
    said = Signal(str)
    """What changed on disk."""
    troubled = Signal(str)
    """The folder cannot be read now; empty once it can again."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.session: Session | None = None
        self.live: Live | None = None
        self.changed: list[tuple[str, str]] = []

    def follow(self, session: Session) -> None:
        """Watch the folder of another session."""
        self.stop()
        self.session = session
        self.live = Live(session, self)
        self.live.changed.connect(self._changed)
        self.live.decided.connect(self._decided)
        self.live.troubled.connect(self.troubled)
        self.live.start()

    def stop(self) -> None:
        """Watch nothing."""
        if self.live is not None:
            self.live.stop()

    def hold_against(self, base: Base) -> None:
        """Hold the session's shots against another base, now and after every change.

        Raises `SamelightError` when the base is not there.
        """
        if self.session is None:
            raise SamelightError("no sequence is open")
        self.session.hold_against(base)
        if self.live is not None:
            self.live.base = base
        self.renewed.emit()

    def _says(self) -> str:
        shots = list(dict.fromkeys(shot for shot, _ in self.changed))
        return f"{counted(len(self.changed), 'cell')} changed on disk, in {first_names(shots, _NAMED)}"

    def changed_places(self) -> list[tuple[int, int]]:
        """The cells that changed on disk, as row and column of the table there is now."""
        if self.session is None:
            return []
        return self.session.table.places(self.changed)

    def _changed(self, contents: Contents, comparison: Comparison) -> None:
        if self.session is None or self.sender() is not self.live:
            return
        self.changed = changed_cells(self.session.table, comparison.table)
        self.session.take(contents, comparison)
        self.renewed.emit()
        if self.changed:
            self.said.emit(self._says())

    def _decided(self) -> None:
        if self.session is not None and self.sender() is self.live and self.session.ledger.refresh():
            self.decided.emit()
