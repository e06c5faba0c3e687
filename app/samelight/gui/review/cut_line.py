"""One trace across the cut, in the place of the controls while the cut plays: what is looked at, and where it jumps."""

from __future__ import annotations

import numpy as np
from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFontMetricsF, QMouseEvent, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from samelight.drift.table import Table
from samelight.drift.traces import Trace
from samelight.gui.paint import drift_scale, theme
from samelight.gui.paint.drawn_text import draw_text
from samelight.gui.review.cut_trace import CutTrace, cut_trace
from samelight.gui.review.review_state import ReviewState
from samelight.gui.review.type_size import pixel_font
from samelight.gui.widgets.plain_text import plain

_WORDS = 0.34
"""The share of the width that the name and the value have."""


class CutLine(QWidget):
    """A name, the value in the shot that is shown, and a line over all shots; a press goes to a shot."""

    pressed = Signal(str)
    """A shot."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.parameter = ""
        """What is traced while the cut plays."""
        self.shown: CutTrace | None = None
        """What is drawn: it is worked out once, and not for each shot of a cut that plays."""
        self._shown_of: tuple[Table, str] | None = None
        self.shot = ""
        """The shot that is shown."""
        self.how = ""
        """How the cut plays, in words."""
        self._pixels = 20
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("Trace across the cut")

    def set_type(self, pixels: int) -> None:
        """Set the size of type."""
        self._pixels = pixels
        self.updateGeometry()
        self.update()

    def show_play(self, state: ReviewState | None, how: str) -> None:
        """Trace what is looked at for as long as the cut plays; `how`, in words, or nothing when it stopped."""
        self.how = how
        if not how or state is None:
            self.parameter = ""
        else:
            self.parameter = self.parameter or state.choice.traced()
            self.show_shot(state)

    def show_shot(self, state: ReviewState) -> None:
        """Mark a shot in the trace, while the cut plays."""
        if not self.how:
            return
        table = state.session.table
        if self._shown_of is None or self._shown_of[0] is not table or self._shown_of[1] != self.parameter:
            self._shown_of = table, self.parameter
            self.shown = cut_trace(state.session, self.parameter)
        self.shot = state.shot
        self.setAccessibleDescription(self.says())
        self.setToolTip(plain(f"{self.says()}. A press goes to a shot, K stops"))
        self.update()

    def says(self) -> str:
        """What is traced, its value here and the master's, and how the cut plays."""
        if self.shown is None:
            return self.how
        place = self._place(self.shown)
        value = self.shown.trace.read_out(place) if place is not None else "no value"
        return f"{self.shown.title}  {value}"

    def _place(self, shown: CutTrace) -> int | None:
        return shown.shots.index(self.shot) if self.shot in shown.shots else None

    def sizeHint(self) -> QSize:
        return QSize(200, round(QFontMetricsF(pixel_font(self._pixels)).height() * 1.2))

    def plot_room(self) -> QRectF:
        """Where the line over all shots is drawn."""
        left = self.width() * _WORDS
        return QRectF(left, 2, self.width() - left, self.height() - 4)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        room, shown = self.plot_room(), self.shown
        if shown is not None and event.position().x() >= room.left():
            count = shown.trace.values.size
            place = int((event.position().x() - room.left()) / max(room.width(), 1) * count)
            self.pressed.emit(shown.shots[min(max(place, 0), count - 1)])

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setFont(pixel_font(self._pixels))
        painter.setPen(theme.TEXT)
        room = self.plot_room()
        words = QRectF(0, 0, room.left() - self._pixels / 2, self.height())
        flags = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
        text = painter.fontMetrics().elidedText(
            self.says(), Qt.TextElideMode.ElideMiddle, round(words.width())
        )
        draw_text(painter, words, flags, text)
        if self.shown is not None:
            self._draw(painter, room, self.shown)
        painter.end()

    def _draw(self, painter: QPainter, room: QRectF, shown: CutTrace) -> None:
        trace, count = shown.trace, shown.trace.values.size
        low, high = trace.spread()
        wide, tall = room.width() / max(count, 1), room.height() - 6

        def at(place: int, value: float) -> QPointF:
            share = (value - low) / (high - low) if high > low else 0.5
            return QPointF(
                room.left() + (place + 0.5) * wide, room.bottom() - 3 - min(max(share, 0.0), 1.0) * tall
            )

        painter.fillRect(room, theme.FIELD)
        place_here = self._place(shown)
        if place_here is not None:
            here = QRectF(room.left() + place_here * wide, room.top(), wide, room.height())
            painter.fillRect(here, theme.HIGHLIGHT)
        painter.setPen(QPen(theme.DIM_TEXT, 1, Qt.PenStyle.DashLine))
        for run in _runs(trace):
            held = [at(place, _master(trace, place)) for place in run if np.isfinite(_master(trace, place))]
            painter.drawPolyline(QPolygonF(held))
        painter.setPen(QPen(theme.TEXT, 2))
        for run in _runs(trace):
            points = [
                at(place, float(trace.values[place])) for place in run if np.isfinite(trace.values[place])
            ]
            painter.drawPolyline(QPolygonF(points))
        side = max(self._pixels / 4, 4.0)
        for place, severity in enumerate(shown.severity):
            if severity > 1.0 and np.isfinite(trace.values[place]):
                spot = at(place, float(trace.values[place]))
                mark = QRectF(spot.x() - side / 2, spot.y() - side / 2, side, side)
                painter.fillRect(mark, drift_scale.colour(float(severity)))


def _runs(trace: Trace) -> list[list[int]]:
    return [run.tolist() for run in trace.runs(np.arange(trace.values.size))]


def _master(trace: Trace, place: int) -> float:
    return float(trace.masters[place]) if trace.masters is not None else trace.master
