"""The photometric profiles of the reference's light and the shot's, as a polar diagram: how much leaves in each direction.

Down is where the light shines to. The right half is the plane through the light's own +X, the left half the one opposite, which
is how luminaires are drawn (common practice, no source). Both are on one scale, so that peak and beam are compared at once.
"""

from __future__ import annotations

import numpy as np
from PySide6.QtCore import QPointF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QVBoxLayout, QWidget

from samelight.drift.words import number_text
from samelight.gui.paint import theme
from samelight.gui.widgets.page_parts import LEAST_WIDTH, FittedLabel
from samelight.gui.widgets.plain_text import plain
from samelight.light.profile import Profile, profile_of
from samelight.sheets.values import FileRef, Value

SIZE = 168
"""Pixels each way, as all here are Qt's."""
RIM = 8
_SPOKES = 12
_STEPS = np.arange(0.0, 180.5, 1.0)
_HOW = "Candela by direction, both on one scale; down is where the light shines to, right its own +X."


def profile_in(value: Value | None) -> Profile | None:
    """The profile that a value of a light's file holds; None where it holds none."""
    return profile_of(value.holds) if isinstance(value, FileRef) and value.holds else None


def outline(profile: Profile, peak: float) -> list[tuple[float, float]]:
    """The curve as points (x, y) from -1 to 1, x to the light's +X and y along where it shines; `peak` is 1, in candela."""
    angles, halves = np.radians(_STEPS), []
    for side, about in ((1.0, 0.0), (-1.0, 180.0)):
        share = profile.share(_STEPS, np.full(_STEPS.shape, about)) * profile.peak / peak
        across, along = side * share * np.sin(angles), share * np.cos(angles)
        halves.append(list(zip(across.tolist(), along.tolist(), strict=True)))
    right, left = halves
    return [*reversed(right), *left]


class _Diagram(QWidget):
    """Rings at a half and the whole of the scale, spokes, and a curve for each side."""

    def __init__(self) -> None:
        super().__init__()
        self.sides: list[Profile | None] = [None, None]
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.setFixedHeight(SIZE)
        self.setMinimumWidth(LEAST_WIDTH)

    def sizeHint(self) -> QSize:
        return QSize(LEAST_WIDTH, SIZE)

    def at(self, x: float, y: float) -> QPointF:
        """Where a point of the diagram is painted."""
        radius = SIZE / 2 - RIM
        return QPointF(self.width() / 2 + x * radius, SIZE / 2 + y * radius)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        middle, radius = self.at(0.0, 0.0), SIZE / 2 - RIM
        painter.setPen(QPen(theme.EDGE, 1))
        for share in (0.5, 1.0):
            painter.drawEllipse(middle, radius * share, radius * share)
        for spoke in range(_SPOKES):
            angle = 2.0 * np.pi * spoke / _SPOKES
            painter.drawLine(middle, self.at(float(np.sin(angle)), float(np.cos(angle))))
        peak = max((one.peak for one in self.sides if one is not None), default=1.0)
        pens = (QPen(theme.DIM_TEXT, 1.5, Qt.PenStyle.DashLine), QPen(theme.BRIGHT, 2))
        for one, pen in zip(self.sides, pens, strict=True):
            if one is not None:
                painter.setPen(pen)
                painter.drawPolyline(QPolygonF([self.at(*point) for point in outline(one, peak)]))
        painter.end()


class ProfilePlot(QWidget):
    """The diagram, and what each curve is with its peak and beam."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.diagram = _Diagram()
        self.said = FittedLabel(points=theme.BODY, lines=4)
        self.note = FittedLabel(points=theme.DENSE, dim=True, lines=3)
        self.note.setText(_HOW)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 2, 0, 0)
        layout.setSpacing(3)
        for part in (self.diagram, self.said, self.note):
            layout.addWidget(part)

    def show_pair(self, master: Value | None, shot: Value | None, names: tuple[str, str]) -> bool:
        """Show the profiles of two values; whether there is one to show."""
        self.diagram.sides = [profile_in(master), profile_in(shot)]
        lines = [
            f"{name} ({how}): peak {number_text(one.peak, 4)} cd, beam {number_text(one.beam, 3)}°"
            for name, how, one in zip(names, ("dashed", "line"), self.diagram.sides, strict=True)
            if one is not None
        ]
        self.said.setText("\n".join(lines))
        self.diagram.setToolTip(plain(_HOW))
        self.diagram.setAccessibleName(f"Profiles: {'; '.join(lines)}")
        self.diagram.update()
        self.setVisible(bool(lines))
        return bool(lines)

    def words(self) -> str:
        """What each curve is, as text."""
        return f"{self.said.text()}\n{self.note.text()}"
