"""A view of a session that stands behind a tab: what nobody sees is not worked out."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from samelight.sequence.session import Session


class SeenView(QWidget):
    """Takes in a session, as it stands then, when it is seen."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._due: Session | None = None
        """What is to be taken in once it is seen."""
        self._seen = False

    def show_session(self, session: Session) -> None:
        """Show a session, now or when it is looked at."""
        self._due = session
        self._take_due()

    def set_seen(self, seen: bool) -> None:
        """Whether anyone sees it."""
        self._seen = seen
        self._take_due()

    def _take_due(self) -> None:
        if self._seen and self._due is not None:
            session, self._due = self._due, None
            self._take(session)

    def _take(self, session: Session) -> None:
        """Show what a session holds."""
        raise NotImplementedError
