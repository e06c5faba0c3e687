"""How the passes of the render plan look, and the key that says which is which."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QBrush, QColor, QFontMetricsF, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from samelight.gui.paint import drift_scale, theme
from samelight.gui.paint.drawn_text import draw_text

_OUT_OF_FAMILY = 10.0
"""The severity whose colour marks a shot whose test frame is out of its family, and what is wrong."""

_LIGHT, _DARK, _LINES = 218, 119, 40
"""Both greys have 3:1 to the ground, to each other and to the lines on them (WCAG 2.2, 1.4.11)."""


@dataclass(frozen=True, slots=True)
class PassLook:
    """How a pass is filled: a grey, and lines on it where `lines` is a pattern."""

    grey: int
    ink: int = 0
    lines: Qt.BrushStyle = Qt.BrushStyle.NoBrush

    @property
    def ground(self) -> QBrush:
        """The grey."""
        return QBrush(theme.grey(self.grey))

    @property
    def pattern(self) -> QBrush:
        """The lines, to be laid over the grey."""
        return QBrush(theme.grey(self.ink), self.lines)


LOOKS = (
    PassLook(_LIGHT),
    PassLook(_DARK),
    PassLook(_LIGHT, _LINES, Qt.BrushStyle.BDiagPattern),
    PassLook(_DARK, _LIGHT, Qt.BrushStyle.HorPattern),
    PassLook(_LIGHT, _LINES, Qt.BrushStyle.DiagCrossPattern),
    PassLook(_DARK, _LIGHT, Qt.BrushStyle.FDiagPattern),
    PassLook(_LIGHT, _LINES, Qt.BrushStyle.CrossPattern),
    PassLook(_DARK, _LIGHT, Qt.BrushStyle.Dense6Pattern),
)
"""The passes, first at the bottom: light and dark in turn, so that neighbours stand out where they touch."""


def look_of(number: int) -> PassLook:
    """How the pass in a place looks."""
    return LOOKS[number % len(LOOKS)]


def warning_colour() -> QColor:
    """The colour of what needs a look in the plan."""
    return QColor(drift_scale.colour(_OUT_OF_FAMILY))


def draw_wrong_mark(painter: QPainter, room: QRectF) -> None:
    """The mark of a shot in which one frame cannot stand for all, as high as its room."""
    side = room.height() * 0.9
    centre = room.center()
    painter.setPen(QPen(theme.LINE, 1))
    painter.setBrush(warning_colour())
    top, half = centre.y() - side / 2, side / 2
    corners = [(centre.x() - half, top), (centre.x() + half, top), (centre.x(), top + side)]
    painter.drawPolygon(QPolygonF([QPointF(*corner) for corner in corners]))


Draw = Callable[[QPainter, QRectF], None]
_GAP, _BETWEEN, _MARGIN = 6.0, 16.0, 6.0


class PlanKey(QWidget):
    """Swatches with their names, in as many lines as the width needs."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._entries: list[tuple[Draw, str]] = []
        policy = QSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        self.setFont(theme.font())
        self.setAccessibleName("Key of the render plan")

    def show_passes(self, names: Sequence[str], *, outliers: bool, wrong: bool) -> None:
        """Name the passes, and those of the other marks that the plan has."""
        self._entries = [(_swatch(look_of(number)), name) for number, name in enumerate(names)]
        if outliers:
            self._entries.append((_outline, "out of its family"))
        if wrong:
            self._entries.append((draw_wrong_mark, "one frame cannot stand for all"))
        self.setAccessibleDescription(self.text())
        self.updateGeometry()
        self.update()

    def text(self) -> str:
        """What it says."""
        return ", ".join(name for _, name in self._entries)

    def swatches(self) -> list[tuple[str, QRectF]]:
        """Where each swatch is, with its name."""
        return [
            (name, swatch)
            for (_, name), (swatch, _) in zip(self._entries, self._placed(self.width()), strict=True)
        ]

    def _placed(self, width: float) -> list[tuple[QRectF, QRectF]]:
        """The room of each swatch and of the name beside it."""
        metrics = QFontMetricsF(self.font())
        line, tall = metrics.height() + 4.0, metrics.ascent()
        x, y = _MARGIN, 2.0
        rooms = []
        for _, name in self._entries:
            wide = min(metrics.horizontalAdvance(name) + 1.0, width - 2 * _MARGIN - tall * 1.7 - _GAP)
            whole = tall * 1.7 + _GAP + wide
            if x > _MARGIN and x + whole > width - _MARGIN:
                x, y = _MARGIN, y + line
            swatch = QRectF(x, y + (line - tall) / 2, tall * 1.7, tall)
            rooms.append((swatch, QRectF(swatch.right() + _GAP, y, max(wide, 0.0), line)))
            x += whole + _BETWEEN
        return rooms

    def hasHeightForWidth(self) -> bool:
        return True

    def heightForWidth(self, width: int) -> int:
        rooms = self._placed(width)
        return round(rooms[-1][1].bottom() + 4.5) if rooms else 0

    def sizeHint(self) -> QSize:
        return QSize(200, self.heightForWidth(max(self.width(), 200)))

    def minimumSizeHint(self) -> QSize:
        return QSize(40, round(QFontMetricsF(self.font()).height() + 8.5))

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        metrics = QFontMetricsF(self.font())
        for (draw, name), (swatch, room) in zip(self._entries, self._placed(self.width()), strict=True):
            draw(painter, swatch)
            painter.setPen(theme.TEXT)
            shown = metrics.elidedText(name, Qt.TextElideMode.ElideRight, room.width())
            draw_text(painter, room, Qt.AlignmentFlag.AlignVCenter, shown)
        painter.end()


def _swatch(look: PassLook) -> Draw:
    def draw(painter: QPainter, room: QRectF) -> None:
        painter.fillRect(room, look.ground)
        painter.fillRect(room, look.pattern)

    return draw


def _outline(painter: QPainter, room: QRectF) -> None:
    painter.setPen(QPen(warning_colour(), 2))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawRect(room.adjusted(1, 1, -1, -1))
