"""The corner above the names: in which order rows stand, and what the lines of the strip beside it say."""

from __future__ import annotations

from PySide6.QtCore import QRect, Qt
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QComboBox, QWidget

from samelight.gui.grid.headers import ShotHeader
from samelight.gui.paint import theme
from samelight.gui.paint.drawn_text import draw_text
from samelight.gui.state.rows import Order

_RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter


class Corner(QWidget):
    """Holds the box for the order, and names the lines of the header at its right."""

    def __init__(self, shots: ShotHeader, order: Order, parent: QWidget) -> None:
        super().__init__(parent)
        self._shots = shots
        self.order_box = QComboBox(self)
        self.order_box.addItems([str(each) for each in Order])
        self.order_box.setCurrentText(str(order))
        self.order_box.setToolTip(
            "In which order lights, and the rows of each, stand: as in the sheet, by the worst drift, "
            "or by how many shots drift"
        )
        self.order_box.setAccessibleName("Order of rows")

    def place(self, width: int) -> None:
        """Lie above names of a width, as high as the header."""
        self.setGeometry(0, 0, width, self._shots.height())
        high = self.order_box.sizeHint().height()
        self.order_box.setGeometry(4, 1, width - 8 - (0 if self._roomy() else self._widest()), high)
        self.update()

    def _roomy(self) -> bool:
        """Whether the words have lines of their own, below the box."""
        return self._shots.strip.pictures_height >= self.order_box.sizeHint().height()

    def _widest(self) -> int:
        return (
            max((self.fontMetrics().horizontalAdvance(word) for word, _ in self._shots.lines()), default=0)
            + 8
        )

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.fillRect(self.rect(), theme.PANEL)
        painter.setFont(theme.font(theme.SMALL))
        painter.setPen(theme.DIM_TEXT)
        for word, (top, height) in self._shots.lines():
            draw_text(painter, QRect(0, top, self.width() - 8, height), _RIGHT, word)
        painter.end()
