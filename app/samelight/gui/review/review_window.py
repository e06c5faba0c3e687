"""The review window: for dailies, one shot at a time on a screen that the whole room sees."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from functools import partial

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QCloseEvent, QKeyEvent, QKeySequence, QMoveEvent, QResizeEvent, QScreen, QShortcut
from PySide6.QtWidgets import QVBoxLayout, QWidget

from samelight.decisions.decision import NOT_GRABBED, Grabbed
from samelight.gui.review.bar import ReviewBar
from samelight.gui.review.details import DetailsPanel
from samelight.gui.review.finding_row import FindingRow
from samelight.gui.review.head import WallHead
from samelight.gui.review.last_line import LastLine
from samelight.gui.review.monitors import Screens
from samelight.gui.review.pictures import Pictures
from samelight.gui.review.playing import Playing
from samelight.gui.review.review_commands import REVIEW_COMMANDS, calls_of
from samelight.gui.review.review_state import LENGTH, ReviewState
from samelight.gui.review.speaking import ask_trims, give_verdict, keep_note
from samelight.gui.review.type_size import TypeSizes, density_of
from samelight.gui.widgets.commands import make_actions
from samelight.gui.widgets.plain_text import plain_title
from samelight.gui.widgets.settings import Settings
from samelight.sequence.session import Session


class ReviewWindow(QWidget):
    """Shows `ReviewState` in its parts, and writes what is said into the session's ledger."""

    stepped = Signal(str)
    """The user went to another shot."""
    said = Signal()
    """A note or a decision was written."""
    asked = Signal(str)
    """A command of the main window is wanted: undo or redo."""

    def __init__(self, settings: Settings, parent: QWidget | None = None) -> None:
        super().__init__(parent, Qt.WindowType.Window)
        self.settings = settings
        self.state: ReviewState | None = None
        self.started = datetime.now(UTC)
        self.grabbed: tuple[str, Grabbed] = "", NOT_GRABBED
        """Of which shot a frame was grabbed, and where it is, until something is said of that."""
        self.sizes = TypeSizes(0, 0, 0)
        self.desk: QWidget | None = None
        """Where dialogs that are for the person at the keys come up."""
        self.playing = Playing(
            lambda: self.state.length() if self.state is not None else LENGTH,
            lambda by: self.step(lambda state: state.step(by)),
            self,
        )
        self.actions_by_name = make_actions(self, calls_of(self).get, REVIEW_COMMANDS)
        self.addActions(list(self.actions_by_name.values()))
        self.bar = ReviewBar(self.actions_by_name, settings)
        self.screens = Screens(self, self.bar.screen_menu, settings)
        self.head = WallHead()
        self.pictures = Pictures(self.bar)
        self.details = DetailsPanel()
        self.findings = FindingRow(self.actions_by_name["intend"], self.actions_by_name["return"])
        self.last_line = LastLine(self.bar)
        self._lay_out()
        self._wire()
        self.show_details(bool(settings.number("review_details", 0)))
        self.resize(1280, 720)

    def _lay_out(self) -> None:
        self.setWindowTitle("Review")
        self.setMinimumSize(640, 360)
        self.body = QVBoxLayout(self)
        # Type grows with the height: what is laid out must not keep a window from a narrow screen.
        self.body.setSizeConstraint(QVBoxLayout.SizeConstraint.SetNoConstraint)
        self.body.addLayout(self.head)
        self.body.addWidget(self.pictures, 50)
        self.body.addWidget(self.details)
        self.body.addLayout(self.findings)
        self.body.addWidget(self.last_line)

    def _wire(self) -> None:
        self.pictures.before.clicked.connect(self.actions_by_name["previous_shot"].trigger)
        self.pictures.after.clicked.connect(self.actions_by_name["next_shot"].trigger)
        self.pictures.lights.return_asked.connect(partial(ask_trims, self))
        self.findings.lines.pressed.connect(self.choose)
        self.last_line.note_edit.returnPressed.connect(partial(keep_note, self))
        self.last_line.verdict.given.connect(partial(give_verdict, self))
        self.last_line.cut_line.pressed.connect(lambda shot: self.step(lambda state: state.go(shot)))
        self.playing.changed.connect(self._play_changed)
        for number in range(1, 10):
            QShortcut(QKeySequence(str(number)), self).activated.connect(partial(self.choose, number - 1))

    # What is shown

    def show_session(self, session: Session, shot: str = "") -> None:
        """Show a session, or what changed in it, and go to a shot of it if one is named."""
        if self.state is None:
            self.state = ReviewState(session, shot)
        else:
            if session.contents.folder != self.state.session.contents.folder:
                self.grabbed = "", NOT_GRABBED
            self.state.take(session)
            if shot:
                self.state.go(shot)
        self.setWindowTitle(f"{plain_title(session.contents.sequence.title)}: review — Samelight")
        self.show_shot()

    def open_on(self, beside: QScreen) -> None:
        """Come up on the remembered screen, or on one that is not `beside`."""
        self.screens.open_on(beside)
        self.pictures.pane.setFocus()

    def step(self, move: Callable[[ReviewState], bool]) -> bool:
        """Go to another shot, and take the grid along; whether that led anywhere."""
        if self.state is None or not move(self.state):
            return False
        self.show_shot()
        self.stepped.emit(self.state.shot)
        return True

    def go(self, shot: str) -> None:
        """Go to a shot because something else did."""
        if self.state is not None and self.state.go(shot):
            self.show_shot()

    def choose(self, place: int) -> None:
        """Choose one of what is said of the shot, or let go of it: what is decided next is about that, so that a question about
        something else is let be."""
        if self.state is not None:
            if self.last_line.verdict.question is not None:
                self.last_line.verdict.leave()
            self.state.choose(place)
            self.show_shot()

    def show_shot(self) -> None:
        """Show the shot as it is now."""
        state = self.state
        if state is None:
            return
        said = state.said.drifts()
        self.last_line.show_shot(state)
        self.head.show_shot(state)
        self.findings.show_shot(state, said)
        self.details.show_shot(state, said)
        self.pictures.show_shot(state)

    def show_details(self, shown: bool) -> None:
        """Show all that is said of the shot beside its neighbours, or give the room to the frame."""
        self.details.setVisible(shown)
        self.findings.lines.setVisible(not shown)
        self.body.setStretchFactor(self.details, 29 if shown else 0)
        self._set_type(anew=True)
        self.details.show_figure()
        self.pictures.neighbours = shown
        self.pictures.show_frames()

    def _play_changed(self) -> None:
        how = self.playing.says()
        self.last_line.show_play(self.state, how)
        self.bar.say(how)

    # Keys, sizes and the end

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Space:
            self.playing.toggle()
        else:
            super().keyPressEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._set_type()
        self.details.show_figure()

    def moveEvent(self, event: QMoveEvent) -> None:
        super().moveEvent(event)
        # It may be on another screen now, with pixels of another size.
        self._set_type()

    def _set_type(self, *, anew: bool = False) -> None:
        density = density_of(self.screen())
        sizes = TypeSizes.fitting(self.height(), density)
        self.bar.show_distance(sizes.read_from(density) if density is not None else None)
        if sizes == self.sizes and not anew:
            return
        self.sizes = sizes
        self.head.set_type(sizes, large=not self.details.isHidden())
        for part in (self.pictures, self.details, self.findings, self.last_line):
            part.set_type(sizes)
        self.body.setContentsMargins(sizes.keys, sizes.gap, sizes.keys, sizes.gap)
        self.body.setSpacing(sizes.gap)

    def closeEvent(self, event: QCloseEvent) -> None:
        self.playing.stop()
        self.pictures.stop()
        self.bar.keep()
        self.screens.keep()
        self.settings.keep("review_details", int(not self.details.isHidden()))
        super().closeEvent(event)
