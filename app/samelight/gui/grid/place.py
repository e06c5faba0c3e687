"""The grid's place: how far it is scrolled, and which cell lies where. It draws nothing.

Qt's table knows columns of whole pixels of its own; here `Layout` says where they are, to the pixel of the screen.
"""

from __future__ import annotations

import math

from PySide6.QtCore import (
    QEvent,
    QItemSelection,
    QItemSelectionModel,
    QModelIndex,
    QPersistentModelIndex,
    QPoint,
    QPointF,
    QRect,
    QRectF,
    QSize,
    Signal,
)
from PySide6.QtGui import QHelpEvent, QResizeEvent, QSinglePointEvent
from PySide6.QtWidgets import QAbstractItemView, QTableView, QToolTip, QWidget

from samelight.drift.cells import Cell
from samelight.gui.grid.headers import ROW_HEIGHT, NameHeader, ShotHeader
from samelight.gui.grid.layout import Layout
from samelight.gui.grid.model import GridModel
from samelight.gui.grid.under_pointer import tip_under, worst_under
from samelight.gui.grid.widths import ColumnWidths
from samelight.gui.state.rows import GridState
from samelight.gui.widgets.plain_text import plain

Index = QModelIndex | QPersistentModelIndex

_LEAST_SCROLL = 20
"""How far one step of the scroll bar goes at least, in Qt's pixels: columns may be narrower than one."""


class PlacedTable(QTableView):
    """A table whose columns may be a fraction of a pixel wide."""

    geometry_changed = Signal()
    """Cells moved: scrolled, zoomed, resized or listed anew."""

    def __init__(self, model: GridModel, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._grid = model
        self._ratio = self.devicePixelRatioF()
        self._pointer = QPointF(-1.0, -1.0)
        self.widths = ColumnWidths(self)
        self.names = NameHeader(model, self)
        self.shots = ShotHeader(model, self)
        self.setVerticalHeader(self.names)
        self.setHorizontalHeader(self.shots)
        self.setModel(model)
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.viewport().setMouseTracking(True)
        for bar in (self.horizontalScrollBar(), self.verticalScrollBar()):
            bar.valueChanged.connect(self._moved)
            bar.rangeChanged.connect(self._moved)
        model.modelReset.connect(self._relisted)

    @property
    def grid_state(self) -> GridState:
        """What the grid shows now."""
        return self._grid.state

    def layout_now(self) -> Layout:
        """Where every cell lies at this moment."""
        view, state, ratio = self.viewport(), self.grid_state, self.devicePixelRatioF()
        room, high = math.floor(view.width() * ratio + 1e-6), view.height()
        edge = view.mapTo(self.window(), QPoint(0, 0)).x() * ratio
        columns = len(state.listing.columns)
        whole = self.widths.whole(room, columns, ratio)
        return Layout(
            whole=whole,
            height=ROW_HEIGHT,
            columns=columns,
            lines=len(state.listing.lines),
            left=min(self.horizontalScrollBar().value(), max(whole - room, 0)),
            top=self.verticalScrollBar().value(),
            room_x=room,
            room_y=high,
            # Pinned lines stay while there is as much room again for the others.
            frozen=min(state.listing.pins, high // 2 // ROW_HEIGHT),
            ratio=ratio,
            shift=math.floor(edge + 0.5) - edge,
        )

    def _moved(self) -> None:
        layout = self.layout_now()
        self.names.lay_out(layout)
        self.shots.lay_out(layout)
        self.geometry_changed.emit()

    def show_widened(self) -> None:
        """Draw the columns as wide as they are now."""
        self.updateGeometries()
        self._moved()
        self.viewport().update()

    def _relisted(self) -> None:
        self._moved()
        for part in (self, self.names, self.shots):
            part.viewport().update()

    # How far it is scrolled

    def updateGeometries(self) -> None:
        # Qt would take the length of the scroll bar from its own sections.
        bar = self.horizontalScrollBar()
        ratio = self.devicePixelRatioF()
        most, value = bar.maximum(), round(bar.value() * ratio / self._ratio)
        self._ratio = ratio
        blocked = bar.blockSignals(True)
        super().updateGeometries()
        bar.setRange(0, max(most, value))
        bar.setValue(value)
        bar.blockSignals(blocked)
        layout = self.layout_now()
        bar.setPageStep(max(layout.room_x, 1))
        bar.setSingleStep(round(max(layout.width, _LEAST_SCROLL) * ratio))
        bar.setRange(0, max(layout.whole - layout.room_x, 0))

    def horizontalOffset(self) -> int:
        # Qt reckons with its own pixels; the scroll bar counts the screen's.
        return round(self.horizontalScrollBar().value() / self._ratio)

    def scroll_to(self, left: int, top: int) -> None:
        """Scroll to a place of the whole grid: across in the screen's pixels, down in Qt's."""
        self.horizontalScrollBar().setValue(left)
        self.verticalScrollBar().setValue(top)

    def scrollTo(
        self, index: Index, hint: QAbstractItemView.ScrollHint = QAbstractItemView.ScrollHint.EnsureVisible
    ) -> None:
        if not index.isValid():
            return
        self.executeDelayedItemsLayout()  # after other lines are listed, the scroll bars still have the old ends
        layout = self.layout_now()
        across, down = self.horizontalScrollBar(), self.verticalScrollBar()
        start, end = (edge + layout.left for edge in layout.span(index.column()))
        across.setValue(_into_view(start, end - start, layout.left, 0, layout.room_x, hint))
        if index.row() >= layout.frozen:
            top = index.row() * layout.height
            down.setValue(
                _into_view(top, layout.height, layout.top, layout.frozen_height, layout.room_y, hint)
            )

    def scrollContentsBy(self, dx: int, dy: int) -> None:
        ratio = self.devicePixelRatioF()
        if dy:
            super().scrollContentsBy(0, dy)
        # What is moved instead of drawn anew must move by whole pixels, across from one that begins where one of Qt's does.
        across, whole = dx / ratio, (dy * ratio).is_integer() and (not dx or ratio.is_integer())
        if not whole or not across.is_integer() or (dy and self.grid_state.listing.pins):
            self.viewport().update()
        elif dx:
            self.viewport().scroll(int(across), 0)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._moved()
        if self.widths.fitted:
            self.viewport().update()

    def event(self, event: QEvent) -> bool:
        if event.type() == QEvent.Type.DevicePixelRatioChange:  # the window came to another screen
            self.updateGeometries()
            self._relisted()
        return super().event(event)

    # Which cell lies where

    def under(self, place: QPointF) -> tuple[range, range]:
        """The line and the columns under a place of the view; several columns where they share a pixel."""
        layout = self.layout_now()
        line = layout.line_at(place.y())
        lines = range(0) if line is None else range(line, line + 1)
        return lines, layout.columns_at(layout.pixel(place.x()))

    def worst_at(self, place: QPointF) -> Cell | None:
        """Line and place of the shot whose cell is seen at a place of the view."""
        return worst_under(self._grid, *self.under(place))

    def tip_at(self, place: QPointF) -> str:
        """What the mouse is told at a place of the view."""
        return tip_under(self._grid, *self.under(place))

    def viewportEvent(self, event: QEvent) -> bool:
        if isinstance(event, QSinglePointEvent):
            self._pointer = event.position()
        if isinstance(event, QHelpEvent) and event.type() == QEvent.Type.ToolTip:
            QToolTip.showText(event.globalPos(), plain(self.tip_at(self._exactly(event.pos()))), self)
            return True
        return super().viewportEvent(event)

    def _exactly(self, pos: QPoint) -> QPointF:
        """A place as it was before Qt rounded it: the pointer's if it is there, else the middle of Qt's pixel."""
        return self._pointer if self._pointer.toPoint() == pos else QPointF(pos) + QPointF(0.5, 0.5)

    def indexAt(self, pos: QPoint) -> QModelIndex:
        worst = self.worst_at(self._exactly(pos))
        return QModelIndex() if worst is None else self._grid.index(*worst)

    def visualRect(self, index: Index) -> QRect:
        if not index.isValid():
            return QRect()
        layout = self.layout_now()
        start, end = (edge / layout.ratio for edge in layout.span(index.column()))
        return QRectF(start, layout.y_of(index.row()), end - start, layout.height).toAlignedRect()

    def setSelection(self, rect: QRect, command: QItemSelectionModel.SelectionFlag) -> None:
        # A click is on the worst of the shots under it, as `indexAt` has it; a stretch takes in all under its ends.
        if rect.size() == QSize(1, 1) or not self.layout_now().shared:
            super().setSelection(rect, command)
            return
        lines, columns = zip(*(self.under(self._exactly(end)) for end in _ends(rect)), strict=True)
        if all(lines) and all(columns):
            first = self._grid.index(min(r.start for r in lines), min(r.start for r in columns))
            last = self._grid.index(max(r.stop for r in lines) - 1, max(r.stop for r in columns) - 1)
            self.selectionModel().select(QItemSelection(first, last), command)


def _ends(rect: QRect) -> tuple[QPoint, QPoint]:
    return rect.topLeft(), rect.bottomRight()


def _into_view(
    start: int, size: int, scroll: int, covered: int, room: int, hint: QAbstractItemView.ScrollHint
) -> int:
    """The scroll that brings a cell into view, of which the first `covered` pixels belong to pinned lines."""
    if hint == QAbstractItemView.ScrollHint.PositionAtCenter:
        return start + size // 2 - (covered + room) // 2
    least, most = start + size - room, start - covered
    if hint == QAbstractItemView.ScrollHint.PositionAtTop or least > most:
        return most
    if hint == QAbstractItemView.ScrollHint.PositionAtBottom:
        return least
    return min(max(scroll, least), most)
