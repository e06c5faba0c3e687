"""Drawing findings: of a sequence at once, of a whole film while the window goes on."""

from __future__ import annotations

from PySide6.QtCore import QObject, QThread, QTimer, Signal

from samelight.findings.finding import Evidence
from samelight.findings.registry import Drawn, find_all
from samelight.sequence.session import Session

AT_ONCE = 60_000
"""Cells. The findings of so many are there before anyone could see that they were not."""


_AFTER = 150
"""Milliseconds before a search begins, so that what it is about is painted first."""


class _Search(QThread):
    def __init__(self, session: Session, evidence: Evidence, parent: QObject) -> None:
        super().__init__(parent)
        self.session = session
        self.drawn = Drawn([])
        self.is_wanted = True
        self._evidence = evidence

    def run(self) -> None:
        self.drawn = find_all(self._evidence)


class Searching(QObject):
    """Brings a session's findings up to date. Of several that are asked for meanwhile, the last is looked for."""

    found = Signal()
    """The session that was asked about last has its findings."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._running: _Search | None = None
        self._wanted: Session | None = None
        self._begin = QTimer(self)
        self._begin.setSingleShot(True)
        self._begin.setInterval(_AFTER)
        self._begin.timeout.connect(self._begun)

    @property
    def busy(self) -> bool:
        """Whether findings are still to come."""
        return self._wanted is not None or (self._running is not None and self._running.is_wanted)

    def ask(self, session: Session) -> None:
        """Draw a session's findings anew: at once where it is a short one."""
        if self._running is not None:
            self._running.is_wanted = False
        if session.table.grade.size <= AT_ONCE or not session.decidable:
            self._wanted = None
            session.refresh_findings()
            self.found.emit()
            return
        self._wanted = session
        if self._running is None:
            self._begin.start()

    def stop(self) -> None:
        """Look for nothing more. Returns when nothing is being looked for."""
        self._wanted = None
        self._begin.stop()
        if self._running is not None:
            self._running.finished.disconnect(self._finished)
            self._running.wait()
            self._running = None

    def _begun(self) -> None:
        if self._wanted is not None and self._running is None:
            self._start(self._wanted)

    def _start(self, session: Session) -> None:
        self._wanted = None
        self._running = _Search(session, session.evidence(), self)
        self._running.finished.connect(self._finished)
        self._running.start()

    def _finished(self) -> None:
        done, self._running = self._running, None
        if done is None:
            return
        done.deleteLater()
        if self._wanted is not None:
            self._start(self._wanted)
        elif done.is_wanted:
            done.session.take_findings(done.drawn)
            self.found.emit()
