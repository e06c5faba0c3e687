"""The light of a mark, or of the whole frame, about middle grey, with the key shot's behind it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QComboBox, QVBoxLayout, QWidget

from samelight.gui.background.frames import Frame
from samelight.gui.paint import theme
from samelight.gui.paint.drawn_text import draw_text
from samelight.gui.widgets.plain_text import PlainLabel
from samelight.sequence.mark_regions import MarkRegion
from samelight.sources.pictures.histogram import FURTHEST, STEPS, Histogram, histogram

WHOLE = "whole frame"
_EVERY = 2
"""Stops between two numbers on the axis."""


class MarkedFrame(NamedTuple):
    """A shot's frame, and where the marks are in it."""

    shot: str
    frame: Frame | None
    regions: Sequence[MarkRegion]


class HistogramView(QWidget):
    """Shows the histogram of the mark that is chosen."""

    chosen = Signal()
    """Another mark was chosen."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.mark_box = QComboBox()
        self.mark_box.addItem(WHOLE)
        self.mark_box.setAccessibleName("Of which part the histogram is")
        self.mark_box.setToolTip("Of which mark, or of the whole frame, the histogram is")
        self.plot = HistogramPlot()
        self.said = PlainLabel("")
        self.said.setWordWrap(True)
        body = QVBoxLayout(self)
        body.setContentsMargins(0, 0, 0, 0)
        body.addWidget(self.mark_box)
        body.addWidget(self.plot)
        body.addWidget(self.said)
        self._wanted = ""
        self.mark_box.activated.connect(self._choose)

    def show_frames(self, this: MarkedFrame, key: MarkedFrame | None, stops: float) -> None:
        """Show a shot, with the key shot behind it unless it is that itself, exposed by `stops`."""
        names = [region.mark for region in this.regions]
        texts = [*names, WHOLE]
        if [self.mark_box.itemText(place) for place in range(self.mark_box.count())] != texts:
            self.mark_box.clear()
            self.mark_box.addItems(texts)
        self.mark_box.setCurrentIndex(texts.index(self._wanted) if self._wanted in texts else 0)
        mark = self.mark_box.currentText()
        own, other = _of(this, mark, stops), _of(key, mark, stops) if key is not None else None
        self.plot.show_histograms(own, other)
        self.said.setText(_says(own, other, key))
        self.plot.setAccessibleDescription(self.said.text())

    def _choose(self) -> None:
        self._wanted = self.mark_box.currentText()
        self.chosen.emit()


def _of(seen: MarkedFrame, mark: str, stops: float) -> Histogram | None:
    picture = seen.frame.picture if seen.frame is not None else None
    if picture is None:
        return None
    if mark == WHOLE:
        return histogram(picture.linear, exposed=stops)
    region = next((one for one in seen.regions if one.mark == mark), None)
    if region is None:
        return None
    edges = region.left, region.top, region.right, region.bottom
    return histogram(picture.linear, edges, is_round=region.is_round, exposed=stops)


def _says(own: Histogram | None, other: Histogram | None, key: MarkedFrame | None) -> str:
    if own is None:
        return "There are no pixels of it."
    if own.median is None:
        return "Half of it or more is black."
    said = f"Median {_stops(own.median)} from middle grey"
    if other is not None and other.median is not None and key is not None:
        apart = own.median - other.median
        said += (
            f", as in {key.shot}"
            if abs(apart) < 0.05
            else f", {abs(apart):.1f} stops {'brighter' if apart > 0.0 else 'darker'} than in {key.shot} (outline)"
        )
    return f"{said}."


def _stops(stops: float) -> str:
    return f"{stops:+.1f} stops".replace("-", "−")


class HistogramPlot(QWidget):
    """One histogram filled, another as an outline behind it, over stops from middle grey."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.own: Histogram | None = None
        self.other: Histogram | None = None
        self.setAccessibleName("Histogram")
        self.setToolTip(
            "Shares of the pixels by stops from middle grey (0.18), with the exposure that is set; the outline is the key shot's"
        )

    def sizeHint(self) -> QSize:
        return QSize(200, 96)

    def minimumSizeHint(self) -> QSize:
        return QSize(80, 72)

    def show_histograms(self, own: Histogram | None, other: Histogram | None) -> None:
        """Show another histogram before another one."""
        if (own, other) != (self.own, self.other):
            self.own, self.other = own, other
            self.update()

    def place(self) -> QRectF:
        """Where it is drawn: above its numbers."""
        below = QFontMetricsF(self.font()).height() * 0.8 + 2
        return QRectF(1, 1, max(self.width() - 2.0, 1.0), max(self.height() - below - 2.0, 1.0))

    def x_of(self, stops: float) -> float:
        """Where so many stops from middle grey are."""
        place = self.place()
        return place.left() + place.width() * (stops + FURTHEST) / (2 * FURTHEST)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        place = self.place()
        painter.fillRect(place, theme.FIELD)
        font = self.font()
        font.setPixelSize(max(round(QFontMetricsF(font).height() * 0.6), 8))
        painter.setFont(font)
        for stops in range(-FURTHEST, FURTHEST + 1, _EVERY):
            x = self.x_of(stops)
            painter.setPen(QPen(theme.DIM_TEXT if stops == 0 else theme.EDGE, 1))
            painter.drawLine(QPointF(x, place.top()), QPointF(x, place.bottom()))
            painter.setPen(theme.DIM_TEXT)
            room = QRectF(x - 20, place.bottom() + 1, 40, self.height() - place.bottom() - 1)
            if room.left() >= 0 and room.right() <= self.width():
                draw_text(
                    painter,
                    room,
                    Qt.AlignmentFlag.AlignCenter,
                    f"{stops:+d}".replace("-", "−") if stops else "0",
                )
        most = max((max(one.shares) for one in (self.own, self.other) if one is not None), default=0.0)
        if most > 0.0:
            painter.setBrush(Qt.BrushStyle.NoBrush)
            for one, is_own in ((self.own, True), (self.other, False)):
                if one is None:
                    continue
                outline = self._outline(one, most)
                if is_own:
                    painter.setPen(Qt.PenStyle.NoPen)
                    painter.setBrush(theme.grey(190))
                    painter.drawPolygon(outline)
                    painter.setBrush(Qt.BrushStyle.NoBrush)
                else:
                    painter.setPen(QPen(theme.grey(0), 3))
                    painter.drawPolyline(outline)
                    painter.setPen(QPen(theme.BRIGHT, 1.2))
                    painter.drawPolyline(outline)
        painter.end()

    def _outline(self, one: Histogram, most: float) -> QPolygonF:
        """Steps from the left to the right, each as high as its share."""
        place = self.place()
        points = [QPointF(self.x_of(-FURTHEST), place.bottom())]
        for index, share in enumerate(one.shares):
            y = place.bottom() - place.height() * 0.95 * share / most
            points += [QPointF(self.x_of((index + side) / STEPS - FURTHEST), y) for side in (0, 1)]
        return QPolygonF([*points, QPointF(self.x_of(FURTHEST), place.bottom())])
