"""The overview's arithmetic: many cells under one pixel, and the part of the grid that is on the screen. No Qt."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from samelight.drift.words import counted
from samelight.gui.grid.layout import Layout
from samelight.gui.state.rows import GridState

Codes = NDArray[np.uint8]


def largest(codes: Codes, height: int, width: int) -> Codes:
    """A picture of `height` by `width` pixels in which every pixel is the largest code of the cells under it, so that a
    lone drift never vanishes.

    Where there are more pixels than cells, each cell covers a whole number of pixels, as evenly as that goes.

    >>> largest(np.array([[0, 9, 0, 0], [0, 0, 0, 3]], dtype=np.uint8), 1, 2)
    array([[9, 3]], dtype=uint8)
    """
    if 0 in codes.shape or height < 1 or width < 1:
        return np.zeros((max(height, 0), max(width, 0)), dtype=np.uint8)
    return _largest(_largest(codes, width, 1), height, 0)


def _largest(codes: Codes, size: int, axis: int) -> Codes:
    starts = np.arange(size, dtype=np.int64) * codes.shape[axis] // size
    if codes.shape[axis] <= size:
        taken: Codes = np.take(codes, starts, axis=axis)
        return taken
    reduced: Codes = np.maximum.reduceat(codes, starts, axis=axis)
    return reduced


@dataclass(frozen=True, slots=True)
class Span:
    """What of one axis of the grid is on the screen: `count` cells of `cell` pixels, scrolled by `offset`, `room` pixels
    of them in view."""

    count: int
    cell: int
    offset: int
    room: int

    @property
    def whole(self) -> int:
        """The length of all cells, in pixels of the grid."""
        return self.count * self.cell

    def visible(self, size: float) -> tuple[float, float]:
        """Where the part in view starts and ends on a map of `size` pixels.

        >>> Span(count=100, cell=20, offset=500, room=1000).visible(200)
        (50.0, 150.0)
        """
        if self.whole <= 0:
            return 0.0, size
        start = self.offset / self.whole * size
        return start, min(start + self.room / self.whole * size, size)

    def offset_for(self, middle: float, size: float) -> int:
        """The scroll that puts a place of the map into the middle of the view, as far as there is anything to scroll."""
        wanted = middle / max(size, 1.0) * self.whole - self.room / 2
        return round(min(max(wanted, 0.0), max(self.whole - self.room, 0)))

    def cells_at(self, place: float, size: int) -> range:
        """The cells under one pixel of the map; none outside of it.

        >>> Span(100, 20, 0, 1000).cells_at(1.0, 50), Span(3, 20, 0, 1000).cells_at(59.0, 60)
        (range(2, 4), range(2, 3))
        """
        if not 0.0 <= place < size or self.count == 0:
            return range(0)
        pixel = int(place)
        first = pixel * self.count // size
        return range(first, max(first + 1, (pixel + 1) * self.count // size))


def extent_lines(state: GridState, layout: Layout) -> list[str]:
    """How much there is, what of it is in view, and what is hidden."""
    shots, lines = len(state.listing.columns), len(state.listing.lines)
    said = [f"{counted(shots, 'shot')} × {counted(lines, 'row')}"]
    first, last = layout.columns_between(0, layout.room_x)
    if first < last:
        names = state.table.shots
        ends = names[state.listing.columns[first]], names[state.listing.columns[last - 1]]
        said.append(f"in view {ends[0]}" + (f" to {ends[1]}" if ends[0] != ends[1] else ""))
    hidden = len(state.table.shots) - shots
    rows = state.listing.hidden_rows
    if hidden or rows:
        said.append(
            f"hidden: {', '.join(counted(n, what) for n, what in ((hidden, 'shot'), (rows, 'row')) if n)}"
        )
    return said
