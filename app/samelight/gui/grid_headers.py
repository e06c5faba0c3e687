"""The frozen names beside the grid and the shots above it."""

from __future__ import annotations

from PySide6.QtCore import QPoint, QRect, Qt, Signal
from PySide6.QtGui import QContextMenuEvent, QFontMetrics, QMouseEvent, QPainter, QPaintEvent, QPolygon
from PySide6.QtWidgets import QHeaderView, QWidget

from samelight.gui import line_styles, theme
from samelight.gui.grid_layout import Layout
from samelight.gui.grid_model import GridModel
from samelight.gui.rows import Line

NAME_WIDTH = 232
ROW_HEIGHT = 24
COLUMN_WIDTH = 62
NARROWEST, WIDEST = 1, 200

_LEFT = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
_RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
_ELIDED_FROM = 48
"""From this width on every shot has its name, cut short if it must be; below, narrow columns share one."""


class _Header(QHeaderView):
    """A header that paints itself by the grid's layout."""

    menu_asked = Signal(int, QPoint)
    """A menu was asked for a section, at a place of the screen."""

    def __init__(self, orientation: Qt.Orientation, model: GridModel, parent: QWidget) -> None:
        super().__init__(orientation, parent)
        self._model = model
        self._layout = Layout(COLUMN_WIDTH, ROW_HEIGHT, 0, 0, 0, 0, 0, 0)
        self.setSectionsClickable(True)
        self.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)

    def lay_out(self, layout: Layout) -> None:
        """Follow the grid."""
        moved = self.own_part(layout) != self.own_part(self._layout)
        self._layout = layout
        if moved:
            self.viewport().update()

    def own_part(self, layout: Layout) -> tuple[int, ...]:
        """What of a layout this header shows."""
        raise NotImplementedError

    def section_at(self, place: QPoint) -> int | None:
        """The section at a place of the header."""
        raise NotImplementedError

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        section = self.section_at(event.pos())
        if section is not None:
            self.menu_asked.emit(section, event.globalPos())


class NameHeader(_Header):
    """The frozen column of names: groups with an arrow that expands them, rows with their unit."""

    toggled = Signal(int)
    """A group is to be expanded or collapsed."""
    plotted = Signal(int)
    """A group is to be added to the traces drawn together, or taken away."""
    chosen = Signal(int, bool)
    """A line is to be selected, or with True all up to it."""

    def __init__(self, model: GridModel, parent: QWidget) -> None:
        super().__init__(Qt.Orientation.Vertical, model, parent)
        self.setDefaultSectionSize(ROW_HEIGHT)
        self.setMinimumSectionSize(ROW_HEIGHT)
        self.setFixedWidth(NAME_WIDTH)
        self.setAccessibleName("Lights and parameters")
        self._unit_font = theme.font(8.0)
        self._fonts = {False: theme.font(10.0), True: theme.font(10.0, bold=True)}

    def own_part(self, layout: Layout) -> tuple[int, ...]:
        return layout.height, layout.lines, layout.top, layout.room_y, layout.frozen

    def section_at(self, place: QPoint) -> int | None:
        return self._layout.line_at(place.y())

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self.viewport())
        layout, room = self._layout, self.viewport().rect()
        painter.fillRect(room, theme.LINE)
        for block in layout.blocks(0, room.height()):
            painter.setClipRect(QRect(0, block.top, room.width(), block.height))
            for index in range(block.first, block.last):
                self._name(painter, QRect(0, layout.y_of(index), room.width(), layout.height), index)
        painter.setClipping(False)
        if layout.frozen:
            painter.fillRect(QRect(0, layout.frozen_height - 2, room.width(), 2), theme.grey(140))
        painter.end()

    def _name(self, painter: QPainter, rect: QRect, index: int) -> None:
        state = self._model.state
        line = state.lines[index]
        is_group = line.row is None
        lone = state.is_lone_pin(index)
        inner = rect.adjusted(0, 0, -1, -1)
        painter.fillRect(inner, theme.PANEL if is_group else theme.WINDOW)
        left = rect.left() + (8 if is_group or lone else 28)
        if is_group:
            following = state.lines[index + 1 : index + 2]
            listed = any(other.group == line.group and other.row is not None for other in following)
            _arrow(painter, left, rect.center().y(), open_=listed)
            left += 16
        unit = self._model.unit(line)
        right = self._together(painter, inner, line)
        painter.setFont(self._unit_font)
        unit_width = painter.fontMetrics().horizontalAdvance(unit)
        painter.setPen(theme.DIM_TEXT)
        painter.drawText(inner.adjusted(0, 0, right - inner.right() - 8, 0), _RIGHT, unit)
        locked = line.row is not None and state.table.rows[line.row].lock is not None
        painter.setFont(self._fonts[is_group])
        painter.setPen(theme.BRIGHT if is_group else theme.TEXT)
        room = QRect(left, rect.top(), max(right - unit_width - 14 - left, 10), rect.height() - 1)
        text = f"{self._model.title(line, lone=lone)}{' (locked)' if locked else ''}"
        fitted = painter.fontMetrics().elidedText(text, Qt.TextElideMode.ElideMiddle, room.width())
        painter.drawText(room, _LEFT, fitted)

    def _together(self, painter: QPainter, inner: QRect, line: Line) -> int:
        """Show beside a group's name the line it has in the traces; where the room for the unit ends."""
        state = self._model.state
        names = state.together
        if line.row is not None or state.groups[line.group].name not in names:
            return inner.right()
        place = names.index(state.groups[line.group].name)
        if place >= len(line_styles.STYLES):
            return inner.right()
        painter.setPen(line_styles.pen(place))
        y = inner.center().y()
        painter.drawLine(inner.right() - 38, y, inner.right() - 6, y)
        return inner.right() - 40

    def mousePressEvent(self, event: QMouseEvent) -> None:
        if event.button() != Qt.MouseButton.LeftButton:
            return
        index = self.section_at(event.position().toPoint())
        if index is None:
            return
        line = self._model.state.lines[index]
        if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self.plotted.emit(line.group)
        elif line.row is None:
            self.toggled.emit(line.group)
        else:
            self.chosen.emit(index, bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier))

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Nothing is dragged here."""

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """A press has said all."""


def _arrow(painter: QPainter, x: int, y: int, *, open_: bool) -> None:
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(theme.TEXT)
    if open_:
        points = [QPoint(x, y - 2), QPoint(x + 8, y - 2), QPoint(x + 4, y + 4)]
    else:
        points = [QPoint(x + 1, y - 4), QPoint(x + 7, y), QPoint(x + 1, y + 4)]
    painter.drawPolygon(QPolygon(points))


class ShotHeader(_Header):
    """The shots in cut order; an unreadable one is struck through. Narrow columns share a name, at the first of them."""

    def __init__(self, model: GridModel, parent: QWidget) -> None:
        super().__init__(Qt.Orientation.Horizontal, model, parent)
        self.setMinimumSectionSize(NARROWEST)
        self.setDefaultSectionSize(COLUMN_WIDTH)
        self.setFixedHeight(26)
        self.setAccessibleName("Shots in cut order")
        self._current = -1
        self._fonts = {False: theme.font(9.0), True: theme.font(9.0)}
        self._fonts[True].setStrikeOut(True)
        self._name_width = 0
        self._measured: tuple[str, ...] = ()

    def own_part(self, layout: Layout) -> tuple[int, ...]:
        return layout.width, layout.columns, layout.left, layout.room_x

    def section_at(self, place: QPoint) -> int | None:
        return self._layout.column_at(place.x())

    def mark(self, section: int) -> None:
        """Underline the shot under the cursor."""
        self._current = section
        self.viewport().update()

    def _widest(self) -> int:
        shots = self._model.state.table.shots
        if shots is not self._measured:
            metrics = QFontMetrics(self._fonts[False])
            self._measured = shots
            self._name_width = metrics.horizontalAdvance(max(shots, key=len, default=""))
        return self._name_width

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self.viewport())
        layout, room = self._layout, self.viewport().rect()
        painter.fillRect(room, theme.LINE)
        first, last = layout.columns_between(0, room.width())
        if first < last:
            painter.fillRect(layout.x_of(first), 0, (last - first) * layout.width, 25, theme.PANEL)
            widest = self._widest()
            step = 1 if layout.width >= min(widest + 6, _ELIDED_FROM) else -(-(widest + 12) // layout.width)
            current = first <= self._current < last
            covered = (
                range(self._current - step + 1, self._current + step) if current and step > 1 else range(0)
            )
            for section in range(first - first % step, last, step):
                if section not in covered:
                    self._shot(painter, section, step)
            self._gaps(painter, first, last)
            if current:
                self._shot(painter, self._current, step)
        painter.end()

    def _shot(self, painter: QPainter, section: int, step: int) -> None:
        state, layout = self._model.state, self._layout
        shot = state.table.shots[state.columns[section]]
        current = section == self._current
        unreadable = shot not in state.session.comparison.sheets
        x = layout.x_of(section)
        painter.setFont(self._fonts[unreadable])
        painter.setPen(theme.BRIGHT if current else theme.DIM_TEXT if unreadable else theme.TEXT)
        if step == 1:
            painter.fillRect(x + layout.width - 1, 0, 1, 26, theme.LINE)
            room = QRect(x + 2, 0, layout.width - 4, 25)
            fitted = painter.fontMetrics().elidedText(shot, Qt.TextElideMode.ElideLeft, room.width())
            painter.drawText(room, Qt.AlignmentFlag.AlignCenter, fitted)
        else:
            width = painter.fontMetrics().horizontalAdvance(shot)
            room = QRect(x + 4, 0, width + 2, 25)
            if current:
                room.moveLeft(min(room.left(), layout.room_x - width - 8))
                painter.fillRect(room.adjusted(-4, 0, 4, 0), theme.grey(84))
            else:
                painter.fillRect(x, 15, 1, 10, theme.EDGE)
            painter.drawText(room, _LEFT, shot)
        if current:
            painter.fillRect(QRect(x, 23, max(layout.width - 1, 3), 3), theme.BRIGHT)

    def _gaps(self, painter: QPainter, first: int, last: int) -> None:
        """A light line where shots are hidden between two columns."""
        columns = self._model.state.columns
        for section in range(max(first, 1), last):
            if columns[section] - columns[section - 1] > 1:
                painter.fillRect(self._layout.x_of(section) - 1, 0, 2, 26, theme.DIM_TEXT)
