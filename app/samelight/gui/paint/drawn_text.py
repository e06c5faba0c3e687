"""Text as it is painted: what sheets, ledgers and scenes say hides nothing and turns nothing around."""

from __future__ import annotations

from typing import overload

from PySide6.QtCore import QPointF, QRect, QRectF
from PySide6.QtGui import QPainter

from samelight.gui.paint.whole_paths import JOINER
from samelight.reports.shown import clean_lines


@overload
def draw_text(painter: QPainter, place: QPointF, text: str, /) -> None: ...


@overload
def draw_text(painter: QPainter, place: QRect | QRectF, flags: int, text: str, /) -> None: ...


def draw_text(painter: QPainter, place: QPointF | QRect | QRectF, /, *flags_and_text: int | str) -> None:
    """Draw a text with the painter's pen and font, as `QPainter.drawText` does. Nothing else in the window calls that: here
    characters that hide, or turn what follows them, become a visible mark."""
    *flags, text = flags_and_text
    painter.drawText(place, *flags, visible(str(text)))  # type: ignore[call-overload]  # one of the two above


def visible(text: str) -> str:
    """A text as it is painted and measured. What holds a path together stays, which is the program's own."""
    if text.isprintable():
        return text
    return JOINER.join(map(clean_lines, text.split(JOINER)))
