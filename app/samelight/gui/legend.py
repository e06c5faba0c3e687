"""The legend: what the colours and marks mean."""

from __future__ import annotations

from PySide6.QtCore import QPoint, QRect, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPolygon
from PySide6.QtWidgets import QSizePolicy, QWidget

from samelight.gui import drift_scale, theme

_STEPS: tuple[tuple[float, str], ...] = (
    (0.6, "within"),
    (1.6, "1×"),
    (3.0, "3×"),
    (10.0, "10×"),
    (30.0, "30×"),
)


class Legend(QWidget):
    """Drift over tolerance as colours, levels and states as marks."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFixedHeight(26)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("Legend")
        self.setAccessibleDescription(
            "Cell colour is drift over tolerance. Dot: within tolerance. Triangle: drift. Square: drift on a locked "
            "parameter. Short bar at the top: a finding explains it. Tick with a frame: intended. Round arrow: lapsed. Arrow to the left: sent back. Unequal: contested."
        )
        self.setToolTip(self.accessibleDescription())

    def sizeHint(self) -> QSize:
        return QSize(760, 26)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setFont(theme.font(9.0))
        x = self._text(painter, 8, "drift ÷ tolerance", theme.DIM_TEXT)
        for severity, label in _STEPS:
            box = QRect(x, 5, 44, 16)
            painter.fillRect(box, drift_scale.colour(severity))
            painter.setPen(drift_scale.ink(*drift_scale.rgb(severity)))
            painter.drawText(box, Qt.AlignmentFlag.AlignCenter, label)
            x += 45
        x += 14
        for shape, label in (("dot", "within"), ("triangle", "drift"), ("square", "break (locked)")):
            self._shape(painter, x, shape)
            x = self._text(painter, x + 10, label, theme.TEXT)
        painter.fillRect(x, self.height() // 2 - 1, 7, 2, theme.TEXT)
        x = self._text(painter, x + 11, "has a finding", theme.TEXT)
        x += 6
        for mark, label in (("✓", "intended"), ("↻", "lapsed"), ("←", "sent back"), ("≠", "contested")):
            x = self._text(painter, x, mark, theme.BRIGHT) - 8
            x = self._text(painter, x, label, theme.TEXT)
        painter.end()

    def _text(self, painter: QPainter, x: int, text: str, colour: QColor) -> int:
        painter.setPen(colour)
        width = painter.fontMetrics().horizontalAdvance(text)
        painter.drawText(QRect(x, 0, width + 2, self.height()), Qt.AlignmentFlag.AlignVCenter, text)
        return x + width + 12

    def _shape(self, painter: QPainter, x: int, shape: str) -> None:
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(theme.TEXT)
        bottom = self.height() // 2 + 4
        if shape == "square":
            painter.drawRect(x, bottom - 6, 6, 6)
        elif shape == "triangle":
            painter.drawPolygon(
                QPolygon([QPoint(x, bottom), QPoint(x + 7, bottom), QPoint(x + 3, bottom - 7)])
            )
        else:
            painter.drawEllipse(x + 2, bottom - 4, 3, 3)
        painter.setBrush(Qt.BrushStyle.NoBrush)
