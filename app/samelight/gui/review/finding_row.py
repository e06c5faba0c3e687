"""What is said of the shot in lines, beside the two verdicts on it."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtGui import QAction
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QSizePolicy

from samelight.decisions.decision import Verb
from samelight.gui.dialogs.deciding import TITLES
from samelight.gui.review.finding_lines import FindingLines
from samelight.gui.review.review_state import ReviewState
from samelight.gui.review.review_words import nothing_said
from samelight.gui.review.shot_said import Said
from samelight.gui.review.type_size import TypeSizes, pixel_font
from samelight.gui.widgets.plain_text import plain


class FindingRow(QHBoxLayout):
    """A line a sentence, and a button a verdict."""

    def __init__(self, intend: QAction, send_back: QAction) -> None:
        super().__init__()
        self.lines = FindingLines()
        self.intend_button = QPushButton("Mark as &intended…")
        self.return_button = QPushButton("&Send back…")
        self.addWidget(self.lines, 1)
        for button, action in ((self.intend_button, intend), (self.return_button, send_back)):
            button.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Preferred)
            button.clicked.connect(action.trigger)
            self.addWidget(button)

    def show_shot(self, state: ReviewState, said: Sequence[Said]) -> None:
        """Show what is said of a shot."""
        choice = state.choice
        self.lines.show_said(said, choice.one(), nothing_said(state))
        for verb, key, button in (
            (Verb.INTEND, "I", self.intend_button),
            (Verb.RETURN, "S", self.return_button),
        ):
            text = choice.verdict_text(verb)
            button.setEnabled(any(choice.to_decide()))
            button.setToolTip(plain(f"{text} ({key})"))
            button.setAccessibleName(f"{TITLES[verb]}: {text}")

    def set_type(self, sizes: TypeSizes) -> None:
        """Set the sizes of type."""
        self.lines.set_type(sizes.room)
        for button in (self.intend_button, self.return_button):
            button.setFont(pixel_font(sizes.keys))
        self.setSpacing(sizes.gap)
