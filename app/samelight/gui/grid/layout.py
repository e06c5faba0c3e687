"""Where every cell of the grid lies: columns share the width evenly, all lines are equally high, the pinned ones stay at
the top. No Qt.

Across, everything is counted in whole pixels of the screen, so that no column ends within one. All `columns` columns
together take `whole` of them, and pixel p of these shows the columns from p * columns // whole up to where the next
pixel starts, at least one. As long as there are as many pixels as columns, a column so has one or more pixels of its
own, and no two columns differ by more than one pixel; where there are fewer, columns share a pixel, and what is seen
there is the worst of their cells. The overview's map follows the same rule.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

WIDE_FROM = 14
"""Columns from this width on (Qt's pixels) are whole pixels of the screen, all the same, so that what stands in them is
sharp; narrower ones are as wide as the zoom says, on average."""

NARROWEST, WIDEST = 1, 200
"""How far the zoom goes, in Qt's pixels a column; further wherever the whole cut fits only so."""


FITTED_WIDEST = 120
"""How wide a column gets at most where the whole cut is fitted into the view, in Qt's pixels."""


@dataclass(frozen=True, slots=True)
class Block:
    """Lines drawn below each other: the first and the one after the last, where the first starts, and what part of the
    view is theirs (from `top`, `height` pixels)."""

    first: int
    last: int
    y: int
    top: int
    height: int


@dataclass(frozen=True, slots=True)
class Hold:
    """What stays at a pixel of the view while columns get wider or narrower: a column, and how far into it (0 to 1);
    beside the grid, without a column, how far along the whole."""

    pixel: int
    column: int | None
    share: float


@dataclass(frozen=True, slots=True)
class Layout:
    """The grid as it is scrolled and zoomed.

    Across, in pixels of the screen: `columns` columns take `whole` pixels, scrolled by `left`, in a view of `room_x`;
    `ratio` of them make one of Qt's, and on a scaled screen the view's own left edge may lie within one: the grid then
    begins at the nearest whole pixel, `shift` further right (-0.5 to 0.5). Down, in Qt's pixels: `lines` lines of `height`, scrolled by `top`, in a view of
    `room_y`; the first `frozen` lines stay when the others scroll.
    """

    whole: int
    height: int
    columns: int
    lines: int
    left: int
    top: int
    room_x: int
    room_y: int
    frozen: int = 0
    ratio: float = 1.0
    shift: float = 0.0

    # Across

    @property
    def width(self) -> float:
        """How wide columns are on average, in Qt's pixels."""
        return self.whole / (max(self.columns, 1) * self.ratio)

    @property
    def across(self) -> tuple[float, ...]:
        """All that says where columns lie: what only lies there moves when this changes."""
        return self.whole, self.columns, self.left, self.room_x, self.ratio, self.shift

    @property
    def shared(self) -> bool:
        """Whether there are more columns than pixels."""
        return self.columns > self.whole

    def spans(self, first: int, last: int) -> NDArray[np.int64]:
        """The first pixel of each column from `first` to before `last`, counted over the whole, and the one after its
        last; shape (2, columns)."""
        columns = np.arange(first, last, dtype=np.int64)
        ends = ((columns + 1) * self.whole - 1) // self.columns + 1
        starts = np.minimum(-(-columns * self.whole // self.columns), ends - 1)
        return np.stack((starts, ends))

    def span(self, column: int) -> tuple[int, int]:
        """The first pixel of a column in the view, and the one after its last.

        >>> thirds = Layout(8, 24, 3, 1, left=0, top=0, room_x=8, room_y=24)
        >>> [thirds.span(column) for column in range(3)]
        [(0, 3), (3, 6), (6, 8)]
        """
        end = ((column + 1) * self.whole - 1) // self.columns + 1
        start = min(-(-column * self.whole // self.columns), end - 1)
        return start - self.left, end - self.left

    def edges(self, first: int, last: int) -> list[tuple[float, float]]:
        """Where each column from `first` to before `last` begins and ends in the view, in Qt's pixels: all at once, since one by one
        takes most of the time of drawing many.

        >>> thirds = Layout(8, 24, 3, 1, left=0, top=0, room_x=8, room_y=24)
        >>> thirds.edges(0, 3)
        [(0.0, 3.0), (3.0, 6.0), (6.0, 8.0)]
        """
        found: list[list[float]] = ((self.spans(first, last) - self.left) / self.ratio).tolist()
        return list(zip(*found, strict=True))

    def shares(self, first: int, last: int) -> NDArray[np.float64]:
        """The same spans as shares of the whole, counted in columns: the places of the columns, moved by less than a
        pixel to where their pixels begin and end; shape (2, columns)."""
        found: NDArray[np.float64] = self.spans(first, last).astype(np.float64) * (self.columns / self.whole)
        return found

    def along(self, column: int) -> float:
        """The middle of a column's pixels as a share of the whole, counted in columns.

        >>> Layout(30, 24, 3, 1, left=0, top=0, room_x=30, room_y=24).along(1)
        1.5
        """
        start, end = self.span(column)
        return (start + end + 2 * self.left) * self.columns / (2 * self.whole)

    def columns_at(self, pixel: int) -> range:
        """The columns under a pixel of the view; none beside the grid.

        >>> Layout(2, 24, 5, 1, left=0, top=0, room_x=2, room_y=24).columns_at(1)
        range(2, 5)
        """
        pixel += self.left
        if not 0 <= pixel < self.whole or not self.columns:
            return range(0)
        first = pixel * self.columns // self.whole
        return range(first, max(first + 1, (pixel + 1) * self.columns // self.whole))

    def columns_between(self, left: int, right: int) -> tuple[int, int]:
        """The first column that a stretch of the view meets, and the one after the last."""
        left, right = max(left, -self.left), min(right, self.whole - self.left)
        if left >= right or not self.columns:
            return 0, 0
        return self.columns_at(left).start, self.columns_at(right - 1).stop

    def starts(self, left: int, right: int) -> NDArray[np.int64]:
        """The first column under each pixel of a stretch of the view; the stretch must lie within the grid."""
        pixels = np.arange(left + self.left, right + self.left, dtype=np.int64)
        found: NDArray[np.int64] = pixels * self.columns // self.whole
        return found

    def hold(self, pixel: int, column: int | None = None) -> Hold:
        """What lies at a pixel of the view; `column` where one of several that share it is meant."""
        under = self.columns_at(pixel)
        if column is None and under:
            column = under[0]
        if column is None:
            return Hold(pixel, None, (pixel + self.left) / max(self.whole, 1))
        start, end = self.span(column)
        return Hold(pixel, column, min(max((pixel + 0.5 - start) / (end - start), 0.0), 1.0))

    def left_for(self, hold: Hold) -> int:
        """The scroll that leaves a column where it was; beyond the ends where there is no such scroll.

        >>> narrow, wide = (Layout(whole, 24, 5, 1, 0, 0, 40, 24) for whole in (5, 100))
        >>> wide.left_for(narrow.hold(3))
        67
        """
        if hold.column is None:
            return round(hold.share * self.whole) - hold.pixel
        start, end = self.span(hold.column)
        inside = min(math.floor(hold.share * (end - start)), end - start - 1)
        return start + self.left + inside - hold.pixel

    def pixel(self, x: float) -> int:
        """The pixel of the view at a place in Qt's pixels."""
        return math.floor(x * self.ratio - self.shift + 1e-6)

    # Down

    @property
    def frozen_height(self) -> int:
        """How much of the view the pinned lines take."""
        return self.frozen * self.height

    def y_of(self, line: int) -> int:
        """Where a line starts in the view; behind the pinned ones when it is scrolled under them."""
        return line * self.height - (0 if line < self.frozen else self.top)

    def line_at(self, y: float) -> int | None:
        """The line at a place of the view."""
        line = int((y if y < self.frozen_height else y + self.top) // self.height)
        return line if 0 <= line < self.lines else None

    def blocks(self, top: int, bottom: int) -> list[Block]:
        """The lines that a stretch of the view meets: the pinned ones, then those that scroll."""
        found = []
        edge = self.frozen_height
        if self.frozen and top < edge:
            first = max(top // self.height, 0)
            last = min(-(-min(bottom, edge) // self.height), self.frozen)
            found.append(Block(first, last, first * self.height, top, min(bottom, edge) - top))
        start = max(top, edge)
        if start < bottom:
            first = max((start + self.top) // self.height, self.frozen)
            last = min(-(-(bottom + self.top) // self.height), self.lines)
            if first < last:
                found.append(Block(first, last, self.y_of(first), start, bottom - start))
        return found


def whole_of(width: float, columns: int, ratio: float) -> int:
    """How many pixels of the screen so many columns take together, each `width` of Qt's pixels wide.

    >>> whole_of(62, 24, 1.25), whole_of(0.45, 2000, 1.0)
    (1872, 900)
    """
    if width >= WIDE_FROM:
        return columns * max(round(width * ratio), 1)
    return max(round(width * ratio * columns), 1)


def fitted_whole(room: int, columns: int, ratio: float) -> int:
    """How many pixels of the screen all columns take where they fit into a view of `room` of them: all, but for few shots,
    whose columns stay no wider than `FITTED_WIDEST`.

    >>> fitted_whole(1200, 24, 1.0), fitted_whole(1200, 4, 1.0)
    (1200, 480)
    """
    return max(min(room, round(columns * FITTED_WIDEST * ratio)), 1)
