"""Draws where the marks of a shot are in its frame: a thin ring, or rectangle, in the colour of what is off there."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QRect, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPen

from samelight.gui.paint import drift_scale, theme
from samelight.sequence.mark_regions import MarkRegion

SMALLEST = 7.0
"""Pixels across: a mark that is smaller on the screen is drawn so large."""


def place_of(region: MarkRegion, frame: QRect) -> QRectF:
    """Where a region lies on the screen, of a frame that is shown there."""
    edges = QRectF(
        frame.left() + region.left * frame.width(),
        frame.top() + region.top * frame.height(),
        (region.right - region.left) * frame.width(),
        (region.bottom - region.top) * frame.height(),
    )
    more = [max(SMALLEST - side, 0.0) / 2.0 for side in (edges.width(), edges.height())]
    return edges.adjusted(-more[0], -more[1], more[0], more[1])


def ring_colour(region: MarkRegion) -> QColor:
    """The colour of a region's ring: that of its drift, bright grey where nothing is off."""
    return drift_scale.colour(region.severity) if region.severity > 0.0 else theme.BRIGHT


def draw_regions(painter: QPainter, frame: QRect, regions: Sequence[MarkRegion], width: float = 1.5) -> None:
    """Draw the marks of a frame that is shown in a rectangle, each on a dark rim, so that it is seen on any picture."""
    painter.save()
    painter.setClipRect(frame, Qt.ClipOperation.IntersectClip)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    for region in regions:
        place = place_of(region, frame)
        for pen in (QPen(theme.grey(0), width + 1.5), QPen(ring_colour(region), width)):
            painter.setPen(pen)
            if region.is_round:
                painter.drawEllipse(place)
            else:
                painter.drawRect(place)
    painter.restore()
