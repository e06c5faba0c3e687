"""The figure preview: the head at a mark under the reference's lights and under the shot's, side by side."""

from __future__ import annotations

import numpy as np
from PySide6.QtCore import QRect, QSize
from PySide6.QtGui import QColor, QImage, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QVBoxLayout, QWidget

from samelight.drift.computed.figure import SIZE, Figure
from samelight.gui.paint import theme
from samelight.gui.widgets.page_parts import FittedLabel
from samelight.gui.widgets.plain_text import plain
from samelight.light.rows import Array
from samelight.sources.pictures.view_transform import srgb_codes

_BEHIND = theme.grey(40)
_MODEL = "A model, no render: a grey head where the mark is, in one exposure, without bounce light."
_HOW = (
    "Each point of the head gets what its normal receives at the mark, times what the mark sees of each light; "
    "only the nose casts a shadow. The shot's own camera looks at both."
)


def picture_of(linear: Array) -> QImage:
    """A linear picture, shape (n, n, 3), as the screen shows it; NaN is left clear."""
    codes = np.zeros((*linear.shape[:2], 4), dtype=np.uint8)
    codes[..., :3] = srgb_codes(linear)
    codes[..., 3] = np.where(np.isnan(linear[..., 0]), 0, 255)
    data = np.ascontiguousarray(codes)
    height, width = data.shape[:2]
    # A copy: the picture must not outlive the array that it is of.
    return QImage(data.data, width, height, 4 * width, QImage.Format.Format_RGBA8888).copy()


class _Heads(QWidget):
    """Two pictures side by side, as large as they are made."""

    def __init__(self) -> None:
        super().__init__()
        self.pictures: list[QImage] = []
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.setFixedHeight(SIZE)
        self.setMinimumWidth(2 * SIZE)

    def sizeHint(self) -> QSize:
        return QSize(2 * SIZE, SIZE)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.fillRect(self.rect(), QColor(_BEHIND))
        half = self.width() // 2
        for place, picture in enumerate(self.pictures):
            painter.drawImage(QRect(place * half + (half - SIZE) // 2, 0, SIZE, SIZE), picture)
        painter.end()


class FigureView(QWidget):
    """The heads, and under them whose lights light each and that it is a model."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.heads = _Heads()
        self.names = FittedLabel(points=theme.BODY, lines=3)
        self.note = FittedLabel(points=theme.DENSE, dim=True, lines=4)
        self.note.setText(_MODEL)
        self.note.tip = _HOW
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 2, 0, 0)
        layout.setSpacing(3)
        for part in (self.heads, self.names, self.note):
            layout.addWidget(part)

    def show_figure(self, figure: Figure) -> None:
        """Show a figure, of which is said already what it is."""
        self.heads.pictures = [picture_of(figure.reference), picture_of(figure.shot)]
        self.heads.update()

    def announce(self, mark: str, reference: str, shot: str) -> None:
        """Say at which mark the figure is and whose lights light it; it is being made."""
        self.heads.pictures = []
        said = f"{mark}: left under the lights of {reference}, right under those of {shot}"
        self.names.setText(said)
        self.heads.setToolTip(plain(_HOW))
        self.heads.setAccessibleName(f"Figure preview: {said}")
        self.heads.update()

    def words(self) -> str:
        """What stands there, as text."""
        return f"{self.names.text()}\n{self.note.text()}"
