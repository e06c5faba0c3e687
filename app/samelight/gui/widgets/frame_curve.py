"""A mark over the measured frames of its shot: its level in stops over the first frame, beside what its sheet leads one to expect.

The wide band is what a frame may be off before it is told, the one about the curve its noise. Where frames are missing nothing is drawn.
"""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QVBoxLayout, QWidget

from samelight.findings.over_frames import FramePoint, runs_of
from samelight.gui.paint import drift_scale, theme
from samelight.gui.paint.drawn_text import draw_text
from samelight.gui.widgets.page_parts import LEAST_WIDTH, FittedLabel
from samelight.gui.widgets.plain_text import plain

HEIGHT, _LOW = 132, 92
"""Pixels, as all here are Qt's."""
_EDGE = 8.0
_LIMIT, _NOISE = theme.grey(62), theme.grey(104)
_LEAST_SPAN = 0.5
"""Stops: what is plotted is no less high, so that what sampling leaves does not look like a jump."""
_HOW = (
    "Line: as measured. Dashes: what the sheet leads one to expect. Band: how far off a frame may be; about the line: noise. "
    "Frames that are missing leave a gap."
)
Band = list[tuple[float, float, float]]
"""Frame, lower and upper end in stops."""


class _Curve(QWidget):
    """The bands, the two curves and a dot a frame: in colour the one that is told."""

    def __init__(self, height: int) -> None:
        super().__init__()
        self.points: Sequence[FramePoint] = ()
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.setFixedHeight(height)
        self.setMinimumWidth(LEAST_WIDTH)

    def sizeHint(self) -> QSize:
        return QSize(LEAST_WIDTH, self.height())

    def at(self, frame: float, stops: float) -> QPointF:
        """Where a level in a frame is painted."""
        room, (low, high) = self._room(), _range(self.points)
        first, last = self.points[0].frame, self.points[-1].frame
        across = (frame - first) / (last - first) if last > first else 0.5
        return QPointF(
            room.left() + across * room.width(),
            room.bottom() - (stops - low) / (high - low) * room.height(),
        )

    def _room(self) -> QRectF:
        metrics = QFontMetricsF(theme.font(theme.SMALL))
        left = min(max(metrics.horizontalAdvance(text) for _, text in self._ticks()) + 12.0, self.width() / 3)
        return QRectF(
            left, _EDGE, max(self.width() - left - _EDGE, 10.0), self.height() - 2 * _EDGE - metrics.height()
        )

    def _ticks(self) -> list[tuple[float, str]]:
        levels = [point.level for point in self.points]
        return [(stops, stops_text(stops)) for stops in dict.fromkeys((0.0, max(levels), min(levels)))]

    def paintEvent(self, event: QPaintEvent) -> None:
        if not self.points:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), theme.PANEL)
        painter.setFont(theme.font(theme.SMALL))
        runs = runs_of(self.points)
        for run in runs:
            self._fill(painter, limit_band(run), _LIMIT)
        for run in runs:
            self._fill(painter, noise_band(run), _NOISE)
        for run in runs:
            self._line(
                painter, [(one.frame, one.expected) for one in run], theme.DIM_TEXT, Qt.PenStyle.DashLine
            )
            self._line(painter, [(one.frame, one.level) for one in run], theme.BRIGHT, Qt.PenStyle.SolidLine)
        self._dots(painter)
        self._names(painter)
        painter.end()

    def _fill(self, painter: QPainter, band: Band, colour: QColor) -> None:
        above = [self.at(frame, high) for frame, _, high in band]
        below = [self.at(frame, low) for frame, low, _ in reversed(band)]
        painter.setPen(QPen(colour, 3))  # a band of one frame is a bar
        painter.setBrush(colour)
        painter.drawPolygon(QPolygonF([*above, *below]))

    def _line(
        self, painter: QPainter, levels: list[tuple[float, float]], colour: QColor, style: Qt.PenStyle
    ) -> None:
        painter.setPen(QPen(colour, 1.6, style))
        painter.drawPolyline(QPolygonF([self.at(*one) for one in levels]))

    def _dots(self, painter: QPainter) -> None:
        painter.setPen(QPen(theme.PANEL, 1))
        for one in self.points:
            painter.setBrush(drift_scale.colour(one.limits_off) if one.told else theme.BRIGHT)
            size = 4.5 if one.told else 2.5
            painter.drawEllipse(self.at(one.frame, one.level), size, size)

    def _names(self, painter: QPainter) -> None:
        room, metrics = self._room(), QFontMetricsF(painter.font())
        painter.setPen(theme.DIM_TEXT)
        taken: list[float] = []
        for stops, text in self._ticks():
            y = self.at(self.points[0].frame, stops).y()
            if all(abs(y - other) >= metrics.height() for other in taken):
                taken.append(y)
                where = QRectF(0.0, y - metrics.height() / 2, room.left() - 8.0, metrics.height())
                draw_text(painter, where, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, text)
        below = QRectF(room.left(), room.bottom() + 4, room.width(), metrics.height())
        ends = ((Qt.AlignmentFlag.AlignLeft, self.points[0]), (Qt.AlignmentFlag.AlignRight, self.points[-1]))
        for side, one in ends if len(self.points) > 1 else ends[:1]:
            draw_text(painter, below, side | Qt.AlignmentFlag.AlignVCenter, f"{one.frame:g}")


class FrameCurve(QWidget):
    """The curve, what it says frame by frame, and how it is read: where it is `brief`, the last by its tool tip alone."""

    def __init__(self, *, brief: bool = False, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._brief = brief
        self.curve = _Curve(_LOW if brief else HEIGHT)
        self.said = FittedLabel(points=theme.DENSE, lines=3)
        self.note = FittedLabel(points=theme.DENSE, dim=True, lines=4)
        self.note.setText(_HOW)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 2, 0, 0)
        layout.setSpacing(3)
        for part in (self.curve, self.said, self.note):
            layout.addWidget(part)

    def show_points(self, points: Sequence[FramePoint]) -> None:
        """Show these frames; hidden where there are none."""
        self.curve.points = points
        self.said.setText(points_text(points))
        self.curve.setToolTip(plain(_HOW))
        self.curve.setAccessibleName(self.said.text())
        self.curve.update()
        self.setVisible(bool(points))
        self.curve.setVisible(bool(points))
        self.note.setVisible(bool(points) and not self._brief)

    def words(self) -> str:
        """What each frame is, as text."""
        return "\n".join(part.text() for part in (self.said, self.note) if not part.isHidden())


def limit_band(run: Sequence[FramePoint]) -> Band:
    """Where a frame may lie before it is told."""
    return [
        (one.frame, one.beside - one.limit, one.beside + one.limit)
        for one in run
        if one.beside is not None and one.limit is not None
    ]


def noise_band(run: Sequence[FramePoint]) -> Band:
    """Where noise may put each frame."""
    return [(one.frame, one.level - one.noise, one.level + one.noise) for one in run if one.noise > 0.0]


def _range(points: Sequence[FramePoint]) -> tuple[float, float]:
    """The ends of what is plotted, in stops."""
    bands = [*limit_band(points), *noise_band(points)]
    ends = [value for one in points for value in (one.level, one.expected)]
    ends += [value for _, low, high in bands for value in (low, high)]
    middle, half = (max(ends) + min(ends)) / 2, max(max(ends) - min(ends), _LEAST_SPAN) / 2
    return middle - half, middle + half


def stops_text(stops: float) -> str:
    """Stops with their sign.

    >>> stops_text(-0.7), stops_text(0.0)
    ('−0.70', '0')
    """
    return f"{stops:+.2f}".replace("-", "−") if round(stops, 2) else "0"


def points_text(points: Sequence[FramePoint]) -> str:
    """The frames in words: those that are off with where the frames beside them would have them; empty for none."""
    if not points:
        return ""
    said = [
        f"{one.frame:g} {stops_text(one.level)}"
        + (f" (held to {stops_text(one.beside or 0.0)} ± {one.limit or 0.0:.2f})" if one.told else "")
        for one in points[1:]
    ]
    return f"Stops over frame {points[0].frame:g}: {', '.join(said)}"
