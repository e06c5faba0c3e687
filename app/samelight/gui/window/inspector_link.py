"""Ties the inspector to the grid's selection: one cell, or what several have in common."""

from __future__ import annotations

from PySide6.QtCore import QObject, QTimer

from samelight.gui.grid.view import GridView
from samelight.gui.inspector.inspector import Inspector


class InspectorLink(QObject):
    """Shows in the inspector whatever is chosen in the grid that it follows."""

    def __init__(self, inspector: Inspector, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._inspector = inspector
        self._grid: GridView | None = None
        # A step of the cursor changes the selection too: whoever hears of both shows it once.
        self._later = QTimer(self)
        self._later.setSingleShot(True)
        self._later.setInterval(0)
        self._later.timeout.connect(self.show)

    def follow(self, grid: GridView) -> None:
        """Follow a grid in place of the one before."""
        self._grid = grid
        grid.selectionModel().selectionChanged.connect(self._changed)

    def _changed(self) -> None:
        if self._grid is not None and self.sender() is self._grid.selectionModel():
            self._later.start()

    def show(self) -> None:
        """Show what is chosen now."""
        self._later.stop()
        grid = self._grid
        current = grid.current_line() if grid is not None else None
        if grid is None or current is None:
            self._inspector.clear()
            return
        selection = grid.selectionModel().selection()
        parts = [selection.at(index) for index in range(selection.count())]
        ranges = [(part.top(), part.bottom(), part.left(), part.right()) for part in parts]
        self._inspector.show_selection(grid.grid_state, *current, ranges)
