"""The traces: plots that share the grid's columns, so that what moves stands under the cell that moved."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QPointF, QRectF, Qt, Signal
from PySide6.QtGui import QResizeEvent, QWheelEvent
from PySide6.QtWidgets import QApplication, QVBoxLayout, QWidget

from samelight.decisions.state import State
from samelight.drift.cells import Grade
from samelight.drift.words import number_text
from samelight.gui import drift_scale, theme
from samelight.gui.grid_view import GridView
from samelight.gui.rows import STATES, GridState
from samelight.gui.trace_data import Trace, traces_of

PLOT_HEIGHT = 96
_INTENDED = STATES.index(State.INTENDED)


class _Axis(pg.AxisItem):  # type: ignore[misc]  # pyqtgraph has no types
    """The left axis of a plot, as wide as the grid's names, with the plot's name in it."""

    def __init__(self) -> None:
        super().__init__("left")
        self.setTextPen(theme.DIM_TEXT)
        self.setPen(theme.EDGE)
        self.setStyle(tickFont=theme.font(8.0), tickTextOffset=4, tickLength=-4)
        self.name = ""
        self.said = ""

    def tickStrings(self, values: list[float], scale: float, spacing: float) -> list[str]:
        return [number_text(value) for value in values]

    def generateDrawSpecs(self, p: Any) -> Any:
        # Before the first layout an axis has no height and pyqtgraph would divide by it.
        return super().generateDrawSpecs(p) if self.boundingRect().height() > 1 else None

    def paint(self, p: Any, opt: Any, widget: Any) -> None:
        super().paint(p, opt, widget)
        p.setPen(theme.TEXT)
        p.setFont(theme.font(10.0, bold=True))
        p.drawText(QRectF(8, 2, self.width() - 56, 18), Qt.AlignmentFlag.AlignLeft, self.name)
        p.setPen(theme.DIM_TEXT)
        p.setFont(theme.font(8.5))
        p.drawText(QRectF(8, 20, self.width() - 56, 60), Qt.AlignmentFlag.AlignLeft, self.said)


class _Plot(pg.PlotItem):  # type: ignore[misc]  # as above
    """One trace: tolerance band, master's line, the shots' line and points."""

    def __init__(self) -> None:
        self.left = _Axis()
        super().__init__(axisItems={"left": self.left})
        self.hideAxis("bottom")
        self.hideButtons()
        self.setMenuEnabled(False)
        self.setMouseEnabled(x=False, y=False)
        self.vb.setDefaultPadding(0.0)
        self.setContentsMargins(0, 0, 0, 0)
        self.layout.setContentsMargins(0, 2, 0, 2)
        self.layout.setHorizontalSpacing(0)
        self.band = pg.LinearRegionItem(orientation="horizontal", movable=False, brush=(255, 255, 255, 26))
        for line in self.band.lines:
            line.setPen(pg.mkPen(theme.EDGE))
        self.master = pg.InfiniteLine(
            angle=0, pen=pg.mkPen(theme.DIM_TEXT, width=1.5, style=Qt.PenStyle.DashLine)
        )
        self.cursor = pg.InfiniteLine(angle=90, pen=pg.mkPen(theme.EDGE, width=1))
        self.curve = pg.PlotDataItem(pen=pg.mkPen(theme.grey(200), width=1.5), connect="finite")
        self.points = pg.ScatterPlotItem(pxMode=True)
        self.ring = pg.ScatterPlotItem(pxMode=True, pen=pg.mkPen(theme.BRIGHT, width=2), brush=None, size=17)
        for item in (self.band, self.cursor, self.master, self.curve, self.points, self.ring):
            self.addItem(item)
        self.trace: Trace | None = None

    def show_trace(self, trace: Trace, state: GridState) -> None:
        """Draw a trace."""
        self.trace = trace
        self.left.name = trace.title
        columns = np.arange(trace.values.size) + 0.5
        has_band = math.isfinite(trace.low) and math.isfinite(trace.high)
        self.band.setVisible(has_band)
        if has_band:
            self.band.setRegion((trace.low, trace.high))
        self.master.setVisible(math.isfinite(trace.master))
        if math.isfinite(trace.master):
            self.master.setValue(trace.master)
        self.curve.setData(columns, trace.values)
        self.points.setData(self._spots(trace, state))
        self.setYRange(*trace.spread(), padding=0)
        self.left.setTicks([list(enumerate(trace.words))] if trace.words else None)
        self.left.picture = None
        self.left.update()

    def _spots(self, trace: Trace, state: GridState) -> list[dict[str, Any]]:
        spots = []
        for column in np.flatnonzero(np.isfinite(trace.values)):
            grade = int(state.table.grade[trace.row, column])
            severity = float(state.table.severity[trace.row, column])
            intended = state.states[trace.row, column] == _INTENDED
            fill = drift_scale.colour(severity) if grade > Grade.SAME else theme.grey(150)
            spots.append(
                {
                    "pos": (column + 0.5, float(trace.values[column])),
                    "data": int(column),
                    "symbol": "d" if intended else "s" if grade == Grade.BREAK else "o",
                    "size": 11 if grade >= Grade.DRIFT else 7,
                    "brush": pg.mkBrush(theme.CELL if intended else fill),
                    "pen": pg.mkPen(fill if intended else theme.grey(24), width=2 if intended else 1),
                }
            )
        return spots

    def mark(self, column: int | None) -> None:
        """Ring the point of a shot and draw a line through it."""
        self.cursor.setVisible(column is not None)
        self.ring.clear()
        if column is None or self.trace is None:
            return
        self.cursor.setValue(column + 0.5)
        value = float(self.trace.values[column])
        if math.isfinite(value):
            self.ring.setData(pos=[(column + 0.5, value)])


class _Canvas(pg.GraphicsLayoutWidget):  # type: ignore[misc]  # as above
    """Hands the wheel to the grid, which scrolls and zooms for both."""

    wheeled = Signal(QWheelEvent)

    def wheelEvent(self, event: QWheelEvent) -> None:
        self.wheeled.emit(event)


class TracesView(QWidget):
    """Plots under the grid."""

    picked = Signal(int, int)
    """Row and column of the table that a click on a point or in a plot means."""

    def __init__(self, grid: GridView, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._grid = grid
        self._row: int | None = None
        self._column: int | None = None
        self.plots: list[_Plot] = []
        self._canvas = _Canvas()
        self._canvas.setBackground(theme.WINDOW)
        self._canvas.setAntialiasing(True)
        self._canvas.ci.layout.setContentsMargins(0, 0, 0, 0)
        self._canvas.ci.layout.setSpacing(0)
        self._canvas.setAccessibleName("Traces over the cut")
        self._canvas.setFrameShape(_Canvas.Shape.NoFrame)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(self._canvas)
        self._layout = layout
        grid.geometry_changed.connect(self.align)
        self._canvas.wheeled.connect(self._wheel)
        self._canvas.scene().sigMouseClicked.connect(self._clicked)
        self._canvas.scene().sigMouseMoved.connect(self._hovered)

    def show_row(self, state: GridState, row: int, column: int) -> None:
        """Plot what belongs to a row, and mark a shot in it."""
        north = state.session.sequence.conventions.north
        traces = traces_of(state.table, row, north)
        while len(self.plots) > len(traces):
            self._canvas.removeItem(self.plots.pop())
        while len(self.plots) < len(traces):
            plot = _Plot()
            self._canvas.addItem(plot, row=len(self.plots), col=0)
            self.plots.append(plot)
        for plot, trace in zip(self.plots, traces, strict=True):
            plot.show_trace(trace, state)
        self._row, self._column = row, column
        self._mark(column)
        self.align()

    def clear(self) -> None:
        """Show nothing."""
        while self.plots:
            self._canvas.removeItem(self.plots.pop())
        self._row = self._column = None

    def _mark(self, column: int | None) -> None:
        for plot in self.plots:
            plot.mark(column)
            self._say(plot, column)

    def _say(self, plot: _Plot, column: int | None) -> None:
        if plot.trace is None:
            return
        shot = f"\nshot {plot.trace.read_out(column)}" if column is not None else ""
        plot.left.said = f"master {plot.trace.said(plot.trace.master)}{shot}"
        plot.left.update()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.align()

    def align(self) -> None:
        """Put every column of the plots exactly under the grid's column."""
        grid = self._grid
        names = grid.verticalHeader().width() + grid.frameWidth()
        right = self.width() - names - grid.viewport().width()
        self._layout.setContentsMargins(0, 0, max(right, 0), 0)
        first = grid.horizontalScrollBar().value() / grid.column_width
        last = first + grid.viewport().width() / grid.column_width
        for plot in self.plots:
            plot.left.setWidth(names)
            plot.vb.setXRange(first, last, padding=0)

    def x_of_column(self, column: int) -> float:
        """Where the middle of a column lies in this widget, in pixels."""
        scene = self.plots[0].vb.mapViewToScene(QPointF(column + 0.5, 0))
        return float(self._canvas.mapTo(self, self._canvas.mapFromScene(scene)).x())

    def _wheel(self, event: QWheelEvent) -> None:
        if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            names = self._grid.verticalHeader().width()
            self._grid.zoom(1 if event.angleDelta().y() > 0 else -1, event.position().x() - names)
        else:
            QApplication.sendEvent(self._grid.viewport(), event)

    def _column_at(self, scene: QPointF) -> tuple[_Plot, int] | None:
        for plot in self.plots:
            if plot.vb.sceneBoundingRect().contains(scene) and plot.trace is not None:
                column = math.floor(plot.vb.mapSceneToView(scene).x())
                if 0 <= column < plot.trace.values.size:
                    return plot, column
        return None

    def _clicked(self, event: Any) -> None:
        found = self._column_at(event.scenePos())
        if found is not None and found[0].trace is not None:
            self.picked.emit(found[0].trace.row, found[1])

    def _hovered(self, scene: QPointF) -> None:
        found = self._column_at(scene)
        for plot in self.plots:
            self._say(plot, found[1] if found is not None else self._column)
