"""How large type is in the review window.

What the room reads has capitals that are seen under 20 minutes of arc from three metres: 17.5 mm on the screen, in the
pixels of a screen that tells its size. ISO 9241-3:1992 prefers 20 to 22 and asks for 16 at least, and so does NUREG-0700
Rev. 2, 1.3.1-4, which says by which formula; the three metres are our choice. Capitals are never below 1/40 of the
window's height, whatever the screen says of itself, and never above 1/30, where words would take the frame's place: a
full screen of less than 43 inches, 16:9, is read from nearer than three metres, and `read_from` says from where.

What only the person at the keys reads has capitals of 1/80 of the height.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from PySide6.QtCore import Qt
from PySide6.QtGui import QFont, QFontMetricsF, QScreen
from PySide6.QtWidgets import QWidget

from samelight.gui.paint import theme

ROOM = 3.0
"""How far from the screen its words are read, in metres."""
ANGLE = 20.0
"""The angle under which a capital is seen from there, in minutes of arc."""
LEAST, MOST = 1 / 40, 1 / 30
"""The bounds of the height of a capital over the window's."""

_MM_PER_INCH = 25.4
_SMALLEST = 9
# What a projector or a screen behind a wire says of its size may be anything.
_LIKELY_DENSITY = (15.0, 400.0)


@dataclass(frozen=True, slots=True)
class TypeSizes:
    """Sizes of the em in pixels: of the shot's name, of what the room reads, of the controls."""

    name: int
    room: int
    keys: int

    @classmethod
    def fitting(cls, height: int, density: float | None = None) -> TypeSizes:
        """The sizes for a window `height` pixels high, on a screen of `density` pixels an inch if that is known."""
        wanted = capital_mm(ROOM) / _MM_PER_INCH * density if density is not None else 0.0
        capital = min(max(wanted, LEAST * height), MOST * height)
        room, least = (
            max(math.ceil(high / _capital_share()), _SMALLEST) for high in (capital, LEAST * height)
        )
        return cls(2 * room, room, max(least // 2, _SMALLEST))

    @property
    def gap(self) -> int:
        """Pixels between parts of the window."""
        return self.keys // 2

    def read_from(self, density: float) -> float:
        """From how many metres the room's words are seen under `ANGLE`, on a screen of `density` pixels an inch."""
        shown_mm = self.room * _capital_share() / density * _MM_PER_INCH
        return shown_mm / capital_mm(1.0)


def capital_mm(metres: float, minutes: float = ANGLE) -> float:
    """How high a capital is, in millimetres, that is seen under an angle in minutes of arc from a distance.

    >>> round(capital_mm(3.0), 2), round(capital_mm(0.6, 16), 2)
    (17.45, 2.79)
    """
    return 2000.0 * metres * math.tan(math.radians(minutes / 60) / 2)


def density_of(screen: QScreen | None) -> float | None:
    """Pixels an inch of a screen, in the pixels that widgets are measured in; None where it does not tell or cannot be."""
    if screen is None or screen.physicalSize().isEmpty():
        return None
    density = screen.physicalDotsPerInchY()
    least, most = _LIKELY_DENSITY
    return density if least <= density <= most else None


def _capital_share() -> float:
    """The height of a capital of the text face over its em."""
    face = theme.font()
    face.setPixelSize(1000)
    return QFontMetricsF(face).capHeight() / 1000


def spread_font(widget: QWidget, font: QFont) -> None:
    """Give a widget and all that is in it a font: under a style sheet, Qt does not hand one down."""
    for each in (widget, *widget.findChildren(QWidget)):
        each.setFont(font)


def pixel_font(pixels: int, *, bold: bool = False) -> QFont:
    """The text face at a size in pixels."""
    face = theme.font(bold=bold)
    face.setPixelSize(pixels)
    return face


def fitting(text: str, pixels: int, width: int) -> tuple[QFont, str]:
    """The text face as large as a text fits a width, at least half of what is asked for, and what of the text fits then."""
    size = pixels
    while size > pixels // 2 and QFontMetricsF(pixel_font(size)).horizontalAdvance(text) > width:
        size -= 1
    font = pixel_font(size)
    return font, QFontMetricsF(font).elidedText(text, Qt.TextElideMode.ElideMiddle, width)
