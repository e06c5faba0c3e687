"""Draws the grid's cells: colours as one picture, then marks and texts where there is something to say.

Drawing cell by cell costs a call of Python for each; a picture costs one for all, whatever the zoom. It has a column of
pixels for each pixel of the screen, so that every cell begins and ends exactly where the layout says.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QPointF, QRect, QRectF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPolygonF

from samelight.drift.cells import Grade
from samelight.drift.table import Table
from samelight.gui.grid.layout import WIDE_FROM, Block, Layout
from samelight.gui.grid.model import GridModel, Shown
from samelight.gui.grid.words import cell_forms
from samelight.gui.paint import drift_scale, shades, theme
from samelight.gui.paint.drawn_text import draw_text
from samelight.gui.paint.shades import Codes
from samelight.gui.state.cell_states import STATES

TEXT_FROM = 40
"""Columns narrower than this (pixels) show colour and marks only."""
MARKS_FROM = WIDE_FROM
"""Columns narrower than this show colour only; what was intended is then one grey."""
GAPS_FROM = 5
"""Columns narrower than this touch each other."""

_MARKED = {int(Grade.WITHIN): 7, int(Grade.DRIFT): 10, int(Grade.BREAK): 9}
"""How far a mark reaches into a cell, with a pixel to its text; a dot with two, or it would be read as a decimal point."""
_SIGN = 13
"""How far the sign of what was decided reaches into a cell from its end."""

_FINEST = 64
"""Into how many parts Qt divides a pixel to place a text. It rounds towards 0: a text that begins left of the view would stand
elsewhere than it did as a whole."""

_CENTRE = Qt.AlignmentFlag.AlignCenter
_LEFT = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter


def start_on_a_pixel(painter: QPainter, at: QPointF | None = None) -> None:
    """Move the origin to a place (in Qt's pixels), and from there to the nearest whole pixel of the screen: on a scaled
    screen a widget may begin within one."""
    at = at or QPointF()
    screen = painter.deviceTransform()
    there = screen.map(at)
    right, down = (math.floor(place + 0.5) - place for place in (there.x(), there.y()))
    painter.translate(at.x() + right / screen.m11(), at.y() + down / screen.m22())


def hair(ratio: float) -> int:
    """How many pixels of the screen the thinnest line has."""
    return max(int(ratio), 1)


def shown_codes(codes: Codes, layout: Layout, left: int, right: int) -> Codes:
    """One code for each line and for each pixel of a stretch of the view that lies within the grid: the largest, so
    the worst, of those under the pixel. `codes` has the shape (lines, columns)."""
    starts = layout.starts(left, right + 1)
    first = int(starts[0])
    if not layout.shared:
        taken: Codes = codes[:, starts[:-1]]
        return taken
    worst: Codes = np.maximum.reduceat(codes[:, first : int(starts[-1])], starts[:-1] - first, axis=1)
    return worst


class GridPainter:
    """Paints the part of the grid that a layout puts into the view, with the painter's origin at the view's."""

    def __init__(self, model: GridModel) -> None:
        self._model = model
        self._font = theme.font(theme.DENSE)
        self._small = theme.font(theme.SMALL)
        self._since_font = theme.font(theme.SMALL, bold=True)
        self._metrics = QFontMetricsF(self._font)
        self._fitted: dict[tuple[int, int, float, bool, bool], tuple[str, float]] = {}
        self._table: Table | None = None
        self._shown = model.shown
        self.inks = [drift_scale.ink(*shades.rgb(code)) for code in range(256)]
        self.inks[shades.SAME] = self.inks[shades.SAME_IN_GROUP] = self.inks[shades.EMPTY] = theme.DIM_TEXT
        self.inks[shades.INTENDED] = theme.TEXT
        """What is written with on the ground of each code."""

    def paint(self, painter: QPainter, layout: Layout, clip: QRect) -> None:
        """Paint all cells that `clip` meets."""
        clip = clip.adjusted(-1, -1, 1, 1)  # the origin may have moved by half a pixel
        for block in layout.blocks(clip.top(), clip.top() + clip.height()):
            painter.setClipRect(QRect(clip.left(), block.top, clip.width(), block.height))
            self._block(painter, layout, block, clip)
            if layout.width >= MARKS_FROM:
                self._since(painter, layout, block, clip)
        painter.setClipping(False)
        if layout.frozen and clip.top() <= layout.frozen_height:
            painter.fillRect(QRect(clip.left(), layout.frozen_height - 2, clip.width(), 2), theme.grey(140))

    def _block(self, painter: QPainter, layout: Layout, block: Block, clip: QRect) -> None:
        # A pixel more on both sides: the origin may have moved by half of one.
        left = max(layout.pixel(clip.left()) - 1, -layout.left)
        right = min(layout.pixel(clip.left() + clip.width()) + 2, layout.whole - layout.left)
        first, last = layout.columns_between(left, right)
        if first >= last:
            return
        listed = self._model.picture.codes(self._model.state)[block.first : block.last]
        codes = shown_codes(listed, layout, left, right)
        ratio, height = layout.ratio, layout.height
        detailed = layout.width >= MARKS_FROM
        drawn = np.where(codes == shades.INTENDED, shades.SAME, codes) if detailed else codes
        x, across, down = left / ratio, (right - left) / ratio, (block.last - block.first) * height
        painter.drawImage(QRectF(x, block.y, across, down), shades.image_of(drawn))
        thin, lines = hair(ratio) / ratio, self._model.state.listing.lines
        for index in range(block.first, block.last):
            # Of the two that another light parts, the upper one draws the line: else it would be missing where only that is painted.
            if index + 1 < len(lines) and lines[index].group != lines[index + 1].group:
                painter.fillRect(QRectF(x, layout.y_of(index) + height - thin, across, thin), theme.LINE)
        codes = listed[:, first:last]
        said = codes > shades.SAME_IN_GROUP
        if layout.width >= GAPS_FROM:
            self._part(painter, layout, (block.first, first), said)
        if detailed:
            spots = np.argwhere(
                said | (codes != shades.EMPTY) if self._model.shown is not Shown.DRIFT else said
            )
            places = [(int(i) + block.first, int(j) + first) for i, j in spots]
            self._details(painter, layout, places, [int(codes[i, j]) for i, j in spots])

    def _part(self, painter: QPainter, layout: Layout, at: tuple[int, int], said: NDArray[np.bool_]) -> None:
        """Lines that part the cells which say something from each other and from the rest; those that are the same have
        none. `said` has the shape (lines, columns), and begins `at` a line and a column."""
        ratio, height = layout.ratio, layout.height
        thin = hair(ratio) / ratio
        for line, column, beyond in _runs(said):
            start, end = layout.span(at[1] + column)[0] / ratio, layout.span(at[1] + beyond - 1)[1] / ratio
            y = layout.y_of(at[0] + line) + height - thin
            painter.fillRect(QRectF(start, y, end - start, thin), theme.LINE)
        for column, line, beyond in _runs(said.T):
            x = layout.span(at[1] + column)[1] / ratio - thin
            top = layout.y_of(at[0] + line)
            painter.fillRect(QRectF(x, top, thin, (beyond - line) * height), theme.LINE)

    def _details(
        self, painter: QPainter, layout: Layout, places: Iterable[tuple[int, int]], codes: Iterable[int]
    ) -> None:
        state = self._model.state
        texts: list[tuple[QRectF, str, QColor]] = []
        shapes: list[tuple[QRectF, int, QColor]] = []
        signs: list[tuple[QRectF, str, QColor]] = []
        for (index, place), code in zip(places, codes, strict=True):
            column = state.listing.columns[place]
            line = state.listing.lines[index]
            row = state.listing.row_at(line, column)
            cell = cell_rect(layout, index, place)
            ink = self.inks[code]
            if code == shades.INTENDED:
                # Meant: the drift's colour stays readable as a frame, the fill goes back to grey.
                frame = drift_scale.colour(float(state.table.severity[row, column]))
                painter.fillRect(cell, frame)
                painter.fillRect(cell.adjusted(3, 3, -3, -3), theme.CELL)
            grade = int(state.table.grade[row, column])
            if grade > Grade.SAME:
                shapes.append((cell, grade, ink))
            if (row, column) in state.explained:
                painter.fillRect(QRectF(cell.left() + 3, cell.top() + 2, 7, 2), ink)
            sign = drift_scale.STATE_MARKS[STATES[state.standing.states[row, column]]]
            if sign:
                signs.append((cell, sign, ink))
            if layout.width >= TEXT_FROM:
                text, wide = self._said(row, column, layout.width, grade, code, whole=line.row is None)
                if text:
                    room = QRectF(cell)
                    start = cell.left() + max((cell.width() - wide) / 2, _clear(grade, code))
                    room.setLeft(math.floor(start * _FINEST) / _FINEST)
                    if sign and room.left() + wide > cell.right() - _SIGN:
                        room.translate(0, 2)
                    texts.append((room, text, ink))
        painter.setFont(self._font)
        for cell, text, ink in texts:
            painter.setPen(ink)
            draw_text(painter, cell, _LEFT, text)
        painter.setPen(Qt.PenStyle.NoPen)
        for cell, grade, ink in shapes:
            painter.setBrush(ink)
            _mark(painter, cell, grade)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setFont(self._small)
        for cell, sign, ink in signs:
            painter.setPen(ink)
            draw_text(painter, QRectF(cell.right() - 14, cell.top(), 12, 12), _CENTRE, sign)

    def _since(self, painter: QPainter, layout: Layout, block: Block, clip: QRect) -> None:
        """What is new, moved or mended since the moment that is looked back to, at the foot of its cell."""
        state = self._model.state
        if not state.looked_back.signs:
            return
        first, last = layout.columns_between(
            layout.pixel(clip.left()) - 1, layout.pixel(clip.left() + clip.width()) + 2
        )
        painter.setFont(self._since_font)
        for index in range(block.first, block.last):
            for column, sign in state.looked_back.signs.get(self._row_of(index), ()):
                place = state.listing.place(column)
                if place is None or not first <= place < last:
                    continue
                cell = cell_rect(layout, index, place)
                room = QRectF(cell.right() - 11, cell.bottom() - 11, 10, 10)
                painter.fillRect(room, theme.grey(16))
                painter.setPen(theme.BRIGHT)
                draw_text(painter, room, _CENTRE, sign)

    def _row_of(self, index: int) -> int:
        """The row of a line; of a light as a whole, the one that says whether it is there."""
        line = self._model.state.listing.lines[index]
        if line.row is not None:
            return line.row
        presence = self._model.state.groups[line.group].presence
        return presence if presence is not None else -1

    def _said(
        self, row: int, column: int, width: float, grade: int, code: int, *, whole: bool
    ) -> tuple[str, float]:
        """The fullest text of a cell that fits into it, and how wide it is; `whole` for that of a light as a whole."""
        state, shown = self._model.state, self._model.shown
        if self._table is not state.table or self._shown is not shown:
            self._fitted, self._table, self._shown = {}, state.table, shown
        # Cells of a row that hold the same say the same.
        key = row, int(state.table.codes[row, column]), width, code == shades.INTENDED, whole
        found = self._fitted.get(key)
        if found is None:
            if len(self._fitted) > 20000:
                self._fitted.clear()
            north = state.session.contents.sequence.conventions.north
            forms = cell_forms(state.table.cell(row, column), shown, unit_known=not whole, north=north)
            room = width - 1 - _clear(grade, code) - (4 if code == shades.INTENDED else 1)
            fitting = ((form, self._metrics.horizontalAdvance(form)) for form in forms)
            found = next((each for each in fitting if each[1] <= room), ("", 0.0))
            self._fitted[key] = found
        return found


def _runs(said: NDArray[np.bool_]) -> Iterable[tuple[int, int, int]]:
    """The runs of what holds along each row: the row, the first place and the one after the last."""
    padded = np.zeros((said.shape[0], said.shape[1] + 2), dtype=np.int8)
    padded[:, 1:-1] = said
    steps = np.diff(padded, axis=1)
    rows, starts = np.nonzero(steps == 1)
    ends = np.nonzero(steps == -1)[1]
    return zip(rows.tolist(), starts.tolist(), ends.tolist(), strict=True)


def _clear(grade: int, code: int) -> int:
    """Where in a cell its text may begin: beside the mark of its level, and within the frame of what was intended."""
    return _MARKED.get(grade, 4 if code == shades.INTENDED else 3)


def _mark(painter: QPainter, cell: QRectF, grade: int) -> None:
    left, bottom = cell.left() + 3, cell.bottom() - 3
    if grade == Grade.BREAK:
        painter.drawRect(QRectF(left, bottom - 5, 5, 5))
    elif grade == Grade.DRIFT:
        triangle = [QPointF(left, bottom), QPointF(left + 6, bottom), QPointF(left + 3, bottom - 6)]
        painter.drawPolygon(QPolygonF(triangle))
    elif grade == Grade.WITHIN:
        painter.drawEllipse(QRectF(left, bottom - 2, 2, 2))


def cell_rect(layout: Layout, line: int, column: int, *, to_column: int | None = None) -> QRectF:
    """A cell without the line that parts it from the next, in Qt's pixels from the view's origin; with `to_column` all
    cells from the one to the other."""
    start = layout.span(column)[0]
    end = layout.span(column if to_column is None else to_column)[1]
    gap = hair(layout.ratio)
    if layout.width >= GAPS_FROM:
        end -= gap
    width = max(end - start, 1) / layout.ratio
    return QRectF(start / layout.ratio, layout.y_of(line), width, layout.height - gap / layout.ratio)


def paint_selection(painter: QPainter, layout: Layout, ranges: Iterable[tuple[int, int, int, int]]) -> None:
    """Frame what is selected: ranges as first and last line, first and last column, all within. Wide cells are framed one
    by one, narrow ones together."""
    first, last = layout.columns_between(0, layout.room_x)
    for block in layout.blocks(0, layout.room_y):
        painter.setClipRect(QRectF(0, block.top, layout.room_x / layout.ratio, block.height))
        for top, bottom, left, right in ranges:
            lines = range(max(top, block.first), min(bottom + 1, block.last))
            columns = range(max(left, first), min(right + 1, last))
            if not lines or not columns:
                continue
            if layout.width >= MARKS_FROM:
                for line in lines:
                    for column in columns:
                        _frame(painter, layout, cell_rect(layout, line, column), theme.TEXT)
            else:
                high = cell_rect(layout, lines[0], columns[0], to_column=columns[-1])
                low = cell_rect(layout, lines[-1], columns[0], to_column=columns[-1])
                _frame(painter, layout, high.united(low), theme.TEXT)
    painter.setClipping(False)


def paint_cursor(painter: QPainter, layout: Layout, line: int, column: int, *, focused: bool) -> None:
    """Frame the cell under the cursor, at least wide enough to be seen: light around dark, so that it shows on any
    colour."""
    cell = cell_rect(layout, line, column)
    if cell.width() < 7:
        # Around a narrow one, as far on both sides, so that the cell itself stays in sight in the middle.
        reach = round(4 * layout.ratio) / layout.ratio
        cell.adjust(-reach, 0, reach, 0)
    if line >= layout.frozen:
        painter.setClipRect(QRectF(0, layout.frozen_height, layout.room_x / layout.ratio, layout.room_y))
    bright = theme.BRIGHT if focused else theme.DIM_TEXT
    for colour in (bright, bright, theme.grey(16)):
        _frame(painter, layout, cell, colour)
        thin = hair(layout.ratio) / layout.ratio
        cell.adjust(thin, thin, -thin, -thin)
    painter.setClipping(False)


def _frame(painter: QPainter, layout: Layout, rect: QRectF, colour: QColor) -> None:
    """The thinnest line along the inside of a rectangle. Filled, since a stroke may fall on either of two pixels."""
    thin = hair(layout.ratio) / layout.ratio
    x, y, width, height = rect.x(), rect.y(), rect.width(), rect.height()
    painter.fillRect(QRectF(x, y, width, thin), colour)
    painter.fillRect(QRectF(x, y + height - thin, width, thin), colour)
    painter.fillRect(QRectF(x, y, thin, height), colour)
    painter.fillRect(QRectF(x + width - thin, y, thin, height), colour)
