"""The overview: the whole cut in one small map, with a frame around what the grid shows."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import array_shapes, arrays
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from gui_films import film_session
from gui_help import opened
from samelight.drift.cells import Grade
from samelight.gui.grid.model import GridModel
from samelight.gui.grid.overview import Overview
from samelight.gui.grid.overview_data import Span, extent_lines, largest
from samelight.gui.grid.view import GridView
from samelight.gui.paint import drift_scale, shades, theme
from samelight.gui.state.rows import GridState, Show
from samelight.gui.window.main_window import MainWindow
from samelight.sequence.session import Session


@pytest.fixture
def window(standing_window: MainWindow) -> MainWindow:
    """They look at it."""
    return standing_window


codes_ = arrays(np.uint8, array_shapes(min_dims=2, max_dims=2, min_side=1, max_side=40))


def settle() -> None:
    for _ in range(4):
        QApplication.processEvents()


@given(codes_, st.integers(1, 60), st.integers(1, 60))
def test_no_cell_vanishes_whatever_the_size(codes: np.ndarray, height: int, width: int) -> None:
    picture = largest(codes, height, width)
    assert picture.shape == (height, width)
    assert picture.max() == codes.max()


@given(codes_, st.integers(1, 60), st.integers(1, 60))
def test_a_pixel_is_the_largest_of_the_cells_that_the_mouse_finds_there(
    codes: np.ndarray, height: int, width: int
) -> None:
    picture = largest(codes, height, width)
    down, across = Span(codes.shape[0], 1, 0, 1), Span(codes.shape[1], 1, 0, 1)
    for y in range(height):
        lines = down.cells_at(y, height)
        for x in range(0, width, 7):
            columns = across.cells_at(x, width)
            under = codes[lines.start : lines.stop, columns.start : columns.stop]
            assert picture[y, x] == under.max()


def test_one_lone_drift_in_a_film_is_still_one_pixel() -> None:
    codes = np.full((540, 2000), shades.SAME, dtype=np.uint8)
    codes[377, 1234] = 240
    picture = largest(codes, 68, 900)
    assert (picture == 240).sum() == 1
    assert picture[377 * 68 // 540, 1234 * 900 // 2000] == 240


def test_nothing_to_show_is_an_empty_picture() -> None:
    assert largest(np.zeros((0, 5), dtype=np.uint8), 4, 6).shape == (4, 6)
    assert largest(np.zeros((3, 5), dtype=np.uint8), 0, 6).shape == (0, 6)


def test_open_drift_wins_over_intended_and_that_over_what_is_within() -> None:
    severity = np.array([[0.0, 0.99, 1.01, 1e9, 5.0, np.inf]])
    grade = np.array(
        [[Grade.SAME, Grade.WITHIN, Grade.DRIFT, Grade.BREAK, Grade.DRIFT, Grade.DRIFT]], dtype=np.uint8
    )
    states = np.array([[0, 0, 0, 0, 1, 0]], dtype=np.uint8)
    same, within, little, much, intended, endless = shades.cell_codes(severity, grade, states)[0].tolist()
    assert shades.EMPTY < same < shades.SAME_IN_GROUP < within < intended < little < much == endless


def test_codes_have_the_colours_of_the_drift_scale() -> None:
    severity = np.concatenate((np.linspace(0.01, 1.0, 57), np.geomspace(1.001, 60.0, 200)))
    grade = np.where(severity > 1, Grade.DRIFT, Grade.WITHIN).astype(np.uint8)
    codes = shades.cell_codes(severity[None], grade[None], np.zeros((1, severity.size), dtype=np.uint8))[0]
    for value, code in zip(severity.tolist(), codes.tolist(), strict=True):
        assert shades.rgb(code) == drift_scale.rgb(value)
    red, green, blue = shades.rgb(shades.INTENDED)
    assert red == green == blue


# The widget


def frame_says(overview: Overview, grid: GridView) -> tuple[float, float, float, float]:
    """What share of the map the frame starts and ends at, across and down."""
    room, frame = overview.map_rect(), overview.frame()
    return (
        (frame.left() - room.left()) / room.width(),
        (frame.right() - room.left()) / room.width(),
        (frame.top() - room.top()) / room.height(),
        (frame.bottom() - room.top()) / room.height(),
    )


def test_the_map_stands_above_the_cells(window: MainWindow) -> None:
    settle()
    room = opened(window).views.overview.map_rect()
    left = opened(window).views.overview.mapTo(window, room.topLeft()).x()
    cells = opened(window).views.grid.viewport()
    assert left == cells.mapTo(window, QPoint(0, 0)).x()
    assert room.width() == cells.width()


def test_the_frame_is_the_part_that_the_grid_shows(window: MainWindow) -> None:
    grid, bar = opened(window).views.grid, opened(window).views.grid.horizontalScrollBar()
    grid.widths.set_width(120)
    settle()
    for value in (0, bar.maximum() // 2, bar.maximum()):
        bar.setValue(value)
        settle()
        left, right, _, _ = frame_says(opened(window).views.overview, grid)
        whole = grid.widths.width * 24
        assert left == pytest.approx(value / whole, abs=0.01)
        assert right == pytest.approx((value + grid.viewport().width()) / whole, abs=0.01)


def test_a_click_goes_there_and_a_drag_goes_along(window: MainWindow, qtbot: QtBot) -> None:
    window.run("expand")
    grid, overview = opened(window).views.grid, opened(window).views.overview
    grid.widths.set_width(150)
    settle()
    room = overview.map_rect()
    place = QPoint(room.left() + room.width() * 2 // 3, room.center().y())
    qtbot.mousePress(overview, Qt.MouseButton.LeftButton, pos=place)
    left, right, top, bottom = frame_says(overview, grid)
    assert (left + right) / 2 == pytest.approx(2 / 3, abs=0.02)
    assert (top + bottom) / 2 == pytest.approx(0.5, abs=0.05)
    before = grid.horizontalScrollBar().value()
    further = place - QPoint(room.width() // 4, 0)
    qtbot.mouseMove(overview, further)
    from PySide6.QtCore import QEvent
    from PySide6.QtGui import QMouseEvent

    held = Qt.MouseButton.LeftButton
    moved = QMouseEvent(
        QEvent.Type.MouseMove,
        QPointF(further),
        QPointF(overview.mapToGlobal(further)),
        Qt.MouseButton.NoButton,
        held,
        Qt.KeyboardModifier.NoModifier,
    )
    QApplication.sendEvent(overview, moved)
    assert grid.horizontalScrollBar().value() < before
    left, right, _, _ = frame_says(overview, grid)
    assert (left + right) / 2 == pytest.approx(2 / 3 - 1 / 4, abs=0.02)


def test_a_double_click_puts_the_cursor_on_the_drift(window: MainWindow, qtbot: QtBot) -> None:
    assert window.session is not None
    overview, state = opened(window).views.overview, opened(window).views.grid.grid_state
    settle()
    line = next(i for i, entry in enumerate(state.listing.lines) if state.groups[entry.group].title == "sun")
    room = overview.map_rect()
    column = window.session.table.column("HB_060")
    assert column is not None
    place = QPoint(
        room.left() + int((column + 0.5) * room.width() / 24),
        room.top() + int((line + 0.5) * room.height() / len(state.listing.lines)),
    )
    qtbot.mouseDClick(overview, Qt.MouseButton.LeftButton, pos=place)
    qtbot.mouseRelease(overview, Qt.MouseButton.LeftButton, pos=place)
    current = opened(window).views.grid.current_line()
    assert current is not None
    assert current[1] == column and state.groups[current[0].group].title == "sun"
    tip = overview.tip_at(QPointF(place))
    assert "HB_060" in tip and "lights.sun" in tip


def test_the_keyboard_alone_scrolls(window: MainWindow, qtbot: QtBot) -> None:
    overview, bar = opened(window).views.overview, opened(window).views.grid.horizontalScrollBar()
    opened(window).views.grid.widths.set_width(150)
    window.run("expand")
    settle()
    bar.setValue(0)
    assert overview.focusPolicy() & Qt.FocusPolicy.TabFocus
    qtbot.keyClick(overview, Qt.Key.Key_PageDown)
    assert bar.value() == opened(window).views.grid.viewport().width()
    qtbot.keyClick(overview, Qt.Key.Key_End)
    assert bar.value() == bar.maximum()
    qtbot.keyClick(overview, Qt.Key.Key_Home)
    assert bar.value() == 0
    qtbot.keyClick(overview, Qt.Key.Key_Down)
    assert opened(window).views.grid.verticalScrollBar().value() > 0


def test_outside_the_map_it_says_what_it_is(window: MainWindow) -> None:
    assert "Click or drag" in opened(window).views.overview.tip_at(QPointF(2, 2))
    assert (
        opened(window).views.overview.accessibleName()
        and opened(window).views.overview.accessibleDescription()
    )


def test_drift_is_drawn_where_it_is(window: MainWindow) -> None:
    assert window.session is not None
    overview, state = opened(window).views.overview, opened(window).views.model.state
    settle()
    image = overview.grab().toImage()
    room = overview.map_rect()
    line = next(i for i, entry in enumerate(state.listing.lines) if state.groups[entry.group].title == "sun")
    y = room.top() + int((line + 0.5) * room.height() / len(state.listing.lines))
    for shot in ("HB_060", "HB_120"):
        column = window.session.table.column(shot)
        assert column is not None
        colour = image.pixelColor(room.left() + int((column + 0.5) * room.width() / 24), y)
        row = int(state.listing.worst[state.listing.lines[line].group, column])
        severity = float(state.table.severity[row, column])
        expected = drift_scale.rgb(severity) if severity else None
        grey = theme.GROUP_CELL
        assert (colour.red(), colour.green(), colour.blue()) == (
            expected or (grey.red(), grey.green(), grey.blue())
        )


def test_a_film_fits_and_says_how_much_there_is(qtbot: QtBot, tmp_path: Path) -> None:
    session = film_session(tmp_path / "film", 300, 0.001)
    model = GridModel(GridState(session))
    model.set_expanded({group.name for group in model.state.groups})
    grid = GridView(model)
    overview = Overview(model, grid)
    for widget in (grid, overview):
        qtbot.addWidget(widget)
        widget.resize(900, 300)
        widget.show()
    settle()
    assert (
        extent_lines(model.state, grid.layout_now())[0]
        == f"300 shots × {len(model.state.listing.lines)} rows"
    )
    assert extent_lines(model.state, grid.layout_now())[1].startswith("in view FM_00010 to FM_")
    grid.setCurrentIndex(model.index(3, 4))
    grid.relisting.hide_shots()
    grid.relisting.hide_lines()
    assert extent_lines(model.state, grid.layout_now())[2] == "hidden: 1 shot, 1 row"
    overview.grab()


def test_nothing_listed_is_no_trouble(qtbot: QtBot, harbour_session: Session) -> None:

    model = GridModel(GridState(harbour_session))
    grid = GridView(model)
    overview = Overview(model, grid)
    qtbot.addWidget(overview)
    qtbot.addWidget(grid)
    grid.show()
    overview.show()
    model.set_filter(Show.ALL, "no row is called this")
    settle()
    overview.grab()
    assert overview.cell_at(QPointF(overview.map_rect().center())) is None
    qtbot.mouseClick(overview, Qt.MouseButton.LeftButton, pos=overview.map_rect().center())
    qtbot.keyClick(overview, Qt.Key.Key_End)
