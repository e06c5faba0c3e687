"""The grid: shots in cut order by rows grouped by light, with frozen names and a lean delegate."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QPoint, QRect, QSize, Qt, Signal
from PySide6.QtGui import (
    QGuiApplication,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPen,
    QPolygon,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QWidget,
)

from samelight.drift.cells import Grade
from samelight.gui import drift_scale, theme
from samelight.gui.grid_model import GridModel, Role
from samelight.gui.rows import STATES, Line, as_text

NAME_WIDTH = 232
ROW_HEIGHT = 24
COLUMN_WIDTH = 62
NARROWEST, WIDEST = 6, 200
TEXT_FROM = 40
"""Columns narrower than this (pixels) show colour and marks only."""

Index = QModelIndex | QPersistentModelIndex


class CellDelegate(QStyledItemDelegate):
    """Fills a cell by its drift and draws its text and marks; never asks the style for anything."""

    def __init__(self, model: GridModel, parent: QWidget) -> None:
        super().__init__(parent)
        self._model = model
        self._small = theme.font(7.5)
        self._font = theme.font(9.0)

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        state = self._model.state
        line, column = state.lines[index.row()], index.column()
        row = state.row_at(line, column)
        rect: QRect = option.rect
        table = state.table
        grade, severity = int(table.grade[row, column]), float(table.severity[row, column])
        decided = STATES[state.states[row, column]]
        is_group = line.row is None
        inner = rect.adjusted(0, 0, -1, -1)
        ink = theme.DIM_TEXT
        if grade == Grade.NONE:
            painter.fillRect(inner, theme.EMPTY_CELL)
        elif grade <= Grade.SAME:
            painter.fillRect(inner, theme.GROUP_CELL if is_group else theme.CELL)
        elif decided == "intended":
            # Meant: the drift's colour stays readable as a frame, the fill goes back to grey.
            painter.fillRect(inner, drift_scale.colour(severity))
            painter.fillRect(inner.adjusted(3, 3, -3, -3), theme.CELL)
            ink = theme.TEXT
        else:
            red, green, blue = drift_scale.rgb(severity)
            painter.fillRect(inner, drift_scale.colour(severity))
            ink = drift_scale.ink(red, green, blue)
        if rect.width() >= TEXT_FROM:
            text = self._model.text(row, column)
            if text:
                painter.setPen(ink)
                painter.setFont(self._font)
                fitted = painter.fontMetrics().elidedText(text, Qt.TextElideMode.ElideRight, rect.width() - 8)
                painter.drawText(inner, Qt.AlignmentFlag.AlignCenter, fitted)
        if rect.width() >= 14:
            self._marks(painter, inner, grade, drift_scale.STATE_MARKS[decided], ink)
        if self._is_current(index):
            painter.setPen(QPen(theme.BRIGHT, 2))
            painter.drawRect(inner.adjusted(1, 1, -1, -1))
        elif option.state & _SELECTED:
            painter.setPen(QPen(theme.TEXT, 1))
            painter.drawRect(inner.adjusted(0, 0, -1, -1))

    def _is_current(self, index: Index) -> bool:
        view = self.parent()
        return isinstance(view, QTableView) and view.currentIndex() == index

    def _marks(self, painter: QPainter, rect: QRect, grade: int, state_mark: str, ink: Any) -> None:
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(ink)
        left, bottom = rect.left() + 3, rect.bottom() - 2
        if grade == Grade.BREAK:
            painter.drawRect(left, bottom - 5, 5, 5)
        elif grade == Grade.DRIFT:
            triangle = [QPoint(left, bottom), QPoint(left + 6, bottom), QPoint(left + 3, bottom - 6)]
            painter.drawPolygon(QPolygon(triangle))
        elif grade == Grade.WITHIN:
            painter.drawEllipse(left, bottom - 2, 2, 2)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        if state_mark:
            painter.setPen(ink)
            painter.setFont(self._small)
            corner = QRect(rect.right() - 13, rect.top(), 12, 12)
            painter.drawText(corner, Qt.AlignmentFlag.AlignCenter, state_mark)

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        return QSize(COLUMN_WIDTH, ROW_HEIGHT)


_SELECTED = QStyle.StateFlag.State_Selected


class NameHeader(QHeaderView):
    """The frozen column of names: groups with an arrow that expands them, rows with their unit."""

    toggled = Signal(int)

    def __init__(self, model: GridModel, parent: QWidget) -> None:
        super().__init__(Qt.Orientation.Vertical, parent)
        self._model = model
        self.setSectionsClickable(True)
        self.setDefaultSectionSize(ROW_HEIGHT)
        self.setMinimumSectionSize(ROW_HEIGHT)
        self.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.setFixedWidth(NAME_WIDTH)
        self.setAccessibleName("Lights and parameters")

    def paintSection(self, painter: QPainter, rect: QRect, logicalIndex: int) -> None:
        line: Line | None = self._model.headerData(logicalIndex, Qt.Orientation.Vertical, Role.LINE)
        if line is None:
            return
        state = self._model.state
        is_group = line.row is None
        painter.save()
        inner = rect.adjusted(0, 0, -1, -1)
        painter.fillRect(rect, theme.LINE)
        painter.fillRect(inner, theme.PANEL if is_group else theme.WINDOW)
        left = rect.left() + (8 if is_group else 28)
        if is_group:
            name = state.groups[line.group].name
            listed = any(
                other.group == line.group and other.row is not None for other in self._next(logicalIndex)
            )
            self._arrow(painter, left, rect.center().y(), open_=listed or name in state.expanded)
            left += 16
        unit = self._model.unit(line)
        painter.setFont(theme.font(8.0))
        unit_width = painter.fontMetrics().horizontalAdvance(unit)
        painter.setPen(theme.DIM_TEXT)
        painter.drawText(inner.adjusted(0, 0, -8, 0), _RIGHT, unit)
        locked = line.row is not None and state.table.rows[line.row].lock is not None
        painter.setFont(theme.font(10.0, bold=is_group))
        painter.setPen(theme.BRIGHT if is_group else theme.TEXT)
        room = QRect(left, rect.top(), max(rect.right() - unit_width - 14 - left, 10), rect.height() - 1)
        text = self._model.title(line) + (" (locked)" if locked else "")
        fitted = painter.fontMetrics().elidedText(text, Qt.TextElideMode.ElideMiddle, room.width())
        painter.drawText(room, _LEFT, fitted)
        painter.restore()

    def _next(self, index: int) -> list[Line]:
        return self._model.state.lines[index + 1 : index + 2]

    def _arrow(self, painter: QPainter, x: int, y: int, *, open_: bool) -> None:
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(theme.TEXT)
        if open_:
            points = [QPoint(x, y - 2), QPoint(x + 8, y - 2), QPoint(x + 4, y + 4)]
        else:
            points = [QPoint(x + 1, y - 4), QPoint(x + 7, y), QPoint(x + 1, y + 4)]
        painter.drawPolygon(QPolygon(points))

    def mousePressEvent(self, event: QMouseEvent) -> None:
        index = self.logicalIndexAt(event.position().toPoint().y())
        lines = self._model.state.lines
        if 0 <= index < len(lines) and lines[index].row is None:
            self.toggled.emit(lines[index].group)
            return
        super().mousePressEvent(event)


_LEFT = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
_RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter


class ShotHeader(QHeaderView):
    """The shots in cut order; an unreadable one is struck through."""

    def __init__(self, model: GridModel, parent: QWidget) -> None:
        super().__init__(Qt.Orientation.Horizontal, parent)
        self._model = model
        self.setSectionsClickable(True)
        self.setDefaultSectionSize(COLUMN_WIDTH)
        self.setMinimumSectionSize(NARROWEST)
        self.setFixedHeight(26)
        self.setAccessibleName("Shots in cut order")

    def paintSection(self, painter: QPainter, rect: QRect, logicalIndex: int) -> None:
        state = self._model.state
        if not 0 <= logicalIndex < len(state.table.shots):
            return
        shot = state.table.shots[logicalIndex]
        painter.save()
        painter.fillRect(rect, theme.LINE)
        painter.fillRect(rect.adjusted(0, 0, -1, -1), theme.PANEL)
        unreadable = shot not in state.session.sheets
        face = theme.font(9.0)
        face.setStrikeOut(unreadable)
        painter.setFont(face)
        view = self.parent()
        current = isinstance(view, QTableView) and view.currentIndex().column() == logicalIndex
        painter.setPen(theme.BRIGHT if current else theme.DIM_TEXT if unreadable else theme.TEXT)
        if rect.width() >= 24:
            fitted = painter.fontMetrics().elidedText(shot, Qt.TextElideMode.ElideLeft, rect.width() - 4)
            painter.drawText(rect, Qt.AlignmentFlag.AlignCenter, fitted)
        if current:
            painter.fillRect(QRect(rect.left(), rect.bottom() - 2, rect.width() - 1, 2), theme.BRIGHT)
        painter.restore()


class GridView(QTableView):
    """The table itself."""

    spot_changed = Signal(int, int)
    """Row and column of the table's cell under the cursor."""
    geometry_changed = Signal()
    """Columns moved: scrolled, zoomed or resized."""

    def __init__(self, model: GridModel, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._grid = model
        self.setModel(model)
        names = NameHeader(model, self)
        names.toggled.connect(self._toggle)
        self.setVerticalHeader(names)
        self.setHorizontalHeader(ShotHeader(model, self))
        self.setItemDelegate(CellDelegate(model, self))
        self.setShowGrid(False)
        self.setWordWrap(False)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOn)
        self.setFrameShape(QTableView.Shape.NoFrame)
        self.setCornerButtonEnabled(False)
        self.setAccessibleName("Drift of every shot from the master")
        self.horizontalScrollBar().valueChanged.connect(self.geometry_changed)
        self.horizontalHeader().sectionResized.connect(lambda *_: self.geometry_changed.emit())
        self.setTabKeyNavigation(False)

    @property
    def column_width(self) -> int:
        """The width of every column, in pixels."""
        return self.horizontalHeader().defaultSectionSize()

    def set_column_width(self, width: int) -> None:
        """Make every column this wide."""
        header = self.horizontalHeader()
        header.setDefaultSectionSize(max(NARROWEST, min(WIDEST, width)))
        self.geometry_changed.emit()
        self.viewport().update()

    def wheelEvent(self, event: QWheelEvent) -> None:
        if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self.zoom(1 if event.angleDelta().y() > 0 else -1, event.position().x())
            event.accept()
        else:
            super().wheelEvent(event)

    def zoom(self, steps: int, anchor: float | None = None) -> None:
        """Widen (steps above 0) or narrow the columns; the shot under `anchor` stays where it is."""
        old = self.column_width
        width = round(old * 1.15**steps)
        width = old + steps if width == old else width
        x = self.viewport().width() / 2 if anchor is None else anchor
        place = (self.horizontalScrollBar().value() + x) / old
        self.set_column_width(width)
        self.updateGeometries()
        self.horizontalScrollBar().setValue(round(place * self.column_width - x))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.geometry_changed.emit()

    def currentChanged(self, current: Index, previous: Index) -> None:
        super().currentChanged(current, previous)
        if current.isValid():
            row, column = self._grid.data(current, Role.CELL)
            self.spot_changed.emit(row, column)
        self.horizontalHeader().viewport().update()
        self.viewport().update()

    def _toggle(self, group: int) -> None:
        current = self.currentIndex()
        spot = self._grid.data(current, Role.CELL) if current.isValid() else None
        self._grid.toggle(group)
        if spot is not None:
            self.go_to(*spot, reveal=False)

    def go_to(self, row: int, column: int, *, reveal: bool = True) -> None:
        """Move the cursor to a cell of the table, opening its group if need be."""
        line = self._grid.reveal(row) if reveal else self._grid.state.line_of(row)
        if line is not None:
            index = self._grid.index(line, column)
            self.setCurrentIndex(index)
            self.scrollTo(index)

    def current_line(self) -> tuple[Line, int] | None:
        """The line and column under the cursor."""
        index = self.currentIndex()
        return (self._grid.line(index.row()), index.column()) if index.isValid() else None

    def chosen_cells(self) -> list[tuple[int, int]]:
        """The cells of the selection; a group's header stands for all that drifts in it."""
        cells: dict[tuple[int, int], None] = {}
        for index in self.selectedIndexes():
            for cell in self._grid.state.cells_of(self._grid.line(index.row()), index.column()):
                cells[cell] = None
        return list(cells)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        current = self.current_line()
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space) and current:
            if current[0].row is None:
                self._toggle(current[0].group)
            return
        super().keyPressEvent(event)

    def copy(self) -> None:
        """Put the selected cells on the clipboard as tab-separated text."""
        cells = [self._grid.data(index, Role.CELL) for index in self.selectedIndexes()]
        texts = {cell: self._grid.text(*cell) for cell in cells}
        QGuiApplication.clipboard().setText(as_text(self._grid.state, cells, texts))
