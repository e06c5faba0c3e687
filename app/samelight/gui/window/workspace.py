"""The middle of the window for one opened sequence: what is not known, overview, grid and traces, one under the other, with the legend below."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QSplitter, QVBoxLayout, QWidget

from samelight.drift.cells import CellName
from samelight.gui.grid.model import GridModel
from samelight.gui.grid.overview import Overview
from samelight.gui.grid.view import GridView
from samelight.gui.state.rows import Show
from samelight.gui.traces.traces import TracesView
from samelight.gui.widgets.alarm import Alarm
from samelight.gui.widgets.elided_label import ElidedLabel
from samelight.gui.widgets.legend import Legend
from samelight.gui.widgets.settings import Settings
from samelight.gui.window.remembered import of_any_sequence, remember, remembered
from samelight.gui.window.views import Views
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
        self._only_listing = False
        self._told: tuple[int, int, bool] | None = None
        self.nothing = ElidedLabel()  # a long filter must not widen the window
        self.nothing.setContentsMargins(8, 4, 8, 4)
        self.nothing.setAccessibleName("Why no row is listed")
        self.nothing.hide()
        self.alarm = Alarm()
        model = GridModel(session, self)
        if before is None:
            model.show(remembered(settings))
        elif before.session.folder == session.folder:
            model.state = before.views.state.renewed(session)
        else:
            model.show(of_any_sequence(before.views.state.view))
        grid = GridView(model)
        grid.zoom_as(model.state.view)
        traces = TracesView(grid)
        traces.setMinimumHeight(120)
        overview = Overview(model, grid)
        overview.setVisible(settings.text("overview", "shown") == "shown")
        self.splitter = QSplitter(Qt.Orientation.Vertical)
        self.splitter.setChildrenCollapsible(False)
        self.splitter.setHandleWidth(5)
        self.splitter.addWidget(grid)
        self.splitter.addWidget(traces)
        self.splitter.setSizes([520, 320] if before is None else before.splitter.sizes())
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self.alarm)
        column.addWidget(overview)
        column.addWidget(self.nothing)
        column.addWidget(self.splitter, 1)
        column.addWidget(Legend())
        self.views: Views = Views(model, grid, traces, overview)
        grid.spot_changed.connect(self._moved)
        grid.pressed.connect(self.pressed)
        traces.picked.connect(grid.go_to)
        self._say_why_nothing()

    @property
    def session(self) -> Session:
        """The sequence that is shown."""
        return self.views.session

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
        self.keeping_the_spot(self.views.model.decisions_changed)
        cell = self.views.cell()
        if cell is not None:
            self._moved(*cell)

    def set_filter(self, show: Show, words: str) -> None:
        """List only some rows."""
        self._only_listing = True  # nothing is new about the cell if the cursor stays in it
        self.keeping_the_spot(lambda: self.views.model.set_filter(show, words))
        self._only_listing = False

    def _say_why_nothing(self) -> None:
        """Where no row is listed, say why, and how they come back."""
        state = self.views.state
        self.nothing.setVisible(not state.lines)
        if state.lines:
            return
        if not state.table.rows:
            self.nothing.setText("No rows yet: there is no master setup to compare the shots with.")
        elif state.view.filter.strip():
            self.nothing.setText(
                f"No row matches {state.view.filter.strip()!r}. Press Esc to clear the filter."
            )
        else:
            self.nothing.setText(
                f"Nothing to list under “{state.view.rows}”. Choose “{Show.ALL}” to list every row."
            )

    # The cursor

    def _moved(self, row: int, column: int) -> None:
        current = self.views.grid.current_line()
        told = (row, column, current is not None and current[0].row is None)
        if self._only_listing and told == self._told:
            return
        self._told = told
        self.views.traces.show_row(self.views.state, row, column)
        self.spot_changed.emit(row, column)

    def cell_name(self) -> CellName | None:
        """The cell under the cursor by name."""
        return self.views.cell_name()

    def go_back_to(self, name: CellName) -> None:
        """Move the cursor to a cell if it is listed, else to the first line."""
        if not self.views.go_back_to(name):
            self.views.traces.clear()
            self.emptied.emit()

    def keeping_the_spot(self, change: Callable[[], object]) -> None:
        """Make a change after which other lines may be listed, and put the cursor back into its cell."""
        name = self.cell_name()
        change()
        if name is not None:
            self.go_back_to(name)
        self._say_why_nothing()

    def focus(self) -> None:
        """Give the keys to the grid."""
        self.views.grid.setFocus()

    def keep(self) -> None:
        """Remember how the grid stands for the next time."""
        remember(self._settings, self.views.state.view)
        name = self.views.cell_name()
        if name is not None:
            self._settings.keep("shot", name[0])
            self._settings.keep("parameter", name[1])
