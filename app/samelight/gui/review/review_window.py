"""The review window: for dailies, one shot at a time on a screen that the whole room sees."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from functools import partial

from PySide6.QtCore import QEvent, QObject, QSize, Qt, QTimer, Signal
from PySide6.QtGui import (
    QCloseEvent,
    QGuiApplication,
    QHideEvent,
    QKeyEvent,
    QKeySequence,
    QMoveEvent,
    QResizeEvent,
    QScreen,
    QShortcut,
    QShowEvent,
)
from PySide6.QtWidgets import (
    QBoxLayout,
    QGridLayout,
    QHBoxLayout,
    QLineEdit,
    QPushButton,
    QSizePolicy,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from samelight.decisions.decision import Verb
from samelight.gui.background.frame_cache import FrameCache
from samelight.gui.background.frames import FULL, PROXY, Frame
from samelight.gui.dialogs.deciding import TITLES
from samelight.gui.inspector.figure_part import FigurePart
from samelight.gui.review import monitors
from samelight.gui.review.bar import ReviewBar
from samelight.gui.review.cut_line import CutLine
from samelight.gui.review.finding_lines import FindingLines
from samelight.gui.review.frame_pane import FramePane, Held
from samelight.gui.review.lights_panel import LightsPanel
from samelight.gui.review.neighbour import Neighbour
from samelight.gui.review.picture_views import PictureView, PictureViews
from samelight.gui.review.playing import Playing
from samelight.gui.review.review_commands import REVIEW_COMMANDS, calls_of
from samelight.gui.review.review_data import LENGTH, Compare, Other, ReviewState
from samelight.gui.review.review_words import WordsPanel, decisions_html, drifts_html, nothing_said
from samelight.gui.review.speaking import give_verdict, keep_note
from samelight.gui.review.type_size import TypeSizes, density_of, pixel_font, spread_font
from samelight.gui.review.verdict_line import VerdictLine
from samelight.gui.review.would_be import WouldBe
from samelight.gui.widgets.commands import make_actions
from samelight.gui.widgets.elided_label import ElidedLabel
from samelight.gui.widgets.plain_text import plain, plain_title
from samelight.gui.widgets.settings import Settings
from samelight.sequence.mark_regions import MarkRegion, mark_regions
from samelight.sequence.session import Session, account_name
from samelight.sources.pictures.view_transform import view_text

_ROOMY = 1400, 800
"""Pixels of a window that has room for the figure beside the words."""
_SAID_FOR = 4000


class _OneOf(QStackedWidget):
    """As high as the one that is shown."""

    def __init__(self) -> None:
        super().__init__()
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.currentChanged.connect(self.updateGeometry)

    def sizeHint(self) -> QSize:
        shown = self.currentWidget()
        return QSize(super().sizeHint().width(), shown.sizeHint().height() if shown is not None else 0)

    def minimumSizeHint(self) -> QSize:
        return QSize(super().minimumSizeHint().width(), self.sizeHint().height())


class ReviewWindow(QWidget):
    """Shows `ReviewState`, and writes what is said into the session's ledger."""

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
        self.sizes = TypeSizes(0, 0, 0)
        self.frames = FrameCache(self)
        self.frames.changed.connect(self._show_frames)
        self.details = False
        """Whether all that is said of the shot stands beside its neighbours; else the frame has the room."""
        self._traced = ""
        self.desk: QWidget | None = None
        """Where dialogs that are for the person at the keys come up."""
        self.playing = Playing(
            lambda: self.state.length() if self.state is not None else LENGTH,
            lambda by: self.step(lambda state: state.step(by)),
            self,
        )
        calls = calls_of(self)
        self.actions_by_name = make_actions(self, calls.__getitem__, REVIEW_COMMANDS)
        self.addActions(list(self.actions_by_name.values()))
        self._build()
        self._recall()
        self._wire()
        app = QGuiApplication.instance()
        if isinstance(app, QGuiApplication):
            app.screenAdded.connect(self._list_screens)
            app.screenRemoved.connect(self._list_screens)
        self.resize(1280, 720)

    # What the window is made of

    def _build(self) -> None:
        self.name_label = ElidedLabel("Shot")
        self.place_label = ElidedLabel("Place in the cut")
        self.count_label = ElidedLabel("How much is left to decide or mend")
        for label in (self.name_label, self.place_label, self.count_label):
            label.setAccessibleName(label.toolTip())
        self.before = Neighbour("Shot before", "Left")
        self.after = Neighbour("Next shot", "Right")
        self.pane = FramePane()
        self.lights = LightsPanel()
        self.lights.hide()
        self.would_be = WouldBe(self.lights, self)
        self.views = PictureViews()
        self.drifts = WordsPanel("What drifts")
        self.decided = WordsPanel("Decisions and notes")
        self.figure = FigurePart()
        self.lines = FindingLines()
        self.intend_button = QPushButton("Mark as &intended…")
        self.return_button = QPushButton("&Send back…")
        self.bar = ReviewBar(self.actions_by_name)
        head = QHBoxLayout()
        head.addWidget(self.name_label)
        head.addWidget(self.place_label, 1, Qt.AlignmentFlag.AlignVCenter)
        head.addWidget(self.count_label, 0, Qt.AlignmentFlag.AlignVCenter)
        pictures = QHBoxLayout()
        pictures.addWidget(self.before, 2)
        pictures.addWidget(self.pane, 9)
        pictures.addWidget(self.after, 2)
        pictures.addWidget(self.lights, 3)
        self.words = QGridLayout()
        self.words.addWidget(self.drifts, 0, 0)
        self.words.addWidget(self.decided, 0, 1)
        self.words.addWidget(self.figure, 0, 2, Qt.AlignmentFlag.AlignTop)
        self.words.setColumnStretch(0, 3)
        self.words.setColumnStretch(1, 2)
        said = QHBoxLayout()
        said.addWidget(self.lines, 1)
        said.addWidget(self.intend_button)
        said.addWidget(self.return_button)
        self._build_last_line()
        self.body = QVBoxLayout(self)
        # Type grows with the height: what is laid out must not keep a window from a narrow screen.
        self.body.setSizeConstraint(QVBoxLayout.SizeConstraint.SetNoConstraint)
        self.setMinimumSize(640, 360)
        self.body.addLayout(head)
        self.body.addLayout(pictures, 50)
        self.body.addLayout(self.words)
        self.body.addLayout(said)
        self.body.addWidget(self.last_line)
        for button in (self.intend_button, self.return_button):
            button.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Preferred)
        self.setWindowTitle("Review")

    def _build_last_line(self) -> None:
        """The controls, or in their place what is typed, a note or the reason of a verdict; while the cut plays, a trace."""
        self.note_edit = QLineEdit()
        self.note_edit.setMaxLength(2000)
        self.note_edit.setAccessibleName("Note on this shot")
        self.note_edit.setToolTip("A note on this shot (T to type, Enter to keep it, Esc to leave)")
        self.verdict = VerdictLine()
        self.last_line = _OneOf()
        self.cut_line = CutLine()
        for widget in (self.bar, self.note_edit, self.verdict, self.cut_line):
            self.last_line.addWidget(widget)

    def _wire(self) -> None:
        for button, name in (
            (self.before, "previous_shot"),
            (self.after, "next_shot"),
            (self.intend_button, "intend"),
            (self.return_button, "return"),
        ):
            button.clicked.connect(self.actions_by_name[name].trigger)
        self.note_edit.returnPressed.connect(partial(keep_note, self))
        self.verdict.given.connect(partial(give_verdict, self))
        self.verdict.left.connect(lambda: self.last_line.setCurrentWidget(self.bar))
        self.bar.compare_box.currentIndexChanged.connect(self._want_frames)
        self.bar.other_box.currentIndexChanged.connect(self._want_frames)
        self.bar.stops_box.valueChanged.connect(self._want_frames)
        self.bar.who_edit.editingFinished.connect(self._keep_who)
        self.lines.pressed.connect(self.choose)
        self.would_be.changed.connect(self._show_frames)
        self.lights.view_box.currentIndexChanged.connect(self._want_frames)
        self.playing.changed.connect(self._play_changed)
        self.cut_line.pressed.connect(lambda shot: self.step(lambda state: state.go(shot)))
        for number in range(1, 10):
            QShortcut(QKeySequence(str(number)), self).activated.connect(partial(self.choose, number - 1))
        self.note_edit.installEventFilter(self)
        self._quiet = QTimer(self)
        self._quiet.setSingleShot(True)
        self._quiet.timeout.connect(self._show_frames)
        self.bar.screen_menu.aboutToShow.connect(self._list_screens)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if watched is self.note_edit and event.type() == QEvent.Type.FocusOut:
            self.last_line.setCurrentWidget(self.bar)
        return super().eventFilter(watched, event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Space:
            self.playing.toggle()
        else:
            super().keyPressEvent(event)

    def type_note(self) -> None:
        """Put the keys into the line for a note, in the place of the controls; the shot that is shown stays."""
        self.playing.stop()
        self.last_line.setCurrentWidget(self.note_edit)
        self.note_edit.setFocus(Qt.FocusReason.ShortcutFocusReason)

    def step(self, move: Callable[[ReviewState], bool]) -> bool:
        """Go to another shot, and take the grid along; whether that led anywhere."""
        if self.state is None or not move(self.state):
            return False
        self.show_shot()
        self.stepped.emit(self.state.shot)
        return True

    def choose(self, place: int) -> None:
        """Choose one of what is said of the shot, or let go of it: what is decided next is about that, so that a question about
        something else is let be."""
        if self.state is not None:
            if self.verdict.question is not None:
                self.verdict.leave()
            self.state.choose(place)
            self.show_shot()

    def show_details(self, shown: bool) -> None:
        """Show all that is said of the shot beside its neighbours, or give the room to the frame."""
        self.details = shown
        for widget in (self.drifts, self.decided):
            widget.setVisible(shown)
        self.lines.setVisible(not shown)
        self.body.setStretchFactor(self.words, 29 if shown else 0)
        self._set_type(anew=True)
        self._show_figure()
        self._show_frames()

    def _play_changed(self) -> None:
        """Put the trace of what is looked at into the last line while the cut plays, and the controls back after it."""
        if self.playing.speed and not self._traced and self.state is not None:
            self._traced = self.state.traced()
        if self.playing.speed:
            self._show_trace()
            self.last_line.setCurrentWidget(self.cut_line)
        else:
            self._traced = ""
            if self.last_line.currentWidget() is self.cut_line:
                self.last_line.setCurrentWidget(self.bar)
        self.say(self.playing.says())

    def _show_trace(self) -> None:
        state = self.state
        if state is not None and self.playing.speed:
            traced = state.cut_trace(self._traced)
            self.cut_line.show_trace(traced, state.shot, self.playing.says())

    # Showing

    @property
    def compare(self) -> Compare:
        """How the frame is compared."""
        return Compare(self.bar.compare_box.currentText())

    @property
    def other(self) -> Other:
        """What the frame is compared with."""
        return Other(self.bar.other_box.currentText())

    @property
    def leading(self) -> bool:
        """Whether the grid follows this window; else this window follows the grid."""
        return self.bar.lead_button.isChecked()

    def show_session(self, session: Session, shot: str = "") -> None:
        """Show a session, or what changed in it, and go to a shot of it if one is named."""
        if self.state is None:
            self.state = ReviewState(session, shot)
        else:
            self.state.take(session)
            if shot:
                self.state.go(shot)
        self.frames.set_folder(session.contents.folder)
        self.setWindowTitle(f"{plain_title(session.contents.sequence.title)}: review — Samelight")
        self.show_shot()

    def go(self, shot: str) -> None:
        """Go to a shot because something else did."""
        if self.state is not None and self.state.go(shot):
            self.show_shot()

    def open_on(self, beside: QScreen) -> None:
        """Come up on the remembered screen, or on one that is not `beside`."""
        there = monitors.screens()
        name = monitors.choose(list(there), self.settings.text("review_screen"), monitors.name_of(beside))
        full = bool(self.settings.number("review_full", int(len(there) > 1)))
        monitors.move_to(self, there.get(name, beside), full=full)
        self.pane.setFocus()

    def show_shot(self) -> None:
        """Show the shot as it is now."""
        state = self.state
        if state is None:
            return
        if self.verdict.question is not None and self.verdict.shot != state.shot:
            self.verdict.leave()
        self.name_label.setText(state.shot or "No shot")
        self.place_label.setText(state.place_text())
        self.count_label.setText(state.count_text())
        said = state.drifts()
        self.lines.show_said(said, state.chosen(), nothing_said(state))
        self.drifts.show_words(drifts_html(state, said), sum(one.is_finding for one in said))
        self.decided.show_words(decisions_html(state))
        self._show_figure()
        self._show_trace()
        self.would_be.show_shot(state.session, state.shot)
        self.note_edit.setPlaceholderText(f"Note on {state.shot} (T)")
        for verb, button in ((Verb.INTEND, self.intend_button), (Verb.RETURN, self.return_button)):
            button.setEnabled(bool(state.verdict_cells() or state.verdict_cases()))
            key, text = ("I" if verb is Verb.INTEND else "S"), state.verdict_text(verb)
            button.setToolTip(plain(f"{text} ({key})"))
            button.setAccessibleName(f"{TITLES[verb]}: {text}")
        self._want_frames()

    def _show_figure(self) -> None:
        """Show the shot's figure where the window has room for it beside the words."""
        state, roomy = self.state, self.width() >= _ROOMY[0] and self.height() >= _ROOMY[1]
        roomy = roomy and self.details
        self.figure.setVisible(
            state is not None and roomy and self.figure.show_for(state.session, state.shot)
        )

    def _want_frames(self) -> None:
        state = self.state
        if state is None or not self.isVisible():
            return
        keys = [(state.shot, FULL)]
        other = state.other(self.other) if self._needs_other() else None
        keys += [(other, FULL)] if other is not None else []
        before, after = state.beside(-1), state.beside(1)
        keys += [(shot, PROXY) for shot in (after, before) if shot is not None]
        # The room mostly walks on: the next frame is there before it is asked for.
        keys += [(after, FULL)] if after is not None else []
        self.frames.want(keys, self.bar.stops_box.value())
        self._show_frames()

    def _needs_other(self) -> bool:
        """Whether the frame is shown against another one."""
        return self.compare is not Compare.ALONE or self.lights.view is PictureView.DIFFERENCE

    def _show_frames(self, *_: object) -> None:
        state = self.state
        if state is None:
            return
        frame = self.would_be.frame(state.shot, self.frames.best(state.shot), self.bar.stops_box.value())
        other = state.other(self.other)
        held = Held(
            state.other_title(self.other),
            other,
            self.views.of(
                PictureView.PICTURE if self.lights.view is PictureView.DIFFERENCE else self.lights.view,
                found := self.frames.best(other) if other is not None else None,
            ),
            self._regions(other, found),
        )
        this = Held(
            self.would_be.title(state.shot),
            state.shot or None,
            self.views.of(self.lights.view, frame, found),
            self._regions(state.shot, frame),
        )
        self.pane.show_frames(self.compare, this, held)
        for button, by in ((self.before, -1), (self.after, 1)):
            shot = state.beside(by)
            proxy = self.frames.frame(shot, PROXY) if shot is not None else None
            opened = state.count_text(shot).split(",")[0] if shot is not None else ""
            button.set_shot(shot, opened, proxy)
            # Two frames to compare take all the room there is.
            button.setVisible(self.details and self.compare is not Compare.SIDE)
        picture = frame.picture if frame is not None else None
        said = [view_text(picture, frame.stops), *picture.remarks] if frame is not None and picture else []
        if said and self.lights.view is not PictureView.PICTURE:
            said = [str(self.lights.view), *said[1:]]
        if frame is not None and frame.longest != FULL:
            said.append("this is preview quality; the full frame is loading")
        if not self._quiet.isActive():
            self.bar.view_label.setText("; ".join(said))

    def _regions(self, shot: str | None, frame: Frame | None) -> tuple[MarkRegion, ...]:
        """The marks that are drawn in a shot's frame."""
        if self.state is None or not shot or frame is None or frame.picture is None:
            return ()
        if not self.bar.marks_button.isChecked():
            return ()
        return tuple(mark_regions(self.state.session, shot, frame.picture.size))

    def show_marks(self, shown: bool) -> None:
        """Draw the marks in the frames, or do not."""
        self.actions_by_name["marks"].setChecked(shown)
        self.bar.marks_button.setChecked(shown)
        self._show_frames()

    def show_lights(self, shown: bool) -> None:
        """Show the lights of the frame with a trim for each, or the frame as rendered."""
        self.actions_by_name["lights"].setChecked(shown)
        self.bar.lights_button.setChecked(shown)
        self.lights.setVisible(shown)
        if self.state is not None:
            self.would_be.show_shot(self.state.session, self.state.shot)
        self._show_frames()

    def say(self, text: str) -> None:
        """Tell the person at the keys something, for a moment."""
        self.bar.view_label.setText(text)
        self._quiet.start(_SAID_FOR)

    # Sizes, screens and what is remembered

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._set_type()
        self._show_figure()

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
        for widget in (self.bar, self.lights, self.intend_button, self.return_button):
            spread_font(widget, pixel_font(sizes.keys))
        self.name_label.setFont(pixel_font(sizes.name if self.details else sizes.room, bold=True))
        self.lines.set_type(sizes.room)
        for label in (self.place_label, self.count_label):
            label.setFont(pixel_font(sizes.room))
        self.note_edit.setFont(pixel_font(sizes.room))
        self.verdict.set_type(sizes.room)
        self.cut_line.set_type(sizes.room)
        for panel in (self.drifts, self.decided):
            panel.set_type(sizes)
        self.pane.set_type(sizes.room)
        for neighbour in (self.before, self.after):
            neighbour.set_type(sizes.room)
        margin = sizes.keys
        self.body.setContentsMargins(margin, margin // 2, margin, margin // 2)
        self.place_label.setContentsMargins(margin, 0, 0, 0)
        self.words.setHorizontalSpacing(2 * margin)
        for layout in (self.body, *self.body.findChildren(QBoxLayout), self.bar.row):
            layout.setSpacing(margin // 2)
        self.bar.who_edit.setFixedWidth(7 * sizes.keys)

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self.frames.watch(True)
        self._want_frames()

    def hideEvent(self, event: QHideEvent) -> None:
        super().hideEvent(event)
        self.frames.watch(False)

    def closeEvent(self, event: QCloseEvent) -> None:
        self.playing.stop()
        self.frames.stop()
        self.would_be.stop()
        self._keep()
        super().closeEvent(event)

    @property
    def who(self) -> str:
        """Whose notes and decisions these are."""
        return self.bar.who_edit.text().strip() or account_name()

    def set_who(self, who: str) -> None:
        """Take another name from now on."""
        self.bar.who_edit.setText(who.strip())
        self._keep_who()

    def _keep_who(self) -> None:
        self.settings.keep("who", self.who if self.who != account_name() else "")

    def _list_screens(self, *_: object) -> None:
        menu = self.bar.screen_menu
        menu.clear()
        for screen in monitors.screens().values():
            action = menu.addAction(monitors.title_of(screen))
            action.setCheckable(True)
            action.setChecked(screen is self.screen())
            action.triggered.connect(lambda *_, to=screen: self.choose_screen(to))

    def choose_screen(self, screen: QScreen) -> None:
        """Move to a screen, and come up there from now on."""
        self.settings.keep("review_screen", monitors.name_of(screen))
        monitors.move_to(self, screen, full=self.isFullScreen())

    def _recall(self) -> None:
        self.bar.compare_box.setCurrentText(self.settings.text("review_compare", str(Compare.ALONE)))
        self.bar.other_box.setCurrentText(self.settings.text("review_other", str(Other.KEY)))
        self.bar.who_edit.setText(self.settings.text("who") or account_name())
        self.bar.show_leading(bool(self.settings.number("review_leads", 1)))
        self.show_marks(bool(self.settings.number("review_marks", 1)))
        self.show_details(bool(self.settings.number("review_details", 0)))
        self._list_screens()

    def _keep(self) -> None:
        self.settings.keep("review_compare", str(self.compare))
        self.settings.keep("review_other", str(self.other))
        self.settings.keep("review_leads", int(self.leading))
        self.settings.keep("review_marks", int(self.bar.marks_button.isChecked()))
        self.settings.keep("review_details", int(self.details))
        self.settings.keep("review_full", int(self.isFullScreen()))
