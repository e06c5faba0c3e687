"""The sentence above the grid that says what is worst."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from samelight.findings.finding import Finding
from samelight.gui.paint import theme
from samelight.gui.state.headline import headline
from samelight.gui.state.rows import GridState
from samelight.gui.widgets.sentence_button import SentenceButton


class HeadlineButton(SentenceButton):
    """A press asks for the finding that it calls the worst."""

    asked = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("A press goes there", theme.font(bold=True), parent)
        self._worst: Finding | None = None
        self.clicked.connect(lambda: self.asked.emit(self._worst))

    def show_state(self, state: GridState, *, looking: bool) -> None:
        """Say what is worst; `looking` while findings are still looked for."""
        said = headline(state, looking=looking)
        self._worst = said.worst
        self.say(said.says)
        self.setEnabled(said.worst is not None)
