"""The grid: shots in cut order by rows grouped by light, with frozen names and pinned lines."""

from __future__ import annotations

from PySide6.QtCore import QItemSelectionModel, QPoint, Qt, Signal
from PySide6.QtGui import (
    QFocusEvent,
    QKeyEvent,
    QPainter,
    QPaintEvent,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QAbstractItemView, QTableView, QWidget

from samelight.gui.grid.chosen import Chosen
from samelight.gui.grid.corner import Corner
from samelight.gui.grid.headers import COLUMN_WIDTH
from samelight.gui.grid.menus import line_menu, shot_menu
from samelight.gui.grid.model import GridModel, Role
from samelight.gui.grid.painting import GridPainter, paint_cursor, paint_selection, start_on_a_pixel
from samelight.gui.grid.place import Index, PlacedTable
from samelight.gui.grid.relisting import Relisting
from samelight.gui.paint import theme
from samelight.gui.state.rows import Line
from samelight.gui.widgets.plain_text import plain
from samelight.gui.widgets.typed_letters import keep_letters

__all__ = ["COLUMN_WIDTH", "GridView"]

_HELP = (
    "Shots in cut order by parameters, grouped by light. A cell says how far its shot is from the master; its colour is that "
    "drift over its tolerance.\n"
    "Arrows move the cursor, with Shift they select; Enter opens and closes a group. The wheel with Ctrl zooms, and with Ctrl a "
    "click on a light's name draws its traces together with others."
)
_ENTER_KEYS = (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space)


class GridView(PlacedTable):
    """The table itself. It paints its cells as one picture."""

    spot_changed = Signal(int, int)
    """Row and column of the table's cell under the cursor."""
    together_changed = Signal()
    """Other lights are to be drawn together in the traces."""

    def __init__(self, model: GridModel, parent: QWidget | None = None) -> None:
        super().__init__(model, parent)
        self._painter = GridPainter(model)
        self.chosen = Chosen(self, model)
        self.relisting = Relisting(self, model)
        self.names.toggled.connect(self.relisting.toggle)
        self.names.plotted.connect(self.relisting.plot_together)
        self.names.chosen.connect(self.chosen.select_line)
        self.names.menu_asked.connect(self._line_menu)
        self.shots.menu_asked.connect(self._shot_menu)
        self.setShowGrid(False)
        self.setWordWrap(False)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOn)
        self.setFrameShape(QTableView.Shape.NoFrame)
        self.setCornerButtonEnabled(False)
        self.setAccessibleName("Drift of every shot from the master")
        self.setAccessibleDescription(_HELP)
        self.setWhatsThis(_HELP)
        self.setToolTip(plain(_HELP))  # over its cells each says what it is
        self.setTabKeyNavigation(False)
        self._corner = Corner(self.shots, model.state.view.order, self)
        self.order_box = self._corner.order_box
        keep_letters(self.order_box)
        self.order_box.currentTextChanged.connect(self.relisting.reorder)
        self.shots.make_room(self.order_box.sizeHint().height() + 2)

    def show_frames(self, shown: bool) -> None:
        """Show or hide a small frame of each shot over its column."""
        self.shots.strip.shown = shown
        self.shots.take_room()
        self.updateGeometries()
        self._place_corner()
        self.shots.lay_out(self.layout_now())

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._place_corner()

    def _place_corner(self) -> None:
        self._corner.place(self.names.width())

    # What is drawn

    def paintEvent(self, event: QPaintEvent) -> None:
        layout = self.layout_now()
        painter = QPainter(self.viewport())
        painter.fillRect(event.rect(), theme.FIELD)
        start_on_a_pixel(painter)
        self._painter.paint(painter, layout, event.rect())
        ranges = self.chosen.ranges()
        alone = len(ranges) == 1 and ranges[0][0] == ranges[0][1] and ranges[0][2] == ranges[0][3]
        current = self.currentIndex()
        if not alone:
            paint_selection(painter, layout, ranges)
        if current.isValid():
            paint_cursor(painter, layout, current.row(), current.column(), focused=self.hasFocus())
        painter.end()

    def dataChanged(self, first: Index, last: Index, roles: object = ()) -> None:
        super().dataChanged(first, last)
        self.viewport().update()  # where Qt believes cells to be is not where they are

    def selectionChanged(self, selected: object, deselected: object) -> None:
        # The frames around cells reach over their edges, and pinned lines lie elsewhere than Qt believes.
        self.viewport().update()

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        self.viewport().update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.viewport().update()

    # The cursor

    def currentChanged(self, current: Index, previous: Index) -> None:
        super().currentChanged(current, previous)
        if current.isValid():
            row, column = self._grid.data(current, Role.CELL)
            self.spot_changed.emit(row, column)
        self.shots.mark(current.column())
        self.viewport().update()

    def go_to(self, row: int, column: int, *, reveal: bool = True) -> None:
        """Move the cursor to a cell of the table; with `reveal`, open its group and bring it back if it is hidden."""
        line = self._grid.reveal(row, column) if reveal else self.grid_state.listing.line_of(row)
        if line is not None:
            self.go_to_line(line, column)

    def go_to_line(self, line: int, column: int, *, selects: bool = True) -> None:
        """Move the cursor to a line, in the shot of a column of the table or the nearest that is listed; what is selected may stay."""
        index = self._grid.cell_index(line, column)
        if index.isValid():
            if selects:
                self.setCurrentIndex(index)
            else:
                self.selectionModel().setCurrentIndex(index, QItemSelectionModel.SelectionFlag.NoUpdate)
            self.scrollTo(index)

    def current_line(self) -> tuple[Line, int] | None:
        """The line under the cursor and the table's column."""
        index = self.currentIndex()
        if not index.isValid():
            return None
        return self.grid_state.listing.lines[index.row()], self.grid_state.listing.columns[index.column()]

    def keyPressEvent(self, event: QKeyEvent) -> None:
        current = self.current_line()
        if event.key() in _ENTER_KEYS and current:
            if current[0].row is None:
                self.relisting.toggle(current[0].group)
            return
        super().keyPressEvent(event)

    def wheelEvent(self, event: QWheelEvent) -> None:
        if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self.widths.zoom_by_wheel(event, event.position())
            event.accept()
        else:
            super().wheelEvent(event)

    # Menus

    def _line_menu(self, index: int, place: QPoint) -> None:
        if index not in self.chosen.lines_and_shots()[0]:
            self.chosen.select_line(index, False)
        line = self.grid_state.listing.lines[index]
        line_menu(self, self.grid_state.groups[line.group].name, self.grid_state.listing.name_of(line)).popup(
            place
        )

    def _shot_menu(self, section: int, place: QPoint) -> None:
        column = self.grid_state.listing.columns[section]
        if column not in self.chosen.lines_and_shots()[1]:
            self.go_to_line(max(self.currentIndex().row(), 0), column)
            self.chosen.select_shot(section)
        shot_menu(self).popup(place)
