"""The traces: plots that share the grid's columns, so that what moves stands under the cell that moved."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from PySide6.QtCore import QEvent, QPointF, QSize, Qt, Signal
from PySide6.QtGui import QPainter, QPaintEvent, QResizeEvent, QWheelEvent
from PySide6.QtWidgets import QApplication, QComboBox, QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from samelight.drift.table import Table
from samelight.gui.grid.under_pointer import shots_said
from samelight.gui.grid.view import GridView
from samelight.gui.paint import theme
from samelight.gui.paint.plots import pg
from samelight.gui.state.rows import GridState
from samelight.gui.traces.plot_stack import PlotStack
from samelight.gui.traces.trace_data import (
    MOST_TOGETHER,
    Panel,
    TraceScale,
    panel_of_row,
    panels_together,
    same_lines,
)
from samelight.gui.traces.trace_plot import TracePlot, off_master
from samelight.gui.widgets.plain_text import PlainLabel, plain
from samelight.gui.widgets.typed_letters import keep_letters
from samelight.reports.shown import clean_lines

_KNOWN = 8
"""The plots of how many rows are kept; those of a long film take megabytes."""


class _Canvas(pg.GraphicsLayoutWidget):  # type: ignore[misc]  # as above
    """Hands the wheel to the grid, which scrolls and zooms for both."""

    wheeled = Signal(QWheelEvent)
    left = Signal()

    def wheelEvent(self, event: QWheelEvent) -> None:
        self.wheeled.emit(event)

    def leaveEvent(self, event: QEvent) -> None:
        self.left.emit()
        super().leaveEvent(event)


class _ReadOut(QWidget):
    """A line of text that takes the room it is given. A label asks for another with every text, upon which the whole
    window is laid out anew: once for each shot under the mouse."""

    def __init__(self) -> None:
        super().__init__()
        self._text = ""
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)

    def text(self) -> str:
        """What it says."""
        return self._text

    def setText(self, text: str) -> None:
        """Say something; what does not fit is its tool tip as well."""
        if text != self._text:
            self._text = clean_lines(text)
            self.setToolTip(plain(text))
            self.setAccessibleDescription(self._text)
            self.update()

    def sizeHint(self) -> QSize:
        return QSize(0, self.fontMetrics().height())

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        self.style().drawItemText(
            painter, self.rect(), _LINE, self.palette(), self.isEnabled(), self._text, self.foregroundRole()
        )
        painter.end()


_LINE = int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)


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
        self._asked: tuple[object, ...] | None = None
        """What is plotted, and how."""
        self._listed: tuple[GridState, int] | None = None
        self._plotted: Table | None = None
        """What the plots were made of."""
        self._known: dict[int, tuple[Panel, ...]] = {}
        """The plots of the rows where the cursor was last: along the header of a group it goes to and fro among them."""
        self._laid_out: tuple[int, int] | None = None
        self.canvas = _Canvas()
        self._stack = PlotStack(self.canvas)
        self.plots = self._stack.plots
        self.canvas.setBackground(theme.WINDOW)
        self.canvas.setAntialiasing(True)
        self.canvas.ci.layout.setContentsMargins(0, 0, 0, 0)
        self.canvas.ci.layout.setSpacing(0)
        self.canvas.setAccessibleName("Traces over the cut")
        self.canvas.setFrameShape(_Canvas.Shape.NoFrame)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addWidget(self._make_head())
        self._holder = QVBoxLayout()
        self._holder.addWidget(self.canvas)
        layout.addLayout(self._holder)
        grid.geometry_changed.connect(self.align)
        grid.together_changed.connect(self.redraw)
        self.canvas.wheeled.connect(self._wheel)
        self.canvas.left.connect(lambda: self._read_out(None))
        self.canvas.scene().sigMouseClicked.connect(self._clicked)
        self.canvas.scene().sigMouseMoved.connect(self._hovered)

    def _make_head(self) -> QWidget:
        head = QWidget()
        head.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        self.title = PlainLabel()
        self.title.setFont(theme.font(bold=True))
        self.scale_box = QComboBox()
        self.scale_box.addItems([str(scale) for scale in TraceScale])
        self.scale_box.setToolTip(
            "How positive quantities are plotted: as they are, by decimal logarithm, or in stops from the master.\n"
            "On its own scale a level stands in stops and everything else as it is."
        )
        self.scale_box.setAccessibleName("Scale of the traces")
        keep_letters(self.scale_box)
        self.scale_box.currentIndexChanged.connect(self.redraw)
        label = PlainLabel("&Scale")
        label.setBuddy(self.scale_box)
        self.said = _ReadOut()
        self.said.setAccessibleName("Read-out of the traces")
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
    def scale(self) -> TraceScale:
        """How positive quantities are plotted."""
        return TraceScale(self.scale_box.currentText())

    def show_row(self, state: GridState, row: int, column: int) -> None:
        """Plot what belongs to a row, or the lights that are drawn together, and mark a shot in it.

        What is plotted already is not plotted again: then only the mark moves.
        """
        if (state, state.revision) != self._listed:
            self._known.clear()
        asked = (
            state.session.contents.sequence.conventions.north,
            self.scale,
            tuple(state.view.together) or row,
        )
        if asked != self._asked or (state, state.revision) != self._listed:
            known = self._plotted if asked == self._asked else None
            if known is not None and same_lines(known, state.table, self._stack.panels):
                for plot in self.plots:
                    plot.lines.show_state(state)
            else:
                self._replot(state, row)
            self._plotted = state.table
            self._asked, self._listed = asked, (state, state.revision)
            self._state = state
            self.align()
        self._row, self._column = row, column
        self._mark(column)

    def redraw(self) -> None:
        """Plot the same row again, by what is asked for now."""
        if self._state is not None and self._row is not None and self._column is not None:
            self._asked = None
            self._known.clear()
            self.show_row(self._state, self._row, self._column)

    def clear(self) -> None:
        """Show nothing."""
        self._stack.leave(0)
        self._state = self._row = self._column = self._asked = self._listed = self._plotted = None
        self._known.clear()
        self.title.clear()
        self.said.setText("")

    def _replot(self, state: GridState, row: int) -> None:
        north = state.session.contents.sequence.conventions.north
        rows = [
            (group.title, group.rows[0])
            for name in state.view.together
            for group in state.groups
            if group.name == name
        ]
        panels = panels_together(state.table, rows, north) if rows else ()
        # Lights drawn together share one: stops and degrees from the master.
        self.scale_box.setEnabled(not panels)
        if panels:
            names = [name for name, _ in rows[:MOST_TOGETHER]]
            more = f" (of {len(rows)}: no more are drawn together)" if len(rows) > MOST_TOGETHER else ""
            self.title.setText(f"{', '.join(names)}{more}")
        else:
            panels = self._panels_of(state, row)
            self.title.setText(state.table.rows[row].parameter)
        self._stack.show(panels, state)

    def _panels_of(self, state: GridState, row: int) -> tuple[Panel, ...]:
        if row not in self._known:
            if len(self._known) >= _KNOWN:
                del self._known[next(iter(self._known))]
            north = state.session.contents.sequence.conventions.north
            self._known[row] = panel_of_row(state.table, row, north, self.scale)
        return self._known[row]

    def _mark(self, column: int | None) -> None:
        x = self.x_of(column)
        for plot in self.plots:
            plot.mark(x, column)
            plot.say(column)
        self._read_out(None)

    def x_of(self, column: int | None) -> float | None:
        """Where a shot stands in the plots; None where it is not listed."""
        place = self._state.listing.place(column) if self._state is not None and column is not None else None
        layout = self._grid.layout_now()
        return layout.along(place) if place is not None and place < layout.columns else None

    def _read_out(self, column: int | None, places: range = range(0)) -> None:
        """Say in one line what all plots read in a shot, and whether it jumps at a cut beside it; before it, of which
        shots under the pointer it is the worst."""
        column = self._column if column is None else column
        if column is None or self._state is None:
            self.said.setText("")
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
                    parts.append(
                        f"{strand.name} {plot.panel.title} {off_master(strand.trace, column)} from master"
                    )
                parts += [
                    f"jumps at the cut {shots[after]} | {shots[after + 1]}"
                    for after in strand.jumps
                    if column in (after, after + 1)
                ]
        self.said.setText("     ".join(dict.fromkeys(parts)))

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
            plot.draw_for(layout.ratio)
            plot.lines.lay_out(layout)
            plot.show_columns(first, last)
        if (layout.whole, layout.columns) != self._laid_out:
            self._laid_out = layout.whole, layout.columns
            x = self.x_of(self._column)
            for plot in self.plots:
                plot.mark(x, self._column)

    def x_of_column(self, column: int) -> float:
        """Where the middle of a listed column of the table lies in this widget, in Qt's pixels."""
        x = self.x_of(column)
        scene = self.plots[0].vb.mapViewToScene(QPointF(math.nan if x is None else x, 0))
        return float(self.canvas.mapTo(self, self.canvas.viewportTransform().map(scene)).x())

    def _wheel(self, event: QWheelEvent) -> None:
        if not event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            QApplication.sendEvent(self._grid.viewport(), event)
            return
        scene = self.canvas.mapToScene(event.position().toPoint())
        found = self._found_at(QPointF(scene))
        place = self._place(found) if found is not None else None
        x = event.position().x() - self._grid.viewport().x()
        self._grid.widths.zoom(event.angleDelta().y() / 120.0, x, place)

    def _found_at(self, scene: QPointF) -> tuple[TracePlot, range] | None:
        """The plot under a point, and the places of the shots there: several where they share a pixel."""
        for plot in self.plots:
            if plot.vb.sceneBoundingRect().contains(scene):
                layout = self._grid.layout_now()
                x = self.canvas.viewportTransform().map(scene).x() - self._grid.viewport().x()
                columns = layout.columns_at(layout.pixel(x))
                return (plot, columns) if columns else None
        return None

    def _place(self, found: tuple[TracePlot, range]) -> int:
        """Of the shots under a point the one that drifts most in what is plotted there; of equal ones the first."""
        plot, places = found
        if len(places) == 1 or self._state is None or plot.panel is None:
            return places[0]
        columns = np.asarray(self._state.listing.columns[places.start : places.stop])
        rows = np.asarray([strand.trace.row for strand in plot.panel.strands])
        return places[int(np.argmax(self._state.table.severity[rows[:, None], columns].max(axis=0)))]

    def _clicked(self, event: Any) -> None:
        found = self._found_at(event.scenePos())
        panel = found[0].panel if found is not None else None
        if found is None or panel is None or self._state is None:
            return
        column = self._state.listing.columns[self._place(found)]
        # With several lines the nearest one to the pointer is meant.
        height = found[0].vb.mapSceneToView(event.scenePos()).y()
        strands = [s for s in panel.strands if math.isfinite(s.trace.values[column])]
        nearest = min(strands, key=lambda s: abs(float(s.trace.values[column]) - height), default=None)
        self.picked.emit((nearest or panel.strands[0]).trace.row, column)

    def _hovered(self, scene: QPointF) -> None:
        found = self._found_at(scene)
        column = self._column
        if found is not None and self._state is not None:
            column = self._state.listing.columns[self._place(found)]
        for plot in self.plots:
            plot.say(column)
        self._read_out(None if found is None else column, found[1] if found is not None else range(0))
