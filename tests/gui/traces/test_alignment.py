"""Whatever moves in a plot stands under the cell that moved, at every zoom, scroll and size, on every screen."""

from __future__ import annotations

from typing import Any

import pytest
from PySide6.QtCore import QPoint
from PySide6.QtWidgets import QApplication

from gui_help import opened
from gui_screens import on_screens
from samelight.gui.window.main_window import MainWindow
from samples import copy_of

FACTORS = (1.0, 1.25, 1.5, 2.0)


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


@pytest.fixture(scope="module")
def scaled(tmp_path_factory: pytest.TempPathFactory) -> dict[float, dict[str, Any]]:
    """What is found on a screen of each factor."""
    folder = tmp_path_factory.mktemp("scaled")
    return on_screens(FACTORS, copy_of("harbour", folder / "harbour", decided=False), folder / "own")


@pytest.mark.parametrize("factor", FACTORS)
def test_pixels_line_up_on_scaled_screens(scaled: dict[float, dict[str, Any]], factor: float) -> None:
    found = scaled[factor]
    # In pixels of the screen: where columns lie, exactly; what is drawn, to the pixel. A mark has a soft edge.
    assert len(found["plotted"]) > 200 and max(map(abs, found["plotted"])) < 1e-6
    assert len(found["drawn"]) > 150
    assert {
        what for what, off in found["drawn"] if abs(off) > (0.5 if what.startswith("mark") else 0.0)
    } == set()


def test_lines_are_as_thick_on_a_scaled_screen(scaled: dict[float, dict[str, Any]]) -> None:
    pens = scaled[1]["pens"]
    assert pens == {
        "ring": 2,
        "cursor": pytest.approx(1.0, abs=0.05),
        "dash of the master": 8,
        "line of a light": 2,
        # A light's line and that of its row, two further down, lie under one pixel or under two.
        "row of the overview": pytest.approx(1.5, abs=0.5),
    }
    assert scaled[2]["pens"] == {what: pytest.approx(2 * size, abs=0.1) for what, size in pens.items()}
