"""Buttons that go somewhere: a shot beside, a finding, a parameter of a group."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QAbstractButton, QSizePolicy, QVBoxLayout, QWidget

from samelight.gui.paint import drift_scale, theme
from samelight.gui.widgets.page_parts import LEAST_WIDTH, Laid, words_of
from samelight.gui.widgets.plain_text import plain, plain_item
from samelight.gui.widgets.shows_focus import ShowsFocus


@dataclass(frozen=True, slots=True)
class Destination:
    """Somewhere to go to: what is said of it, its drift at the right, and what a click does in words."""

    heading: str
    said: str
    trailing: str
    severity: float
    going: str
    go: Callable[[], None]


class GoButton(ShowsFocus, QAbstractButton):
    """A place to go to: its name, what it says, its drift at the right; a bar in the colour of the drift at the left."""

    _BAR, _PAD = 4, 7

    def __init__(
        self, parent: QWidget | None = None, *, lines: int = 2, head_lines: int = 2, bold: bool = True
    ) -> None:
        super().__init__(parent)
        self._lines, self._head_lines = lines, head_lines
        self._head_font, self._said_font = (
            theme.font(bold=bold),
            theme.font(theme.BODY if bold else theme.DENSE),
        )
        self._heading = self._said = self._trailing = ""
        self._known: dict[float, tuple[Laid, Laid | None]] = {}
        self._bar: QColor | None = None
        self._go: Callable[[], None] | None = None
        self.clicked.connect(self._clicked)
        policy = QSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        self.setMinimumWidth(LEAST_WIDTH)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setAttribute(Qt.WidgetAttribute.WA_Hover)

    def show_place(self, place: Destination) -> None:
        """Show a place."""
        self._known.clear()
        self.setText(plain_item(place.heading))
        self._heading = place.heading
        self._said, self._trailing = place.said, place.trailing
        self._bar = drift_scale.colour(place.severity) if place.severity > 0 else None
        self._go = place.go
        self.setAccessibleName(self.words().replace("\n", ", "))
        self.setAccessibleDescription(place.going)
        self.setToolTip(plain(f"{self.words()}\n{place.going}"))
        self.updateGeometry()
        self.update()

    def _clicked(self) -> None:
        if self._go is not None:
            self._go()

    def words(self) -> str:
        """What it says, as text."""
        head = "  ".join(part for part in (self._heading, self._trailing) if part)
        return f"{head}\n{self._said}" if self._said else head

    def hasHeightForWidth(self) -> bool:
        return True

    def heightForWidth(self, width: int) -> int:
        head, said = self._laid(width)
        height = head.height + (said.height if said is not None else 0.0)
        return round(height + 8.499)

    def sizeHint(self) -> QSize:
        return QSize(LEAST_WIDTH, self.heightForWidth(max(self.width(), LEAST_WIDTH)))

    def minimumSizeHint(self) -> QSize:
        return QSize(LEAST_WIDTH, round(QFontMetricsF(self._head_font).lineSpacing() + 8.499))

    def _room(self, width: float) -> float:
        return width - self._BAR - 2 * self._PAD

    def _laid(self, width: float) -> tuple[Laid, Laid | None]:
        if width not in self._known:
            self._known[width] = self._lay(width)
        return self._known[width]

    def _lay(self, width: float) -> tuple[Laid, Laid | None]:
        room = self._room(width)
        beside = room - self._tail_width(room) if self._trailing else room
        head = Laid(self._heading, self._head_font, beside, self._head_lines)
        return head, Laid(self._said, self._said_font, room, self._lines) if self._said else None

    def _tail_width(self, room: float) -> float:
        """What the drift takes at the right, never more than half."""
        wide = QFontMetricsF(theme.font()).horizontalAdvance(self._trailing) + 10.0
        return min(wide, room / 2)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        over = self.underMouse() or self.isDown()
        painter.fillRect(
            self.rect(), theme.HIGHLIGHT if self.isDown() else theme.CELL if over else theme.PANEL
        )
        if self._bar is not None:
            painter.fillRect(0, 0, self._BAR, self.height(), self._bar)
        left, room = float(self._BAR + self._PAD), self._room(self.width())
        head, said = self._laid(self.width())
        painter.setPen(theme.BRIGHT)
        head.draw(painter, left, 4.0)
        if self._trailing:
            tail = self._tail_width(room)
            laid = Laid(self._trailing, theme.font(), tail - 10.0, 1)
            laid.draw(painter, left + room - laid.widest, 4.0)
        if said is not None:
            painter.setPen(theme.TEXT)
            said.draw(painter, left, 4.0 + head.height)
        if self.hasFocus():
            painter.setPen(QPen(theme.BRIGHT, 1, Qt.PenStyle.DotLine))
            painter.drawRect(QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5))
        painter.end()


class Places(QWidget):
    """As many buttons as there are places."""

    made = Signal(QWidget)
    """A button that was not there before."""

    def __init__(self, *, lines: int = 2, head_lines: int = 2, bold: bool = True) -> None:
        super().__init__()
        self._lines, self._head_lines, self._bold = lines, head_lines, bold
        self.buttons: list[GoButton] = []
        self._layout = QVBoxLayout(self)
        self._layout.setContentsMargins(0, 0, 0, 0)
        self._layout.setSpacing(3)

    def show_places(self, places: Sequence[Destination]) -> None:
        """Show these, in their order."""
        while len(self.buttons) < len(places):
            button = GoButton(lines=self._lines, head_lines=self._head_lines, bold=self._bold)
            self._layout.addWidget(button)
            self.buttons.append(button)
            self.made.emit(button)
        for index, button in enumerate(self.buttons):
            button.setVisible(index < len(places))
            if index < len(places):
                button.show_place(places[index])

    def words(self) -> str:
        """What they say."""
        return words_of(self.buttons)
