"""The views of an opened sequence, and the cursor that travels in them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from PySide6.QtCore import QItemSelection, QItemSelectionModel

from samelight.drift.cells import Cell, CellName
from samelight.findings.finding import Finding
from samelight.gui.grid.model import GridModel
from samelight.gui.grid.overview import Overview
from samelight.gui.grid.view import GridView
from samelight.gui.state.remaining import next_unsettled
from samelight.gui.state.rows import GridState
from samelight.gui.state.typed_shot import shot_called
from samelight.gui.traces.traces import TracesView
from samelight.sequence.saved_views import Shown
from samelight.sequence.session import Session
from samelight.sheets.errors import SamelightError


@dataclass(frozen=True, slots=True)
class Views:
    """Grid, traces and overview of one sequence, over one model."""

    model: GridModel
    grid: GridView
    traces: TracesView
    overview: Overview

    @property
    def state(self) -> GridState:
        """What the grid shows now."""
        return self.model.state

    @property
    def session(self) -> Session:
        """The sequence that is shown."""
        return self.model.state.session

    # Where the cursor is

    def cell(self) -> Cell | None:
        """Row and column of the table's cell under the cursor."""
        current = self.grid.current_line()
        return None if current is None else (self.state.listing.row_at(*current), current[1])

    def cell_name(self) -> CellName | None:
        """The cell under the cursor by name, which outlives a table."""
        cell = self.cell()
        if cell is None:
            return None
        table = self.state.table
        return table.shots[cell[1]], table.rows[cell[0]].parameter

    def show_cells(self, shown: Shown) -> None:
        """Let cells say their drift, their value or both, in columns in which that can be read."""
        self.model.set_shown(shown)
        self.grid.widths.make_readable(shown)

    # Where it goes

    def go_back_to(self, name: CellName) -> bool:
        """Move the cursor to a cell if it is listed, else to the first line, there to its shot or to the worst cell; False
        when nothing is listed."""
        table = self.session.table
        column, row = table.column(name[0]), table.row(name[1])
        if row is not None and column is not None and self.state.listing.line_of(row) is not None:
            self.grid.go_to(row, column, reveal=False)
        elif self.state.listing.lines and table.shots:
            self.grid.go_to_line(0, self._worst_in(0) if column is None else column)
        else:
            return False
        return True

    def _worst_in(self, index: int) -> int:
        """The column of the cell in a line that needs a look most."""
        listing = self.state.listing
        line, columns = listing.lines[index], np.array(listing.columns)
        rows = listing.worst[line.group, columns] if line.row is None else line.row
        return int(columns[np.argmax(self.state.standing.score[rows, columns])])

    def select(self, shot: str, parameter: str) -> None:
        """Go to a cell by name. Raises `SamelightError` when there is none."""
        table = self.session.table
        row, column = table.row(parameter), table.column(shot)
        if row is None or column is None:
            raise SamelightError(f"there is no cell {shot} {parameter}")
        self.grid.go_to(row, column)

    def select_cells(self, cells: list[Cell]) -> None:
        """Select cells of the table wherever they are, with the cursor on the first."""
        self.model.reveal_all(cells)  # before any is selected: listing anew lets go of a selection
        first = next((cell for cell in cells if self.state.listing.lists(*cell)), cells[0])
        selection = QItemSelection()
        for row, column in cells:
            line = self.state.listing.line_of(row)
            if line is not None:
                index = self.model.cell_index(line, column)
                selection.select(index, index)
        # First what is selected: whoever is told of the cursor shows all of it, and once.
        self.grid.selectionModel().select(selection, QItemSelectionModel.SelectionFlag.ClearAndSelect)
        line = self.state.listing.line_of(first[0])
        if line is not None:
            self.grid.go_to_line(line, first[1], selects=False)

    def show_finding(self, finding: Finding) -> None:
        """Select the cells of a finding; of one that has none what it names, or else the first of its shots."""
        table = self.session.table
        named = ((shot, parameter) for shot in finding.shots for parameter in finding.parameters)
        if cells := list(finding.cells) or table.places(list(named)):
            self.select_cells(cells)
            return
        columns = (table.column(shot) for shot in finding.shots)
        if (column := next((one for one in columns if one is not None), None)) is not None:
            self._list_shot(column)
            self.go_along_to(column)
            self.grid.clearSelection()  # the cell under the cursor is no part of it

    def go_along_to(self, column: int) -> None:
        """Move the cursor along its row to a shot."""
        self.grid.go_to_line(max(self.grid.currentIndex().row(), 0), column)

    def go_to_shot(self, shot: str) -> None:
        """Move the cursor to a shot: to what is unsettled there, else along the row it is in."""
        column = self.session.table.column(shot)
        if column is None:
            return
        found = next_unsettled(self.state, -1, column)
        if found is not None and found[1] == column:
            self.grid.go_to(*found, reveal=False)
        elif self.state.listing.lines:
            self.go_along_to(column)

    def go_to_typed(self, typed: str) -> bool:
        """Move the cursor to the shot that is meant (see `shot_called`); False when there is none."""
        shot = shot_called(self.session.table.shots, typed)
        column = self.session.table.column(shot) if shot is not None else None
        if column is None:
            return False
        self._list_shot(column)
        self.go_along_to(column)
        return True

    def _list_shot(self, column: int) -> None:
        """Bring a shot back if it is hidden."""
        if self.state.listing.place(column) is None:
            self.model.relisted(lambda state: state.show_shot(column))
