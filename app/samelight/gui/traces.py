"""The traces: plots that share the grid's columns, so that what moves stands under the cell that moved."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QEvent, QPointF, QRectF, Qt, Signal
from PySide6.QtGui import QResizeEvent, QWheelEvent
from PySide6.QtWidgets import QApplication, QComboBox, QHBoxLayout, QLabel, QSizePolicy, QVBoxLayout, QWidget

from samelight.drift.words import number_text
from samelight.gui import line_styles, theme
from samelight.gui.grid_under import shots_said
from samelight.gui.grid_view import GridView
from samelight.gui.rows import GridState
from samelight.gui.trace_data import MOST_TOGETHER, Panel, Scale, Trace, panel_of_row, panels_together
from samelight.gui.trace_items import Lines

HEAD_HEIGHT = 26


class _Axis(pg.AxisItem):  # type: ignore[misc]  # pyqtgraph has no types
    """The left axis of a plot, as wide as the grid's names, with the plot's name and what it says in one shot."""

    def __init__(self) -> None:
        super().__init__("left")
        self.setTextPen(theme.DIM_TEXT)
        self.setPen(theme.EDGE)
        self.setStyle(tickFont=theme.font(8.0), tickTextOffset=4, tickLength=-4)
        self.name = ""
        self.said: list[tuple[str, int | None]] = []
        """Lines of text, each with the place of its line style where it has one."""
        self.scale_shown = Scale.LINEAR

    def tickValues(self, minVal: float, maxVal: float, size: float) -> Any:
        if self.scale_shown is Scale.LOG:
            decades = range(math.floor(minVal), math.ceil(maxVal) + 1)
            steps = [decade + math.log10(digit) for decade in decades for digit in (1, 2, 5)]
            shown = [step for step in steps if minVal <= step <= maxVal]
            if len(shown) > 1:
                room = max(size / 16.0, 1.0)
                return [(1.0, shown[:: max(math.ceil(len(shown) / room), 1)])]
        return super().tickValues(minVal, maxVal, size)

    def tickStrings(self, values: list[float], scale: float, spacing: float) -> list[str]:
        if self.scale_shown is Scale.LOG:
            values = [10.0**value for value in values]
        return [number_text(value) for value in values]

    def generateDrawSpecs(self, p: Any) -> Any:
        # Before the first layout an axis has no height and pyqtgraph would divide by it.
        return super().generateDrawSpecs(p) if self.boundingRect().height() > 1 else None

    def paint(self, p: Any, opt: Any, widget: Any) -> None:
        super().paint(p, opt, widget)
        p.setPen(theme.TEXT)
        p.setFont(_NAME_FONT)
        room = self.width() - 56
        p.drawText(QRectF(8, 2, room, 18), Qt.AlignmentFlag.AlignLeft, self.name)
        p.setFont(_SAID_FONT)
        step = min(15.0, max((self.height() - 20) / max(len(self.said), 1), 11.0))
        for index, (text, style) in enumerate(self.said):
            y, left = 20 + index * step, 8.0
            if y + step > self.height() + 4:
                break
            if style is not None:
                p.setPen(line_styles.pen(style))
                p.drawLine(QPointF(8, y + step / 2), QPointF(34, y + step / 2))
                left = 40.0
            p.setPen(theme.DIM_TEXT)
            p.drawText(QRectF(left, y, room - left + 8, step), _MIDDLE, text)


_NAME_FONT, _SAID_FONT = theme.font(10.0, bold=True), theme.font(8.5)
_MIDDLE = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter


class _Plot(pg.PlotItem):  # type: ignore[misc]  # as above
    """One plot: tolerance band, master's line, the shots' lines and points."""

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
        self.lines = Lines()
        self.ring = pg.ScatterPlotItem(pxMode=True, pen=pg.mkPen(theme.BRIGHT, width=2), brush=None, size=17)
        for item in (self.band, self.cursor, self.master, self.lines, self.ring):
            self.addItem(item, ignoreBounds=True)
        self.panel: Panel | None = None

    @property
    def trace(self) -> Trace | None:
        """The trace of the plot's first line."""
        return self.panel.first if self.panel is not None else None

    def show_panel(self, panel: Panel, state: GridState) -> None:
        """Draw a panel."""
        self.panel = panel
        trace = panel.first
        self.left.name = f"{panel.title} from master" if len(panel.strands) > 1 else panel.title
        self.left.scale_shown = trace.scale
        has_band = math.isfinite(trace.low) and math.isfinite(trace.high) and len(panel.strands) == 1
        self.band.setVisible(has_band)
        if has_band:
            self.band.setRegion((trace.low, trace.high))
        self.master.setVisible(math.isfinite(trace.master))
        if math.isfinite(trace.master):
            self.master.setValue(trace.master)
        self.lines.show_panel(panel, state)
        self.setYRange(*panel.spread(), padding=0)
        self.left.setTicks([list(enumerate(trace.words))] if trace.words else None)
        self.left.picture = None
        self.left.update()

    def mark(self, x: float | None, column: int | None) -> None:
        """Ring the point of a shot, which stands at `x`, and draw a line through it."""
        self.cursor.setVisible(x is not None)
        self.ring.clear()
        if x is None or column is None or self.panel is None:
            return
        self.cursor.setValue(x)
        values = [float(strand.trace.values[column]) for strand in self.panel.strands]
        self.ring.setData(pos=[(x, value) for value in values if math.isfinite(value)])


class _Canvas(pg.GraphicsLayoutWidget):  # type: ignore[misc]  # as above
    """Hands the wheel to the grid, which scrolls and zooms for both."""

    wheeled = Signal(QWheelEvent)
    left = Signal()

    def wheelEvent(self, event: QWheelEvent) -> None:
        self.wheeled.emit(event)

    def leaveEvent(self, event: QEvent) -> None:
        self.left.emit()
        super().leaveEvent(event)


class TracesView(QWidget):
    """Plots under the grid."""

    picked = Signal(int, int)
    """Row and column of the table that a click on a point or in a plot means."""

    def __init__(self, grid: GridView, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._grid = grid
        self._state: GridState | None = None
        self._row: int | None = None
        self._column: int | None = None
        self._drawn: tuple[object, ...] = ()
        self._laid_out: tuple[int, int] | None = None
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
        layout.setSpacing(0)
        layout.addWidget(self._make_head())
        self._holder = QVBoxLayout()
        self._holder.addWidget(self._canvas)
        layout.addLayout(self._holder)
        grid.geometry_changed.connect(self.align)
        grid.together_changed.connect(self.redraw)
        self._canvas.wheeled.connect(self._wheel)
        self._canvas.left.connect(lambda: self._read_out(None))
        self._canvas.scene().sigMouseClicked.connect(self._clicked)
        self._canvas.scene().sigMouseMoved.connect(self._hovered)

    def _make_head(self) -> QWidget:
        head = QWidget()
        head.setFixedHeight(HEAD_HEIGHT)
        self.title = QLabel()
        self.title.setFont(theme.font(9.5, bold=True))
        self.scale_box = QComboBox()
        self.scale_box.addItems([str(scale) for scale in Scale])
        self.scale_box.setToolTip(
            "How positive quantities are plotted: as they are, by decimal logarithm, or in stops from the master.\n"
            "On its own scale a level stands in stops and everything else as it is."
        )
        self.scale_box.setAccessibleName("Scale of the traces")
        self.scale_box.currentIndexChanged.connect(self.redraw)
        label = QLabel("&Scale")
        label.setBuddy(self.scale_box)
        self.said = QLabel()
        self.said.setAccessibleName("Read-out of the traces")
        self.said.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        row = QHBoxLayout(head)
        row.setContentsMargins(8, 1, 8, 1)
        row.setSpacing(8)
        row.addWidget(self.title)
        row.addSpacing(12)
        row.addWidget(self.said, 1)
        row.addWidget(label)
        row.addWidget(self.scale_box)
        return head

    @property
    def scale(self) -> Scale:
        """How positive quantities are plotted."""
        return Scale(self.scale_box.currentText())

    def show_row(self, state: GridState, row: int, column: int) -> None:
        """Plot what belongs to a row, or the lights that are drawn together, and mark a shot in it."""
        self._state, self._row, self._column = state, row, column
        together = tuple(state.together)
        drawn = (state, state.revision, self.scale, together or row)
        if drawn != self._drawn:
            self._drawn = drawn
            self._replot(state, row)
        self.align()
        self._mark(column)

    def redraw(self) -> None:
        """Plot the same row again, by what is asked for now."""
        if self._state is not None and self._row is not None and self._column is not None:
            self._drawn = ()
            self.show_row(self._state, self._row, self._column)

    def clear(self) -> None:
        """Show nothing."""
        while self.plots:
            self._canvas.removeItem(self.plots.pop())
        self._state = self._row = self._column = None
        self._drawn = ()
        self.title.clear()
        self.said.clear()

    def _replot(self, state: GridState, row: int) -> None:
        north = state.session.sequence.conventions.north
        rows = [
            (group.title, group.rows[0])
            for name in state.together
            for group in state.groups
            if group.name == name
        ]
        panels = panels_together(state.table, rows, north) if rows else ()
        self.scale_box.setEnabled(
            not panels
        )  # lights drawn together share one: stops and degrees from the master
        if panels:
            names = [name for name, _ in rows[:MOST_TOGETHER]]
            more = f" (of {len(rows)}: no more are drawn together)" if len(rows) > MOST_TOGETHER else ""
            self.title.setText(f"{', '.join(names)}{more}")
        else:
            panels = panel_of_row(state.table, row, north, self.scale)
            self.title.setText(state.table.rows[row].parameter)
        while len(self.plots) > len(panels):
            self._canvas.removeItem(self.plots.pop())
        while len(self.plots) < len(panels):
            plot = _Plot()
            self._canvas.addItem(plot, row=len(self.plots), col=0)
            self.plots.append(plot)
        for plot, panel in zip(self.plots, panels, strict=True):
            plot.show_panel(panel, state)

    def _mark(self, column: int | None) -> None:
        x = self._x_of(column)
        for plot in self.plots:
            plot.mark(x, column)
            self._say(plot, column)
        self._read_out(None)

    def _x_of(self, column: int | None) -> float | None:
        """Where a shot stands in the plots; None where it is not listed."""
        place = self._state.place(column) if self._state is not None and column is not None else None
        layout = self._grid.layout_now()
        return layout.along(place) if place is not None and place < layout.columns else None

    def _say(self, plot: _Plot, column: int | None) -> None:
        """Write beside a plot what it says of a shot."""
        if plot.panel is None:
            return
        if len(plot.panel.strands) > 1:
            said: list[tuple[str, int | None]] = []
            for place, strand in enumerate(plot.panel.strands):
                value = f" {_off(strand.trace, column)}" if column is not None else ""
                said.append((f"{strand.name}{value}", place))
        else:
            trace = plot.panel.first
            master = trace.master if trace.masters is None or column is None else float(trace.masters[column])
            said = [(f"master {trace.said(master)}", None)]
            if column is not None:
                said.append((f"shot {trace.read_out(column)}", None))
        plot.left.said = said
        plot.left.update()

    def _read_out(self, column: int | None, places: range = range(0)) -> None:
        """Say in one line what all plots read in a shot, and whether it jumps at a cut beside it; before it, of which
        shots under the pointer it is the worst."""
        column = self._column if column is None else column
        if column is None or self._state is None:
            self.said.clear()
            return
        shots = self._state.table.shots
        several = f"{shots_said(self._state, places)}, the worst: " if len(places) > 1 else ""
        parts = [f"{several}{shots[column]}"]
        for plot in self.plots:
            if plot.panel is None:
                continue
            for strand in plot.panel.strands:
                value = strand.trace.values[column]
                if not strand.name:
                    parts.append(f"{plot.panel.title} {strand.trace.read_out(column)}")
                elif abs(value) > 1e-6:  # of several lights only what is off the master's is said
                    parts.append(f"{strand.name} {plot.panel.title} {_off(strand.trace, column)} from master")
                for after in strand.jumps:
                    if column in (after, after + 1):
                        parts.append(f"jumps at the cut {shots[after]} | {shots[after + 1]}")
        text = "     ".join(dict.fromkeys(parts))
        self.said.setText(text)
        self.said.setToolTip(text)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.align()

    def align(self) -> None:
        """Put every column of the plots exactly under the grid's column."""
        grid, layout = self._grid, self._grid.layout_now()
        names = grid.verticalHeader().width() + grid.frameWidth()
        right = self.width() - names - grid.viewport().width()
        self._holder.setContentsMargins(0, 0, max(right, 0), 0)
        if not layout.columns:
            return
        # One of the screen's pixels in columns, and where the grid's first one begins: at a whole pixel.
        each = layout.columns / layout.whole
        first = (layout.left - layout.shift) * each
        last = first + grid.viewport().width() * layout.ratio * each
        for plot in self.plots:
            # An axis draws itself anew whenever it is told, even of the same width.
            if plot.left.width() != names:
                plot.left.setWidth(names)
            plot.lines.lay_out(layout)
            plot.vb.setXRange(first, last, padding=0)
        if (layout.whole, layout.columns) != self._laid_out:
            self._laid_out = layout.whole, layout.columns
            x = self._x_of(self._column)
            for plot in self.plots:
                plot.mark(x, self._column)

    def x_of_column(self, column: int) -> float:
        """Where the middle of a listed column of the table lies in this widget, in Qt's pixels."""
        x = self._x_of(column)
        scene = self.plots[0].vb.mapViewToScene(QPointF(math.nan if x is None else x, 0))
        return float(self._canvas.mapTo(self, self._canvas.viewportTransform().map(scene)).x())

    def _wheel(self, event: QWheelEvent) -> None:
        if not event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            QApplication.sendEvent(self._grid.viewport(), event)
            return
        scene = self._canvas.mapToScene(event.position().toPoint())
        found = self._found_at(QPointF(scene))
        place = self._place(found) if found is not None else None
        x = event.position().x() - self._grid.viewport().x()
        self._grid.zoom(event.angleDelta().y() / 120.0, x, place)

    def _found_at(self, scene: QPointF) -> tuple[_Plot, range] | None:
        """The plot under a point, and the places of the shots there: several where they share a pixel."""
        for plot in self.plots:
            if plot.vb.sceneBoundingRect().contains(scene):
                layout = self._grid.layout_now()
                x = self._canvas.viewportTransform().map(scene).x() - self._grid.viewport().x()
                columns = layout.columns_at(layout.pixel(x))
                return (plot, columns) if columns else None
        return None

    def _place(self, found: tuple[_Plot, range]) -> int:
        """Of the shots under a point the one that drifts most in what is plotted there; of equal ones the first."""
        plot, places = found
        if len(places) == 1 or self._state is None or plot.panel is None:
            return places[0]
        columns = np.asarray(self._state.columns[places.start : places.stop])
        rows = np.asarray([strand.trace.row for strand in plot.panel.strands])
        return places[int(np.argmax(self._state.table.severity[rows[:, None], columns].max(axis=0)))]

    def _clicked(self, event: Any) -> None:
        found = self._found_at(event.scenePos())
        panel = found[0].panel if found is not None else None
        if found is None or panel is None or self._state is None:
            return
        column = self._state.columns[self._place(found)]
        # With several lines the nearest one to the pointer is meant.
        height = found[0].vb.mapSceneToView(event.scenePos()).y()
        strands = [s for s in panel.strands if math.isfinite(s.trace.values[column])]
        nearest = min(strands, key=lambda s: abs(float(s.trace.values[column]) - height), default=None)
        self.picked.emit((nearest or panel.strands[0]).trace.row, column)

    def _hovered(self, scene: QPointF) -> None:
        found = self._found_at(scene)
        column = self._column
        if found is not None and self._state is not None:
            column = self._state.columns[self._place(found)]
        for plot in self.plots:
            self._say(plot, column)
        self._read_out(None if found is None else column, found[1] if found is not None else range(0))


def _off(trace: Trace, column: int) -> str:
    """A difference from the master, with its sign."""
    return ("+" if trace.values[column] > 0 else "") + trace.read_out(column)
