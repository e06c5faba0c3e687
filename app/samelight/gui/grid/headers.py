"""The frozen names beside the grid and the shots above it."""

from __future__ import annotations

import math

from PySide6.QtCore import QEvent, QPoint, QPointF, QRect, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QContextMenuEvent,
    QHelpEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPolygon,
)
from PySide6.QtWidgets import QHeaderView, QToolTip, QWidget

from samelight.gui.grid.cut_strip import CutStrip
from samelight.gui.grid.layout import Layout
from samelight.gui.grid.model import GridModel
from samelight.gui.grid.painting import hair, start_on_a_pixel
from samelight.gui.grid.shot_labels import Label, ShotLabels
from samelight.gui.grid.under_pointer import shots_said, worst_under
from samelight.gui.paint import line_styles, theme
from samelight.gui.paint.drawn_text import draw_text
from samelight.gui.state.grid_words import line_title, line_unit, shot_tip
from samelight.gui.state.rows import Line
from samelight.gui.widgets.plain_text import plain

NAME_WIDTH = 232
ROW_HEIGHT = 24
COLUMN_WIDTH = 62

_LEFT = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
_RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter


class _Header(QHeaderView):
    """A header that paints itself by the grid's layout."""

    menu_asked = Signal(int, QPoint)
    """A menu was asked for a section, at a place of the screen."""

    def __init__(self, orientation: Qt.Orientation, model: GridModel, parent: QWidget) -> None:
        super().__init__(orientation, parent)
        self._model = model
        self._layout = Layout(0, ROW_HEIGHT, 0, 0, 0, 0, 0, 0)
        self.setSectionsClickable(True)
        self.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)

    def sizeHint(self) -> QSize:
        # It is fixed. Qt would ask for the names of a hundred sections each time.
        return self.minimumSize()

    def lay_out(self, layout: Layout) -> None:
        """Follow the grid."""
        moved = self.own_part(layout) != self.own_part(self._layout)
        self._layout = layout
        if moved:
            self.viewport().update()

    def own_part(self, layout: Layout) -> tuple[float, ...]:
        """What of a layout this header shows."""
        raise NotImplementedError

    def section_at(self, place: QPointF) -> int | None:
        """The section at a place of the header."""
        raise NotImplementedError

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        section = self.section_at(QPointF(event.pos()))
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
        self._unit_font = theme.font(theme.SMALL)
        self._fonts = {False: theme.font(), True: theme.font(bold=True)}

    def own_part(self, layout: Layout) -> tuple[float, ...]:
        return layout.height, layout.lines, layout.top, layout.room_y, layout.frozen

    def section_at(self, place: QPointF) -> int | None:
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
        line = state.listing.lines[index]
        is_group = line.row is None
        lone = state.listing.is_lone(index)
        inner = rect.adjusted(0, 0, -1, -1)
        painter.fillRect(inner, theme.PANEL if is_group or lone else theme.WINDOW)
        left = rect.left() + (8 if is_group else 24 if lone else 28)
        if is_group:
            following = state.listing.lines[index + 1 : index + 2]
            listed = any(other.group == line.group and other.row is not None for other in following)
            _arrow(painter, left, rect.center().y(), open_=listed)
            left += 16
        unit = line_unit(state, line)
        right = self._together(painter, inner, line, lone=lone)
        painter.setFont(self._unit_font)
        unit_width = painter.fontMetrics().horizontalAdvance(unit)
        painter.setPen(theme.DIM_TEXT)
        draw_text(painter, inner.adjusted(0, 0, right - inner.right() - 8, 0), _RIGHT, unit)
        locked = line.row is not None and any(row.lock for row in state.table.variants(line.row))
        painter.setFont(self._fonts[is_group])
        painter.setPen(theme.BRIGHT if is_group else theme.TEXT)
        room = QRect(left, rect.top(), max(right - unit_width - 14 - left, 10), rect.height() - 1)
        text = f"{line_title(state, line, lone=lone)}{' (locked)' if locked else ''}"
        fitted = painter.fontMetrics().elidedText(text, Qt.TextElideMode.ElideMiddle, room.width())
        draw_text(painter, room, _LEFT, fitted)

    def _together(self, painter: QPainter, inner: QRect, line: Line, *, lone: bool) -> int:
        """Show beside a group's name the line it has in the traces; where the room for the unit ends."""
        state = self._model.state
        names = state.view.together
        if (line.row is not None and not lone) or state.groups[line.group].name not in names:
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
        index = self.section_at(event.position())
        if index is None:
            return
        line = self._model.state.listing.lines[index]
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
        # Qt's own sections are whole pixels; where columns lie is the layout's to say.
        self.setMinimumSectionSize(1)
        self.setDefaultSectionSize(1)
        self.strip = CutStrip(model, self)
        self.strip.changed.connect(self.viewport().update)
        self._beside = 0
        self.setAccessibleName("Shots in cut order")
        self._current = -1
        self._dragged = -1
        self._fonts = {False: theme.font(theme.DENSE), True: theme.font(theme.DENSE)}
        self._fonts[True].setStrikeOut(True)
        self.labels = ShotLabels(model, self._fonts[False])

    def make_room(self, beside: int) -> None:
        """Be as high as what stands beside the names of the shots, and no lower than these and the strip need."""
        self._beside = beside
        self.take_room()

    def take_room(self) -> None:
        """Take the height that is needed now."""
        strip = self.strip
        needed = strip.pictures_height + strip.lighters_height + self.names_height + strip.counts_height
        self.setFixedHeight(max(needed, self._beside))

    @property
    def names_height(self) -> int:
        """How high the names of the shots stand."""
        return math.ceil(self.labels.metrics.height()) + 4

    def _names_top(self) -> int:
        """Where the names begin: below pictures and lighters, above the counts."""
        return self.height() - self.names_height - self.strip.counts_height

    def lines(self) -> list[tuple[str, tuple[int, int]]]:
        """What the lines of figures and names here say, each with where it begins and how high it is."""
        strip, top = self.strip, self._names_top()
        lighters = strip.lighters_height
        found = [("lit by", (top - lighters, lighters))] if lighters else []
        return [*found, ("undecided", (self.height() - strip.counts_height - 2, strip.counts_height))]

    def lay_out(self, layout: Layout) -> None:
        super().lay_out(layout)
        self.take_room()  # sequence.yaml may name lighters now, or none any more
        self.strip.ask(layout)

    def own_part(self, layout: Layout) -> tuple[float, ...]:
        return layout.across

    def section_at(self, place: QPointF) -> int | None:
        columns = self._layout.columns_at(self._layout.pixel(place.x()))
        worst = worst_under(self._model, range(len(self._model.state.listing.lines)), columns)
        if worst is not None:
            return worst[1]
        return columns[0] if columns else None

    def mark(self, section: int) -> None:
        """Underline the shot under the cursor."""
        self._current = section
        self.viewport().update()

    # The mouse

    def mousePressEvent(self, event: QMouseEvent) -> None:
        section = self.section_at(event.position())
        if event.button() == Qt.MouseButton.LeftButton and section is not None:
            self._dragged = section
            self.sectionPressed.emit(section)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        section = self.section_at(event.position())
        if event.buttons() & Qt.MouseButton.LeftButton and section not in (None, self._dragged):
            self._dragged = section
            self.sectionEntered.emit(section)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """A press has said all."""

    def viewportEvent(self, event: QEvent) -> bool:
        if isinstance(event, QHelpEvent) and event.type() == QEvent.Type.ToolTip:
            QToolTip.showText(event.globalPos(), plain(self.tip_at(QPointF(event.pos()))), self)
            return True
        return super().viewportEvent(event)

    def tip_at(self, place: QPointF) -> str:
        """What the mouse is told at a place: the shot, or all that share it."""
        columns = self._layout.columns_at(self._layout.pixel(place.x()))
        if len(columns) > 1:
            return shots_said(self._model.state, columns)
        state = self._model.state
        return shot_tip(state, state.table.shots[state.listing.columns[columns[0]]]) if columns else ""

    # What is drawn

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self.viewport())
        layout = self._layout
        painter.fillRect(self.viewport().rect(), theme.LINE)
        start_on_a_pixel(painter)
        first, last = layout.columns_between(0, layout.room_x + 1)
        if first < last:
            start, end = layout.span(first)[0], layout.span(last - 1)[1]
            panel = QRectF(start / layout.ratio, 0, (end - start) / layout.ratio, self.height() - 1)
            painter.fillRect(panel, theme.PANEL)
            for label in self.labels.written(layout, self._current):
                self._write(painter, label)
            self.strip.paint(painter, layout, self._names_top() - self.strip.lighters_height)
            self.strip.paint_counts(painter, layout, self.height() - self.strip.counts_height - 2)
            self._gaps(painter, first, last)
            if first <= self._current < last:
                start, end = layout.span(self._current)
                width = max((end - start - hair(layout.ratio)) / layout.ratio, 3.0)
                left = (start + end) / 2 / layout.ratio - 1.5 if width == 3.0 else start / layout.ratio
                painter.fillRect(QRectF(left, self.height() - 3, width, 3), theme.BRIGHT)
        painter.end()

    def _write(self, painter: QPainter, label: Label) -> None:
        state, layout = self._model.state, self._layout
        shot = state.table.shots[state.listing.columns[label.section]]
        current = label.section == self._current
        unreadable = shot not in state.session.comparison.sheets
        start, end = (edge / layout.ratio for edge in layout.span(label.section))
        thin = hair(layout.ratio) / layout.ratio
        painter.setFont(self._fonts[unreadable])
        painter.setPen(theme.BRIGHT if current else theme.DIM_TEXT if unreadable else theme.TEXT)
        top, high = self._names_top(), self.names_height
        room = QRectF(label.left, top, label.width, high)
        if self.labels.one_each(layout):
            painter.fillRect(QRectF(end - thin, top, thin, self.height() - top), theme.LINE)
            fitted = self.labels.metrics.elidedText(shot, Qt.TextElideMode.ElideLeft, label.width)
            draw_text(painter, room, Qt.AlignmentFlag.AlignCenter, fitted)
            return
        if current:
            painter.fillRect(room.adjusted(-4, 0, 4, 0), theme.grey(84))
        else:
            painter.fillRect(QRectF(start, top + high - 11, thin, 10), theme.EDGE)
        middle = top + (high + self.labels.metrics.ascent() - self.labels.metrics.descent()) / 2
        draw_text(painter, QPointF(label.left, middle), shot)

    def _gaps(self, painter: QPainter, first: int, last: int) -> None:
        """A light line where shots are hidden between two columns."""
        columns, layout = self._model.state.listing.columns, self._layout
        if len(columns) == len(self._model.state.table.shots):
            return
        for section in range(max(first, 1), last):
            if columns[section] - columns[section - 1] > 1:
                x = layout.span(section)[0] / layout.ratio
                painter.fillRect(QRectF(x - 1, 0, 2, self.height()), theme.DIM_TEXT)
