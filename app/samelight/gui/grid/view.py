"""The grid: shots in cut order by rows grouped by light, with frozen names and pinned lines."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QItemSelection, QItemSelectionModel, QModelIndex, QPoint, Qt, Signal
from PySide6.QtGui import (
    QFocusEvent,
    QGuiApplication,
    QKeyEvent,
    QPainter,
    QPaintEvent,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QAbstractItemView, QTableView, QWidget

from samelight.drift.cells import Cell
from samelight.gui.grid.corner import Corner
from samelight.gui.grid.headers import COLUMN_WIDTH
from samelight.gui.grid.menus import line_menu, shot_menu
from samelight.gui.grid.model import GridModel, Role
from samelight.gui.grid.painting import GridPainter, paint_cursor, paint_selection, start_on_a_pixel
from samelight.gui.grid.place import Index, PlacedTable
from samelight.gui.paint import theme
from samelight.gui.state.rows import Line, Order, as_text
from samelight.gui.state.selection import Range, Selected, cells_shown, cells_to_decide, lines_and_shots
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
        self.names.toggled.connect(self._toggle)
        self.names.plotted.connect(self.plot_together)
        self.names.chosen.connect(self._select_line)
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
        self.order_box.currentTextChanged.connect(self._reorder)
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
        ranges = self._ranges()
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

    def go_to_line(self, line: int, column: int) -> None:
        """Move the cursor to a line, in the shot of a column of the table or the nearest that is listed."""
        index = self._grid.cell_index(line, column)
        if index.isValid():
            self.setCurrentIndex(index)
            self.scrollTo(index)

    def current_line(self) -> tuple[Line, int] | None:
        """The line under the cursor and the table's column."""
        index = self.currentIndex()
        if not index.isValid():
            return None
        return self._grid.line(index.row()), self.grid_state.listing.columns[index.column()]

    def keyPressEvent(self, event: QKeyEvent) -> None:
        current = self.current_line()
        if event.key() in _ENTER_KEYS and current:
            if current[0].row is None:
                self._toggle(current[0].group)
            return
        super().keyPressEvent(event)

    def wheelEvent(self, event: QWheelEvent) -> None:
        if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self.zoom_by_wheel(event, event.position())
            event.accept()
        else:
            super().wheelEvent(event)

    # The selection

    def _ranges(self) -> list[Range]:
        """The selection as ranges: first and last line, first and last place of a shot."""
        selection = self.selectionModel().selection()
        parts = [selection.at(index) for index in range(selection.count())]
        return [(part.top(), part.bottom(), part.left(), part.right()) for part in parts]

    def _chosen(self) -> tuple[list[int], list[int]]:
        """The lines, and the columns of the table, that the selection meets; else those under the cursor."""
        index = self.currentIndex()
        ranges = self._ranges()
        if not ranges and index.isValid():
            ranges = [(index.row(), index.row(), index.column(), index.column())]
        return lines_and_shots(self.grid_state, ranges)

    def selected(self) -> Selected:
        """What is selected, by name, which outlives a table: parameters and groups, and shots."""
        lines, columns = self._chosen()
        state = self.grid_state
        return (
            frozenset(state.listing.name_of(state.listing.lines[line]) for line in lines),
            frozenset(state.table.shots[column] for column in columns),
        )

    def chosen_cells(self) -> list[Cell]:
        """The cells of the selection that drift or were decided on; a group's header stands for all that drifts in
        it."""
        return cells_to_decide(self.grid_state, self._ranges())

    def copy(self) -> None:
        """Put the selected cells on the clipboard as tab-separated text."""
        cells = cells_shown(self.grid_state, self._ranges())
        texts = {cell: self._grid.text(*cell) for cell in cells}
        QGuiApplication.clipboard().setText(as_text(self.grid_state, cells, texts))

    # What is listed

    def _keeping_the_cursor(self, change: Callable[[], None]) -> None:
        """List other lines or shots; the cursor stays on its cell, or as near to it as there is one."""
        index = self.currentIndex()
        current = self.current_line()
        spot = self._grid.data(index, Role.CELL) if index.isValid() else None
        on_header = current is not None and current[0].row is None
        change()
        state = self.grid_state
        if spot is None or current is None or not state.listing.lines:
            return
        line = (
            state.listing.lines.index(current[0])
            if on_header and current[0] in state.listing.lines
            else state.listing.line_of(spot[0])
        )
        self.go_to_line(min(index.row(), len(state.listing.lines) - 1) if line is None else line, spot[1])

    def _reorder(self, order: str) -> None:
        self._keeping_the_cursor(lambda: self._grid.set_order(Order(order)))

    def _toggle(self, group: int) -> None:
        self._keeping_the_cursor(lambda: self._grid.toggle(group))

    def plot_together(self, group: int | None = None) -> None:
        """Draw a group's traces together with the others that were chosen, or leave it out again; without `group`, the
        one under the cursor."""
        current = self.current_line()
        if group is None and current is not None:
            group = current[0].group
        if group is not None:
            self._plot(group)

    def plot_alone(self) -> None:
        """Draw only the traces of the row under the cursor."""
        self._plot(None)

    def _plot(self, group: int | None) -> None:
        self.grid_state.plot_together(group)
        self.names.viewport().update()
        self.together_changed.emit()

    def pin(self) -> None:
        """Pin the selected lines at the top, or let them go."""
        lines = [self._grid.line(index) for index in self._chosen()[0]]
        self._keeping_the_cursor(lambda: self._grid.relisted(lambda state: state.pin(lines)))

    def hide_lines(self) -> None:
        """Hide the selected lines."""
        lines = [self._grid.line(index) for index in self._chosen()[0]]
        self._keeping_the_cursor(lambda: self._grid.relisted(lambda state: state.hide(lines)))

    def hide_shots(self) -> None:
        """Hide the selected shots."""
        columns = self._chosen()[1]
        self._keeping_the_cursor(lambda: self._grid.relisted(lambda state: state.hide_shots(columns)))

    def show_hidden(self) -> None:
        """Bring back hidden lines and shots."""
        self._keeping_the_cursor(lambda: self._grid.relisted(lambda state: state.show_hidden()))

    # Menus

    def _line_menu(self, index: int, place: QPoint) -> None:
        if index not in self._chosen()[0]:
            self._select_line(index, further=False)
        line = self._grid.line(index)
        line_menu(self, self.grid_state.groups[line.group].name, self.grid_state.listing.name_of(line)).popup(
            place
        )

    def _shot_menu(self, section: int, place: QPoint) -> None:
        column = self.grid_state.listing.columns[section]
        if column not in self._chosen()[1]:
            self.go_to_line(max(self.currentIndex().row(), 0), column)
            last = self._grid.rowCount() - 1
            self._select(self._grid.index(0, section), self._grid.index(last, section))
        shot_menu(self).popup(place)

    def _select_line(self, index: int, further: bool) -> None:
        """Select a whole line; `further` selects all from the one under the cursor to it."""
        place, start = max(self.currentIndex().column(), 0), self.currentIndex().row()
        if not further or start < 0:
            start = index
            flag = QItemSelectionModel.SelectionFlag.NoUpdate
            self.selectionModel().setCurrentIndex(self._grid.index(index, place), flag)
        last = self._grid.columnCount() - 1
        self._select(self._grid.index(min(start, index), 0), self._grid.index(max(start, index), last))

    def _select(self, first: QModelIndex, last: QModelIndex) -> None:
        """Select exactly the cells between two corners."""
        self.selectionModel().select(
            QItemSelection(first, last), QItemSelectionModel.SelectionFlag.ClearAndSelect
        )
