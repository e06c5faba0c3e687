"""Curves of one light over all shots of a production, one below the other, with the sequences marked below."""

from __future__ import annotations

import math

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFontMetricsF, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from samelight.drift.words import number_text
from samelight.gui.paint import theme
from samelight.gui.paint.drawn_text import draw_text
from samelight.gui.state.film_trace import FilmLine, FilmTrace
from samelight.gui.widgets.plain_text import plain
from samelight.gui.widgets.shows_focus import ShowsFocus

_NAME, _CHOOSE = "A light over the film", "Choose what is followed over the film"
_LEFT, _RIGHT = 132.0, 12.0
"""Pixels for what a curve is called and its figures, and at the right of the last shot."""
_LINE = 64
"""How high a curve is at least."""
_EDGE = 6.0
_STEPS = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}


class FilmPlot(ShowsFocus, QWidget):
    """The shot under the pointer is marked and told by the tool tip; Left and Right go from shot to shot. A click or Enter asks for its
    sequence."""

    picked = Signal(str)
    """The name of a sequence."""
    pointed = Signal(int)
    """The place of the shot that is marked."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.trace: FilmTrace | None = None
        self.marked = -1
        """The place of the shot that is told."""
        self.setMouseTracking(True)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName(_NAME)
        self.setToolTip(plain(_CHOOSE))
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)

    def sizeHint(self) -> QSize:
        lines = len(self.trace.lines) if self.trace is not None else 1
        return QSize(400, lines * _LINE + round(self._foot()))

    def _foot(self) -> float:
        return QFontMetricsF(theme.font(theme.SMALL)).height() + 2 * _EDGE

    def show_trace(self, trace: FilmTrace | None) -> None:
        """Draw another light, or the same one anew, with the shot that was marked where it is still there; None for nothing."""
        before = self.trace.stops[self.marked] if self.trace is not None and self.marked >= 0 else None
        self.trace, self.marked = trace, -1
        self.setAccessibleName(_NAME if trace is None else f"{trace.name} over the film")
        self.setAccessibleDescription("")
        self.setToolTip(plain(_CHOOSE if trace is None else ""))
        if trace is not None:
            self.mark(0 if before is None else trace.place_of(before))
        self.setFixedHeight(self.sizeHint().height())
        self.update()

    def mark(self, place: int) -> None:
        """Mark a shot, and tell it."""
        if self.trace is None or place == self.marked or not 0 <= place < len(self.trace.stops):
            return
        self.marked = place
        said = self.trace.said(place)
        self.setToolTip(plain(f"{said}\nA click, or Enter, opens the sequence"))
        self.setAccessibleDescription(said)
        self.pointed.emit(place)
        self.update()

    def x_of(self, place: int) -> float:
        """Where a shot stands."""
        count = len(self.trace.stops) if self.trace is not None else 1
        return _LEFT + (place + 0.5) * (self.width() - _LEFT - _RIGHT) / max(count, 1)

    def _place_at(self, x: float) -> int:
        count = len(self.trace.stops) if self.trace is not None else 0
        room = max(self.width() - _LEFT - _RIGHT, 1.0)
        return min(max(int((x - _LEFT) / room * count), 0), count - 1) if count else -1

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        self.mark(self._place_at(event.position().x()))

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        if event.button() == Qt.MouseButton.LeftButton:
            self.mark(self._place_at(event.position().x()))
            self._pick()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        step = _STEPS.get(Qt.Key(event.key()))
        if step is not None:
            self.mark(self.marked + step)
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._pick()
        else:
            super().keyPressEvent(event)

    def _pick(self) -> None:
        if self.trace is not None and self.marked >= 0:
            self.picked.emit(self.trace.stops[self.marked].sequence)

    # What is drawn

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), theme.PANEL)
        if self.trace is not None:
            painter.setFont(theme.font(theme.SMALL))
            high = (self.height() - self._foot()) / max(len(self.trace.lines), 1)
            self._draw_sequences(painter, self.trace)
            for row, line in enumerate(self.trace.lines):
                self._draw_line(painter, line, QRectF(0.0, row * high, self.width(), high))
        if self.hasFocus():
            painter.setPen(theme.TEXT)
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(self.rect().adjusted(0, 0, -1, -1))
        painter.end()

    def _draw_sequences(self, painter: QPainter, trace: FilmTrace) -> None:
        """Where each sequence begins, with its name where there is room."""
        step = (self.width() - _LEFT - _RIGHT) / max(len(trace.stops), 1)
        foot = self.height() - self._foot()
        ends = [start for start, _ in trace.starts[1:]] + [len(trace.stops)]
        for (start, name), end in zip(trace.starts, ends, strict=True):
            left, right = _LEFT + start * step, _LEFT + end * step
            painter.setPen(QPen(theme.EDGE, 1))
            painter.drawLine(QPointF(left, 0), QPointF(left, self.height()))
            room = QRectF(left + 4, foot, max(right - left - 8, 0.0), self._foot())
            painter.setPen(theme.DIM_TEXT)
            text = painter.fontMetrics().elidedText(name, Qt.TextElideMode.ElideRight, int(room.width()))
            draw_text(painter, room, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, text)
        if self.marked >= 0:
            painter.setPen(QPen(theme.HIGHLIGHT, 1))
            x = self.x_of(self.marked)
            painter.drawLine(QPointF(x, 0), QPointF(x, foot))

    def _draw_line(self, painter: QPainter, line: FilmLine, room: QRectF) -> None:
        known = [one for one in (*line.values.tolist(), *line.held.tolist()) if math.isfinite(one)]
        low, high = (min(known), max(known)) if known else (0.0, 1.0)
        if high - low < 1e-9:
            low, high = low - 1.0, high + 1.0
        figures = painter.fontMetrics().height()
        top, bottom = room.top() + figures / 2 + _EDGE, room.bottom() - figures / 2 - _EDGE

        def y_of(value: float) -> float:
            return bottom - (value - low) / (high - low) * (bottom - top)

        painter.setPen(theme.TEXT)
        middle = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
        name = painter.fontMetrics().elidedText(line.name, Qt.TextElideMode.ElideRight, 66)
        draw_text(painter, QRectF(8, room.top(), 68, room.height()), middle, name)
        painter.setPen(theme.DIM_TEXT)
        at_end = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        for value in (high, low):
            where = QRectF(60, y_of(value) - figures / 2, _LEFT - 66, figures)
            draw_text(painter, where, at_end, f"{number_text(value, 3)}{line.unit.removesuffix(' off')}")
        half = (self.x_of(1) - self.x_of(0)) / 2
        painter.setPen(QPen(theme.DIM_TEXT, 1.4, Qt.PenStyle.DashLine))
        for place, value in enumerate(line.held.tolist()):
            if math.isfinite(value):
                x, y = self.x_of(place), y_of(value)
                painter.drawLine(QPointF(x - half, y), QPointF(x + half, y))
        painter.setPen(QPen(theme.EDGE, 1))
        painter.drawLine(QPointF(_LEFT, room.bottom()), QPointF(self.width() - _RIGHT, room.bottom()))
        painter.setPen(Qt.PenStyle.NoPen)
        for place, value in enumerate(line.values.tolist()):
            if math.isfinite(value):
                is_off = line.is_off(place)
                painter.setBrush(theme.BRIGHT if is_off else theme.grey(176))
                size = min(max(half, 1.5), 4.0 if is_off else 3.0)
                painter.drawEllipse(QPointF(self.x_of(place), y_of(value)), size, size)
