"""The grid as a picture: one small code for each cell, in such an order that the largest of several is what must be seen.

A code is the place of the cell's colour on the drift scale (0 to 255). The places below the scale's first colour stand
for what has no drift, and one in the gap between what is within tolerance and what is not stands for what was intended,
so that where many cells share a pixel, unsettled drift wins over intended, and intended over what is within.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from PySide6.QtGui import QColor, QImage

from samelight.drift.cells import Grade
from samelight.gui.paint import drift_scale, theme
from samelight.gui.state import cell_states
from samelight.gui.state.cell_states import Standing
from samelight.gui.state.rows import GridState

EMPTY, SAME, SAME_IN_GROUP, INTENDED = 0, 1, 2, 94
INTENDED_GREY = theme.grey(112)
"""Lighter than what is within tolerance, darker than all that is not, like its code."""

Codes = NDArray[np.uint8]


@lru_cache(maxsize=1)
def palette() -> NDArray[np.uint32]:
    """The colour of every code, as 0xffRRGGBB."""
    colours = np.full((256, 4), 255, dtype=np.uint32)
    colours[:, 1:] = drift_scale.lookup()
    for code, grey in (
        (EMPTY, theme.EMPTY_CELL),
        (SAME, theme.CELL),
        (SAME_IN_GROUP, theme.GROUP_CELL),
        (INTENDED, INTENDED_GREY),
    ):
        colours[code, 1:] = grey.red(), grey.green(), grey.blue()
    packed: NDArray[np.uint32] = (
        colours[:, 0] << 24 | colours[:, 1] << 16 | colours[:, 2] << 8 | colours[:, 3]
    ).astype(np.uint32)
    return packed


def rgb(code: int) -> tuple[int, int, int]:
    """The colour of one code, 0 to 255 each."""
    packed = int(palette()[code])
    return packed >> 16 & 255, packed >> 8 & 255, packed & 255


def colour(code: int) -> QColor:
    """The colour of one code, as Qt takes it."""
    return QColor(*rgb(code))


def cell_codes(severity: NDArray[np.float64], grade: NDArray[np.uint8], states: NDArray[np.uint8]) -> Codes:
    """The codes of cells; all three arrays have one shape, and so has the result."""
    codes = np.where(grade == Grade.NONE, EMPTY, SAME).astype(np.uint8)
    drifting = grade > Grade.SAME
    codes[drifting] = np.round(drift_scale.places(severity[drifting]) * 255)
    codes[(grade >= Grade.DRIFT) & (states == cell_states.INTENDED)] = INTENDED
    return codes


class ShadePicture:
    """The codes of what a `GridState` lists, made anew only when something changed."""

    def __init__(self) -> None:
        self._state: GridState | None = None
        self._revision = -1
        self._codes: Codes = np.zeros((0, 0), dtype=np.uint8)
        self._standing: Standing | None = None
        self._cells: Codes = self._codes

    def codes(self, state: GridState) -> Codes:
        """One code for each listed line and shot, shape (lines, columns). A group's line holds its worst row's."""
        if self._state is not state or self._revision != state.revision:
            if self._standing is not state.standing:
                self._cells, self._standing = self._cells_of(state.standing), state.standing
            self._codes = _line_codes(state, self._cells)
            self._state, self._revision = state, state.revision
        return self._codes

    def _cells_of(self, now: Standing) -> Codes:
        """The codes of all cells; those that have not changed are as they were."""
        table, states = now.table, now.states
        changed = None if self._standing is None else now.changed_since(self._standing)
        if changed is None:
            return _all_codes(now)
        cells = self._cells.copy()
        cells.put(
            changed, cell_codes(table.severity.take(changed), table.grade.take(changed), states.take(changed))
        )
        return cells


def _all_codes(standing: Standing) -> Codes:
    """`cell_codes` of all cells: worked out once for each entry, and then for what was decided on."""
    _, severity, grade = standing.table.of_entries
    codes = cell_codes(severity, grade, np.zeros(grade.size, dtype=np.uint8))[standing.table.codes]
    decided = standing.decided
    intended = decided[standing.states.take(decided) == cell_states.INTENDED]
    codes.put(intended[standing.table.grade.take(intended) >= Grade.DRIFT], INTENDED)
    return codes


def _line_codes(state: GridState, codes: Codes) -> Codes:
    columns = np.asarray(state.listing.columns, dtype=np.int64)
    rows = np.array([-1 if line.row is None else line.row for line in state.listing.lines], dtype=np.int64)
    listed = codes[rows] if columns.size == codes.shape[1] else codes[np.ix_(rows, columns)]
    for index in np.flatnonzero(rows < 0).tolist():
        own = codes[state.listing.worst[state.listing.lines[index].group, columns], columns]
        listed[index] = np.where(own == SAME, SAME_IN_GROUP, own)
    return listed


def image_of(codes: Codes) -> QImage:
    """A picture with one pixel for each code. It holds its own copy of the pixels."""
    height, width = codes.shape
    pixels = np.ascontiguousarray(palette()[codes])
    return QImage(pixels.data, width, height, 4 * width, QImage.Format.Format_RGB32).copy()
