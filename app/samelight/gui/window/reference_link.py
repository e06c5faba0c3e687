"""Ties the choice of what shots are compared with to what is watched."""

from __future__ import annotations

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QWidget

from samelight.gui.background.watching import Watching
from samelight.gui.widgets.boxes import warn
from samelight.gui.widgets.reference_box import ReferenceBox
from samelight.sequence.references import Reference
from samelight.sequence.session import Session
from samelight.sheets.errors import SamelightError


class ReferenceLink(QObject):
    """Has the shots compared with what is chosen, and says what becomes of that."""

    said = Signal(str)
    """What the shots are being compared with; empty when nothing is awaited any more."""

    def __init__(self, box: ReferenceBox, watching: Watching, window: QWidget) -> None:
        super().__init__(window)
        self._box = box
        self._watching = watching
        self._window = window
        self._has_said = False
        """Whether what it said last is that something is being compared."""
        box.chosen.connect(self.hold_against)
        watching.refused.connect(self._refuse)

    def hold_against(self, reference: Reference) -> None:
        """Hold every shot against another reference."""
        try:
            self._watching.hold_against(reference)
        except SamelightError as error:
            self._refuse(str(error))
            return
        if self._watching.session is not None and self._watching.awaited is not None:
            self.show_session(self._watching.session)
            self._has_said = True
            self.said.emit(f"Comparing every shot with {reference.text}…")

    def show_session(self, session: Session) -> None:
        """Show what a session's shots are compared with, or are about to be."""
        self._box.show_session(session, self._watching.awaited)
        if self._has_said and self._watching.awaited is None:
            self._has_said = False
            self.said.emit("")

    def _refuse(self, why: str) -> None:
        if self._watching.session is not None:
            self.show_session(self._watching.session)
        warn(self._window, "Not compared", why)
