"""Drawing findings: of a sequence at once, of a whole film while the window goes on."""

from __future__ import annotations

from functools import partial

from PySide6.QtCore import QObject, QTimer, Signal

from samelight.findings.registry import Drawn, find_all
from samelight.gui.background.background import Background
from samelight.sequence.evidence import evidence_of
from samelight.sequence.session import Session

AT_ONCE = 60_000
"""Cells. The findings of so many are there before anyone could see that they were not."""
_OF_A_SHOT = 100
"""Cells of a shot whose rows are not known yet."""
_AFTER = 150
"""Milliseconds before a search begins, so that what it is about is painted first."""


class Searching(QObject):
    """Brings a session's findings up to date. Of several that are asked for meanwhile, the last is looked for."""

    found = Signal()
    """The session that was asked about last has its findings."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.background = Background(self)
        self._wanted: Session | None = None
        self._begin = QTimer(self)
        self._begin.setSingleShot(True)
        self._begin.setInterval(_AFTER)
        self._begin.timeout.connect(self._search)

    @property
    def busy(self) -> bool:
        """Whether findings are still to come."""
        return self._begin.isActive() or self.background.busy

    def drawn_at_once(self, session: Session) -> bool:
        """Draw a session's findings anew where it is a short one; whether they are there."""
        self.stop()
        # Before there is a master the table has no rows: the shots are then compared with the key shot's.
        cells = session.table.grade.size or _OF_A_SHOT * len(session.table.shots)
        is_short = cells <= AT_ONCE or not session.cases.decidable
        if is_short:
            session.refresh_findings()
        return is_short

    def ask(self, session: Session) -> None:
        """Draw a session's findings anew: at once where it is a short one."""
        if self.drawn_at_once(session):
            self.found.emit()
        else:
            self._wanted = session
            self._begin.start()

    def stop(self) -> None:
        """Look for nothing more."""
        self._wanted = None
        self._begin.stop()
        self.background.cancel("findings")

    def _search(self) -> None:
        if self._wanted is not None:
            evidence = evidence_of(self._wanted.cases)
            self.background.run("findings", lambda: find_all(evidence), partial(self._take, self._wanted))

    def _take(self, session: Session, drawn: Drawn) -> None:
        session.take_findings(drawn)
        self.found.emit()
