"""The grid from one-pixel columns to full cells: what is drawn, where it lies, what is hidden, pinned and ordered."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from random import Random
from typing import Any

import pytest
from PySide6.QtCore import (
    QEvent,
    QItemSelectionModel,
    QModelIndex,
    QObject,
    QPoint,
    QPointF,
    QRect,
    QRectF,
    Qt,
)
from PySide6.QtGui import QFontMetricsF, QGuiApplication, QImage, QPainter, QPaintEvent
from PySide6.QtWidgets import QApplication, QMenu
from pytestqt.modeltest import ModelTester
from pytestqt.qtbot import QtBot

from gui_films import film_session
from gui_help import opened
from samelight.decisions.decision import Verb
from samelight.drift.cells import Grade
from samelight.gui.grid.headers import NAME_WIDTH
from samelight.gui.grid.model import GridModel, Shown
from samelight.gui.grid.painting import GridPainter, start_on_a_pixel
from samelight.gui.grid.view import GridView
from samelight.gui.paint import drift_scale, shades, theme
from samelight.gui.state.rows import GridState, Order, Show
from samelight.gui.window.main_window import MainWindow
from samelight.sequence.crew import Crew
from samelight.sequence.session import Session


def settle() -> None:
    for _ in range(4):
        QApplication.processEvents()


def make_grid(qtbot: QtBot, session: Session, size: tuple[int, int] = (1780, 620)) -> GridView:
    model = GridModel(GridState(session))
    grid = GridView(model)
    model.setParent(grid)
    qtbot.addWidget(grid)
    grid.resize(*size)
    grid.show()
    settle()
    return grid


@pytest.fixture(scope="module")
def _film(tmp_path_factory: pytest.TempPathFactory) -> Session:
    return film_session(tmp_path_factory.mktemp("film"), 90)


@pytest.fixture
def film_grid(qtbot: QtBot, _film: Session) -> GridView:
    """Of more shots than fit in the narrowest columns."""
    return make_grid(qtbot, _film, (500, 300))


def model_of(grid: GridView) -> GridModel:
    model = grid.model()
    assert isinstance(model, GridModel)
    return model


@pytest.fixture
def grid(qtbot: QtBot, harbour_session: Session) -> GridView:
    return make_grid(qtbot, harbour_session)


def line(grid: GridView, name: str) -> int:
    state = model_of(grid).state
    return next(i for i, entry in enumerate(state.listing.lines) if state.listing.name_of(entry) == name)


def cell_rgb(grid: GridView, image: QImage, index: int, place: int) -> tuple[int, int, int]:
    """The colour in the upper middle of a cell, between its marks and its text."""
    layout = grid.layout_now()
    start, end = layout.span(place)
    at = QPoint((start + end) // 2, layout.y_of(index) + 5)
    colour = image.pixelColor(at)
    return colour.red(), colour.green(), colour.blue()


def put_cursor(grid: GridView, index: int, place: int) -> None:
    grid.setCurrentIndex(model_of(grid).index(index, place))


# Where cells lie


def test_the_mouse_finds_the_cell_that_is_drawn_there(grid: GridView) -> None:
    model = model_of(grid)
    for width in (1, 2, 3, 6, 13, 40, 62, 200):
        grid.widths.set_width(width)
        settle()
        bar = grid.horizontalScrollBar()
        for value in (0, bar.maximum()):
            bar.setValue(value)
            for place in (0, 7, 23):
                index = model.index(4, place)
                rect = grid.visualRect(index)
                assert rect.width() == width
                if grid.viewport().rect().contains(rect.center()):
                    assert grid.indexAt(rect.center()) == index


def test_zoom_ends_at_one_pixel_and_at_a_full_cell(grid: GridView) -> None:
    for _ in range(80):
        grid.widths.zoom(-1)
    assert grid.widths.width == 1
    for _ in range(80):
        grid.widths.zoom(1)
    assert grid.widths.width == 200


# What is drawn


@pytest.mark.parametrize("width", [1, 2, 3, 7, 14, 30, 62])
def test_every_width_shows_the_same_colours(grid: GridView, width: int) -> None:
    model = model_of(grid)
    model.set_expanded({"lights.sun"})
    grid.widths.set_width(width)
    put_cursor(grid, 12, 23)
    settle()
    image = grid.viewport().grab().toImage()
    table = model.state.table
    for name, shot in (
        ("lights.sun", "HB_060"),
        ("lights.sun.direction", "HB_060"),
        ("lights.sun.direction", "HB_010"),
    ):
        index, column = line(grid, name), table.column(shot)
        assert column is not None
        row = model.state.listing.row_at(model.state.listing.lines[index], column)
        severity = float(table.severity[row, column])
        expected = drift_scale.rgb(severity) if severity else shades.rgb(shades.SAME)
        assert cell_rgb(grid, image, index, column) == expected


@pytest.mark.parametrize("width", [2, 10, 40])
def test_what_was_intended_is_grey_at_every_width(
    grid: GridView, harbour_session: Session, width: int
) -> None:
    model = model_of(grid)
    row, column = harbour_session.table.row("lights.sun.direction"), harbour_session.table.column("HB_060")
    assert row is not None and column is not None
    harbour_session.decide(Verb.INTEND, [(row, column)], "lead", "meant")
    model.set_expanded({"lights.sun"})
    model.decisions_changed()
    grid.widths.set_width(width)
    put_cursor(grid, 12, 23)
    settle()
    image = grid.viewport().grab().toImage()
    red, green, blue = cell_rgb(grid, image, line(grid, "lights.sun.direction"), column)
    assert red == green == blue > theme.CELL.red() - 1
    # Where there is room for it, the drift's colour stays as a frame.
    layout = grid.layout_now()
    edge = QPoint(layout.span(column)[0] + 1, layout.y_of(line(grid, "lights.sun.direction")) + 12)
    colour = image.pixelColor(edge)
    framed = (colour.red(), colour.green(), colour.blue()) == drift_scale.rgb(
        float(harbour_session.table.severity[row, column])
    )
    assert framed == (width >= 14)


def test_cells_that_say_something_are_parted_where_there_is_room_and_the_same_never_are(
    grid: GridView,
) -> None:
    for width, parted in ((4, False), (5, True), (62, True)):
        grid.widths.set_width(width)
        settle()
        image, layout = grid.viewport().grab().toImage(), grid.layout_now()
        beside = layout.span(6)[0] - 1  # between two shots in which the sun has turned
        assert (image.pixelColor(beside, 12) == theme.LINE) == parted
        assert image.pixelColor(layout.span(3)[0] - 1, 12) == theme.GROUP_CELL  # it is the master's in both


def test_the_cursor_is_seen_on_one_pixel(grid: GridView) -> None:
    grid.widths.set_width(1)
    put_cursor(grid, 4, 12)
    settle()
    image = grid.viewport().grab().toImage()
    layout = grid.layout_now()
    y = layout.y_of(4)
    start = layout.span(12)[0]
    seen = [image.pixelColor(x, y).red() for x in range(start - 5, start + 6)]
    assert max(seen) >= theme.DIM_TEXT.red()


@pytest.mark.parametrize("shown", ["drift", "value", "both"])
def test_texts_are_drawn_by_what_is_asked(grid: GridView, shown: str) -> None:
    model = model_of(grid)
    model.set_filter(Show.ALL, "gi.range")
    put_cursor(grid, 0, 20)
    model.set_shown(Shown(shown))
    settle()
    image = grid.viewport().grab().toImage()
    layout = grid.layout_now()
    top, (left, right) = layout.y_of(1), layout.span(0)
    plain = {
        image.pixelColor(x, y).red() for x in range(left + 4, right - 4) for y in range(top + 3, top + 20)
    }
    # The first shot holds the master's value: only a value has anything to write there.
    assert (len(plain) > 1) == (shown != "drift")


def test_shots_share_a_name_where_columns_are_narrow(qtbot: QtBot, tmp_path: Path) -> None:
    grid = make_grid(qtbot, film_session(tmp_path / "film", 60, 0.001))
    for width in (1, 3, 9, 30, 62, 120):
        grid.widths.set_width(width)
        settle()
        image = grid.shots.viewport().grab().toImage()
        assert any(image.pixelColor(x, y).red() > 150 for x in range(60) for y in range(4, 20))


# Hidden, pinned, ordered


def test_rows_and_shots_are_hidden_and_brought_back(grid: GridView) -> None:
    model = model_of(grid)
    put_cursor(grid, line(grid, "lights.bounce"), 6)
    grid.relisting.hide_lines()
    assert "lights.bounce" not in [model.state.listing.name_of(entry) for entry in model.state.listing.lines]
    current = grid.current_line()
    assert current is not None and current[1] == 6
    grid.selectColumn(5)
    grid.relisting.hide_shots()
    heads = [model.headerData(i, Qt.Orientation.Horizontal) for i in range(model.columnCount())]
    assert "HB_060" not in heads and len(heads) == 23
    assert model.headerData(5, Qt.Orientation.Horizontal) == "HB_070"
    grid.relisting.show_hidden()
    assert model.columnCount() == 24 and line(grid, "lights.bounce") == 1


def test_going_to_a_hidden_cell_brings_it_back(window: MainWindow) -> None:
    window.select("HB_060", "lights.sun.direction")
    window.run("hide_shots")
    window.run("hide_rows")
    assert opened(window).views.model.columnCount() == 23
    window.select("HB_060", "lights.sun.direction")
    assert opened(window).views.model.columnCount() == 24
    window.run("hide_shots")
    window.bar.goto_edit.setText("HB_060")
    window.bar.shot_typed.emit()
    current = opened(window).views.grid.current_line()
    assert current is not None and opened(window).views.model.state.table.shots[current[1]] == "HB_060"


def test_pinned_rows_stay_when_the_others_scroll(grid: GridView) -> None:
    model = model_of(grid)
    model.set_expanded({group.name for group in model.state.groups})
    put_cursor(grid, line(grid, "render.gi.range"), 11)
    grid.relisting.pin()
    assert line(grid, "render.gi.range") == 0 and grid.layout_now().frozen == 1
    bar = grid.verticalScrollBar()
    put_cursor(grid, 1, 0)
    for value in (0, 240, bar.maximum()):
        bar.setValue(value)
        settle()
        image = grid.viewport().grab().toImage()
        row = model.state.table.row("render.gi.range")
        assert row is not None
        assert cell_rgb(grid, image, 0, 11) == drift_scale.rgb(float(model.state.table.severity[row, 11]))
        rect = grid.visualRect(model.index(0, 11))
        assert rect.top() == 0
        assert grid.indexAt(rect.center()) == model.index(0, 11)
        below = grid.indexAt(QPoint(30, rect.bottom() + 14))
        assert below.row() == (rect.bottom() + 14 + value) // 24
    # The name stays with its row.
    assert grid.names.section_at(QPointF(20, 5)) == 0


def test_the_cursor_never_hides_behind_pinned_rows(grid: GridView) -> None:
    model = model_of(grid)
    model.set_expanded({group.name for group in model.state.groups})
    grid.selectionModel().clear()
    for name in ("lights.rim.colour", "render.gi.range"):
        put_cursor(grid, line(grid, name), 3)
        grid.relisting.pin()
    bar = grid.verticalScrollBar()
    bar.setValue(bar.maximum())
    for index in range(model.rowCount() - 1, -1, -1):
        put_cursor(grid, index, 3)
        grid.scrollTo(grid.currentIndex())
        rect = grid.visualRect(grid.currentIndex())
        assert grid.indexAt(rect.center()) == grid.currentIndex()
        assert rect.top() >= (0 if index < 2 else grid.layout_now().frozen_height)


def test_many_pinned_rows_leave_room_for_the_others(qtbot: QtBot, harbour_session: Session) -> None:
    grid = make_grid(qtbot, harbour_session, (700, 260))
    grid.selectAll()
    grid.relisting.pin()
    layout = grid.layout_now()
    assert 0 < layout.frozen_height <= layout.room_y / 2


def test_a_click_on_a_pinned_cell_selects_it(grid: GridView, qtbot: QtBot) -> None:
    model = model_of(grid)
    model.set_expanded({group.name for group in model.state.groups})
    put_cursor(grid, line(grid, "render.gi.range"), 0)
    grid.relisting.pin()
    grid.verticalScrollBar().setValue(300)
    settle()
    qtbot.mouseClick(
        grid.viewport(), Qt.MouseButton.LeftButton, pos=grid.visualRect(model.index(0, 4)).center()
    )
    assert (grid.currentIndex().row(), grid.currentIndex().column()) == (0, 4)
    assert grid.verticalScrollBar().value() == 300


def test_the_order_of_rows_keeps_the_cursor(grid: GridView) -> None:
    model = model_of(grid)
    grid.go_to(*(model.state.table.row("lights.rim.colour"), 10))  # type: ignore[arg-type]  # the row exists
    for order in (Order.WORST, Order.SHOTS, Order.SHEET):
        grid.order_box.setCurrentText(str(order))
        assert model.state.view.order is order
        current = grid.current_line()
        assert current is not None and current[1] == 10
        assert model.state.listing.name_of(current[0]) == "lights.rim.colour"


def test_the_model_stays_sound_when_rows_come_and_go(
    harbour_session: Session, qtmodeltester: ModelTester
) -> None:
    model = GridModel(GridState(harbour_session))
    model.set_order(Order.WORST)
    model.relisted(lambda state: state.hide_shots([0, 3, 23]))
    model.relisted(lambda state: state.pin(state.listing.lines[2:4]))
    model.relisted(lambda state: state.hide(state.listing.lines[5:6]))
    qtmodeltester.check(model)
    assert model.columnCount() == 21


# Selecting


def test_everything_selected_decides_on_what_drifts(grid: GridView, harbour_session: Session) -> None:
    model = model_of(grid)
    model.set_expanded({group.name for group in model.state.groups})
    grid.selectAll()
    cells = grid.chosen.cells()
    assert len(set(cells)) == len(cells)
    assert {cell for cell in cells if harbour_session.table.grade[cell] >= Grade.DRIFT} == {
        (int(r), int(c)) for r, c in zip(*(harbour_session.table.grade >= Grade.DRIFT).nonzero(), strict=True)
    }


def test_a_selection_over_hidden_shots_copies_what_is_seen(grid: GridView) -> None:
    model = model_of(grid)
    model.relisted(lambda state: state.hide_shots([4]))
    index = line(grid, "lights.sun")
    selection = grid.selectionModel()
    for place in (3, 4):
        selection.select(model.index(index, place), QItemSelectionModel.SelectionFlag.Select)
    grid.chosen.copy()
    assert QGuiApplication.clipboard().text().splitlines()[0] == "\tHB_040\tHB_060"


def test_names_answer_clicks(grid: GridView, qtbot: QtBot) -> None:
    model = model_of(grid)
    names = grid.names.viewport()
    sun = QPoint(60, grid.layout_now().y_of(0) + 12)
    lines = model.rowCount()
    qtbot.mouseClick(names, Qt.MouseButton.LeftButton, pos=sun)
    assert model.rowCount() > lines
    qtbot.mouseClick(names, Qt.MouseButton.LeftButton, pos=QPoint(60, grid.layout_now().y_of(2) + 12))
    assert {index.row() for index in grid.selectedIndexes()} == {2}
    qtbot.mouseClick(names, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.ControlModifier, pos=sun)
    assert model.state.view.together == ("lights.sun",)
    qtbot.mouseClick(names, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.ControlModifier, pos=sun)
    assert list(model.state.view.together) == []


def test_the_menus_of_names_and_shots_do_what_they_say(grid: GridView) -> None:
    model = model_of(grid)
    grid.names.menu_asked.emit(line(grid, "lights.rim"), QPoint(0, 0))
    menu = grid.findChildren(QMenu)[-1]
    said = {action.text(): action for action in menu.actions()}
    assert {"Pin at the top", "Hide", "Show what is hidden", "Add to the traces"} <= set(said)
    assert not said["Show what is hidden"].isEnabled()
    said["Pin at the top"].trigger()
    menu.close()
    assert line(grid, "lights.rim") == 0 and model.state.listing.pins == 1
    grid.shots.menu_asked.emit(7, QPoint(0, 0))
    menu = grid.findChildren(QMenu)[-1]
    next(action for action in menu.actions() if action.text() == "Hide").trigger()
    menu.close()
    assert model.columnCount() == 23 and model.state.listing.place(7) is None


def test_one_shot_and_no_shot_are_drawn(qtbot: QtBot, tmp_path: Path) -> None:
    for shots in (1, 0):
        grid = make_grid(qtbot, film_session(tmp_path / "film", shots))
        grid.grab()
        grid.widths.zoom(-3)
        grid.go_to_line(0, 0)
        assert (grid.current_line() is not None) == (shots == 1)


def test_every_control_has_a_name_and_a_tip(grid: GridView) -> None:
    assert grid.order_box.accessibleName() and grid.order_box.toolTip()
    for part in (grid, grid.names, grid.shots):
        assert part.accessibleName()


@pytest.mark.parametrize("width", [40, 44, 48, 62, 90, 130])
@pytest.mark.parametrize("shown", ["drift", "value", "both"])
def test_no_text_is_cut_and_none_touches_the_mark_of_its_level(
    grid: GridView, monkeypatch: pytest.MonkeyPatch, width: int, shown: str
) -> None:
    drawn: list[tuple[QRectF, str]] = []

    def note(painter: QPainter, *what: Any) -> None:
        if painter.font().pointSizeF() == 9.0:
            drawn.append((QRectF(what[0]), str(what[2])))
        QPainter.drawText(painter, *what)

    model = model_of(grid)
    grid.setUpdatesEnabled(False)  # all of it is drawn once
    model.set_expanded({group.name for group in model.state.groups})
    model.set_shown(type(model.shown)(shown))
    grid.widths.set_width(width)
    grid.resize(26 * width + 260, 24 * len(model.state.listing.lines))
    settle()
    grid.setUpdatesEnabled(True)
    monkeypatch.setattr("samelight.gui.grid.view.QPainter", type("Noting", (QPainter,), {"drawText": note}))
    grid.viewport().grab()
    grid.setUpdatesEnabled(False)
    layout, metrics = grid.layout_now(), QFontMetricsF(theme.font(9.0))
    assert len(drawn) > 20
    marked = 0
    for room, text in drawn:
        assert "…" not in text or text == "…"
        (place,) = layout.columns_at(int(room.center().x()))
        start, end = layout.span(place)
        assert room.left() >= start + 1 and room.left() + metrics.horizontalAdvance(text) <= end - 1
        index = layout.line_at(room.center().y())
        assert index is not None
        column = model.state.listing.columns[place]
        row = model.state.listing.row_at(model.state.listing.lines[index], column)
        reach = {Grade.WITHIN: 5, Grade.DRIFT: 9, Grade.BREAK: 8}.get(
            Grade(model.state.table.grade[row, column])
        )
        if reach is not None:
            marked += 1
            assert room.left() > start + reach
    assert marked > 5


def test_the_place_of_headers_is_found_without_their_names(qtbot: QtBot, harbour_session: Session) -> None:
    asked: list[int] = []

    class Noting(GridModel):
        def headerData(  # noqa: N802 - Qt's name
            self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
        ) -> Any:
            asked.append(section)
            return super().headerData(section, orientation, role)

    grid = GridView(Noting(GridState(harbour_session)))
    qtbot.addWidget(grid)
    grid.resize(800, 400)
    grid.show()
    settle()
    assert (grid.names.width(), grid.viewport().x()) == (NAME_WIDTH, NAME_WIDTH)
    assert grid.shots.height() == grid.viewport().y() > 0
    model_of(grid).relisted(lambda state: state.hide_shots([1]))
    grid.updateGeometries()
    assert asked == []


def test_the_box_above_the_names_has_the_height_it_needs(grid: GridView) -> None:
    assert grid.order_box.height() >= grid.order_box.sizeHint().height()
    assert grid.shots.height() >= grid.order_box.geometry().bottom()


def test_the_grid_says_what_it_is(grid: GridView) -> None:
    assert grid.accessibleName() and grid.accessibleDescription() and grid.whatsThis() and grid.toolTip()


def test_over_the_names_of_the_shots_stands_who_lights_them(grid: GridView) -> None:
    """Once for shots in a row."""
    shots, model = grid.shots, model_of(grid)
    runs = list(shots.strip.runs(grid.layout_now()))
    assert runs[0][0] == "Ines"
    assert all(one[0] != other[0] and one[2] <= other[1] for one, other in pairwise(runs))
    first = model.state.table.shots[model.state.listing.columns[runs[0][1]]]
    assert shots.tip_at(QPointF(2.0, 4.0)) == f"{first}: Ines"
    with_lighters = shots.height()
    session = model.state.session
    session.crew = Crew()
    shots.lay_out(grid.layout_now())
    assert list(shots.strip.runs(grid.layout_now())) == []
    assert shots.height() <= with_lighters
    session.crew = Crew.of(session.contents.sequence.lighters, session.contents.shots)


# What is painted anew


class Painted(QObject):
    """How wide each stretch of the grid is that is painted."""

    def __init__(self, grid: GridView) -> None:
        super().__init__(grid)
        self.widths: list[int] = []
        grid.viewport().installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: N802 - Qt names it
        if isinstance(event, QPaintEvent):
            self.widths.append(event.rect().width())
        return False


@pytest.mark.parametrize("width", [3.3, 16, 62])
def test_scrolled_along_the_cut_only_what_comes_into_view_is_painted(
    qtbot: QtBot, film_grid: GridView, width: float
) -> None:
    grid, bar = film_grid, film_grid.horizontalScrollBar()
    grid.widths.set_width(width)
    put_cursor(grid, 3, 2)
    bar.setValue(0)
    settle()
    painted = Painted(grid)
    at = 0
    for to in (3, 20, 21, 4, 0, 36):
        painted.widths.clear()
        bar.setValue(to)
        settle()
        assert painted.widths == [abs(to - at)]
        at = to
        seen, anew = grid.screen().grabWindow(grid.winId()).toImage(), grid.grab().toImage()
        assert seen.convertToFormat(anew.format()) == anew


def moves(grid: GridView, choose: Random) -> list[Callable[[], object]]:
    """What somebody may do to a grid, each a different one every time."""
    model, across, down = model_of(grid), grid.horizontalScrollBar(), grid.verticalScrollBar()

    def cell() -> QModelIndex:
        lines, columns = model.rowCount(), model.columnCount()
        return model.index(choose.randrange(lines), choose.randrange(columns)) if lines else QModelIndex()

    def both() -> None:
        for bar in (across, down):
            bar.setValue(bar.value() + choose.choice((-62, -7, 1, 3, 90)))

    def hide_or_show() -> None:
        choose.choice((grid.relisting.hide_lines, grid.relisting.hide_shots, grid.relisting.show_hidden))()

    select = QItemSelectionModel.SelectionFlag.Select
    return [
        *(lambda step=step: down.setValue(down.value() + step) for step in (-24, -3, -1, 1, 24)),
        *(lambda step=step: across.setValue(across.value() + step) for step in (-62, -3, 1, 16)),
        both,
        lambda: grid.setCurrentIndex(cell()),
        lambda: grid.selectionModel().select(cell(), select),
        lambda: grid.widths.set_width(choose.choice((0.7, 3.3, 6, 16, 62))),
        lambda: grid.widths.zoom(choose.choice((-2, 1)), choose.uniform(0, 300)),
        lambda: model.toggle(choose.randrange(len(model.state.groups))),
        lambda: model.set_shown(choose.choice(list(Shown))),
        lambda: grid.relisting.reorder(choose.choice(list(Order))),
        grid.relisting.pin,
        hide_or_show,
        lambda: grid.resize(choose.randint(400, 600), choose.randint(200, 400)),
        model.decisions_changed,
    ]


@pytest.mark.parametrize("seed", [1, 5])
def test_whatever_was_done_the_grid_looks_as_if_it_were_painted_anew(film_grid: GridView, seed: int) -> None:
    grid, choose = film_grid, Random(seed)
    done = moves(grid, choose)
    for _ in range(15):
        for move in choose.choices(done, k=2):
            move()
        settle()
        seen, anew = grid.screen().grabWindow(grid.winId()).toImage(), grid.grab().toImage()
        assert seen.convertToFormat(anew.format()) == anew


@pytest.mark.parametrize("step", [-1, 1])
def test_scrolled_by_single_pixels_a_line_parts_lights(film_grid: GridView, step: int) -> None:
    grid, bar = film_grid, film_grid.verticalScrollBar()
    bar.setValue(0 if step > 0 else 30)
    settle()
    for _ in range(26):
        bar.setValue(bar.value() + step)
        settle()
    seen, anew = grid.screen().grabWindow(grid.winId()).toImage(), grid.grab().toImage()
    assert seen.convertToFormat(anew.format()) == anew


def test_pictures_of_shots_that_come_back_into_view_are_there(qtbot: QtBot, film_grid: GridView) -> None:
    grid, bar, strip = film_grid, film_grid.horizontalScrollBar(), film_grid.shots.strip
    grid.show_frames(True)
    for to in (0, 900, 0):
        bar.setValue(to)
        qtbot.waitUntil(lambda: not strip.busy and not strip.frames.busy)
    settle()
    seen, anew = grid.screen().grabWindow(grid.winId()).toImage(), grid.grab().toImage()
    assert seen.convertToFormat(anew.format()) == anew


@pytest.mark.parametrize("away", [-0.5, 0.5])
def test_a_part_is_painted_up_to_its_edges_where_the_view_begins_within_a_pixel(
    film_grid: GridView, away: float
) -> None:
    ratio = 1.5
    layout = replace(film_grid.layout_now(), whole=4500, left=0, top=0, room_x=600, ratio=ratio)

    def painted(part: QRect) -> QImage:
        image = QImage(600, 300, QImage.Format.Format_RGB32)
        image.setDevicePixelRatio(ratio)
        image.fill(theme.FIELD)
        painter = QPainter(image)
        painter.translate(away / ratio, away / ratio)
        start_on_a_pixel(painter)
        GridPainter(model_of(film_grid)).paint(painter, layout, part)
        painter.end()
        return image.copy(round(30 + away - 0.5), round(36 + away - 0.5), 60, 15)

    assert painted(QRect(20, 24, 40, 10)) == painted(QRect(0, 0, 400, 200))
