"""What is listed in the grid and drawn beneath it, changed by hand while the cursor stays on its cell."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING
from weakref import proxy

from samelight.gui.grid.model import GridModel, Role
from samelight.gui.state.rows import GridState, Line, Order

if TYPE_CHECKING:
    from samelight.gui.grid.view import GridView


class Relisting:
    """What can be done with the lines and shots of a grid that are chosen."""

    def __init__(self, grid: GridView, model: GridModel) -> None:
        self._grid: GridView = proxy(grid)  # which holds this
        self._model = model

    def _keeping_the_cursor(self, change: Callable[[], None]) -> None:
        """List other lines or shots; the cursor stays on its cell, or as near to it as there is one."""
        index = self._grid.currentIndex()
        current = self._grid.current_line()
        spot = self._model.data(index, Role.CELL) if index.isValid() else None
        on_header = current is not None and current[0].row is None
        change()
        listing = self._model.state.listing
        if spot is None or current is None or not listing.lines:
            return
        line = listing.where.get(current[0]) if on_header else None
        line = listing.line_of(spot[0]) if line is None else line
        self._grid.go_to_line(min(index.row(), len(listing.lines) - 1) if line is None else line, spot[1])

    def _relist(self, change: Callable[[GridState], None]) -> None:
        self._keeping_the_cursor(lambda: self._model.relisted(change))

    def reorder(self, order: str) -> None:
        """List rows in another order."""
        self._keeping_the_cursor(lambda: self._model.set_order(Order(order)))

    def toggle(self, group: int) -> None:
        """Open or close a group."""
        self._keeping_the_cursor(lambda: self._model.toggle(group))

    def _chosen_lines(self) -> list[Line]:
        return [self._model.state.listing.lines[index] for index in self._grid.chosen.lines_and_shots()[0]]

    def pin(self) -> None:
        """Pin the selected lines at the top, or let them go."""
        lines = self._chosen_lines()
        self._relist(lambda state: state.pin(lines))

    def hide_lines(self) -> None:
        """Hide the selected lines."""
        lines = self._chosen_lines()
        self._relist(lambda state: state.hide(lines))

    def hide_shots(self) -> None:
        """Hide the selected shots."""
        columns = self._grid.chosen.lines_and_shots()[1]
        self._relist(lambda state: state.hide_shots(columns))

    def show_hidden(self) -> None:
        """Bring back hidden lines and shots."""
        self._relist(lambda state: state.show_hidden())

    def plot_together(self, group: int | None = None) -> None:
        """Draw a group's traces together with the others that were chosen, or leave it out again; without `group`, the
        one under the cursor."""
        current = self._grid.current_line()
        if group is None and current is not None:
            group = current[0].group
        if group is not None:
            self._plot(group)

    def plot_alone(self) -> None:
        """Draw only the traces of the row under the cursor."""
        self._plot(None)

    def _plot(self, group: int | None) -> None:
        self._model.state.plot_together(group)
        self._grid.names.viewport().update()
        self._grid.together_changed.emit()
