"""The middle of the window for one opened sequence, one under the other: what is not known, what is worst, overview, grid
and traces, with the legend below."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QPushButton, QSplitter, QStackedWidget, QVBoxLayout, QWidget

from samelight.drift.cells import CellName
from samelight.gui.contact.contact_sheet import ContactSheet
from samelight.gui.grid.model import GridModel
from samelight.gui.grid.overview import Overview
from samelight.gui.grid.view import GridView
from samelight.gui.paint import theme
from samelight.gui.state.headline import folded_text, why_nothing
from samelight.gui.state.rows import GridState, Show, View
from samelight.gui.traces.traces import TracesView
from samelight.gui.widgets.alarm import Alarm
from samelight.gui.widgets.elided_label import ElidedLabel
from samelight.gui.widgets.legend import Legend
from samelight.gui.widgets.plain_text import plain
from samelight.gui.widgets.sentence_button import SentenceButton
from samelight.gui.widgets.settings import Settings
from samelight.gui.window.headline_button import HeadlineButton
from samelight.gui.window.remembered import of_any_sequence, remember, remembered
from samelight.gui.window.views import Views
from samelight.reports.since import Since
from samelight.sequence.session import Session


class Workspace(QWidget):
    """Holds the views of one opened sequence, and keeps the cursor in its cell. `before` is that of what was open before:
    the same sequence is shown again as it stood, another one as that was listed."""

    spot_changed = Signal(int, int)
    """Row and column of the table's cell under the cursor."""
    pressed = Signal()
    """A cell was pressed with the mouse."""
    emptied = Signal()
    """No cell is listed, so that the cursor is nowhere."""

    def __init__(self, session: Session, settings: Settings, before: Workspace | None = None) -> None:
        super().__init__()
        self.is_current = True
        """Whether nothing else was opened since. That may happen while a question stands: whoever asked it then does nothing
        with the answer."""
        self._settings = settings
        self._only_listing = self._holds_still = False
        self._told: tuple[int, int, bool] | None = None
        self._last: CellName | None = None
        """The cell that the cursor was in when lines were listed anew."""
        self.nothing = ElidedLabel()  # a long filter must not widen the window
        self.nothing.setContentsMargins(8, 4, 8, 4)
        self.nothing.setAccessibleName("Why no row is listed")
        self.nothing.hide()
        self.first_master = QPushButton("&Publish the key shot's lights as the first master…")
        self.first_master.setToolTip(plain("Every shot is compared with what the master has"))
        self.alarm = Alarm()
        self.headline = HeadlineButton()
        self.folded = SentenceButton("", theme.font(theme.DENSE))
        self.contact = ContactSheet()
        self.views: Views = _views_over(_model_of(session, settings, before), settings)
        self.views.model.setParent(self)
        self.pages = QStackedWidget()
        self.splitter = QSplitter(Qt.Orientation.Vertical)
        self._lay_out([520, 320] if before is None else before.splitter.sizes())
        self._connect()
        self._say_what_is_listed()

    def _lay_out(self, sizes: list[int]) -> None:
        self.pages.addWidget(_stacked(self.views.grid, self.folded))
        self.pages.addWidget(self.contact)  # the page after the grid's: `show_contact` counts on it
        self.splitter.setChildrenCollapsible(False)
        self.splitter.setHandleWidth(5)
        self.splitter.addWidget(self.pages)
        self.splitter.addWidget(self.views.traces)
        self.splitter.setSizes(sizes)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        for line in (self.alarm, self.headline, self.views.overview, self.nothing):
            column.addWidget(line)
        column.addWidget(self.first_master, 0, Qt.AlignmentFlag.AlignLeft)
        column.addWidget(self.splitter, 1)
        column.addWidget(Legend(rows=1))

    def _connect(self) -> None:
        model, grid = self.views.model, self.views.grid
        grid.spot_changed.connect(self._moved)
        grid.pressed.connect(self.pressed)
        self.views.traces.picked.connect(grid.go_to)
        self.contact.picked.connect(self._go_along_to)
        model.modelReset.connect(self._say_what_is_listed)
        for changed in (model.modelReset, model.dataChanged):
            changed.connect(self._show_contacts)
        self._show_contacts()

    def _go_along_to(self, column: int) -> None:
        self.views.go_along_to(column)

    def _show_contacts(self) -> None:
        self.contact.show_state(self.views.state)

    # What is shown

    def renew(self) -> None:
        """Show the session's new table where the eye is: same rows open, same scroll, same cell."""
        bars = (self.views.grid.horizontalScrollBar(), self.views.grid.verticalScrollBar())
        places = [bar.value() for bar in bars]
        self.keeping_the_spot(self.views.model.renew)
        for bar, place in zip(bars, places, strict=True):
            bar.setValue(place)

    def take_decisions(self) -> None:
        """Take in decisions that were made; the cursor stays in its cell, and what is said of the cell is new."""
        self._holds_still = True  # while the cursor is put back, so that the cell is told once
        try:
            self.keeping_the_spot(self.views.model.decisions_changed)
        finally:
            self._holds_still = False
        cell = self.views.cell()
        if cell is not None:
            self._moved(*cell)

    def set_filter(self, show: Show, words: str) -> None:
        """List only some rows."""
        self._only_listing = True  # nothing is new about the cell if the cursor stays in it
        self.keeping_the_spot(lambda: self.views.model.set_filter(show, words))
        self._only_listing = False

    def look_back(self, since: Since | None) -> None:
        """Mark what is new, moved and mended since a moment, and say so above; None marks nothing."""
        self.keeping_the_spot(lambda: self.views.model.relisted(lambda state: state.look_back(since)))
        self.headline.show_state(self.views.state, looking=False)

    def show_view(self, view: View) -> None:
        """List what another view says; the cursor stays in its cell."""
        self.keeping_the_spot(lambda: self.views.model.show(view))

    def _say_what_is_listed(self) -> None:
        """Say how many rows are not listed; where none is, say why, and how they come back, and show no cell any more."""
        state = self.views.state
        if not state.listing.lines:
            self._empty()
        said = folded_text(state)
        self.folded.say(said)
        self.folded.setVisible(bool(said))
        self.nothing.setText(why_nothing(state))
        self.nothing.setVisible(bool(self.nothing.text()))
        contents = state.session.contents
        self.first_master.setVisible(contents.newest_master == 0 and bool(contents.sheets))

    # The cursor

    def _moved(self, row: int, column: int) -> None:
        if self._holds_still:
            return
        current = self.views.grid.current_line()
        told = (row, column, current is not None and current[0].row is None)
        if self._only_listing and told == self._told:
            return
        self._told = told
        self.views.traces.show_row(self.views.state, row, column)
        self.contact.cursor_at(column)
        self.spot_changed.emit(row, column)

    def go_back_to(self, name: CellName) -> None:
        """Move the cursor to a cell if it is listed, else to the first line."""
        if not self.views.go_back_to(name):
            self._empty()

    def _empty(self) -> None:
        self._told = None
        self.views.traces.clear()
        self.emptied.emit()

    def keeping_the_spot(self, change: Callable[[], object]) -> None:
        """Make a change after which other lines may be listed, and put the cursor back into its cell; where no line was listed, into
        the one that it was in before."""
        self._last = name = self.views.cell_name() or self._last
        change()
        if name is not None:
            self.go_back_to(name)
        self._say_what_is_listed()

    def focus(self) -> None:
        """Give the keys to the grid, or to the contact sheet in its place."""
        (self.contact.frames if self.shows_contact else self.views.grid).setFocus()

    @property
    def shows_contact(self) -> bool:
        """Whether the contact sheet stands in the place of the grid."""
        return self.pages.currentWidget() is self.contact

    def show_contact(self, shown: bool) -> None:
        """Put the contact sheet into the place of the grid, or the grid back; the same shot stays chosen."""
        self.pages.setCurrentIndex(int(shown))
        cell = self.views.cell()
        if cell is not None:
            self.contact.cursor_at(cell[1])
        self.focus()

    def keep(self) -> None:
        """Remember how the grid stands for the next time."""
        remember(self._settings, self.views.state.view)
        name = self.views.cell_name()
        if name is not None:
            self._settings.keep("shot", name[0])
            self._settings.keep("parameter", name[1])


def _model_of(session: Session, settings: Settings, before: Workspace | None) -> GridModel:
    if before is None:
        return GridModel(GridState(session, remembered(settings)))
    state = before.views.state
    if state.session.contents.folder == session.contents.folder:
        return GridModel(state.renewed(session))
    return GridModel(GridState(session, of_any_sequence(state.view)))


def _views_over(model: GridModel, settings: Settings) -> Views:
    grid = GridView(model)
    grid.show_frames(settings.text("frames", "shown") == "shown")
    grid.widths.zoom_as(model.state.view)
    traces = TracesView(grid)
    traces.setMinimumHeight(120)
    overview = Overview(model, grid)
    overview.setVisible(settings.text("overview", "hidden") == "shown")
    return Views(model, grid, traces, overview)


def _stacked(above: QWidget, below: QWidget) -> QWidget:
    """Two widgets one under the other; the first takes the room that the second leaves."""
    both = QWidget()
    column = QVBoxLayout(both)
    column.setContentsMargins(0, 0, 0, 0)
    column.setSpacing(0)
    column.addWidget(above, 1)
    column.addWidget(below)
    return both
