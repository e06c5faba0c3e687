"""The overview: every listed line and shot in one small map above the grid, with a frame around what the grid shows."""

from __future__ import annotations

import math

from PySide6.QtCore import QEvent, QPoint, QPointF, QRect, QRectF, QSize, Qt
from PySide6.QtGui import QHelpEvent, QImage, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from samelight.drift.cells import Cell
from samelight.gui.grid.headers import NAME_WIDTH
from samelight.gui.grid.model import GridModel
from samelight.gui.grid.overview_data import Span, extent_lines, largest
from samelight.gui.grid.painting import start_on_a_pixel
from samelight.gui.grid.under_pointer import tip_under, worst_under
from samelight.gui.grid.view import GridView
from samelight.gui.paint import shades, theme
from samelight.gui.paint.drawn_text import draw_text
from samelight.gui.widgets.plain_text import plain
from samelight.gui.widgets.shows_focus import ShowsFocus

HEIGHT = 80
_MARGIN = 6
_HELP = (
    "Every listed shot and row, the whole cut in one map; lone drifts never vanish. What was intended is light grey.\n"
    "Click or drag to go there; double-click to put the cursor there. Arrows, Page up, Page down, Home and End scroll."
)
_STEPS = {
    Qt.Key.Key_Left: (-0.25, 0.0),
    Qt.Key.Key_Right: (0.25, 0.0),
    Qt.Key.Key_Up: (0.0, -0.25),
    Qt.Key.Key_Down: (0.0, 0.25),
    Qt.Key.Key_PageUp: (-1.0, 0.0),
    Qt.Key.Key_PageDown: (1.0, 0.0),
    Qt.Key.Key_Home: (-1e6, 0.0),
    Qt.Key.Key_End: (1e6, 0.0),
}
"""How far a key scrolls, in widths and heights of what is in view."""


class Overview(ShowsFocus, QWidget):
    """The map. Beside it, in the width of the names, it says what is in view."""

    def __init__(self, model: GridModel, grid: GridView, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._model = model
        self._grid = grid
        self._image = QImage()
        self._drawn: tuple[object, ...] = ()
        self.setFixedHeight(HEIGHT)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName("Overview of the cut")
        self.setAccessibleDescription(_HELP)
        self.setCursor(Qt.CursorShape.CrossCursor)
        grid.geometry_changed.connect(self.update)
        grid.spot_changed.connect(self.update)
        model.dataChanged.connect(self.update)
        model.modelReset.connect(self.update)

    def sizeHint(self) -> QSize:
        return QSize(600, HEIGHT)

    # Where things lie

    def map_rect(self) -> QRect:
        """Where the map is drawn: as wide as the grid's cells, and above them."""
        left = self._grid.names.width() if self._grid.isVisible() else NAME_WIDTH
        width = min(self._grid.viewport().width(), self.width() - left)
        if self._grid.widths.fitted:  # few shots do not fill the grid
            layout = self._grid.layout_now()
            width = min(width, math.ceil(layout.whole / layout.ratio))
        return QRect(left, _MARGIN, max(width, 0), HEIGHT - 2 * _MARGIN)

    def map_pixels(self) -> tuple[int, int]:
        """How many pixels the map has, across and down. Across the screen's, as many as the grid's view, so that both show
        the same shots under the same pixels where the whole cut fits; down Qt's, so that a lone drift is as thick on
        every screen."""
        room, ratio = self.map_rect(), self.devicePixelRatioF()
        return math.floor(room.width() * ratio + 1e-6), room.height()

    def _down(self) -> Span:
        """What of the lines the grid shows, in Qt's pixels."""
        layout = self._grid.layout_now()
        frozen = layout.frozen_height
        return Span(layout.lines, layout.height, layout.top + frozen, layout.room_y - frozen)

    def _across(self) -> Span:
        """What of the shots the grid shows, in the screen's pixels; they are not told apart, since columns need not be
        whole pixels wide."""
        layout = self._grid.layout_now()
        return Span(1, layout.whole, layout.left, layout.room_x)

    def frame(self) -> QRectF:
        """The part of the map that the grid shows."""
        room = self.map_rect()
        left, right = self._across().visible(room.width())
        top, bottom = self._down().visible(room.height())
        return QRectF(room.left() + left, room.top() + top, max(right - left, 4.0), max(bottom - top, 4.0))

    def under(self, place: QPointF) -> tuple[range, range]:
        """The lines and the places of the shots under a point."""
        (width, height), room, ratio = self.map_pixels(), self.map_rect(), self.devicePixelRatioF()
        state = self._model.state
        x = (place.x() - room.left()) * ratio - self._grid.layout_now().shift
        y = place.y() - room.top()
        lines = Span(len(state.listing.lines), 1, 0, 1).cells_at(y, height)
        return lines, Span(len(state.listing.columns), 1, 0, 1).cells_at(x, width)

    def cell_at(self, place: QPointF) -> Cell | None:
        """Line and place of the shot under a point: of all cells under that pixel the one that drifts most."""
        return worst_under(self._model, *self.under(place))

    # What is drawn

    def _map(self) -> QImage:
        state, (width, height) = self._model.state, self.map_pixels()
        drawn = (state, state.revision, width, height)
        if drawn != self._drawn:
            self._image = shades.image_of(largest(self._model.picture.codes(state), height, width))
            self._drawn = drawn
        return self._image

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        room = self.map_rect()
        self._say(painter, room.left() - 12)
        state = self._model.state
        painter.fillRect(room, theme.EMPTY_CELL)
        if room.width() > 0 and state.listing.lines and state.listing.columns:
            image, ratio = self._map(), self.devicePixelRatioF()
            painter.save()
            start_on_a_pixel(painter, QPointF(room.topLeft()))
            painter.drawImage(QRectF(0, 0, image.width() / ratio, image.height()), image)
            painter.restore()
            self._cursor(painter, room)
            frame = self.frame().adjusted(-2, -2, 2, 2)  # around what is in view, covering nothing of it
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(theme.grey(0), 4))
            painter.drawRect(frame)
            painter.setPen(QPen(theme.BRIGHT, 2))
            painter.drawRect(frame)
        if self.hasFocus():
            painter.setPen(QPen(theme.HIGHLIGHT, 1))
            painter.drawRect(self.rect().adjusted(0, 0, -1, -1))
        painter.end()

    def _say(self, painter: QPainter, width: int) -> None:
        """Write beside the map what it is, and below that as much as there is room for."""
        painter.setFont(theme.font(bold=True))
        painter.setPen(theme.TEXT)
        top = 5
        for text in ("Overview", *extent_lines(self._model.state, self._grid.layout_now())):
            metrics = painter.fontMetrics()
            if top + metrics.height() > HEIGHT:
                break
            fitted = metrics.elidedText(text, Qt.TextElideMode.ElideRight, width)
            draw_text(painter, QRect(8, top, width, metrics.height()), Qt.AlignmentFlag.AlignLeft, fitted)
            top += metrics.height() + 1
            painter.setFont(theme.font(theme.SMALL))
            painter.setPen(theme.DIM_TEXT)

    def _cursor(self, painter: QPainter, room: QRect) -> None:
        """Two notches at the edges of the map, above and beside the cell under the grid's cursor."""
        index = self._grid.currentIndex()
        if not index.isValid():
            return
        state = self._model.state
        x = room.left() + (index.column() + 0.5) / max(len(state.listing.columns), 1) * room.width()
        y = room.top() + (index.row() + 0.5) / max(len(state.listing.lines), 1) * room.height()
        painter.fillRect(QRectF(x - 1.5, room.top() - 5, 3, 5), theme.BRIGHT)
        painter.fillRect(QRectF(x - 1.5, room.bottom() + 1, 3, 5), theme.BRIGHT)
        painter.fillRect(QRectF(room.left() - 6, y - 1.5, 6, 3), theme.BRIGHT)

    # Going there

    def _go(self, place: QPoint) -> None:
        room, layout = self.map_rect(), self._grid.layout_now()
        left = self._across().offset_for(place.x() - room.left(), room.width())
        top = self._down().offset_for(place.y() - room.top(), room.height()) - layout.frozen_height
        self._grid.scroll_to(left, max(top, 0))

    def mousePressEvent(self, event: QMouseEvent) -> None:
        if event.button() == Qt.MouseButton.LeftButton:
            self._go(event.position().toPoint())

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        if event.buttons() & Qt.MouseButton.LeftButton:
            self._go(event.position().toPoint())

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        cell = self.cell_at(event.position())
        if cell is not None:
            self._grid.go_to_line(cell[0], self._model.state.listing.columns[cell[1]])
            self._grid.setFocus()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        step = _STEPS.get(Qt.Key(event.key()))
        if step is None:
            super().keyPressEvent(event)
            return
        layout = self._grid.layout_now()
        across, down = round(step[0] * layout.room_x), round(step[1] * layout.room_y)
        self._grid.scroll_to(layout.left + across, layout.top + down)

    def event(self, event: QEvent) -> bool:
        if isinstance(event, QHelpEvent) and event.type() == QEvent.Type.ToolTip:
            QToolTip.showText(event.globalPos(), plain(self.tip_at(QPointF(event.pos()))), self)
            return True
        return super().event(event)

    def tip_at(self, place: QPointF) -> str:
        """What the mouse is told at a place: the cell that drifts most there, or what this map is."""
        return tip_under(self._model, *self.under(place)) or _HELP
