"""The lines and points of one plot, drawn in pixels and only as far as they are in view.

pyqtgraph draws all points of its own items on every scroll; a film has thousands of shots.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPen, QPolygonF, QTransform
from PySide6.QtWidgets import QStyleOptionGraphicsItem

from samelight.drift.cells import Grade
from samelight.gui.grid.layout import Layout
from samelight.gui.paint import drift_scale, line_styles, theme
from samelight.gui.paint.glyphs import draw_marks
from samelight.gui.paint.plots import pg
from samelight.gui.state.cell_states import INTENDED
from samelight.gui.state.rows import GridState
from samelight.gui.traces.trace_data import Panel, Strand, Trace

POINTS_FROM = 9.0
"""Columns narrower than this (pixels) show a point only where something drifts."""

RING = 8.5
"""The radius of the ring around the current shot, in Qt's pixels."""

_MARK_REACH = 10.0
"""No mark of a shot reaches further across than this, in Qt's pixels."""


class _Item(pg.GraphicsObject):  # type: ignore[misc]  # pyqtgraph has no types
    """As large as what is in view."""

    def boundingRect(self) -> QRectF:
        return QRectF(self.viewRect())

    def viewRangeChanged(self, *_: Any) -> None:
        self.prepareGeometryChange()
        self.update()

    def update_around(self, x: float, y: float | None, reach: float) -> None:
        """Draw anew only what lies within so many of Qt's pixels of a point, or of a line from top to bottom."""
        view, box = self.viewRect(), self.getViewBox()
        across = reach * view.width() / max(box.width(), 1.0)
        up = reach * view.height() / max(box.height(), 1.0)
        top, bottom = (view.top(), view.bottom()) if y is None else (y - up, y + up)
        self.update(QRectF(x - across, top, 2 * across, bottom - top))


class Ring(_Item):
    """Rings around the points of the shot under the cursor."""

    def __init__(self) -> None:
        super().__init__()
        self._places: list[tuple[float, float]] = []

    def put(self, places: list[tuple[float, float]]) -> None:
        """Stand around these points, in the plot's own measures."""
        if places != self._places:
            for x, y in (*self._places, *places):
                self.update_around(x, y, RING + 3.0)
            self._places = places

    def getData(self) -> tuple[list[float], list[float]]:
        """Across and up, as pyqtgraph's own items tell their points."""
        return [x for x, _ in self._places], [y for _, y in self._places]

    def paint(self, painter: QPainter, *_: Any) -> None:
        world = painter.worldTransform()
        painter.save()
        painter.resetTransform()  # in Qt's pixels, as the lines
        painter.setPen(_RING_PEN)
        for x, y in self._places:
            painter.drawEllipse(world.map(QPointF(x, y)), RING, RING)
        painter.restore()


class Lines(_Item):
    """Everything of a plot that runs over the shots. `columns` are those listed, by place."""

    def __init__(self) -> None:
        super().__init__()
        self._panel: Panel | None = None
        self._state: GridState | None = None
        self.columns: NDArray[np.int64] = np.zeros(0, dtype=np.int64)
        self._states: NDArray[np.uint8] = np.zeros((0, 0), dtype=np.uint8)
        self._layout: Layout | None = None
        self._marked: float | None = None
        # So that it is told what to draw anew.
        self.setFlag(self.GraphicsItemFlag.ItemUsesExtendedStyleOption)

    def lay_out(self, layout: Layout) -> None:
        """Stand under the grid's columns."""
        moved = self._layout is None or layout.across != self._layout.across
        self._layout = layout
        if moved:
            self.update()

    def show_panel(self, panel: Panel, state: GridState) -> None:
        """Draw another plot."""
        self._panel = panel
        self._take(state)
        self.update()

    def show_state(self, state: GridState) -> None:
        """Draw the same plot by another state, if other shots are listed or other states are seen there."""
        columns, states = self.columns, self._states
        self._take(state)
        if not (np.array_equal(columns, self.columns) and np.array_equal(states, self._states)):
            self.update()

    def _take(self, state: GridState) -> None:
        rows = [strand.trace.row for strand in self._panel.strands] if self._panel is not None else []
        self._state = state
        self.columns = np.asarray(state.listing.columns, dtype=np.int64)
        self._states = state.standing.states[rows]

    def mark(self, x: float | None) -> None:
        """Draw a line through the shot that stands at `x`, in columns of the view."""
        if x != self._marked:
            for place in (self._marked, x):
                if place is not None:
                    self.update_around(place, None, 3.0)
            self._marked = x

    def paint(self, painter: QPainter, option: QStyleOptionGraphicsItem, *_: Any) -> None:
        layout = self._layout
        if self._panel is None or self._state is None or layout is None:
            return
        if layout.columns != self.columns.size:
            return  # other shots are listed, and will be plotted in a moment
        # In pixels from here on: pens and marks keep their size whatever the zoom.
        world = painter.worldTransform()
        painter.save()
        painter.resetTransform()
        view = self.viewRect()
        first, last = layout.columns_between(0, layout.room_x)
        first, last = max(first - 1, 0), min(last + 1, layout.columns)
        if first < last:
            stretch = _Stretch(self._state, self.columns[first:last], layout.shares(first, last), world, view)
            several = len(self._panel.strands) > 1
            stretch.held(painter, self._panel.first, banded=not several, marked=self._marked)
            for place, strand in enumerate(self._panel.strands):
                stretch.line(painter, strand, place if several else None)
            anew = world.mapRect(option.exposedRect)
            for strand in self._panel.strands:
                stretch.jumps(painter, strand)
                stretch.points(painter, strand.trace, anew)
        painter.restore()


class _Stretch:
    """The shots in view, and how they turn into pixels: `columns` are those of the table, `shares` where each starts and
    ends, in columns of the view."""

    def __init__(
        self,
        state: GridState,
        columns: NDArray[np.int64],
        shares: NDArray[np.float64],
        world: QTransform,
        view: QRectF,
    ) -> None:
        self.state = state
        self.columns = columns
        self.width = world.m11()
        self.edges: NDArray[np.float64] = shares * world.m11() + world.dx()
        self.x: NDArray[np.float64] = self.edges.mean(axis=0)
        self._across = world.dx()
        self._left, self._right = (x * world.m11() + world.dx() for x in (view.left(), view.right()))
        self._scale, self._shift = world.m22(), world.dy()
        self._top = view.bottom() * self._scale + self._shift
        self._bottom = view.top() * self._scale + self._shift

    def y(self, values: NDArray[np.float64]) -> NDArray[np.float64]:
        """Heights in pixels; what is infinite lies just inside the edge it is beyond."""
        with np.errstate(invalid="ignore"):
            heights: NDArray[np.float64] = values * self._scale + self._shift
        heights[values == -np.inf] = self._bottom - 8
        heights[values == np.inf] = self._top + 8
        return heights

    def held(self, painter: QPainter, trace: Trace, *, banded: bool, marked: float | None) -> None:
        """What lies under the lines: the tolerance and the master where all shots share them, and the current shot."""
        left, right = self._left, self._right
        low, high, master = self.y(np.array([trace.low, trace.high, trace.master])).tolist()
        if banded and math.isfinite(trace.low) and math.isfinite(trace.high):
            painter.fillRect(QRectF(left, high, right - left, low - high), _BAND)
            painter.setPen(_EDGE_PEN)
            painter.drawLines([QLineF(left, y, right, y) for y in (low, high)])
        if marked is not None:
            x = marked * self.width + self._across
            painter.setPen(_EDGE_PEN)
            painter.drawLine(QLineF(x, self._top, x, self._bottom))
        if math.isfinite(trace.master):
            painter.setPen(_MASTER_PEN)
            painter.drawLine(QLineF(left, master, right, master))

    def line(self, painter: QPainter, strand: Strand, place: int | None) -> None:
        trace = strand.trace
        if trace.masters is not None:
            if place is None:
                self.band(painter, trace)
            painter.setPen(_MASTER_PEN)
            heights = self.y(trace.masters[self.columns])
            for run in trace.runs(self.columns):
                across = np.ravel(self.edges[:, run], order="F")
                draw_path(painter, across, np.repeat(heights[run], 2))
        if trace.words:
            self.blocks(painter, trace)
            return
        values = trace.values[self.columns]
        # A light that is dark is off the scale; the line breaks there and its point lies on the edge.
        finite = np.where(np.isfinite(values), values, np.nan)
        painter.setPen(_LINE_PEN if place is None else line_styles.pen(place))
        heights = self.y(finite)
        for run in trace.runs(self.columns):
            draw_path(painter, self.x[run], heights[run])

    def blocks(self, painter: QPainter, trace: Trace) -> None:
        """What is no quantity: a block under each shot whose value is 1, a flat one where it is 0, none where it has none."""
        heights = self.y(trace.values[self.columns])
        floor = float(self.y(np.zeros(1))[0]) + _FLAT
        gap = 1.0 if self.width >= POINTS_FROM else 0.0
        for start, end in _runs(heights, merged=not gap):
            left, right, top = self.edges[0, start] + gap, self.edges[1, end] - gap, heights[start] - _FLAT
            painter.fillRect(QRectF(left, top, right - left, floor - top), _BLOCK)

    def band(self, painter: QPainter, trace: Trace) -> None:
        """The tolerance of each shot, around what it is compared with; one stroke for neighbours that share it."""
        if trace.lows is None or trace.highs is None:
            return
        tops, bottoms = self.y(trace.highs[self.columns]), self.y(trace.lows[self.columns])
        known = np.isfinite(tops) & np.isfinite(bottoms)
        differs = (tops[1:] != tops[:-1]) | (bottoms[1:] != bottoms[:-1])
        starts = np.concatenate(([0], np.flatnonzero(differs) + 1))
        ends = np.concatenate((starts[1:], [tops.size])) - 1
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(_BAND)
        for start, end in zip(starts[known[starts]].tolist(), ends[known[starts]].tolist(), strict=True):
            left, right = self.edges[0, start], self.edges[1, end]
            painter.drawRect(QRectF(left, tops[start], right - left, bottoms[start] - tops[start]))
        painter.setBrush(Qt.BrushStyle.NoBrush)

    def jumps(self, painter: QPainter, strand: Strand) -> None:
        """A small bracket between two shots that differ by more than the tolerance, though both are within it."""
        if not strand.jumps:
            return
        heights = self.y(strand.trace.values[self.columns])
        after = np.isin(self.columns[:-1], strand.jumps) & (np.diff(self.columns) == 1)
        painter.setPen(_JUMP_PEN)
        reach = min(max(self.width * 0.3, 2.0), 10.0)
        for place in np.flatnonzero(after).tolist():
            x, top, bottom = self.edges[1, place], heights[place], heights[place + 1]
            painter.drawLines(
                [
                    QLineF(x - reach, top, x, top),
                    QLineF(x, top, x, bottom),
                    QLineF(x, bottom, x + reach, bottom),
                ]
            )

    def points(self, painter: QPainter, trace: Trace, anew: QRectF) -> None:
        """A mark for each shot, as in the grid: dot, triangle where it drifts, square where a lock breaks. What lies
        beside `anew` stands already."""
        grades = self.state.table.grade[trace.row, self.columns]
        values = trace.values[self.columns]
        if trace.title in ("azimuth", "elevation"):
            # A sun that only turned keeps its elevation: the plot that stays on the master's line stays grey.
            grades = np.where(_on_master(trace)[self.columns], np.minimum(grades, int(Grade.SAME)), grades)
        worth = ~np.isnan(values) & ((grades >= Grade.DRIFT) | (self.width >= POINTS_FROM))
        worth &= (self.x > anew.left() - _MARK_REACH) & (self.x < anew.right() + _MARK_REACH)
        severity = self.state.table.severity[trace.row, self.columns]
        states = self.state.standing.states[trace.row, self.columns]
        heights = self.y(values)
        plain = worth & (grades <= Grade.SAME)
        if plain.any():
            dots = zip(self.x[plain].tolist(), heights[plain].tolist(), strict=True)
            painter.setPen(_DOT_PEN)
            painter.drawPoints(QPolygonF([QPointF(x, y) for x, y in dots]))
        marked = np.flatnonzero(worth & ~plain)
        # The worst last: where shots share a pixel, it lies on top.
        order = marked[np.argsort(severity[marked], kind="stable")]
        marks = zip(
            self.x[order].tolist(),
            heights[order].tolist(),
            grades[order].tolist(),
            drift_scale.colours(severity[order]),
            (states[order] == INTENDED).tolist(),
            strict=True,
        )
        draw_marks(painter, marks)


_BAND = QColor(255, 255, 255, 26)
_BLOCK = QColor(200, 200, 200, 90)
_FLAT = 2.0
"""Half the height of a flat block, in pixels."""
_RING_PEN = QPen(theme.BRIGHT, 2)
_EDGE_PEN = QPen(theme.EDGE, 1)
_LINE_PEN = QPen(theme.grey(200), 1.5)
_JUMP_PEN = QPen(theme.BRIGHT, 2)
_MASTER_PEN = QPen(theme.DIM_TEXT, 1.5, Qt.PenStyle.DashLine)
_DOT_PEN = QPen(theme.grey(150), 6.0, Qt.PenStyle.SolidLine, Qt.PenCapStyle.RoundCap)


def _on_master(trace: Trace) -> NDArray[np.bool_]:
    """In which shots a trace stands on the master's line, as nearly as can be seen."""
    low: float | NDArray[np.float64] = trace.low
    high: float | NDArray[np.float64] = trace.high
    held: float | NDArray[np.float64] = trace.master
    if trace.masters is not None and trace.lows is not None and trace.highs is not None:
        low, high, held = trace.lows, trace.highs, trace.masters
    with np.errstate(invalid="ignore"):
        found: NDArray[np.bool_] = np.abs(trace.values - held) <= np.subtract(high, low) / 32.0
    return found


def _runs(heights: NDArray[np.float64], *, merged: bool) -> list[tuple[int, int]]:
    """The first and the last place of each run on one height that is known; of each place alone unless `merged`."""
    starts = (
        np.arange(heights.size) if not merged else np.flatnonzero(np.diff(heights, prepend=np.nan) != 0.0)
    )
    ends = np.concatenate((starts[1:], [heights.size])) - 1
    known = np.isfinite(heights[starts])
    return list(zip(starts[known].tolist(), ends[known].tolist(), strict=True))


def draw_path(painter: QPainter, x: NDArray[np.float64], y: NDArray[np.float64]) -> None:
    """A line through points, broken at NaN. Runs on one height are one stroke. Where it turns more often than every four pixels it
    is one pixel wide: that takes Qt a fiftieth of the time, and it covers about the same."""
    known = np.isfinite(y)
    if not known.any():
        return
    pen = painter.pen()
    hairline = QPen(pen)
    hairline.setWidthF(1.0)
    edges = np.flatnonzero(np.diff(np.concatenate(([False], known, [False])).astype(np.int8)))
    for start, end in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        xs, ys = x[start:end], y[start:end]
        if ys.size > 2:
            turns = (ys[1:-1] != ys[:-2]) | (ys[1:-1] != ys[2:])
            keep = np.concatenate(([True], turns, [True]))
            xs, ys = xs[keep], ys[keep]
        if xs.size > 1:
            painter.setPen(pen if 4 * (xs.size - 2) <= xs[-1] - xs[0] else hairline)
            painter.drawPolyline(
                QPolygonF([QPointF(a, b) for a, b in zip(xs.tolist(), ys.tolist(), strict=True)])
            )
    painter.setPen(pen)
