"""The legend: what the colours and marks of the overview, the grid and the traces mean, at every zoom.

It has as many rows as the window's width needs, so that nothing is cut off.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from samelight.decisions.state import State
from samelight.drift.cells import Grade
from samelight.gui.paint import drift_scale, shades, theme
from samelight.gui.paint.drawn_text import draw_text
from samelight.gui.paint.glyphs import draw_mark
from samelight.gui.widgets.plain_text import plain
from samelight.reports.signs import STATE_MARKS
from samelight.reports.since import since_sign
from samelight.sequence.case_events import Event

_CHIP, _CHIP_HEIGHT = 40.0, 14.0
_STEPS: tuple[tuple[float, str], ...] = (
    (0.6, "within"),
    (1.001, "1×"),
    (3.0, "3×"),
    (10.0, "10×"),
    (drift_scale.FULL_SCALE, "30×"),
)

_MARGIN, _GAP, _BESIDE, _ROW = 6.0, 12.0, 5.0, 20.0

Draw = Callable[[QPainter, QRectF], None]


@dataclass(frozen=True, slots=True)
class Piece:
    """A sample, drawn into a room of its width, with what it means beside it. `sign` is its name for a screen reader."""

    sign: str
    means: str
    width: float
    draw: Draw


def _scale(painter: QPainter, room: QRectF) -> None:
    for place, (severity, label) in enumerate(_STEPS):
        chip = QRectF(room.left() + place * _CHIP, room.top(), _CHIP - 1, room.height())
        painter.fillRect(chip, drift_scale.colour(severity))
        painter.setPen(drift_scale.ink(*drift_scale.rgb(severity)))
        draw_text(painter, chip, Qt.AlignmentFlag.AlignCenter, label)


def _cells(*codes: int) -> Draw:
    """Cells as they stand side by side where columns are narrow."""

    def draw(painter: QPainter, room: QRectF) -> None:
        each = room.width() / len(codes)
        for place, code in enumerate(codes):
            cell = QRectF(room.left() + place * each, room.top(), each, room.height())
            painter.fillRect(cell, shades.colour(code))
        _outline(painter, room)

    return draw


def _outline(painter: QPainter, room: QRectF) -> None:
    """The greys of what has no drift are close to the ground."""
    painter.setPen(QPen(theme.HIGHLIGHT, 1))
    painter.drawRect(room.adjusted(0.5, 0.5, -0.5, -0.5))


def _intended(painter: QPainter, room: QRectF) -> None:
    """As a cell with room for a frame, and as a mark in the traces and on the sky."""
    cell = QRectF(room.left(), room.top(), 22, room.height())
    painter.fillRect(cell, drift_scale.colour(3.0))
    painter.fillRect(cell.adjusted(3, 3, -3, -3), theme.CELL)
    _written(STATE_MARKS[State.INTENDED])(painter, cell)
    middle = QPointF(room.right() - 7, room.center().y())
    draw_mark(painter, middle, Grade.DRIFT, drift_scale.colour(3.0), intended=True)
    painter.setBrush(Qt.BrushStyle.NoBrush)


def _written(sign: str) -> Draw:
    def draw(painter: QPainter, room: QRectF) -> None:
        painter.setPen(theme.BRIGHT)
        draw_text(painter, room, Qt.AlignmentFlag.AlignCenter, sign)

    return draw


def _happened(event: Event) -> Draw:
    def draw(painter: QPainter, room: QRectF) -> None:
        painter.fillRect(QRectF(room.left(), room.center().y() - 5, 10, 10), theme.grey(16))
        _written(since_sign(event))(painter, QRectF(room.left(), room.top(), 10, room.height()))

    return draw


def _filled(points: Sequence[tuple[float, float]]) -> Draw:
    """A shape about the middle of its room."""

    def draw(painter: QPainter, room: QRectF) -> None:
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(theme.TEXT)
        painter.drawPolygon(QPolygonF([room.center() + QPointF(x, y) for x, y in points]))
        painter.setBrush(Qt.BrushStyle.NoBrush)

    return draw


def _dot(painter: QPainter, room: QRectF) -> None:
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(theme.TEXT)
    painter.drawEllipse(room.center(), 1.5, 1.5)
    painter.setBrush(Qt.BrushStyle.NoBrush)


def _view(painter: QPainter, room: QRectF) -> None:
    painter.setPen(QPen(theme.BRIGHT, 2))
    painter.drawRect(room.adjusted(1, 2, -1, -2))


def _master(painter: QPainter, room: QRectF) -> None:
    painter.setPen(QPen(theme.DIM_TEXT, 1.5, Qt.PenStyle.DashLine))
    painter.drawLine(QPointF(room.left(), room.center().y()), QPointF(room.right(), room.center().y()))


def _tolerance(painter: QPainter, room: QRectF) -> None:
    painter.fillRect(room.adjusted(0, 2, 0, -2), theme.grey(67))
    painter.setPen(QPen(theme.EDGE, 1))
    for y in (room.top() + 2, room.bottom() - 2):
        painter.drawLine(QPointF(room.left(), y), QPointF(room.right(), y))


def _jump(painter: QPainter, room: QRectF) -> None:
    painter.setPen(QPen(theme.BRIGHT, 2))
    middle = room.center()
    steps = [QPointF(-7, -4), QPointF(0, -4), QPointF(0, 4), QPointF(7, 4)]
    painter.drawPolyline(QPolygonF([middle + step for step in steps]))


def _ring(painter: QPainter, room: QRectF) -> None:
    painter.setPen(QPen(theme.BRIGHT, 2))
    painter.drawEllipse(room.center(), 6.5, 6.5)


PIECES: tuple[Piece, ...] = (
    Piece("Colour", "drift ÷ tolerance", _CHIP * len(_STEPS) - 1, _scale),
    Piece("Frame with a tick, and hollow mark", "intended", 42, _intended),
    Piece("Dot", "within", 6, _dot),
    Piece("Triangle", "drift", 8, _filled(((-3, 3), (3, 3), (0, -3)))),
    Piece("Square", "break (locked)", 6, _filled(((-2.5, -2.5), (2.5, -2.5), (2.5, 2.5), (-2.5, 2.5)))),
    Piece("Short bar at the top", "has a finding", 8, _filled(((-3.5, -1), (3.5, -1), (3.5, 1), (-3.5, 1)))),
    Piece("Round arrow", "asks again", 10, _written(STATE_MARKS[State.ASKS_AGAIN])),
    Piece("Arrow to the left", "sent back", 10, _written(STATE_MARKS[State.SENT_BACK])),
    Piece("Arrow of dashes", "taken up", 10, _written(STATE_MARKS[State.TAKEN_UP])),
    Piece("Question mark", "mended", 10, _written(STATE_MARKS[State.MENDED])),
    Piece("Unequal", "two opinions", 10, _written(STATE_MARKS[State.TWO_OPINIONS])),
    Piece("Dark grey", "same", 24, _cells(shades.SAME_IN_GROUP, shades.SAME)),
    Piece("Darkest grey", "no value", 14, _cells(shades.EMPTY)),
    Piece("Light grey", "intended (narrow columns, overview)", 14, _cells(shades.INTENDED)),
    Piece("White frame in the overview", "in view", 18, _view),
    Piece("Dashed line in the traces", "master", 24, _master),
    Piece("Band in the traces", "tolerance", 18, _tolerance),
    Piece("Step in the traces", "jump at a cut", 16, _jump),
    Piece("Ring in the traces", "current shot", 16, _ring),
    Piece("Plus on black", "new since what is looked back to", 10, _happened(Event.OPENED)),
    Piece("Wave on black", "moved since then", 10, _happened(Event.MOVED)),
    Piece("Equals sign on black", "mended since then", 10, _happened(Event.GONE)),
)


@dataclass(frozen=True, slots=True)
class Placed:
    """Where a piece's sample and its text are drawn."""

    piece: Piece
    sample: QRectF
    text: QRectF


def place(pieces: Iterable[Piece], metrics: QFontMetricsF, width: float) -> list[Placed]:
    """Pieces one after the other in rows that are no wider than a width; a piece wider than that has a row to itself.

    All begin on whole pixels, so that their edges are sharp.
    """
    placed: list[Placed] = []
    row = max(math.ceil(metrics.height()) + 2, _ROW)
    x, y = _MARGIN, 3.0
    for piece in pieces:
        said = math.ceil(metrics.horizontalAdvance(piece.means)) + 2
        whole = piece.width + _BESIDE + said
        if x > _MARGIN and x + whole > width - _MARGIN:
            x, y = _MARGIN, y + row
        sample = QRectF(x, y + (row - _CHIP_HEIGHT) // 2, piece.width, _CHIP_HEIGHT)
        placed.append(Placed(piece, sample, QRectF(x + piece.width + _BESIDE, y, said, row)))
        x += whole + _GAP
    return placed


class Legend(QWidget):
    """Samples with their meaning: every one in as many rows as it takes, or with `rows` those that fit into so many; the
    others are in its tool tip."""

    def __init__(self, parent: QWidget | None = None, *, rows: int | None = None) -> None:
        super().__init__(parent)
        self._rows = rows
        self._font = theme.font(theme.DENSE)
        self._metrics = QFontMetricsF(self._font)
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Minimum)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        self.setAccessibleName("Legend")
        self.setAccessibleDescription(". ".join(f"{piece.sign}: {piece.means}" for piece in PIECES) + ".")
        if rows is not None:
            self.setToolTip(plain("\n".join(f"{piece.sign}: {piece.means}" for piece in PIECES)))

    def placed(self) -> list[Placed]:
        """Where everything is drawn now."""
        return self._placed(self.width())

    def _placed(self, width: float) -> list[Placed]:
        placed = place(PIECES, self._metrics, width)
        tops = sorted({piece.text.top() for piece in placed})[: self._rows]
        return [piece for piece in placed if piece.text.top() in tops]

    def hasHeightForWidth(self) -> bool:
        return True

    def heightForWidth(self, width: int) -> int:
        return round(self._placed(width)[-1].text.bottom() + 3)

    def sizeHint(self) -> QSize:
        return QSize(880, self.heightForWidth(880))

    def minimumSizeHint(self) -> QSize:
        widest = max(placed.text.right() for placed in place(PIECES, self._metrics, 0.0))
        return QSize(round(widest + _MARGIN), round(_ROW + 6))

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setFont(self._font)
        for placed in self.placed():
            placed.piece.draw(painter, placed.sample)
            painter.setPen(theme.TEXT)
            draw_text(painter, placed.text, Qt.AlignmentFlag.AlignVCenter, placed.piece.means)
        painter.end()
