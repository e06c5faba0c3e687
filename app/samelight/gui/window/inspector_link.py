"""Ties the inspector to the grid's selection: one cell, or what several have in common."""

from __future__ import annotations

from PySide6.QtCore import QObject, QTimer

from samelight.gui.grid.view import GridView
from samelight.gui.inspector.inspector import Inspector


class InspectorLink(QObject):
    """Shows in the inspector whatever is chosen in a grid."""

    def __init__(self, inspector: Inspector, grid: GridView) -> None:
        super().__init__(grid)
        self._inspector = inspector
        self._grid = grid
        # A step of the cursor changes the selection too: whoever hears of both shows it once.
        self._later = QTimer(self)
        self._later.setSingleShot(True)
        self._later.setInterval(0)
        self._later.timeout.connect(self.show)
        grid.selectionModel().selectionChanged.connect(self._later.start)

    def show(self) -> None:
        """Show what is chosen now."""
        self._later.stop()
        current = self._grid.current_line()
        if current is None:
            self._inspector.clear()
            return
        selection = self._grid.selectionModel().selection()
        parts = [selection.at(index) for index in range(selection.count())]
        ranges = [(part.top(), part.bottom(), part.left(), part.right()) for part in parts]
        self._inspector.show_selection(self._grid.grid_state, *current, ranges)
