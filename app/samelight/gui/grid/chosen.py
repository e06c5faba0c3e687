"""What is selected in the grid, and what that means: lines, shots and cells."""

from __future__ import annotations

from weakref import proxy

from PySide6.QtCore import QItemSelection, QItemSelectionModel, QModelIndex
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QTableView

from samelight.drift.cells import Cell
from samelight.gui.grid.model import GridModel
from samelight.gui.state.rows import as_text
from samelight.gui.state.selection import Range, Selected, cells_shown, cells_to_decide, lines_and_shots


class Chosen:
    """The selection of a table that shows a grid's model."""

    def __init__(self, table: QTableView, model: GridModel) -> None:
        self._table: QTableView = proxy(table)  # which holds this
        self._model = model

    def ranges(self) -> list[Range]:
        """The selection as ranges: first and last line, first and last place of a shot."""
        selection = self._table.selectionModel().selection()
        parts = [selection.at(index) for index in range(selection.count())]
        return [(part.top(), part.bottom(), part.left(), part.right()) for part in parts]

    def lines_and_shots(self) -> tuple[list[int], list[int]]:
        """The lines, and the columns of the table, that the selection meets; else those under the cursor."""
        index = self._table.currentIndex()
        ranges = self.ranges()
        if not ranges and index.isValid():
            ranges = [(index.row(), index.row(), index.column(), index.column())]
        return lines_and_shots(self._model.state, ranges)

    def names(self) -> Selected:
        """What is selected, by name, which outlives a table: parameters and groups, and shots."""
        lines, columns = self.lines_and_shots()
        state = self._model.state
        return (
            frozenset(state.listing.name_of(state.listing.lines[line]) for line in lines),
            frozenset(state.table.shots[column] for column in columns),
        )

    def cells(self) -> list[Cell]:
        """The cells that drift or were decided on; a group's header stands for all that drifts in it."""
        return cells_to_decide(self._model.state, self.ranges())

    def copy(self) -> None:
        """Put the selected cells on the clipboard as tab-separated text."""
        cells = cells_shown(self._model.state, self.ranges())
        texts = {cell: self._model.text(*cell) for cell in cells}
        QGuiApplication.clipboard().setText(as_text(self._model.state, cells, texts))

    def select_line(self, index: int, further: bool) -> None:
        """Select a whole line; `further` selects all from the one under the cursor to it."""
        current = self._table.currentIndex()
        place, start = max(current.column(), 0), current.row()
        if not further or start < 0:
            start = index
            flag = QItemSelectionModel.SelectionFlag.NoUpdate
            self._table.selectionModel().setCurrentIndex(self._model.index(index, place), flag)
        last = self._model.columnCount() - 1
        self._select(self._model.index(min(start, index), 0), self._model.index(max(start, index), last))

    def select_shot(self, place: int) -> None:
        """Select the whole column of a shot."""
        last = self._model.rowCount() - 1
        self._select(self._model.index(0, place), self._model.index(last, place))

    def _select(self, first: QModelIndex, last: QModelIndex) -> None:
        """Select exactly the cells between two corners."""
        self._table.selectionModel().select(
            QItemSelection(first, last), QItemSelectionModel.SelectionFlag.ClearAndSelect
        )
