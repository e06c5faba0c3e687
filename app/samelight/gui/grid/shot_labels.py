"""Which shots are named above the grid, and where: narrow columns share a name, at the first of them."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from PySide6.QtGui import QFont, QFontMetricsF

from samelight.gui.grid.layout import Layout
from samelight.gui.grid.model import GridModel

_ELIDED_FROM = 48
"""From this width on every shot has its name, cut short if it must be; below, narrow columns share one."""


@dataclass(frozen=True, slots=True)
class Label:
    """A name in the header: of which shot (its place), and from where to where it is written, in Qt's pixels."""

    section: int
    left: float
    width: float

    @property
    def right(self) -> float:
        """Where it ends."""
        return self.left + self.width

    def meets(self, other: Label) -> bool:
        """Whether two names would not stand clearly apart."""
        return self.left < other.right + 6 and other.left < self.right + 6


class ShotLabels:
    """The names of a grid's shots in one font, and how wide each is."""

    def __init__(self, model: GridModel, font: QFont) -> None:
        self._model = model
        self.metrics = QFontMetricsF(font)
        self._widths: dict[str, float] = {}
        self._measured: tuple[str, ...] | None = None
        self._most = 0.0

    def _width_of(self, shot: str) -> float:
        width = self._widths.get(shot)
        if width is None:
            width = self._widths[shot] = self.metrics.horizontalAdvance(shot)
        return width

    def widest(self) -> float:
        """Pixels of the widest name."""
        shots = self._model.state.table.shots
        if shots is not self._measured:
            self._measured, self._widths = shots, {}
            # Names of a film are nearly all as long as each other: a few of the longest tell how wide they get.
            longest = max(map(len, shots), default=0)
            some = [shot for shot in shots if len(shot) == longest]
            self._most = max((self._width_of(shot) for shot in some[:: max(len(some) // 50, 1)]), default=0.0)
        return self._most

    def one_each(self, layout: Layout) -> bool:
        """Whether every column has room for a name of its own, cut short if it must be."""
        return layout.width >= min(self.widest() + 6, _ELIDED_FROM)

    def written(self, layout: Layout, current: int) -> list[Label]:
        """The names that are written; no two of them overlap. The `current` shot, under the cursor, always has its own."""
        first, last = layout.columns_between(0, layout.room_x)
        ratio = layout.ratio
        if self.one_each(layout):
            edges = layout.edges(first, last)
            return [
                Label(first + place, start + 2, end - start - 4) for place, (start, end) in enumerate(edges)
            ]
        room, ends = layout.room_x / ratio, (layout.whole - layout.left) / ratio
        own = self._label(layout, current) if first <= current < last else None
        if own is not None:
            own = replace(own, left=max(min(own.left, room - own.width - 6), 4.0))
        step = math.ceil((self.widest() + 12) / layout.width)
        found: list[Label] = []
        for section in range(first - first % step, last, step):
            label = self._label(layout, section)
            free = not any(label.meets(other) for other in (own, *found[-1:]) if other is not None)
            # At the end of the cut a name that is cut off could not be scrolled into view.
            if free and label.left < room and label.right > 0 and (label.right <= room or ends > room):
                found.append(label)
        return found if own is None else [*found, own]

    def _label(self, layout: Layout, section: int) -> Label:
        shot = self._model.state.table.shots[self._model.state.listing.columns[section]]
        return Label(section, layout.span(section)[0] / layout.ratio + 4, self._width_of(shot) + 2)
