"""The grid as Qt sees it: a thin table model over `GridState`."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from enum import IntEnum
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt

from samelight.drift.cells import Cell, Grade
from samelight.drift.metrics import SCALES
from samelight.drift.rows import Row
from samelight.drift.words import drift_text, value_text
from samelight.gui.paint.shades import ShadePicture
from samelight.gui.state.cell_states import STATES
from samelight.gui.state.cell_words import follows_line
from samelight.gui.state.rows import GridState, Line, Order, Show, View
from samelight.gui.widgets.plain_text import plain
from samelight.reports.shown import clean, clean_lines
from samelight.reports.since import since_sign
from samelight.sequence.saved_views import Shown
from samelight.sequence.session import Session

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

    def __init__(self, session: Session, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.state = GridState(session)
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

    def line(self, row: int) -> Line:
        """The line at a row of the view."""
        return self.state.listing.lines[row]

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
            return plain(self.tip(row, column))
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return clean_lines(self.tip(row, column))
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
                return plain(self.shot_tip(shot))
            return None
        if not 0 <= section < len(self.state.listing.lines):
            return None
        line = self.state.listing.lines[section]
        if role == Role.LINE:
            return line
        if role == Qt.ItemDataRole.DisplayRole:
            return clean(self.title(line))
        if role == Qt.ItemDataRole.ToolTipRole:
            return plain(self.line_tip(line))
        return None

    def title(self, line: Line, *, lone: bool = False) -> str:
        """The name of a line, as the frozen column shows it; `lone` where its group's header does not stand above."""
        title = self.state.groups[line.group].title
        if line.row is None:
            return title
        leaf = self.state.table.rows[line.row].leaf
        return f"{title} {leaf}" if lone else leaf

    def unit(self, line: Line) -> str:
        """The unit of a line's drift."""
        if line.row is None:
            return self.state.groups[line.group].section
        sign = SCALES[self.state.table.rows[line.row].kind].sign.strip()
        return sign if sign != "×" else "x"

    def shot_tip(self, shot: str) -> str:
        """What the mouse is told over a shot's name."""
        trouble = self.state.session.unreadable().get(shot)
        setup = self.state.session.contents.setup_of(shot)
        held = f"compared with {setup.follows}" if setup.follows else ""
        whose = self.state.session.crew.who(shot)
        said = [trouble.says] if trouble else [part for part in (whose, setup.name, held) if part]
        return f"{shot}: {', '.join(said)}" if said else shot

    def line_tip(self, line: Line) -> str:
        """What the mouse is told over a line's name."""
        if line.row is None:
            group = self.state.groups[line.group]
            return f"{group.name}: {len(group.rows)} rows. Each cell shows the worst of them."
        ways = self.state.table.variants(line.row)
        said = [_graded_by(row) for row in ways]
        return "\n".join([ways[0].parameter, *dict.fromkeys(said)])

    def text(self, row: int, column: int) -> str:
        """The text of a cell, by what is asked to be shown."""
        key = (row, column)
        known = self._texts.get(key)
        if known is None:
            known = self._texts[key] = self._text(row, column)
        return known

    def _text(self, row: int, column: int) -> str:
        if self.shown is Shown.DRIFT and self.state.table.grade[row, column] <= Grade.SAME:
            return ""
        cell = self.state.table.cell(row, column)
        drift = drift_text(cell)
        if self.shown is Shown.DRIFT:
            return _short(drift)
        north = self.state.session.contents.sequence.conventions.north
        value = "" if cell.value is None else value_text(cell.value, cell.value_kind, north)
        if self.shown is Shown.VALUE:
            return value
        return f"{value}  {_short(drift)}".strip()

    def tip(self, row: int, column: int) -> str:
        """A cell in words."""
        cell = self.state.table.cell(row, column)
        north = self.state.session.contents.sequence.conventions.north
        if cell.grade is Grade.NONE:
            return f"{cell.shot}: nothing to compare in {cell.parameter}"
        state = STATES[self.state.standing.states[row, column]]
        drift = drift_text(cell)
        lines = [
            f"{cell.shot}  {cell.parameter}",
            f"{cell.grade.word}{', ' + drift if drift else ''}, {state}",
        ]
        if cell.grade > Grade.SAME:
            lines.append(f"master {value_text(cell.master, cell.value_kind, north)}")
        lines.append(f"shot {value_text(cell.value, cell.value_kind, north)}")
        if cell.remark:
            lines.append(cell.remark)
        if (
            event := self.state.looked_back.cells.get((row, column))
        ) is not None and self.state.looked_back.since is not None:
            sign = since_sign(event)
            lines.append(f"{sign} {event} since {self.state.looked_back.since.says}".strip())
        if follows := follows_line(self.state.session, row, column):
            lines.append(follows)
        return "\n".join(lines)

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


def _short(drift: str) -> str:
    """A drift without a unit too long for a cell; the row's name says the unit."""
    return drift.removesuffix(" steps").removesuffix(" MK⁻¹")


def _graded_by(row: Row) -> str:
    """The tolerance of a row and its lock, as the mouse is told of them."""
    locked = "\nLocked: " + (row.lock.why or row.lock.pattern) if row.lock else ""
    tolerance = f"{row.tolerance.at_most:g} {SCALES[row.kind].unit}".strip()
    tolerance += f", or {row.tolerance.also} where that is more" if row.tolerance.also else ""
    return f"Tolerance {tolerance}. {row.tolerance.why}{locked}"
