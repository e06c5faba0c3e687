"""The overview of a production as Qt sees it: a row a sequence, and a line of heat over its cut."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from enum import IntEnum
from typing import Any

import numpy as np
from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, QRectF, Qt
from PySide6.QtGui import QPainter
from PySide6.QtWidgets import QStyledItemDelegate, QStyleOptionViewItem

from samelight.drift.words import counted
from samelight.gui.paint import drift_scale, theme
from samelight.gui.state.production_rows import SequenceRow
from samelight.gui.widgets.plain_text import plain
from samelight.reports.shown import clean

Index = QModelIndex | QPersistentModelIndex
_NOWHERE = QModelIndex()

SORT_ROLE = Qt.ItemDataRole.UserRole + 1
ROW_ROLE = Qt.ItemDataRole.UserRole + 2


class Column(IntEnum):
    """What is said of a sequence, from left to right."""

    SEQUENCE = 0
    HELD = 1
    SHOTS = 2
    CUT = 3
    UNDECIDED = 4
    SENT_BACK = 5
    MENDED = 6
    INTENDED = 7
    SINCE = 8
    HOURS = 9
    LIGHTERS = 10


_HEADS = (
    ("Sequence", "Its name in the production and its title"),
    ("Masters", "The master setup that its shots are compared with, of each set-up where there are several"),
    ("Shots", "How many shots are in the cut"),
    ("Cut", "The cut from left to right: how far the worst unsettled cell of each shot is out of tolerance"),
    ("Undecided", "Cases that nobody has decided on"),
    ("Sent back", "Cases that a lighter is to mend"),
    ("Mended", "Cases that were mended and wait for the look of who sent them back"),
    ("Intended", "Cases that somebody said are meant"),
    (
        "Since",
        "What is new and what was settled since the last day before today on which somebody looked, or since the saved check",
    ),
    ("Hours", "Machine time that the render plan projects"),
    ("Lighters", "Who lights it, by its own word or the production's"),
)


def _count(take: Callable[[SequenceRow], int]) -> Callable[[SequenceRow], tuple[str, float]]:
    def both(row: SequenceRow) -> tuple[str, float]:
        return ("", -1.0) if row.tally is None else (str(take(row)), float(take(row)))

    return both


def _tally(name: str) -> Callable[[SequenceRow], int]:
    return lambda row: int(getattr(row.tally, name))


_COUNTS: dict[Column, Callable[[SequenceRow], tuple[str, float]]] = {
    Column.SHOTS: _count(lambda row: row.shots),
    Column.UNDECIDED: _count(_tally("undecided")),
    Column.SENT_BACK: _count(_tally("sent_back")),
    Column.MENDED: _count(lambda row: row.mended),
    Column.INTENDED: _count(_tally("intended")),
}


class ProductionModel(QAbstractTableModel):
    """The rows in story order; a view sorts and filters them."""

    def __init__(self, rows: Sequence[SequenceRow], parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.rows = list(rows)

    def put(self, row: SequenceRow) -> None:
        """What is known now of a sequence that is listed."""
        place = next((index for index, one in enumerate(self.rows) if one.name == row.name), None)
        if place is not None:
            self.rows[place] = row
            self.dataChanged.emit(self.index(place, 0), self.index(place, len(Column) - 1))

    def rowCount(self, parent: Index = _NOWHERE) -> int:
        """How many sequences there are."""
        return 0 if parent.isValid() else len(self.rows)

    def columnCount(self, parent: Index = _NOWHERE) -> int:
        """How many columns there are."""
        return 0 if parent.isValid() else len(Column)

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> Any:
        """The heads of the columns, and what each means."""
        if orientation is not Qt.Orientation.Horizontal or not 0 <= section < len(_HEADS):
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return _HEADS[section][0]
        return _HEADS[section][1] if role == Qt.ItemDataRole.ToolTipRole else None

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """What a cell says, what it is sorted by, and what the mouse is told over it."""
        if not index.isValid() or index.row() >= len(self.rows):
            return None
        row, column = self.rows[index.row()], Column(index.column())
        if role == ROW_ROLE:
            return row
        if role == SORT_ROLE:
            return _said(row, column)[1]
        if role == Qt.ItemDataRole.DisplayRole:
            return clean(_said(row, column)[0])
        if role in (Qt.ItemDataRole.ToolTipRole, Qt.ItemDataRole.AccessibleTextRole):
            return plain(_told(row, column))
        if role == Qt.ItemDataRole.TextAlignmentRole and (column in _COUNTS or column is Column.HOURS):
            return Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        return None


def _said(row: SequenceRow, column: Column) -> tuple[str, Any]:
    """The text of a cell, and what it is sorted by."""
    if column in _COUNTS:
        return _COUNTS[column](row)
    match column:
        case Column.SEQUENCE:
            text = f"{row.name}   {row.title}" if row.title and row.title != row.name else row.name
            return text, row.name
        case Column.HELD:
            said = row.held if row.tally is not None else row.trouble
            return said, said
        case Column.CUT:
            return "", float(row.unsettled_shots)
        case Column.SINCE:
            if row.changes is None:
                return "", -1.0
            return row.changes.says, float(row.changes.new)
        case Column.HOURS:
            return ("", -1.0) if row.hours is None else (f"{row.hours:,.1f}", row.hours)
        case _:
            said = ", ".join(row.lighters)
            return said, said


def _told(row: SequenceRow, column: Column) -> str:
    if row.trouble:
        return f"{row.name}: {row.trouble}"
    if column is Column.CUT:
        return f"{row.name}: {row.unsettled_shots} of {counted(row.shots, 'shot')} have something unsettled"
    if column is Column.SINCE and row.changes is None:
        return f"{row.name}: nobody looked at it on an earlier day"
    if column is Column.SINCE and row.changes is not None:
        return f"{row.name}, since {row.changes.since}: {row.changes.says}"
    return f"{_HEADS[column][0]} of {row.name}: {_said(row, column)[0] or 'none'}"


class StripDelegate(QStyledItemDelegate):
    """Draws the line of heat over a cut; of shots that share a pixel the worst shows."""

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """Draw it, in the room that the cell has."""
        super().paint(painter, option, index)
        row: SequenceRow | None = index.data(ROW_ROLE)
        rect = option.rect.adjusted(4, 6, -4, -6)
        if row is None or not row.shots or rect.width() < 2:
            return
        count = min(row.shots, rect.width())
        starts = np.arange(count) * row.shots // count
        worst = np.maximum.reduceat(row.strip, starts)
        edges = np.linspace(rect.left(), rect.right() + 1, count + 1).tolist()
        gap = 1.0 if rect.width() >= 4 * count else 0.0
        painter.fillRect(rect, theme.CELL)
        for place, colour in enumerate(drift_scale.colours(worst)):
            if worst[place] > 0.0:
                left, right = edges[place], edges[place + 1]
                painter.fillRect(QRectF(left, rect.top(), right - left - gap, rect.height()), colour)
