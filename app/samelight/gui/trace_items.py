"""The lines and points of one plot, drawn in pixels and only as far as they are in view.

pyqtgraph draws all points of its own items on every scroll; a film has thousands of shots.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pyqtgraph as pg
from numpy.typing import NDArray
from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPen, QPolygonF, QTransform

from samelight.decisions.state import State
from samelight.drift.cells import Grade
from samelight.gui import drift_scale, line_styles, theme
from samelight.gui.marks import draw_mark
from samelight.gui.rows import STATES, GridState
from samelight.gui.trace_data import Panel, Strand, Trace

POINTS_FROM = 9.0
"""Columns narrower than this (pixels) show a point only where something drifts."""

_INTENDED = STATES.index(State.INTENDED)


class Lines(pg.GraphicsObject):  # type: ignore[misc]  # pyqtgraph has no types
    """Everything of a plot that runs over the shots. `columns` are those listed, by place."""

    def __init__(self) -> None:
        super().__init__()
        self._panel: Panel | None = None
        self._state: GridState | None = None
        self._columns: NDArray[np.int64] = np.zeros(0, dtype=np.int64)

    def show_panel(self, panel: Panel, state: GridState) -> None:
        """Draw another plot."""
        self._panel, self._state = panel, state
        self._columns = np.asarray(state.columns, dtype=np.int64)
        self.update()

    def boundingRect(self) -> QRectF:
        return QRectF(self.viewRect())

    def viewRangeChanged(self, *_: Any) -> None:
        self.prepareGeometryChange()
        self.update()

    def paint(self, painter: QPainter, *_: Any) -> None:
        if self._panel is None or self._state is None or not self._columns.size:
            return
        # In pixels from here on: pens and marks keep their size whatever the zoom.
        world = painter.worldTransform()
        painter.save()
        painter.resetTransform()
        view = self.viewRect()
        first = max(int(np.floor(view.left())) - 1, 0)
        last = min(int(np.ceil(view.right())) + 1, self._columns.size)
        if first < last:
            stretch = _Stretch(self._state, self._columns, first, last, world, view)
            several = len(self._panel.strands) > 1
            for place, strand in enumerate(self._panel.strands):
                stretch.line(painter, strand, place if several else None)
            for strand in self._panel.strands:
                stretch.jumps(painter, strand)
                stretch.points(painter, strand.trace)
        painter.restore()


class _Stretch:
    """The shots in view, from place `first` to before `last`, and how they turn into pixels."""

    def __init__(
        self,
        state: GridState,
        columns: NDArray[np.int64],
        first: int,
        last: int,
        world: QTransform,
        view: QRectF,
    ) -> None:
        self.state = state
        self.columns = columns[first:last]
        self.width = world.m11()
        places = np.arange(first, last, dtype=np.float64)
        self.x: NDArray[np.float64] = (places + 0.5) * world.m11() + world.dx()
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

    def line(self, painter: QPainter, strand: Strand, place: int | None) -> None:
        trace = strand.trace
        if trace.masters is not None:
            painter.setPen(_MASTER_PEN)
            half = np.full(self.x.size, self.width / 2)
            _draw_path(painter, *_steps(self.x, self.y(trace.masters[self.columns]), half))
        values = trace.values[self.columns]
        # A light that is dark is off the scale; the line breaks there and its point lies on the edge.
        finite = np.where(np.isfinite(values), values, np.nan)
        painter.setPen(_LINE_PEN if place is None else line_styles.pen(place))
        _draw_path(painter, self.x, self.y(finite))

    def jumps(self, painter: QPainter, strand: Strand) -> None:
        """A small bracket between two shots that differ by more than the tolerance, though both are within it."""
        if not strand.jumps:
            return
        heights = self.y(strand.trace.values[self.columns])
        after = set(strand.jumps)
        painter.setPen(_JUMP_PEN)
        reach = min(max(self.width * 0.3, 2.0), 10.0)
        for place in range(self.columns.size - 1):
            column = int(self.columns[place])
            if column in after and self.columns[place + 1] == column + 1:
                x, top, bottom = self.x[place] + self.width / 2, heights[place], heights[place + 1]
                painter.drawLines(
                    [
                        QLineF(x - reach, top, x, top),
                        QLineF(x, top, x, bottom),
                        QLineF(x, bottom, x + reach, bottom),
                    ]
                )

    def points(self, painter: QPainter, trace: Trace) -> None:
        """A mark for each shot, as in the grid: dot, triangle where it drifts, square where a lock breaks."""
        grades = self.state.table.grade[trace.row, self.columns]
        values = trace.values[self.columns]
        if trace.title in ("azimuth", "elevation"):
            # A sun that only turned keeps its elevation: the plot that stays on the master's line stays grey.
            with np.errstate(invalid="ignore"):
                held = np.abs(values - trace.master) <= (trace.high - trace.low) / 32.0
            grades = np.where(held, np.minimum(grades, int(Grade.SAME)), grades)
        worth = ~np.isnan(values) & ((grades >= Grade.DRIFT) | (self.width >= POINTS_FROM))
        severity = self.state.table.severity[trace.row, self.columns]
        states = self.state.states[trace.row, self.columns]
        heights = self.y(values)
        plain = worth & (grades <= Grade.SAME)
        if plain.any():
            dots = zip(self.x[plain].tolist(), heights[plain].tolist(), strict=True)
            painter.setPen(_DOT_PEN)
            painter.drawPoints(QPolygonF([QPointF(x, y) for x, y in dots]))
        for place in np.flatnonzero(worth & ~plain).tolist():
            grade, at = int(grades[place]), QPointF(self.x[place], heights[place])
            fill = drift_scale.colour(float(severity[place]))
            draw_mark(painter, at, grade, fill, intended=states[place] == _INTENDED)


_LINE_PEN = QPen(theme.grey(200), 1.5)
_JUMP_PEN = QPen(theme.BRIGHT, 2)
_MASTER_PEN = QPen(theme.DIM_TEXT, 1.5, Qt.PenStyle.DashLine)
_DOT_PEN = QPen(theme.grey(150), 6.0, Qt.PenStyle.SolidLine, Qt.PenCapStyle.RoundCap)


def _draw_path(painter: QPainter, x: NDArray[np.float64], y: NDArray[np.float64]) -> None:
    """A line through points, broken at NaN. Runs on one height are one stroke."""
    known = np.isfinite(y)
    if not known.any():
        return
    edges = np.flatnonzero(np.diff(np.concatenate(([False], known, [False])).astype(np.int8)))
    for start, end in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        xs, ys = x[start:end], y[start:end]
        if ys.size > 2:
            turns = (ys[1:-1] != ys[:-2]) | (ys[1:-1] != ys[2:])
            keep = np.concatenate(([True], turns, [True]))
            xs, ys = xs[keep], ys[keep]
        if xs.size > 1:
            painter.drawPolyline(
                QPolygonF([QPointF(a, b) for a, b in zip(xs.tolist(), ys.tolist(), strict=True)])
            )


def _steps(
    x: NDArray[np.float64], y: NDArray[np.float64], half: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """A level stroke over the width of each column."""
    return np.ravel(np.column_stack((x - half, x + half))), np.repeat(y, 2)
