"""The question for the reason of a verdict, in one line that the room can read along."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QFocusEvent
from PySide6.QtWidgets import QHBoxLayout, QWidget

from samelight.decisions.decision import Verb
from samelight.drift.cells import Cell
from samelight.findings.finding import Case
from samelight.gui.dialogs.deciding import (
    HINTS,
    TITLES,
    Question,
    counted_text,
    earlier_reasons,
    offered_reasons,
    preview_text,
)
from samelight.gui.review.review_state import ReviewState
from samelight.gui.review.type_size import pixel_font
from samelight.gui.widgets.elided_label import ElidedLabel
from samelight.gui.widgets.plain_text import plain
from samelight.gui.widgets.reason_field import ReasonField
from samelight.gui.widgets.settings import Settings

_WAITS = (Qt.FocusReason.ActiveWindowFocusReason, Qt.FocusReason.PopupFocusReason)


class VerdictLine(QWidget):
    """Says what is decided on and to whom it goes, and takes the reason: Enter gives the verdict, Esc lets it be."""

    given = Signal()
    """The reason is typed."""
    left = Signal()
    """The question was let be."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.verb = Verb.INTEND
        self.shot = ""
        self.question: Question | None = None
        """What is asked about, while it is."""
        self.label = ElidedLabel("What is decided on")
        self.label.setAccessibleName("What is decided on")
        self.reason = ReasonField((), "")
        self.reason.returnPressed.connect(self.given)
        self.reason.installEventFilter(self)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.addWidget(self.label)
        row.addWidget(self.reason, 1)

    def set_type(self, pixels: int) -> None:
        """Set the size of type."""
        for widget in (self.label, self.reason):
            widget.setFont(pixel_font(pixels))

    def ask(
        self,
        state: ReviewState,
        verb: Verb,
        who: str,
        settings: Settings,
        about: tuple[Sequence[Cell], Sequence[Case]],
        reason: str = "",
    ) -> None:
        """Ask about some cells and cases of the shot, with a reason typed already where there is one, and take the keys."""
        session, (cells, cases) = state.session, about
        self.verb, self.shot, self.question = verb, state.shot, Question.about(session, cells, cases)
        whom = session.crew.to([state.shot]) if verb is Verb.RETURN else ""
        to = f" to {whom.partition(' (')[0]}" if whom else ""
        self.label.setText(f"{TITLES[verb]}{to}, signed {who}")
        self.label.setToolTip(plain(preview_text(session, cells, cases)))
        hint = f"{HINTS[verb]}: {counted_text(len(cells), len(cases))} (↑ ↓: reasons)"
        self.reason.offer(offered_reasons(session, verb, cells, cases, earlier_reasons(settings, verb)), hint)
        self.reason.setFocus(Qt.FocusReason.ShortcutFocusReason)
        self.reason.suggest(reason)

    def leave(self) -> None:
        """Let the question be."""
        self.question = None
        self.left.emit()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        # Another window in front, or the menu that a press offers, is not an answer: what was typed waits.
        if (
            isinstance(event, QFocusEvent)
            and event.lostFocus()
            and event.reason() not in _WAITS
            and self.question is not None
        ):
            self.leave()
        return super().eventFilter(watched, event)
