"""How a plot over versions is drawn: where its heights lie, the tolerance, names and values."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPen, QPolygonF

from samelight.drift.cells import Grade
from samelight.drift.traces import Trace
from samelight.drift.words import number_text
from samelight.gui.inspector.version_data import Version
from samelight.gui.paint import drift_scale, theme
from samelight.gui.paint.drawn_text import draw_text
from samelight.gui.paint.glyphs import draw_mark

_EDGE = 9.0


@dataclass(frozen=True, slots=True)
class Axes:
    """Where the plot lies in its widget, and how values turn into heights. `low` and `high` are the ends of the range,
    `width` and `height` those of the widget."""

    room: QRectF
    count: int
    low: float
    high: float
    width: float
    height: float

    def x(self, place: int) -> float:
        """The middle of a version's column."""
        return self.room.left() + (place + 0.5) * self.room.width() / max(self.count, 1)

    def y(self, value: float) -> float:
        """The height of a value; what is infinite lies at the edge."""
        if math.isinf(value):
            return self.room.bottom() - 4 if value < 0 else self.room.top() + 4
        span = self.high - self.low
        return self.room.bottom() - (value - self.low) / span * self.room.height()

    def place(self, x: float) -> int | None:
        """The version under a pixel."""
        place = math.floor((x - self.room.left()) / max(self.room.width(), 1.0) * self.count)
        return place if 0 <= place < self.count else None


def axes_of(trace: Trace | None, count: int, width: float, height: float) -> Axes:
    """Where the plot of so many versions lies in a widget of this size."""
    metrics = QFontMetricsF(theme.font(theme.SMALL))
    left = 0.0
    if trace is not None:
        ticks = [text for _, text in _ticks(trace, height)]
        left = min(max((metrics.horizontalAdvance(text) for text in ticks), default=0.0) + 8.0, width * 0.4)
    room = QRectF(
        left, _EDGE, max(width - left - 2.0, 10.0), max(height - _EDGE - metrics.height() - 6.0, 10.0)
    )
    low, high = _range(trace) if trace is not None else (0.0, 1.0)
    return Axes(room, count, low, high, width, height)


def _range(trace: Trace) -> tuple[float, float]:
    """The ends of what is plotted."""
    if trace.words:
        return -0.5, len(trace.words) - 0.5
    low, high = trace.spread()
    return (low, high) if high > low else (low - 1.0, high + 1.0)


def _ticks(trace: Trace, height: float) -> list[tuple[float, str]]:
    """The heights that are named: the values compared with and the ends of what is plotted, where they lie apart."""
    if trace.words:
        return [(float(place), word) for place, word in enumerate(trace.words)]
    low, high = _range(trace)
    finite = trace.values[np.isfinite(trace.values)]
    held = [trace.master] if trace.masters is None else trace.masters.tolist()
    wanted = [value for value in held if math.isfinite(value)]
    wanted += [float(finite.max()), float(finite.min())] if finite.size else []
    found: list[tuple[float, str]] = []
    line = QFontMetricsF(theme.font(theme.SMALL)).height()
    room = max(height - _EDGE - line - 6.0, 10.0)
    for value in wanted:
        if all(abs(value - other) / (high - low) * room >= line for other, _ in found):
            found.append((value, f"{number_text(value, 3)}{trace.unit.removesuffix(' off')}"))
    return found


def draw_held(painter: QPainter, axes: Axes, trace: Trace) -> None:
    """The tolerance and the line in its middle."""
    room = axes.room
    if math.isfinite(trace.low) and math.isfinite(trace.high) and not trace.words:
        top, bottom = axes.y(trace.high), axes.y(trace.low)
        painter.fillRect(QRectF(room.left(), top, room.width(), bottom - top), theme.grey(76))
    painter.setPen(QPen(theme.DIM_TEXT, 1.4, Qt.PenStyle.DashLine))
    if math.isfinite(trace.master):
        painter.drawLine(
            QPointF(room.left(), axes.y(trace.master)), QPointF(room.right(), axes.y(trace.master))
        )
    elif trace.masters is not None:
        half = room.width() / max(axes.count, 1) / 2
        for place, value in enumerate(trace.masters.tolist()):
            if math.isfinite(value):
                x, y = axes.x(place), axes.y(value)
                painter.drawLine(QPointF(x - half, y), QPointF(x + half, y))


def draw_axes(painter: QPainter, axes: Axes, trace: Trace, versions: Sequence[Version], marked: int) -> None:
    """What heights and versions are called."""
    metrics, room = QFontMetricsF(painter.font()), axes.room
    painter.setPen(theme.DIM_TEXT)
    for value, text in _ticks(trace, axes.height):
        y, width = axes.y(value), room.left() - 6.0
        elided = metrics.elidedText(text, Qt.TextElideMode.ElideRight, width)
        where = QRectF(0.0, y - metrics.height() / 2, width, metrics.height())
        draw_text(painter, where, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, elided)
    painter.setPen(QPen(theme.EDGE, 1))
    painter.drawLine(room.bottomLeft(), room.bottomRight())
    step = room.width() / max(axes.count, 1)
    wide = max(metrics.horizontalAdvance(version.name) for version in versions) + 4.0
    every = max(1, math.ceil(wide / max(step, 1.0)))
    for place, version in enumerate(versions):
        # The last always has its name, and those before it as there is room.
        if (len(versions) - 1 - place) % every:
            continue
        x = axes.x(place)
        left = min(max(x - wide / 2, room.left() - 4), axes.width - wide)
        painter.setPen(theme.BRIGHT if place == marked else theme.DIM_TEXT)
        where = QRectF(left, room.bottom() + 3, wide, metrics.height())
        draw_text(painter, where, Qt.AlignmentFlag.AlignCenter, version.name)


def draw_values(
    painter: QPainter, axes: Axes, trace: Trace, versions: Sequence[Version], marked: int
) -> None:
    """The values, each until the next version, and a ring around the marked one."""
    known = [place for place, value in enumerate(trace.values.tolist()) if not math.isnan(value)]
    points = {place: QPointF(axes.x(place), axes.y(float(trace.values[place]))) for place in known}
    painter.setPen(QPen(theme.grey(200), 1.5))
    for before, after in pairwise(known):
        if after == before + 1:
            start, end = points[before], points[after]
            # A value holds until the next version is published.
            turn = QPointF(end.x(), start.y())
            painter.drawPolyline(QPolygonF([start, turn, end]))
    for place, version in enumerate(versions):
        at = points.get(place)
        if at is None:
            # A version that cannot be read, or that has nothing here, stands as a cross on the axis.
            x, y = axes.x(place), axes.room.bottom() - 6
            painter.setPen(QPen(theme.TEXT if version.fault else theme.EDGE, 1.6))
            painter.drawLine(QPointF(x - 4, y - 4), QPointF(x + 4, y + 4))
            painter.drawLine(QPointF(x - 4, y + 4), QPointF(x + 4, y - 4))
            continue
        fill = drift_scale.colour(version.severity) if version.grade > Grade.SAME else theme.grey(176)
        draw_mark(painter, at, int(version.grade), fill, intended=False)
    if 0 <= marked < len(versions):
        at = points.get(marked, QPointF(axes.x(marked), axes.room.bottom() - 6))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(theme.grey(16), 3.5))
        painter.drawEllipse(at, 8.5, 8.5)
        painter.setPen(QPen(theme.BRIGHT, 1.8))
        painter.drawEllipse(at, 8.5, 8.5)
