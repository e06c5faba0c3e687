"""The grid as Qt sees it: a thin table model over `GridState`."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from enum import IntEnum
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt

from samelight.drift.cells import Cell
from samelight.gui.paint.shades import ShadePicture
from samelight.gui.state.grid_words import cell_text, cell_tip, line_tip, line_title, shot_tip
from samelight.gui.state.rows import GridState, Order, Show, View
from samelight.gui.widgets.plain_text import plain
from samelight.reports.shown import clean, clean_lines
from samelight.sequence.saved_views import Shown

__all__ = ["GridModel", "Index", "Role", "Shown"]

Index = QModelIndex | QPersistentModelIndex
_NOWHERE = QModelIndex()


class Role(IntEnum):
    """What views ask the model for beside text."""

    CELL = Qt.ItemDataRole.UserRole + 1
    """(row, column) of the table."""
    SEVERITY = Qt.ItemDataRole.UserRole + 2
    """Drift over tolerance, the sort key."""
    LINE = Qt.ItemDataRole.UserRole + 3
    """The `Line` of a header section."""


class GridModel(QAbstractTableModel):
    """Lines by shots."""

    def __init__(self, state: GridState, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.state = state
        self.picture = ShadePicture()
        self._texts: dict[Cell, str] = {}

    @property
    def shown(self) -> Shown:
        """What cells say."""
        return self.state.view.cells

    def rowCount(self, parent: Index = _NOWHERE) -> int:
        return 0 if parent.isValid() else len(self.state.listing.lines)

    def columnCount(self, parent: Index = _NOWHERE) -> int:
        return 0 if parent.isValid() else len(self.state.listing.columns)

    def cell_index(self, line: int, column: int) -> QModelIndex:
        """The index of a line in the shot of a column of the table, or in the nearest shot that is listed."""
        columns = self.state.listing.columns
        if not columns:
            return QModelIndex()
        place = self.state.listing.place(column)
        if place is None:
            place = min(range(len(columns)), key=lambda place: abs(columns[place] - column))
        return self.index(line, place)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        if not index.isValid():
            return None
        line, column = self.state.listing.lines[index.row()], self.state.listing.columns[index.column()]
        row = self.state.listing.row_at(line, column)
        if role == Qt.ItemDataRole.DisplayRole:
            return clean(self.text(row, column))
        if role == Role.CELL:
            return (row, column)
        if role == Role.SEVERITY:
            return float(self.state.table.severity[row, column])
        if role == Qt.ItemDataRole.ToolTipRole:
            return plain(cell_tip(self.state, row, column))
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return clean_lines(cell_tip(self.state, row, column))
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return Qt.AlignmentFlag.AlignCenter
        return None

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> Any:
        if orientation == Qt.Orientation.Horizontal:
            if not 0 <= section < len(self.state.listing.columns):
                return None
            shot = self.state.table.shots[self.state.listing.columns[section]]
            if role == Qt.ItemDataRole.DisplayRole:
                return clean(shot)
            if role == Qt.ItemDataRole.ToolTipRole:
                return plain(shot_tip(self.state, shot))
            return None
        if not 0 <= section < len(self.state.listing.lines):
            return None
        line = self.state.listing.lines[section]
        if role == Role.LINE:
            return line
        if role == Qt.ItemDataRole.DisplayRole:
            return clean(line_title(self.state, line))
        if role == Qt.ItemDataRole.ToolTipRole:
            return plain(line_tip(self.state, line))
        return None

    def text(self, row: int, column: int) -> str:
        """The text of a cell, by what is asked to be shown."""
        key = (row, column)
        known = self._texts.get(key)
        if known is None:
            known = self._texts[key] = cell_text(self.state, row, column)
        return known

    def relisted(self, change: Callable[[GridState], object]) -> None:
        """Make a change to the state after which it lists other lines or shots."""
        self.beginResetModel()
        change(self.state)
        self.endResetModel()

    def show(self, view: View) -> None:
        """List what another view says, and say it as that view does."""
        if view.cells is not self.shown:
            self._texts.clear()
        self.relisted(lambda state: state.show(view))

    def set_filter(self, show: Show, words: str) -> None:
        """List only some rows."""
        self.show(replace(self.state.view, rows=show, filter=words))

    def set_order(self, order: Order) -> None:
        """List groups and rows in another order."""
        self.show(replace(self.state.view, order=order))

    def set_shown(self, shown: Shown) -> None:
        """Choose what cells say."""
        self.state.view = replace(self.state.view, cells=shown)
        self._texts.clear()
        self._all_changed()

    def toggle(self, group: int) -> None:
        """Expand or collapse a group."""
        name = self.state.groups[group].name
        self.set_expanded({*self.state.view.expanded} ^ {name})

    def set_expanded(self, names: set[str]) -> None:
        """Expand exactly these groups."""
        self.show(replace(self.state.view, expanded=tuple(sorted(names))))

    def reveal(self, row: int, column: int | None = None) -> int | None:
        """Make sure that a row, and a shot if one is given, is listed; the index of the row's line."""
        if not self.state.listing.lists(row, column):
            self.relisted(lambda state: state.reveal(row, column))
        return self.state.listing.line_of(row)

    def reveal_all(self, cells: Iterable[Cell]) -> None:
        """Make sure that the rows and shots of these cells are listed, each row by itself. While some are, the others do
        not bring back every row: what follows from another cell is no drift of its own."""
        cells = list(cells)
        hidden = [cell for cell in cells if not self.state.listing.lists(*cell)]

        def reveal(state: GridState) -> None:
            for same_rows in (True, False):
                for cell in hidden:
                    if not state.listing.lists(*cell):
                        state.reveal(*cell, same_rows=same_rows)
                if any(state.listing.lists(*cell) for cell in cells):
                    return

        if hidden:
            self.relisted(reveal)

    def renew(self) -> None:
        """Take in a session's new table."""
        self.beginResetModel()
        self._texts.clear()
        self.state = self.state.renewed()
        self.endResetModel()

    def decisions_changed(self) -> None:
        """Take in decisions that were made."""
        listed = list(self.state.listing.lines)  # shots are listed whatever was decided
        self.state.refresh()
        if listed != self.state.listing.lines:
            self.beginResetModel()
            self.endResetModel()
        else:
            self._all_changed()

    def _all_changed(self) -> None:
        if self.state.listing.lines and self.state.listing.columns:
            last = self.index(len(self.state.listing.lines) - 1, len(self.state.listing.columns) - 1)
            self.dataChanged.emit(self.index(0, 0), last)
