"""The last line of the review window: its controls, or what stands in their place for a while."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QEvent, QObject, QSize, Qt
from PySide6.QtWidgets import QLineEdit, QSizePolicy, QStackedWidget

from samelight.gui.review.bar import ReviewBar
from samelight.gui.review.cut_line import CutLine
from samelight.gui.review.review_state import ReviewState
from samelight.gui.review.type_size import TypeSizes, pixel_font
from samelight.gui.review.verdict_line import VerdictLine


class LastLine(QStackedWidget):
    """The controls; while somebody types, the note or the reason of a verdict; while the cut plays, a trace.

    It is as high as the one that is shown.
    """

    def __init__(self, bar: ReviewBar) -> None:
        super().__init__()
        self.bar = bar
        self.note_edit = QLineEdit()
        self.note_edit.setMaxLength(2000)
        self.note_edit.setAccessibleName("Note on this shot")
        self.note_edit.setToolTip("A note on this shot (T to type, Enter to keep it, Esc to leave)")
        self.note_edit.installEventFilter(self)
        self._note_on: tuple[Path, str] | None = None
        self._left_notes: dict[tuple[Path, str], str] = {}
        """What was typed of a note and not kept, by the sequence's folder and the shot, which is not shown now."""
        self.verdict = VerdictLine()
        self.verdict.left.connect(self.show_bar)
        self.cut_line = CutLine()
        for widget in (bar, self.note_edit, self.verdict, self.cut_line):
            self.addWidget(widget)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.currentChanged.connect(self.updateGeometry)

    def show_bar(self) -> None:
        """Show the controls."""
        self.setCurrentWidget(self.bar)

    def type_note(self) -> None:
        """Put the keys into the line for a note."""
        self.setCurrentWidget(self.note_edit)
        self.note_edit.setFocus(Qt.FocusReason.ShortcutFocusReason)

    def show_shot(self, state: ReviewState) -> None:
        """Stand on another shot, or the same one as it is now: what was asked about another one is let be."""
        if self.verdict.question is not None and self.verdict.shot != state.shot:
            self.verdict.leave()
        self._show_note(state)
        self.cut_line.show_shot(state)

    def _show_note(self, state: ReviewState) -> None:
        """A note stays with the shot that it was typed for, and is there again when that one comes back."""
        on = state.session.contents.folder, state.shot
        if on == self._note_on:
            return
        if self._note_on is not None and (typed := self.note_edit.text()):
            self._left_notes[self._note_on] = typed
        self._note_on = on
        if self.currentWidget() is self.note_edit:
            self.show_bar()
        self.note_edit.setPlaceholderText(f"Note on {state.shot} (T)")
        self.note_edit.setText(self._left_notes.pop(on, ""))
        if self.note_edit.text():
            self.bar.say(f"A note on {state.shot} is half typed: T goes on with it")

    def show_play(self, state: ReviewState | None, how: str) -> None:
        """Show a trace of what is looked at while the cut plays; `how`, in words, or nothing when it stopped."""
        self.cut_line.show_play(state, how)
        if how:
            self.setCurrentWidget(self.cut_line)
        elif self.currentWidget() is self.cut_line:
            self.show_bar()

    def set_type(self, sizes: TypeSizes) -> None:
        """Set the sizes of type."""
        self.bar.set_type(sizes)
        self.note_edit.setFont(pixel_font(sizes.room))
        self.verdict.set_type(sizes.room)
        self.cut_line.set_type(sizes.room)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if watched is self.note_edit and event.type() == QEvent.Type.FocusOut:
            self.show_bar()
        return super().eventFilter(watched, event)

    def sizeHint(self) -> QSize:
        shown = self.currentWidget()
        return QSize(super().sizeHint().width(), shown.sizeHint().height() if shown is not None else 0)

    def minimumSizeHint(self) -> QSize:
        return QSize(super().minimumSizeHint().width(), self.sizeHint().height())
