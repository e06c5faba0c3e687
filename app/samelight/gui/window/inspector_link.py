"""Ties the inspector to the grid's selection: one cell, or what several have in common."""

from __future__ import annotations

from PySide6.QtCore import QObject, QTimer

from samelight.gui.grid.view import GridView
from samelight.gui.inspector.inspector import Inspector


class InspectorLink(QObject):
    """Shows in the inspector whatever is chosen in a grid, once for all that happens in one go: a step of the cursor changes the
    selection too, and a decision brings up the next cell."""

    def __init__(self, inspector: Inspector, grid: GridView) -> None:
        super().__init__(grid)
        self._inspector = inspector
        self._grid = grid
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.setInterval(0)
        self._soon.timeout.connect(self._show)
        grid.selectionModel().selectionChanged.connect(self.show_soon)

    @property
    def busy(self) -> bool:
        """Whether the inspector shows something else still."""
        return self._soon.isActive()

    def show_soon(self) -> None:
        """Show what is chosen once all that is happening now has happened."""
        self._soon.start()

    def show_due(self) -> None:
        """Show now what is to be shown."""
        if self.busy:
            self._show()

    def stop(self) -> None:
        """Show nothing more."""
        self._soon.stop()

    def _show(self) -> None:
        self._soon.stop()
        current = self._grid.current_line()
        if current is None:
            self._inspector.clear()
            return
        selection = self._grid.selectionModel().selection()
        parts = [selection.at(index) for index in range(selection.count())]
        ranges = [(part.top(), part.bottom(), part.left(), part.right()) for part in parts]
        self._inspector.show_selection(self._grid.grid_state, *current, ranges)
