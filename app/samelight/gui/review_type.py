"""How large type is in the review window.

What the room reads has capitals of at least 1/40 of the window's height, so of the screen's when it fills one. On a
screen 80 cm high that is 2 cm, which at three metres is seen under 23 minutes of arc; ISO 9241-303 asks for 16 at least
(its figure from memory). What only the person at the keys reads is half as large.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from PySide6.QtGui import QFont, QFontMetricsF
from PySide6.QtWidgets import QWidget

from samelight.gui import theme

CAPITAL = 1 / 40
"""The height of a capital over the window's."""

_SMALLEST = 9


@dataclass(frozen=True, slots=True)
class TypeSizes:
    """Sizes of the em in pixels: of the shot's name, of what the room reads, of the controls."""

    name: int
    room: int
    keys: int

    @classmethod
    def for_height(cls, height: int) -> TypeSizes:
        """The sizes for a window of this height in pixels."""
        face = theme.font()
        face.setPixelSize(1000)
        em = CAPITAL * height / (QFontMetricsF(face).capHeight() / 1000)
        room = max(math.ceil(em), _SMALLEST)
        return cls(2 * room, room, max(room // 2, _SMALLEST))


def spread_font(widget: QWidget, font: QFont) -> None:
    """Give a widget and all that is in it a font: under a style sheet, Qt does not hand one down."""
    for each in (widget, *widget.findChildren(QWidget)):
        each.setFont(font)


def pixel_font(pixels: int, *, bold: bool = False) -> QFont:
    """The text face at a size in pixels."""
    face = theme.font(bold=bold)
    face.setPixelSize(pixels)
    return face
