"""The plot that bars stand in: an axis at the left, one below, and nothing that moves under the mouse."""

from __future__ import annotations

from typing import Any

from PySide6.QtWidgets import QGraphicsGridLayout, QSizePolicy

from samelight.gui.paint import theme
from samelight.gui.paint.plots import pg

_EDGE = 1.0
"""Pixels around all of it."""


class BarPlot(pg.GraphicsView):  # type: ignore[misc]  # pyqtgraph has no types
    """A plot of items in `view`. Pyqtgraph's own has two more axes, a title and a form of options, which take most of the
    time to make one."""

    def __init__(self) -> None:
        super().__init__(background=theme.WINDOW)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.enableMouse(False)
        whole = pg.GraphicsWidget()
        self.view = pg.ViewBox(parent=whole, enableMenu=False, enableMouse=False)
        self.left, self.bottom = pg.AxisItem("left", parent=whole), pg.AxisItem("bottom", parent=whole)
        self.items_shown: list[Any] = []
        layout = QGraphicsGridLayout()
        layout.setContentsMargins(_EDGE, _EDGE, _EDGE, _EDGE)
        layout.setSpacing(0)
        layout.addItem(self.view, 0, 1)
        for axis, row, column in ((self.left, 0, 0), (self.bottom, 1, 1)):
            axis.linkToView(self.view)
            axis.setZValue(0.5)  # above the bars
            layout.addItem(axis, row, column)
        layout.setRowStretchFactor(0, 100)
        layout.setColumnStretchFactor(1, 100)
        whole.setLayout(layout)
        self.setCentralItem(whole)

    def put(self, item: Any, *, ignore_bounds: bool = False) -> None:
        """Show an item, which may reach over the range that is shown where its bounds are ignored."""
        self.items_shown.append(item)
        self.view.addItem(item, ignoreBounds=ignore_bounds)

    def clear(self) -> None:
        """Take every item away."""
        for item in self.items_shown:
            self.view.removeItem(item)
        self.items_shown.clear()

    def show_range(self, across: float, up: float) -> None:
        """Show from 0 to `across` and from 0 to `up`."""
        self.view.setXRange(0, across, padding=0)
        self.view.setYRange(0, up, padding=0)
