"""Draws the grid's cells: colours as one picture, then marks and texts where there is something to say.

Drawing cell by cell costs a call of Python for each; a picture costs one for all, whatever the zoom.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from PySide6.QtCore import QPoint, QRect, Qt
from PySide6.QtGui import QColor, QFontMetrics, QPainter, QPen, QPolygon

from samelight.drift.cells import Grade
from samelight.gui import drift_scale, shades, theme
from samelight.gui.grid_layout import Block, Layout
from samelight.gui.grid_model import GridModel, Shown
from samelight.gui.rows import STATES

TEXT_FROM = 40
"""Columns narrower than this (pixels) show colour and marks only."""
MARKS_FROM = 14
"""Columns narrower than this show colour only; what was intended is then one grey."""
GAPS_FROM = 5
"""Columns narrower than this touch each other."""

_CENTRE = Qt.AlignmentFlag.AlignCenter


class GridPainter:
    """Paints the part of the grid that a layout puts into the view."""

    def __init__(self, model: GridModel) -> None:
        self._model = model
        self._font = theme.font(9.0)
        self._small = theme.font(7.5)
        self._metrics = QFontMetrics(self._font)
        self._fitted: dict[tuple[str, int], str] = {}
        self._inks = [drift_scale.ink(*shades.rgb(code)) for code in range(256)]
        self._inks[shades.SAME] = self._inks[shades.SAME_IN_GROUP] = self._inks[shades.EMPTY] = theme.DIM_TEXT
        self._inks[shades.INTENDED] = theme.TEXT

    def paint(self, painter: QPainter, layout: Layout, clip: QRect) -> None:
        """Paint all cells that `clip` meets."""
        painter.fillRect(clip, theme.FIELD)
        for block in layout.blocks(clip.top(), clip.top() + clip.height()):
            painter.setClipRect(QRect(clip.left(), block.top, clip.width(), block.height))
            self._block(painter, layout, block, clip)
        painter.setClipping(False)
        if layout.frozen and clip.top() <= layout.frozen_height:
            painter.fillRect(QRect(clip.left(), layout.frozen_height - 2, clip.width(), 2), theme.grey(140))

    def _block(self, painter: QPainter, layout: Layout, block: Block, clip: QRect) -> None:
        first, last = layout.columns_between(clip.left(), clip.left() + clip.width())
        if first >= last:
            return
        codes = self._model.picture.codes(self._model.state)[block.first : block.last, first:last]
        x, width, height = layout.x_of(first), layout.width, layout.height
        across, down = (last - first) * width, (block.last - block.first) * height
        detailed = width >= MARKS_FROM
        drawn = np.where(codes == shades.INTENDED, shades.SAME, codes) if detailed else codes
        painter.drawImage(QRect(x, block.y, across, down), shades.image_of(drawn))
        for y in range(block.y + height - 1, block.y + down, height):
            painter.fillRect(x, y, across, 1, theme.LINE)
        if width >= GAPS_FROM:
            for right in range(x + width - 1, x + across, width):
                painter.fillRect(right, block.y, 1, down, theme.LINE)
        if detailed:
            said = codes > shades.SAME_IN_GROUP
            spots = np.argwhere(
                said | (codes != shades.EMPTY) if self._model.shown is not Shown.DRIFT else said
            )
            places = [(int(i) + block.first, int(j) + first) for i, j in spots]
            self._details(painter, layout, places, [int(codes[i, j]) for i, j in spots])

    def _details(
        self, painter: QPainter, layout: Layout, places: Iterable[tuple[int, int]], codes: Iterable[int]
    ) -> None:
        state, model = self._model.state, self._model
        texts: list[tuple[QRect, str, QColor]] = []
        shapes: list[tuple[QRect, int, QColor]] = []
        signs: list[tuple[QRect, str, QColor]] = []
        explained: list[tuple[QRect, QColor]] = []
        for (index, place), code in zip(places, codes, strict=True):
            column = state.columns[place]
            row = state.row_at(state.lines[index], column)
            cell = QRect(layout.x_of(place), layout.y_of(index), layout.width - 1, layout.height - 1)
            ink = self._inks[code]
            if code == shades.INTENDED:
                # Meant: the drift's colour stays readable as a frame, the fill goes back to grey.
                frame = drift_scale.colour(float(state.table.severity[row, column]))
                painter.fillRect(cell, frame)
                painter.fillRect(cell.adjusted(3, 3, -3, -3), theme.CELL)
            grade = int(state.table.grade[row, column])
            if grade > Grade.SAME:
                shapes.append((cell, grade, ink))
            if (row, column) in state.explained:
                explained.append((cell, ink))
            sign = drift_scale.STATE_MARKS[STATES[state.states[row, column]]]
            if sign:
                signs.append((cell, sign, ink))
            if layout.width >= TEXT_FROM:
                text = model.text(row, column)
                if text:
                    texts.append((cell, self._fit(text, layout.width - 8), ink))
        for cell, ink in explained:
            painter.fillRect(cell.left() + 3, cell.top() + 2, 7, 2, ink)
        painter.setFont(self._font)
        for cell, text, ink in texts:
            painter.setPen(ink)
            painter.drawText(cell, _CENTRE, text)
        painter.setPen(Qt.PenStyle.NoPen)
        for cell, grade, ink in shapes:
            painter.setBrush(ink)
            _mark(painter, cell, grade)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setFont(self._small)
        for cell, sign, ink in signs:
            painter.setPen(ink)
            painter.drawText(QRect(cell.right() - 13, cell.top(), 12, 12), _CENTRE, sign)

    def _fit(self, text: str, width: int) -> str:
        key = (text, width)
        fitted = self._fitted.get(key)
        if fitted is None:
            if len(self._fitted) > 20000:
                self._fitted.clear()
            fitted = self._metrics.elidedText(text, Qt.TextElideMode.ElideRight, width)
            self._fitted[key] = fitted
        return fitted


def _mark(painter: QPainter, cell: QRect, grade: int) -> None:
    left, bottom = cell.left() + 3, cell.bottom() - 2
    if grade == Grade.BREAK:
        painter.drawRect(left, bottom - 5, 5, 5)
    elif grade == Grade.DRIFT:
        triangle = [QPoint(left, bottom), QPoint(left + 6, bottom), QPoint(left + 3, bottom - 6)]
        painter.drawPolygon(QPolygon(triangle))
    elif grade == Grade.WITHIN:
        painter.drawEllipse(left, bottom - 2, 2, 2)


def paint_selection(painter: QPainter, layout: Layout, ranges: Iterable[tuple[int, int, int, int]]) -> None:
    """Frame what is selected: ranges as first and last line, first and last column, all within. Wide cells are framed one
    by one, narrow ones together."""
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(theme.TEXT, 1))
    first, last = layout.columns_between(0, layout.room_x)
    for block in layout.blocks(0, layout.room_y):
        painter.setClipRect(QRect(0, block.top, layout.room_x, block.height))
        for top, bottom, left, right in ranges:
            lines = range(max(top, block.first), min(bottom + 1, block.last))
            columns = range(max(left, first), min(right + 1, last))
            if not lines or not columns:
                continue
            if layout.width >= MARKS_FROM:
                for line in lines:
                    for column in columns:
                        painter.drawRect(_cell(layout, line, column))
            else:
                painter.drawRect(
                    _cell(layout, lines[0], columns[0]).united(_cell(layout, lines[-1], columns[-1]))
                )
    painter.setClipping(False)


def paint_cursor(painter: QPainter, layout: Layout, line: int, column: int, *, focused: bool) -> None:
    """Frame the cell under the cursor, at least wide enough to be seen: light around dark, so that it shows on any
    colour."""
    cell = _cell(layout, line, column)
    if cell.width() < 6:
        cell.adjust(-4, 0, 4, 0)
    if line >= layout.frozen:
        painter.setClipRect(QRect(0, layout.frozen_height, layout.room_x, layout.room_y))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(theme.grey(16), 1))
    painter.drawRect(cell.adjusted(2, 2, -2, -2))
    painter.setPen(QPen(theme.BRIGHT if focused else theme.DIM_TEXT, 1))
    painter.drawRect(cell)
    painter.drawRect(cell.adjusted(1, 1, -1, -1))
    painter.setClipping(False)


def _cell(layout: Layout, line: int, column: int) -> QRect:
    return QRect(layout.x_of(column), layout.y_of(line), max(layout.width - 2, 1), max(layout.height - 2, 1))
