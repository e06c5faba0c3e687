"""The plots of the traces, one above the other: as many as there are panels, and those that were taken away."""

from __future__ import annotations

from collections.abc import Sequence

from samelight.gui.paint.plots import pg
from samelight.gui.state.rows import GridState
from samelight.gui.traces.trace_data import Panel
from samelight.gui.traces.trace_plot import TracePlot


class PlotStack:
    """Plots on a canvas. Those that are taken away are kept for the next row that has more: to make one takes as long as a
    frame."""

    def __init__(self, canvas: pg.GraphicsLayoutWidget) -> None:
        self._canvas = canvas
        self.plots: list[TracePlot] = []
        self._spare: list[TracePlot] = []

    @property
    def panels(self) -> list[Panel]:
        """What is plotted."""
        return [plot.panel for plot in self.plots if plot.panel is not None]

    def show(self, panels: Sequence[Panel], state: GridState) -> None:
        """Plot these panels."""
        self.leave(len(panels))
        while len(self.plots) < len(panels):
            plot = self._spare.pop() if self._spare else TracePlot()
            self._canvas.addItem(plot, row=len(self.plots), col=0)
            self.plots.append(plot)
        for plot, panel in zip(self.plots, panels, strict=True):
            plot.show_panel(panel, state, alone=len(panels) == 1)

    def leave(self, number: int) -> None:
        """Take away all plots but the first ones."""
        while len(self.plots) > number:
            self._spare.append(self.plots.pop())
            self._canvas.removeItem(self._spare[-1])
