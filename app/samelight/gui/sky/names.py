"""Where the name of a light may stand on the sky: beside its point, and over nothing else."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter

from samelight.gui.paint import theme
from samelight.gui.paint.drawn_text import draw_text

_NEAR = (12.0, 20.0)
"""How far a name may stand from its point (pixels), nearest first: further, and it would be another's."""
_FAR = (*_NEAR, 32.0, 48.0)
"""The same for the light that is looked at, which is named always."""
_MOST_NAMES = 9
_VEIL = QColor(46, 46, 46, 150)


class NamedLight(NamedTuple):
    """A light, and the pixel that its name stands beside. The chosen one's is its master's direction."""

    name: str
    at: QPointF
    chosen: bool


class PlacedName(NamedTuple):
    """A light's name and where it stands on the map, in pixels."""

    text: str
    room: QRectF
    font: QFont
    chosen: bool


def placed(
    wanted: Sequence[NamedLight], within: QRectF, words: Sequence[QRectF], marks: Sequence[QRectF]
) -> list[PlacedName]:
    """As many names as have room, those wanted most first. None covers another word, and only that of the chosen light covers
    marks, where it has no other room; what is not named here is named by the read-out."""
    rooms = list(words)
    names: list[PlacedName] = []
    for light in wanted:
        if len(names) >= _MOST_NAMES:
            break
        name = _placed(light, within, rooms, marks)
        if name is not None:
            rooms.append(name.room)
            names.append(name)
    return names


def _placed(
    light: NamedLight, within: QRectF, words: Sequence[QRectF], marks: Sequence[QRectF]
) -> PlacedName | None:
    font = theme.font(theme.DENSE, bold=light.chosen)
    metrics = QFontMetricsF(font)
    texts = (f"{light.name} (master)", light.name) if light.chosen else (light.name,)
    clear = [*words, *marks]
    for taken in (clear, words) if light.chosen else (clear,):
        for text in texts:
            width, height = metrics.horizontalAdvance(text) + 6.0, metrics.height() + 1.0
            room = room_for(light.at, width, height, within, taken, _FAR if light.chosen else _NEAR)
            if room is not None:
                return PlacedName(text, room, font, light.chosen)
    return None


def draw_names(painter: QPainter, names: Sequence[PlacedName]) -> None:
    """Draw names where they were placed."""
    for name in names:
        painter.setFont(name.font)
        painter.fillRect(name.room, theme.WINDOW if name.chosen else _VEIL)
        painter.setPen(theme.BRIGHT if name.chosen else theme.DIM_TEXT)
        draw_text(painter, name.room, Qt.AlignmentFlag.AlignCenter, name.text)


def room_for(
    at: QPointF,
    width: float,
    height: float,
    within: QRectF,
    taken: Sequence[QRectF],
    distances: Sequence[float] = _NEAR,
) -> QRectF | None:
    """The best room for a name beside a point that is free of what is taken; None where there is none."""
    for left, top in _around(at, width, height, distances):
        room = QRectF(left, top, width, height)
        if within.contains(room) and not any(room.intersects(other) for other in taken):
            return room
    return None


def _around(
    at: QPointF, width: float, height: float, distances: Sequence[float]
) -> list[tuple[float, float]]:
    """Where a name may stand beside a point, best first."""
    return [place for away in distances for place in _at(at, width, height, away)]


def _at(at: QPointF, width: float, height: float, away: float) -> list[tuple[float, float]]:
    x, y, slant = at.x(), at.y(), away - 2
    return [
        (x + away, y - height / 2),
        (x - away - width, y - height / 2),
        (x - width / 2, y + away),
        (x - width / 2, y - away - height),
        (x + slant, y + slant),
        (x + slant, y - slant - height),
        (x - slant - width, y + slant),
        (x - slant - width, y - slant - height),
    ]
