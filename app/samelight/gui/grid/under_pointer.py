"""What lies under the pointer where several shots, or several rows, share a pixel: the worst of them, and all in words."""

from __future__ import annotations

import numpy as np

from samelight.drift.cells import Cell
from samelight.drift.words import counted
from samelight.gui.grid.model import GridModel
from samelight.gui.state.grid_words import cell_tip
from samelight.gui.state.rows import GridState


def worst_under(model: GridModel, lines: range, columns: range) -> Cell | None:
    """Line and place of the shot whose cell is seen where all of these cells share a pixel: the one that drifts most,
    of equal ones the first. None where there is no cell."""
    if not lines or not columns:
        return None
    codes = model.picture.codes(model.state)[lines.start : lines.stop, columns.start : columns.stop]
    line, column = divmod(int(np.argmax(codes)), codes.shape[1])
    return lines.start + line, columns.start + column


def shots_said(state: GridState, places: range) -> str:
    """The shots at some places of the grid, in words: one by its name, more by their number and both ends."""
    names = [state.table.shots[state.listing.columns[place]] for place in (places[0], places[-1])]
    return names[0] if len(places) == 1 else f"{counted(len(places), 'shot')}, {names[0]} to {names[1]}"


def tip_under(model: GridModel, lines: range, columns: range) -> str:
    """The worst cell under the pointer in words, with its units; before it, how much else lies there."""
    worst = worst_under(model, lines, columns)
    if worst is None:
        return ""
    state = model.state
    column = state.listing.columns[worst[1]]
    tip = cell_tip(state, state.listing.row_at(state.listing.lines[worst[0]], column), column)
    if len(lines) == len(columns) == 1:
        return tip
    rows = "" if len(lines) == 1 else f" × {counted(len(lines), 'row')}"
    return f"Under the pointer: {shots_said(state, columns)}{rows}. The worst:\n{tip}"
