"""Where every cell of the grid lies: all columns are equally wide, all lines equally high, the pinned ones stay at the top.
No Qt."""

from __future__ import annotations

from dataclasses import dataclass


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
class Layout:
    """The grid as it is scrolled and zoomed, in pixels: cells of `width` by `height`, `columns` by `lines` of them, the
    scroll `left` and `top`, a view of `room_x` by `room_y`, and how many of the first lines stay when the others
    scroll."""

    width: int
    height: int
    columns: int
    lines: int
    left: int
    top: int
    room_x: int
    room_y: int
    frozen: int = 0

    @property
    def frozen_height(self) -> int:
        """How much of the view the pinned lines take."""
        return self.frozen * self.height

    def x_of(self, column: int) -> int:
        """Where a column starts in the view."""
        return column * self.width - self.left

    def y_of(self, line: int) -> int:
        """Where a line starts in the view; behind the pinned ones when it is scrolled under them."""
        return line * self.height - (0 if line < self.frozen else self.top)

    def column_at(self, x: int) -> int | None:
        """The column at a place of the view.

        >>> Layout(10, 24, 5, 3, left=25, top=0, room_x=100, room_y=100).column_at(0)
        2
        """
        column = (x + self.left) // self.width
        return column if 0 <= column < self.columns else None

    def line_at(self, y: int) -> int | None:
        """The line at a place of the view."""
        line = y // self.height if y < self.frozen_height else (y + self.top) // self.height
        return line if 0 <= line < self.lines else None

    def columns_between(self, left: int, right: int) -> tuple[int, int]:
        """The first column that a stretch of the view meets, and the one after the last."""
        first = max((left + self.left) // self.width, 0)
        last = min(-(-(right + self.left) // self.width), self.columns)
        return first, max(first, last)

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
