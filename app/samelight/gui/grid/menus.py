"""The menus of the grid's names and of its shots."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QMenu

if TYPE_CHECKING:
    from samelight.gui.grid.view import GridView


def line_menu(grid: GridView, group: str, name: str) -> QMenu:
    """What can be done with the selected lines; `group` and `name` are of the one that was pointed at."""
    state = grid.grid_state
    menu = _menu(grid)
    menu.addAction("Unpin" if name in state.view.pinned else "Pin at the top", grid.relisting.pin)
    menu.addAction("Hide", grid.relisting.hide_lines)
    _add_show_hidden(menu, grid)
    menu.addSeparator()
    together = group in state.view.together
    menu.addAction(
        "Leave out of the traces" if together else "Add to the traces", grid.relisting.plot_together
    )
    menu.addAction("Traces of this row only", grid.relisting.plot_alone)
    return menu


def shot_menu(grid: GridView) -> QMenu:
    """What can be done with the selected shots."""
    menu = _menu(grid)
    menu.addAction("Hide", grid.relisting.hide_shots)
    _add_show_hidden(menu, grid)
    return menu


def _menu(grid: GridView) -> QMenu:
    menu = QMenu(grid)
    menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
    return menu


def _add_show_hidden(menu: QMenu, grid: GridView) -> None:
    action = menu.addAction("Show what is hidden", grid.relisting.show_hidden)
    action.setEnabled(bool(grid.grid_state.view.hidden_rows or grid.grid_state.view.hidden_shots))
