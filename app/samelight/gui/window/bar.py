"""The bar above the grid: which rows are listed, what cells say, what shots are compared with, and deciding."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import QEvent, QObject, QSignalBlocker, Qt, Signal
from PySide6.QtGui import QAction, QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QComboBox, QCompleter, QLineEdit, QSizePolicy, QToolBar, QWidget

from samelight.gui.grid.model import Shown
from samelight.gui.paint import theme
from samelight.gui.state.remaining import ALL_WELL, counts_text, left_text
from samelight.gui.state.rows import GridState, Show
from samelight.gui.widgets.handed_over_button import HandedOverButton
from samelight.gui.widgets.plain_text import PlainLabel, plain
from samelight.gui.widgets.reference_box import ReferenceBox
from samelight.gui.widgets.settings import Settings
from samelight.gui.widgets.typed_letters import keep_letters
from samelight.gui.window.remembered import remembered
from samelight.sequence.saved_views import LONGEST_FILTER, View
from samelight.sequence.session import Session

_WIDE = 1500
"""Pixels. In a narrower bar the counts are in the tooltip alone."""
_LEFT = "Cells that drift and findings that nobody has decided on; N goes to the next"
_TICK = "✓"
_LEAVING = (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Down)
"""What leaves the filter for the rows that it lists."""
_ACTIONS = ("only_mine", "intend", "return", "next")


class Bar(QToolBar):
    """Its fields hold what is asked for; signals say that it changed."""

    filtered = Signal()
    """Other rows are to be listed."""
    reshown = Signal()
    """Cells are to say something else."""
    shot_typed = Signal()
    """A shot's name was typed."""
    left = Signal()
    """The filter is as it should be: the keys are for the grid."""

    def __init__(
        self, actions: Mapping[str, QAction], settings: Settings, parent: QWidget | None = None
    ) -> None:
        super().__init__("Filter and decide", parent)
        self.setObjectName("bar")
        self.setMovable(False)
        self.show_box = QComboBox()
        self.show_box.addItems([str(show) for show in Show])
        self.show_box.setToolTip("Which rows are listed")
        self.show_box.setAccessibleName("Which rows are listed")
        self.filter_edit = QLineEdit()
        self.filter_edit.setPlaceholderText("Filter rows")
        self.filter_edit.setToolTip(
            "Only rows whose name holds all these words, such as sun direction (Ctrl+F)"
        )
        self.filter_edit.setAccessibleName("Filter rows")
        self.filter_edit.setClearButtonEnabled(True)
        self.filter_edit.setMaxLength(LONGEST_FILTER)
        self.filter_edit.setMinimumWidth(130)
        self.filter_edit.setMaximumWidth(280)
        self.shown_box = QComboBox()
        self.shown_box.addItems([str(shown) for shown in Shown])
        self.shown_box.setToolTip("What cells say: the drift, the shot's value, or both")
        self.shown_box.setAccessibleName("What cells say")
        self.reference_box = ReferenceBox()
        self.goto_edit = QLineEdit()
        self.goto_edit.setPlaceholderText("Shot")
        self.goto_edit.setToolTip("Go to a shot by typing its name (Ctrl+G)")
        self.goto_edit.setAccessibleName("Go to shot")
        self.goto_edit.setFixedWidth(80)
        self.left_label = PlainLabel()
        self.left_label.setFont(theme.font(bold=True))
        self.count_label = PlainLabel()
        self.handed_over = HandedOverButton()
        self._counts = self._fill(actions)
        self.ask_for(remembered(settings))
        self._connect()

    def _fill(self, actions: Mapping[str, QAction]) -> QAction:
        """Put everything into the bar; what stands for the counts in it."""
        for text, widget in (
            ("Rows", self.show_box),
            ("", self.filter_edit),
            ("Cells", self.shown_box),
            ("Against", self.reference_box),
            ("", self.goto_edit),
        ):
            if text:
                self.addWidget(PlainLabel(text))
            self.addWidget(widget)
        self.addWidget(self.handed_over)
        self.addSeparator()
        for name in _ACTIONS:
            self.addAction(actions[name])
        spacer = QWidget()
        spacer.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        self.addWidget(spacer)
        self.addWidget(self.left_label)
        return self.addWidget(self.count_label)

    def _connect(self) -> None:
        self.show_box.currentTextChanged.connect(self.filtered)
        self.filter_edit.textChanged.connect(self.filtered)
        self.shown_box.currentTextChanged.connect(self.reshown)
        self.goto_edit.returnPressed.connect(self.shot_typed)
        self.handed_over.asked.connect(self.show_box.setCurrentText)
        self.filter_edit.installEventFilter(self)
        for box in (self.show_box, self.shown_box, self.reference_box):
            keep_letters(box)

    @property
    def show_rows(self) -> Show:
        """Which rows are asked for."""
        return Show(self.show_box.currentText())

    @property
    def words(self) -> str:
        """The words that a row's name must hold."""
        return self.filter_edit.text()

    @property
    def shown(self) -> Shown:
        """What cells are to say."""
        return Shown(self.shown_box.currentText())

    def ask_for(self, view: View) -> None:
        """Put what a view says into the fields, without saying that they changed."""
        # The bar alone is silenced: the field's own signal puts its sign for clearing on and off.
        blocker = QSignalBlocker(self)
        self.show_box.setCurrentText(str(view.rows))
        if view.filter != self.words:  # else its cursor would leave the place where somebody types
            self.filter_edit.setText(view.filter)
        self.shown_box.setCurrentText(str(view.cells))
        blocker.unblock()

    def show_session(self, session: Session) -> None:
        """Offer the shots of a session."""
        completer = QCompleter(list(session.table.shots), self.goto_edit)  # which lets go of the one before
        completer.setCaseSensitivity(Qt.CaseSensitivity.CaseInsensitive)
        completer.setFilterMode(Qt.MatchFlag.MatchContains)
        completer.activated.connect(self.shot_typed)
        self.goto_edit.setCompleter(completer)

    def show_counts(self, state: GridState, shot: str | None, *, looking: bool = False) -> None:
        """Say how much is left to decide, in all and in the shot under the cursor; `looking` as in `left_text`."""
        left = left_text(state, shot, looking=looking, short=True)
        sign = f"{_TICK} " if left == ALL_WELL else ""
        self.left_label.setText(f"{sign}{left}")
        self.count_label.setText(counts_text(state))
        found = {show: len(findings) for show, findings in state.handed_over.findings.items()}
        self.handed_over.show_counts(state.handed_over.counts, found)
        self.left_label.setToolTip(
            plain("\n".join((left_text(state, shot, looking=looking), _LEFT, state.my_cases.tally().says)))
        )

    def resizeEvent(self, event: QResizeEvent) -> None:
        # What is left to decide stays in sight; the other counts are in its tooltip as well.
        self._counts.setVisible(event.size().width() >= _WIDE)
        super().resizeEvent(event)

    def list_all(self) -> None:
        """Ask for every row."""
        self.show_box.setCurrentText(str(Show.ALL))

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        pressed = (
            event.key() if isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress else None
        )
        if pressed in _LEAVING:
            self.left.emit()
        return pressed in _LEAVING or super().eventFilter(watched, event)

    def type_filter(self) -> None:
        """Put the keys into the filter."""
        self.filter_edit.setFocus()
        self.filter_edit.selectAll()

    def type_shot(self) -> None:
        """Put the keys into the field for a shot."""
        self.goto_edit.setFocus()
        self.goto_edit.selectAll()
