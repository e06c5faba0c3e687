"""Whatever moves in a plot stands under the cell that moved, at every zoom, scroll and size."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint
from PySide6.QtWidgets import QApplication

from gui_help import opened
from samelight.gui.window.main_window import MainWindow


@pytest.fixture
def window(standing_window: MainWindow) -> MainWindow:
    """They look at it."""
    return standing_window


def settle() -> None:
    for _ in range(4):
        QApplication.processEvents()


def offsets(window: MainWindow, columns: tuple[int, ...] | None = None) -> list[float]:
    """How far the middle of each plotted column is from the middle of the grid's, in pixels of the screen."""
    grid, traces = opened(window).views.grid, opened(window).views.traces
    assert grid is not None and traces is not None
    state, layout = opened(window).views.model.state, grid.layout_now()
    found = []
    for column in columns or (0, 5, len(state.listing.columns) - 1):
        place = state.listing.place(column)
        assert place is not None
        start, end = layout.span(place)
        left = grid.viewport().mapTo(window, QPoint(0, 0)).x() * layout.ratio + layout.shift
        plotted = traces.mapTo(window, QPoint(0, 0)).x() + traces.x_of_column(column)
        found.append(plotted * layout.ratio - (left + (start + end) / 2))
    return found


def test_columns_line_up_at_every_zoom(window: MainWindow) -> None:
    window.select("HB_060", "lights.sun.direction")
    for width in (1, 1.4, 2, 3.3, 6, 11.1, 23, 40, 62, 97, 200):
        opened(window).views.grid.widths.set_width(width)
        settle()
        bar = opened(window).views.grid.horizontalScrollBar()
        for value in (bar.minimum(), bar.maximum() // 3, bar.maximum()):
            bar.setValue(value)
            settle()
            assert max(abs(offset) for offset in offsets(window)) <= 1e-6, f"{width} wide, at {value}"


def test_columns_line_up_at_every_size(window: MainWindow) -> None:
    window.select("HB_120", "render.gi.range")
    for size in ((1100, 700), (1283, 811), (2200, 1200)):
        opened(window).views.grid.widths.fit()
        window.resize(*size)
        settle()
        assert max(abs(offset) for offset in offsets(window)) <= 1e-6, size


def test_zooming_keeps_the_shot_under_the_pointer(window: MainWindow) -> None:
    grid = opened(window).views.grid
    assert grid is not None
    grid.widths.set_width(100)
    grid.horizontalScrollBar().setValue(300)
    before = (grid.horizontalScrollBar().value() + 400) / grid.layout_now().width
    grid.widths.zoom(3, 400)
    settle()
    after = (grid.horizontalScrollBar().value() + 400) / grid.layout_now().width
    assert after == pytest.approx(before, abs=0.01)


def test_the_overview_stands_over_the_same_columns(window: MainWindow) -> None:
    settle()
    cells, room = opened(window).views.grid.viewport(), opened(window).views.overview.map_rect()
    left = opened(window).views.overview.mapTo(window, room.topLeft()).x()
    assert (left, room.width()) == (cells.mapTo(window, cells.rect().topLeft()).x(), cells.width())


def test_hiding_shots_keeps_what_is_left_lined_up(window: MainWindow) -> None:
    window.select("HB_060", "lights.sun.direction")
    opened(window).views.model.relisted(lambda state: state.hide_shots([1, 2, 9]))
    settle()
    window.select("HB_060", "lights.sun.direction")
    settle()
    assert max(abs(offset) for offset in offsets(window, (0, 5, 23))) <= 1e-6


@pytest.mark.parametrize("factor", ["1", "1.25", "1.5", "2"])
def test_pixels_line_up_on_scaled_screens(harbour_folder: Path, tmp_path: Path, factor: str) -> None:
    """Qt reads the factor once, when it starts: so in a process of its own."""
    tests = Path(__file__).parents[2]
    environment = {
        **os.environ,
        "QT_SCALE_FACTOR": factor,
        "QT_QPA_PLATFORM": "offscreen",
        "PYTHONPATH": os.pathsep.join([str(tests), str(tests / "support"), str(tests.parent / "app")]),
    }
    done = subprocess.run(
        [
            sys.executable,
            str(tests / "support" / "gui_alignment.py"),
            str(harbour_folder),
            str(tmp_path / "scaled"),
        ],
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    found = json.loads(done.stdout)
    assert found["ratio"] == float(factor)
    # In pixels of the screen: where columns lie, exactly; what is drawn, to the pixel. A mark has a soft edge.
    assert len(found["plotted"]) > 200 and max(map(abs, found["plotted"])) < 1e-6
    assert len(found["drawn"]) > 150
    assert {
        what for what, off in found["drawn"] if abs(off) > (0.5 if what.startswith("mark") else 0.0)
    } == set()
