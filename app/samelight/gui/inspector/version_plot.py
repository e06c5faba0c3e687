"""A small plot over versions: the values, the line they are held against, and the tolerance around it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QFontMetricsF,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPolygonF,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from samelight.drift.cells import Grade
from samelight.drift.traces import Trace
from samelight.drift.words import number_text
from samelight.gui.inspector.version_data import Version, VersionHistory
from samelight.gui.paint import drift_scale, theme
from samelight.gui.paint.glyphs import draw_mark
from samelight.gui.widgets.page_parts import LEAST_WIDTH
from samelight.gui.widgets.plain_text import plain
from samelight.gui.widgets.shows_focus import ShowsFocus

_SMALL = 8.5
_EDGE = 9.0
_STEPS = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}


@dataclass(frozen=True, slots=True)
class Axes:
    """Where the plot lies in its widget, and how values turn into heights. `low` and `high` are the ends of the range."""

    room: QRectF
    count: int
    low: float
    high: float

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


class VersionPlot(ShowsFocus, QWidget):
    """The plot. Left and Right go from version to version, as does the mouse."""

    pointed = Signal(int)
    """The place of the version that is pointed at, -1 for none."""
    chosen = Signal(int)
    """The place of the version that was clicked, or gone to by key."""

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._history: VersionHistory | None = None
        self._marked = -1
        self._message = ""
        self.setAccessibleName(name)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.setMinimumWidth(LEAST_WIDTH)
        self.setMouseTracking(True)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)

    def sizeHint(self) -> QSize:
        line = QFontMetricsF(theme.font(_SMALL)).height()
        words = len(self._trace.words) if self._trace is not None else 0
        rows = max(5.4, words * 1.2 + 1.6)
        return QSize(LEAST_WIDTH, round(line * rows))

    def minimumSizeHint(self) -> QSize:
        return self.sizeHint()

    @property
    def _trace(self) -> Trace | None:
        return self._history.trace if self._history is not None else None

    @property
    def versions(self) -> tuple[Version, ...]:
        """The versions that are plotted."""
        return self._history.versions if self._history is not None else ()

    @property
    def marked(self) -> int:
        """The place of the version that is ringed."""
        return self._marked

    def show_history(self, history: VersionHistory, current: int) -> None:
        """Plot versions, with the place of the one that the grid shows."""
        self._history, self._marked, self._message = history, current, ""
        self.setToolTip(
            "A click says who published a version, and when, where its sheet states it (Left, Right)"
        )
        self.setAccessibleDescription("; ".join(version.line for version in history.versions))
        self._again()

    def show_message(self, message: str) -> None:
        """Say why there is no plot."""
        self._history, self._marked, self._message = None, -1, message
        self.setToolTip(plain(message))
        self.setAccessibleDescription(message)
        self._again()

    def mark(self, place: int) -> None:
        """Ring a version."""
        if self._history is not None and 0 <= place < len(self.versions):
            self._marked = place
            self.update()

    def _again(self) -> None:
        self.updateGeometry()
        self.update()

    # Where things lie

    def axes_now(self) -> Axes:
        """Where the plot lies at this moment."""
        metrics = QFontMetricsF(theme.font(_SMALL))
        trace = self._trace
        left = 0.0
        if trace is not None:
            ticks = [text for _, text in self._ticks(trace)]
            left = min(
                max((metrics.horizontalAdvance(text) for text in ticks), default=0.0) + 8.0,
                self.width() * 0.4,
            )
        room = QRectF(
            left,
            _EDGE,
            max(self.width() - left - 2.0, 10.0),
            max(self.height() - _EDGE - metrics.height() - 6.0, 10.0),
        )
        low, high = self._range(trace) if trace is not None else (0.0, 1.0)
        return Axes(room, len(self.versions), low, high)

    @staticmethod
    def _range(trace: Trace) -> tuple[float, float]:
        if trace.words:
            return -0.5, len(trace.words) - 0.5
        low, high = trace.spread()
        return (low, high) if high > low else (low - 1.0, high + 1.0)

    def _ticks(self, trace: Trace) -> list[tuple[float, str]]:
        """The heights that are named: the values held against and the ends of what is plotted, where they lie apart."""
        if trace.words:
            return [(float(place), word) for place, word in enumerate(trace.words)]
        low, high = self._range(trace)
        finite = trace.values[np.isfinite(trace.values)]
        held = [trace.master] if trace.masters is None else trace.masters.tolist()
        wanted = [value for value in held if math.isfinite(value)]
        wanted += [float(finite.max()), float(finite.min())] if finite.size else []
        found: list[tuple[float, str]] = []
        line = QFontMetricsF(theme.font(_SMALL)).height()
        room = max(self.height() - _EDGE - line - 6.0, 10.0)
        for value in wanted:
            if all(abs(value - other) / (high - low) * room >= line for other, _ in found):
                found.append((value, f"{number_text(value, 3)}{trace.unit.removesuffix(' off')}"))
        return found

    # What is drawn

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), theme.PANEL)
        painter.setFont(theme.font(_SMALL))
        trace = self._trace
        if self._history is None or trace is None:
            painter.setPen(theme.DIM_TEXT)
            room = QRectF(self.rect()).adjusted(6, 2, -6, -2)
            said = self._message or "Nothing to plot"
            wrapped = Qt.TextFlag.TextWordWrap | Qt.AlignmentFlag.AlignCenter
            painter.drawText(room, wrapped, said)
        else:
            axes = self.axes_now()
            self._draw_held(painter, axes, trace)
            self._draw_axes(painter, axes, trace)
            self._draw_values(painter, axes, trace)
        if self.hasFocus():
            painter.setPen(QPen(theme.HIGHLIGHT, 1))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5))
        painter.end()

    def _draw_held(self, painter: QPainter, axes: Axes, trace: Trace) -> None:
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

    def _draw_axes(self, painter: QPainter, axes: Axes, trace: Trace) -> None:
        metrics, room = QFontMetricsF(painter.font()), axes.room
        painter.setPen(theme.DIM_TEXT)
        for value, text in self._ticks(trace):
            y, width = axes.y(value), room.left() - 6.0
            elided = metrics.elidedText(text, Qt.TextElideMode.ElideRight, width)
            where = QRectF(0.0, y - metrics.height() / 2, width, metrics.height())
            painter.drawText(where, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, elided)
        painter.setPen(QPen(theme.EDGE, 1))
        painter.drawLine(room.bottomLeft(), room.bottomRight())
        step = room.width() / max(axes.count, 1)
        wide = max(metrics.horizontalAdvance(version.name) for version in self.versions) + 4.0
        every = max(1, math.ceil(wide / max(step, 1.0)))
        for place, version in enumerate(self.versions):
            # The last always has its name, and those before it as there is room.
            if (len(self.versions) - 1 - place) % every:
                continue
            x = axes.x(place)
            left = min(max(x - wide / 2, room.left() - 4), self.width() - wide)
            painter.setPen(theme.BRIGHT if place == self._marked else theme.DIM_TEXT)
            where = QRectF(left, room.bottom() + 3, wide, metrics.height())
            painter.drawText(where, Qt.AlignmentFlag.AlignCenter, version.name)

    def _draw_values(self, painter: QPainter, axes: Axes, trace: Trace) -> None:
        known = [place for place, value in enumerate(trace.values.tolist()) if not math.isnan(value)]
        points = {place: QPointF(axes.x(place), axes.y(float(trace.values[place]))) for place in known}
        painter.setPen(QPen(theme.grey(200), 1.5))
        for before, after in pairwise(known):
            if after == before + 1:
                start, end = points[before], points[after]
                # A value holds until the next version is published.
                turn = QPointF(end.x(), start.y())
                painter.drawPolyline(QPolygonF([start, turn, end]))
        for place, version in enumerate(self.versions):
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
        if 0 <= self._marked < len(self.versions):
            at = points.get(self._marked, QPointF(axes.x(self._marked), axes.room.bottom() - 6))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(theme.grey(16), 3.5))
            painter.drawEllipse(at, 8.5, 8.5)
            painter.setPen(QPen(theme.BRIGHT, 1.8))
            painter.drawEllipse(at, 8.5, 8.5)

    # What the hand does

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        place = self.axes_now().place(event.position().x()) if self._history is not None else None
        self.pointed.emit(-1 if place is None else place)

    def leaveEvent(self, event: QEvent) -> None:
        self.pointed.emit(-1)
        super().leaveEvent(event)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        if event.button() != Qt.MouseButton.LeftButton or self._history is None:
            return
        place = self.axes_now().place(event.position().x())
        if place is not None:
            self._choose(place)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        step = _STEPS.get(Qt.Key(event.key()))
        if step is None or self._history is None:
            super().keyPressEvent(event)
            return
        place = self._marked + step if self._marked >= 0 else len(self.versions) - 1
        if 0 <= place < len(self.versions):
            self._choose(place)

    def _choose(self, place: int) -> None:
        self.mark(place)
        self.chosen.emit(place)
