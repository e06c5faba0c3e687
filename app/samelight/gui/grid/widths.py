"""How wide the grid's columns are: one width for all, or as wide as fits the whole cut."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING
from weakref import proxy

from PySide6.QtCore import QPointF
from PySide6.QtGui import QWheelEvent

from samelight.gui.grid.headers import COLUMN_WIDTH
from samelight.gui.grid.layout import NARROWEST, WIDEST, Hold, Layout, fitted_whole, whole_of
from samelight.sequence.saved_views import Shown, View

if TYPE_CHECKING:
    from samelight.gui.grid.place import PlacedTable

_STEP = 1.15
"""How much wider columns get by one step of the zoom."""

_READABLE = {Shown.VALUE: 84.0, Shown.BOTH: 120.0}
"""How wide a column is at least, in Qt's pixels, when it is asked for more than colours and short figures."""


class ColumnWidths:
    """The width of a table's columns, which its view states. The table's `show_widened` is called when it is another."""

    def __init__(self, table: PlacedTable) -> None:
        self._table: PlacedTable = proxy(table)  # which holds this: a circle would keep both

    @property
    def width(self) -> float:
        """The width of a column, in Qt's pixels; less than one where the cut is longer than the view is wide."""
        return self._fit_width() if self.fitted else self._stated

    @property
    def _stated(self) -> float:
        return self._table.grid_state.view.column_width or COLUMN_WIDTH

    @property
    def fitted(self) -> bool:
        """Whether the whole cut is kept in view, whatever the size of the window and the number of shots."""
        return self._table.grid_state.view.fitted

    def whole(self, room: int, columns: int, ratio: float) -> int:
        """How many pixels of the screen so many columns take together where there is `room` for so many."""
        return fitted_whole(room, columns, ratio) if self.fitted else whole_of(self._stated, columns, ratio)

    def set_width(self, width: float) -> None:
        """Make every column this wide, in Qt's pixels."""
        self._widen(width, fitted=False)

    def fit(self) -> None:
        """Fit all shots into the view, whatever their number, and keep them so until the columns are widened."""
        self._widen(self._fit_width(), fitted=True)

    def zoom_as(self, view: View) -> None:
        """Make columns as wide as a view says; one that says nothing leaves them as they are."""
        if view.fitted:
            self.fit()
        elif view.column_width is not None:
            self.set_width(view.column_width)

    def make_readable(self, shown: Shown) -> None:
        """Make columns wide enough for what cells are to say; back to drift, fit those that were widened for that."""
        least = _READABLE.get(shown)
        if least is None:
            if self._stated in _READABLE.values():
                self.fit()
        elif self.width < least:
            self.set_width(least)
            self._table.scrollTo(self._table.currentIndex())

    def _widen(self, width: float, *, fitted: bool) -> None:
        fit, state = self._fit_width(), self._table.grid_state
        kept = None if fitted else float(max(min(NARROWEST, fit), min(max(WIDEST, fit), width)))
        state.view = replace(state.view, column_width=kept, fitted=fitted)
        self._table.show_widened()

    def _fit_width(self) -> float:
        layout = self._table.layout_now()
        whole = fitted_whole(layout.room_x, layout.columns, layout.ratio)
        return whole / (max(layout.columns, 1) * layout.ratio)

    def zoom(self, steps: float, anchor: float | None = None, column: int | None = None) -> None:
        """Widen (steps above 0) or narrow the columns. On the way, the zoom stops where the whole cut just fits.

        The column under `anchor`, in Qt's pixels of the view, stays there, and `column` says which where several share
        that pixel; without an anchor the one under the cursor, or else the one in the middle of the view.
        """
        old, fit = self._table.layout_now(), self._fit_width()
        if not old.columns or not steps:
            return
        hold = self._held_by_keys(old) if anchor is None else old.hold(old.pixel(anchor), column)
        before, width = self.width, self.width * _STEP**steps
        passes = (
            old.whole != fitted_whole(old.room_x, old.columns, old.ratio)
            and (before - fit) * (width - fit) <= 0.0
        )
        self._widen(width, fitted=passes or width <= fit <= NARROWEST)
        self._table.horizontalScrollBar().setValue(self._table.layout_now().left_for(hold))

    def _held_by_keys(self, layout: Layout) -> Hold:
        current = self._table.currentIndex()
        if current.isValid():
            start, end = layout.span(current.column())
            middle = start + (end - start) // 2
            if 0 <= middle < layout.room_x:
                return Hold(middle, current.column(), 0.5)
        return layout.hold(layout.room_x // 2)

    def zoom_by_wheel(self, event: QWheelEvent, place: QPointF) -> None:
        """Zoom around a place of the view; where shots share its pixel, around the worst of them."""
        worst = self._table.worst_at(place)
        self.zoom(event.angleDelta().y() / 120.0, place.x(), None if worst is None else worst[1])
