"""Whatever moves in a plot stands under the cell that moved, at every zoom, scroll and size."""

from __future__ import annotations

import pytest
from PySide6.QtWidgets import QApplication

from samelight.gui.main_window import MainWindow


def settle() -> None:
    for _ in range(4):
        QApplication.processEvents()


def offsets(window: MainWindow) -> list[float]:
    """How far the middle of each plotted column is from the middle of the grid's, in pixels of the window."""
    grid, traces = window.grid, window.traces
    assert grid is not None and traces is not None and window.model is not None
    found = []
    for column in (0, 5, window.model.columnCount() - 1):
        left = grid.columnViewportPosition(column)
        middle = (
            grid.viewport().mapTo(window, grid.viewport().rect().topLeft()).x() + left + grid.column_width / 2
        )
        plotted = traces.mapTo(window, traces.rect().topLeft()).x() + traces.x_of_column(column)
        found.append(plotted - middle)
    return found


@pytest.mark.parametrize("width", [6, 11, 23, 40, 62, 97, 200])
def test_columns_line_up_at_every_zoom(window: MainWindow, width: int) -> None:
    assert window.grid is not None
    window.select("HB_060", "lights.sun.direction")
    window.grid.set_column_width(width)
    settle()
    bar = window.grid.horizontalScrollBar()
    for value in (bar.minimum(), bar.maximum() // 3, bar.maximum()):
        bar.setValue(value)
        settle()
        assert max(abs(offset) for offset in offsets(window)) <= 1.0


@pytest.mark.parametrize("size", [(1100, 700), (1283, 811), (2200, 1200)])
def test_columns_line_up_at_every_size(window: MainWindow, size: tuple[int, int]) -> None:
    window.select("HB_120", "render.gi.range")
    window.resize(*size)
    settle()
    assert max(abs(offset) for offset in offsets(window)) <= 1.0


def test_zooming_keeps_the_shot_under_the_pointer(window: MainWindow) -> None:
    grid = window.grid
    assert grid is not None
    grid.horizontalScrollBar().setValue(300)
    before = (grid.horizontalScrollBar().value() + 400) / grid.column_width
    grid.zoom(3, 400)
    settle()
    assert (grid.horizontalScrollBar().value() + 400) / grid.column_width == pytest.approx(before, abs=0.05)
