"""All that is said of the shot, what was decided on it, and its figure."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QWidget

from samelight.gui.inspector.figure_part import FigurePart
from samelight.gui.review.review_state import ReviewState
from samelight.gui.review.review_words import WordsPanel, decisions_html, drifts_html
from samelight.gui.review.shot_said import Said
from samelight.gui.review.type_size import TypeSizes

_ROOMY = 1400, 800
"""Pixels of a window that has room for the figure beside the words."""


class DetailsPanel(QWidget):
    """Two panels of words and a figure, side by side."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._state: ReviewState | None = None
        self.drifts = WordsPanel("What drifts")
        self.decided = WordsPanel("Decisions and notes")
        self.figure = FigurePart()
        self.grid = QGridLayout(self)
        self.grid.setContentsMargins(0, 0, 0, 0)
        self.grid.addWidget(self.drifts, 0, 0)
        self.grid.addWidget(self.decided, 0, 1)
        self.grid.addWidget(self.figure, 0, 2, Qt.AlignmentFlag.AlignTop)
        self.grid.setColumnStretch(0, 3)
        self.grid.setColumnStretch(1, 2)

    def show_shot(self, state: ReviewState, said: Sequence[Said]) -> None:
        """Show what is said of a shot."""
        self._state = state
        self.drifts.show_words(drifts_html(state, said), sum(one.is_finding for one in said))
        self.decided.show_words(decisions_html(state))
        self.show_figure()

    def show_figure(self) -> None:
        """Show the shot's figure where the window has room for it beside the words."""
        state, size = self._state, self.window().size()
        roomy = not self.isHidden() and size.width() >= _ROOMY[0] and size.height() >= _ROOMY[1]
        self.figure.setVisible(
            state is not None and roomy and self.figure.show_for(state.session, state.shot)
        )

    def set_type(self, sizes: TypeSizes) -> None:
        """Set the sizes of type."""
        for panel in (self.drifts, self.decided):
            panel.set_type(sizes)
        self.grid.setHorizontalSpacing(2 * sizes.keys)
