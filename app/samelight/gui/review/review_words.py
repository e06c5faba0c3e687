"""What drifts in the shot and what was decided on it, in words large enough for the room."""

from __future__ import annotations

import html
from collections.abc import Sequence
from datetime import datetime

from PySide6.QtCore import Qt
from PySide6.QtGui import QFontMetrics, QResizeEvent
from PySide6.QtWidgets import QFrame, QSizePolicy, QTextBrowser, QVBoxLayout, QWidget

from samelight.decisions.state import State
from samelight.drift.cells import Grade
from samelight.drift.words import counted
from samelight.findings.words import listed
from samelight.gui.paint import drift_scale
from samelight.gui.review.review_state import ReviewState
from samelight.gui.review.shot_said import Said
from samelight.gui.review.type_size import TypeSizes, pixel_font
from samelight.gui.widgets.plain_text import PlainLabel, plain
from samelight.reports.shown import clean_lines


class _Text(QTextBrowser):
    """Shows whole lines: what has no room for all of a line stays free."""

    def show_whole_lines(self) -> None:
        """Take another height or another type into account."""
        line = QFontMetrics(self.document().defaultFont()).lineSpacing()
        height = self.height() - 2 * self.frameWidth()
        self.setViewportMargins(0, 0, 0, height % line if height >= line else 0)

    def resizeEvent(self, event: QResizeEvent) -> None:
        self.show_whole_lines()
        super().resizeEvent(event)


class WordsPanel(QWidget):
    """A heading and a text that scrolls where it is longer than its place."""

    def __init__(self, title: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._title = title
        self.heading = PlainLabel(title)
        self.text = _Text()
        self.text.setOpenLinks(False)
        self.text.setFrameShape(QFrame.Shape.NoFrame)
        self.text.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.text.document().setDocumentMargin(0)
        self.text.setAccessibleName(title)
        self.text.setToolTip(plain(f"{title} (Tab, then the arrows up and down, to read on)"))
        self.text.viewport().setAutoFillBackground(False)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Ignored)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addWidget(self.heading)
        layout.addWidget(self.text, 1)

    def set_type(self, sizes: TypeSizes) -> None:
        """Set the sizes of type."""
        self.heading.setFont(pixel_font(sizes.keys, bold=True))
        self.text.setFont(pixel_font(sizes.room))
        self.text.document().setDefaultFont(pixel_font(sizes.room))
        self.text.show_whole_lines()

    def show_words(self, body: str, count: int = 0) -> None:
        """Show a text in HTML, from its start; `count` is how many findings it tells of."""
        self.heading.setText(f"{self._title}: {counted(count, 'finding')}" if count else self._title)
        self.text.setHtml(clean_lines(body))


def nothing_said(state: ReviewState) -> str:
    """Why nothing is said of drift in the shot."""
    if not state.shot:
        return "This sequence has no shots."
    if state.session.contents.setup_of(state.shot).master is None:
        return "There is no master setup to compare it with."
    # What was sent back and is mended has its decision still.
    intended = any(decided.state is State.INTENDED for decided in state.said.decisions())
    return "Nothing that is not intended." if intended else "Nothing: the shot matches the master."


def drifts_html(state: ReviewState, said: Sequence[Said]) -> str:
    """What is unsettled in the shot, as `ShotSaid.drifts` says it; what to do about it where that is one thing."""
    if not state.shot or not said:
        return _dim(nothing_said(state))
    what_to_do = _dim(said[0].do) if len(said) == 1 and said[0].do else ""
    return "".join(map(_sentence, said)) + what_to_do


def decisions_html(state: ReviewState) -> str:
    """What was decided on the shot with who and why, then the notes on it."""
    parts = []
    for decided in state.said.decisions():
        mark = drift_scale.STATE_MARKS[decided.state]
        what = listed(list(decided.parameters), at_most=4)
        why = f": {decided.reason}" if decided.reason else ""
        parts.append(
            f"<p style='margin: 0 0 6px 0'>{_e(mark)} <b>{_e(str(decided.state).capitalize())}</b>, {_e(what)}{_e(why)}"
            f" {_who(decided.who, decided.when)}</p>"
        )
    parts += [
        f"<p style='margin: 0 0 6px 0'><b>Note</b>: {_e(note.why)} {_who(note.who, note.when)}</p>"
        for note in state.said.notes()
    ]
    return "".join(parts) or _dim("Nothing yet.")


def _e(text: object) -> str:
    return html.escape(str(text))


def _dim(text: str) -> str:
    return f"<p style='margin: 0; color: #acacac'>{_e(text)}</p>"


def _who(who: str, when: datetime) -> str:
    moment = when.astimezone().strftime("%Y-%m-%d %H:%M")
    return f"<span style='color: #acacac'>{_e(who)}, {moment}</span>"


def _sentence(said: Said) -> str:
    chip = ""
    if said.grade > Grade.SAME and said.drift:
        red, green, blue = drift_scale.rgb(said.severity)
        ink = drift_scale.ink(red, green, blue).name()
        mark = drift_scale.GRADE_MARKS.get(said.grade, "")
        chip = (
            f"<span style='background-color: rgb({red},{green},{blue}); color: {ink}'>"
            f"&nbsp;{_e(mark)}&nbsp;{_e(said.drift).replace(' ', '&nbsp;')}&nbsp;</span> "
        )
    if said.handled:
        return _dim(f"{drift_scale.STATE_MARKS[said.state]} {str(said.state).capitalize()}: {said.says}")
    return f"<p style='margin: 0 0 6px 0'>{chip}{_e(said.says)}</p>"
