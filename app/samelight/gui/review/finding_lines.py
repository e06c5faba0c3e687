"""What is said of the shot, a line each, in type that the room reads. A number key or a press chooses one."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFontMetricsF, QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from samelight.drift.cells import Grade
from samelight.gui.paint import drift_scale, theme
from samelight.gui.paint.drawn_text import draw_text
from samelight.gui.review.shot_said import Said
from samelight.gui.review.type_size import pixel_font
from samelight.gui.widgets.plain_text import plain

MOST = 2
"""Lines; the picture has the rest of the height."""
_LEFT = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
_CENTRE = Qt.AlignmentFlag.AlignCenter


class FindingLines(QWidget):
    """As many lines as there are, but `MOST`: the chosen one is among them, and the last says how many more there are."""

    pressed = Signal(int)
    """The place of a sentence, from 0."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._said: list[Said] = []
        self._chosen: int | None = None
        self._otherwise = ""
        self._pixels = 20
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("What drifts")

    def set_type(self, pixels: int) -> None:
        """Set the size of type."""
        self._pixels = pixels
        self.updateGeometry()
        self.update()

    def show_said(self, said: Sequence[Said], chosen: Said | None, otherwise: str) -> None:
        """Show sentences, or what there is to say `otherwise`."""
        self._said, self._otherwise = list(said), otherwise
        self._chosen = next((place for place, one in enumerate(said) if one == chosen), None)
        words = [f"{place + 1}: {one.says}" for place, one in enumerate(said)] or [otherwise]
        self.setAccessibleDescription("\n".join(words))
        self.setToolTip(
            plain("\n".join([*words, "A number chooses one (1 to 9); what is decided is about that"]))
        )
        self.updateGeometry()
        self.update()

    @property
    def chosen(self) -> int | None:
        """The place of the one that is chosen."""
        return self._chosen

    def shown(self) -> range:
        """The places of those in view."""
        first = 0 if self._chosen is None else max(self._chosen - MOST + 1, 0)
        return range(first, min(first + MOST, len(self._said)))

    def _line(self) -> int:
        return round(QFontMetricsF(pixel_font(self._pixels)).height())

    def sizeHint(self) -> QSize:
        return QSize(200, self._line() * min(max(len(self._said), 1), MOST))

    def minimumSizeHint(self) -> QSize:
        return self.sizeHint()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        places = self.shown()
        index = int(event.position().y() // max(self._line(), 1))
        if index < len(places):
            self.pressed.emit(places[index])

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setFont(pixel_font(self._pixels))
        high, places = self._line(), self.shown()
        if not self._said:
            painter.setPen(theme.DIM_TEXT)
            draw_text(
                painter,
                QRectF(0, 0, self.width(), high),
                _LEFT,
                self._cut(painter, self._otherwise, self.width()),
            )
        for index, place in enumerate(places):
            hidden = len(self._said) - places.stop
            more = f"+{hidden}" if hidden and place == places[-1] else ""
            self._one(painter, place, QRectF(0, index * high, self.width(), high), more)
        painter.end()

    def _one(self, painter: QPainter, place: int, line: QRectF, more: str) -> None:
        said, face = self._said[place], painter.fontMetrics()
        gap = self._pixels / 3
        if place == self._chosen:
            painter.fillRect(line, theme.HIGHLIGHT)
        painter.setPen(theme.DIM_TEXT)
        number = face.horizontalAdvance("0") + gap
        draw_text(
            painter,
            QRectF(0, line.top(), number, line.height()),
            _CENTRE,
            str(place + 1) if place < 9 else "",
        )
        left = number + gap
        if said.grade > Grade.SAME and said.drift and not said.handled:
            red, green, blue = drift_scale.rgb(said.severity)
            text = f"{drift_scale.GRADE_MARKS.get(said.grade, '')} {said.drift}".strip()
            chip = QRectF(left, line.top() + 1, face.horizontalAdvance(text) + 2 * gap, line.height() - 2)
            painter.fillRect(chip, drift_scale.colour(said.severity))
            painter.setPen(drift_scale.ink(red, green, blue))
            draw_text(painter, chip, _CENTRE, text)
            left = chip.right() + gap
        room = line.width() - left
        if more:
            painter.setPen(theme.DIM_TEXT)
            draw_text(painter, line, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, more)
            room -= face.horizontalAdvance(more) + gap
        words = f"{drift_scale.STATE_MARKS[said.state]} {said.says}" if said.handled else said.says
        painter.setPen(theme.DIM_TEXT if said.handled else theme.TEXT)
        draw_text(
            painter, QRectF(left, line.top(), room, line.height()), _LEFT, self._cut(painter, words, room)
        )

    @staticmethod
    def _cut(painter: QPainter, text: str, room: float) -> str:
        return painter.fontMetrics().elidedText(text, Qt.TextElideMode.ElideRight, max(int(room), 0))
