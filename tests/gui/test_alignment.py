"""Whatever moves in a plot stands under the cell that moved, at every zoom, scroll and size."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

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


@pytest.mark.parametrize("width", [1, 2, 3, 6, 11, 23, 40, 62, 97, 200])
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


def test_the_overview_stands_over_the_same_columns(window: MainWindow) -> None:
    assert window.grid is not None and window.overview is not None and window.model is not None
    settle()
    cells, room = window.grid.viewport(), window.overview.map_rect()
    left = window.overview.mapTo(window, room.topLeft()).x()
    assert (left, room.width()) == (cells.mapTo(window, cells.rect().topLeft()).x(), cells.width())


def test_hiding_shots_keeps_what_is_left_lined_up(window: MainWindow) -> None:
    window.select("HB_060", "lights.sun.direction")
    assert window.model is not None and window.grid is not None
    window.model.relisted(lambda state: state.hide_shots([1, 2, 9]))
    settle()
    grid, traces = window.grid, window.traces
    assert traces is not None
    window.select("HB_060", "lights.sun.direction")
    settle()
    for column in (0, 5, 23):
        place = window.model.state.place(column)
        assert place is not None
        left = grid.viewport().mapTo(window, grid.viewport().rect().topLeft()).x()
        middle = left + grid.columnViewportPosition(place) + grid.column_width / 2
        plotted = traces.mapTo(window, traces.rect().topLeft()).x() + traces.x_of_column(column)
        assert abs(plotted - middle) <= 1.0


@pytest.mark.parametrize("factor", ["1.25", "2"])
def test_columns_line_up_on_scaled_screens(harbour_folder: Path, tmp_path: Path, factor: str) -> None:
    """Qt reads the factor once, when it starts: so in a process of its own."""
    tests = Path(__file__).parents[1]
    environment = {
        **os.environ,
        "QT_SCALE_FACTOR": factor,
        "QT_QPA_PLATFORM": "offscreen",
        "PYTHONPATH": os.pathsep.join([str(tests), str(tests.parent / "app")]),
    }
    done = subprocess.run(
        [sys.executable, str(tests / "gui_alignment.py"), str(harbour_folder), str(tmp_path / "scaled")],
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    ratio, *found = done.stdout.split()
    assert float(ratio) == float(factor)
    assert len(found) >= 20
    # In pixels of the screen.
    assert max(abs(float(offset)) for offset in found) * float(factor) <= 1.5
