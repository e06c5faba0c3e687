"""The whole cut in view, however long it is; the zoom from there to full cells; what the mouse finds and is told."""

from __future__ import annotations

from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PySide6.QtCore import QItemSelection, QItemSelectionModel, QPoint, QPointF, Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtWidgets import QApplication, QVBoxLayout, QWidget
from pytestqt.qtbot import QtBot

from gui_alignment import PARAMETER, lone_drift, pixels_of
from gui_films import FilmSession
from gui_help import rgb
from samelight.gui.grid.layout import FITTED_WIDEST
from samelight.gui.grid.model import GridModel
from samelight.gui.grid.overview import Overview
from samelight.gui.grid.view import GridView
from samelight.gui.paint import shades, theme
from samelight.gui.state.rows import GridState, Show
from samelight.gui.traces.traces import TracesView
from samelight.gui.widgets.settings import Settings
from samelight.gui.window.remembered import remember, remembered
from thoroughness import examples

ROOM = 900


def settle() -> None:
    for _ in range(4):
        QApplication.processEvents()


@cache
def drifting(shots: int, where: int) -> FilmSession:
    """A film whose one drift is looked at and not decided on: it is in no folder."""
    return lone_drift(Path("nowhere"), shots, where)


class Film:
    """A film with one drift in it, its grid and traces; the grid's cells are `ROOM` pixels wide together."""

    def __init__(self, qtbot: QtBot, shots: int) -> None:
        self.where = shots * 2 // 3
        self.session = drifting(shots, self.where)
        self.model = GridModel(GridState(self.session))
        self.model.set_filter(Show.ALL, "gi")
        self.grid = GridView(self.model)
        self.model.setParent(self.grid)
        self.traces = TracesView(self.grid)
        self.grid.spot_changed.connect(
            lambda row, column: self.traces.show_row(self.model.state, row, column)
        )
        self.window = QWidget()
        qtbot.addWidget(self.window)
        column = QVBoxLayout(self.window)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.grid)
        column.addWidget(self.traces)
        self.traces.setFixedHeight(240)
        self.resize(0)
        self.window.show()
        settle()
        row = self.session.table.row(PARAMETER)
        assert row is not None
        line = self.model.state.listing.line_of(row)
        assert line is not None
        self.row, self.line = row, line
        self.grid.go_to(row, 0)
        settle()

    def resize(self, more: int) -> None:
        """Make the window so wide that the cells have `ROOM` and some more."""
        beside = self.grid.names.width() + self.grid.verticalScrollBar().sizeHint().width()
        self.window.resize(ROOM + more + beside, 540)
        settle()

    def middle(self, place: int) -> QPointF:
        """The middle of a cell of the drifting row."""
        layout = self.grid.layout_now()
        start, end = layout.span(place)
        return QPointF((start + end) / 2 / layout.ratio, layout.y_of(self.line) + 8.0)

    def current(self) -> int:
        """The shot under the cursor."""
        return self.grid.currentIndex().column()

    def wheel(self, at: QPointF, turned: int) -> None:
        """Turn the wheel with Ctrl held."""
        view = self.grid.viewport()
        event = QWheelEvent(
            at,
            QPointF(view.mapToGlobal(at.toPoint())),
            QPoint(),
            QPoint(0, turned),
            Qt.MouseButton.NoButton,
            Qt.KeyboardModifier.ControlModifier,
            Qt.ScrollPhase.NoScrollPhase,
            False,
        )
        QApplication.sendEvent(view, event)
        settle()


@pytest.fixture
def film(qtbot: QtBot, request: pytest.FixtureRequest) -> Film:
    return Film(qtbot, request.param)


def films(*counts: int) -> pytest.MarkDecorator:
    return pytest.mark.parametrize("film", counts, indirect=True, ids=str)


# The whole cut


@films(1, 7, 24, 500, 899, 901, 3000)
def test_any_number_of_shots_fills_the_view_exactly(film: Film) -> None:
    film.grid.widths.fit()
    settle()
    layout = film.grid.layout_now()
    assert film.grid.viewport().width() == ROOM == layout.room_x
    # Few shots keep columns that are no wider than a reader needs.
    filled = min(ROOM, layout.columns * FITTED_WIDEST)
    assert layout.span(0)[0] == 0 and layout.span(layout.columns - 1)[1] == filled
    assert film.grid.horizontalScrollBar().maximum() == 0
    image = pixels_of(film.grid.viewport().grab().toImage())
    y = layout.y_of(film.line) + 8
    # Every pixel shows the cell or cells that the layout has there; of a gap between cells nothing is expected.
    codes = film.model.picture.codes(film.model.state)[film.line]
    for pixel in range(8, filled - (layout.width >= 5)):  # the cursor stands on the first shot
        under = layout.columns_at(pixel)
        gap = (
            layout.width >= 5 and pixel == layout.span(under[0])[1] - 1
        )  # a line, where the cell says something
        if not gap and not (layout.width >= 14 and film.where in under) and 0 not in under:
            assert tuple(image[y, pixel]) == shades.rgb(int(codes[under.start : under.stop].max()))


@films(500, 3000)
def test_a_lone_drift_is_seen_and_stands_over_its_point(film: Film) -> None:
    film.grid.widths.fit()
    settle()
    start, end = film.grid.layout_now().span(film.where)
    colour = shades.rgb(int(film.model.picture.codes(film.model.state)[film.line, film.where]))
    image = pixels_of(film.grid.viewport().grab().toImage())
    row = (image[film.grid.layout_now().y_of(film.line) + 8] == colour).all(axis=1)
    assert np.flatnonzero(row).tolist() == list(range(start, end))
    left = film.grid.viewport().x()
    assert film.traces.x_of_column(film.where) == pytest.approx(left + (start + end) / 2, abs=1e-6)
    plot = pixels_of(film.traces.canvas.grab().toImage())
    mark = np.flatnonzero((plot == colour).all(axis=2).any(axis=0))
    assert (mark[0] + mark[-1] + 1) / 2 == pytest.approx(left + (start + end) / 2, abs=0.5)


@films(500)
def test_the_cut_stays_fitted_until_it_is_zoomed(film: Film) -> None:
    film.grid.widths.fit()
    film.resize(77)
    layout = film.grid.layout_now()
    assert layout.whole == layout.room_x == ROOM + 77
    film.model.relisted(lambda state: state.hide_shots(range(100, 300)))
    settle()
    layout = film.grid.layout_now()
    assert layout.columns == 300 and layout.whole == layout.room_x
    film.model.relisted(lambda state: state.show_hidden())
    settle()
    film.grid.widths.zoom(1)
    assert not film.grid.widths.fitted
    whole = film.grid.layout_now().whole
    assert whole == round((ROOM + 77) * 1.15)
    film.resize(0)
    assert film.grid.layout_now().whole == whole


@films(24)
def test_the_zoom_is_remembered_in_a_word(film: Film) -> None:
    settings = Settings()
    for width in (1.7, 48.0, 200.0):
        film.grid.widths.set_width(width)
        remember(settings, film.model.state.view)
        film.grid.widths.set_width(62)
        film.grid.widths.zoom_as(remembered(settings))
        assert film.grid.widths.width == pytest.approx(width) and not film.grid.widths.fitted
    film.grid.widths.fit()
    remember(settings, film.model.state.view)
    fitted = remembered(settings)
    film.grid.widths.set_width(62)
    for nothing in ("", "wide", "nan", "inf"):
        settings.keep("zoom", nothing)
        film.grid.widths.zoom_as(remembered(settings))
        assert film.grid.widths.width == 62
    film.grid.widths.zoom_as(fitted)
    assert film.grid.widths.fitted


# The zoom


@films(24, 500, 3000)
def test_the_zoom_runs_smoothly_from_fit_to_full_cells_and_back(film: Film) -> None:
    film.grid.widths.fit()
    least = film.grid.layout_now().width
    widths = [least]
    while film.grid.widths.width < 200:
        film.grid.widths.zoom(1)
        widths.append(film.grid.layout_now().width)
    steps = np.divide(widths[1:], widths[:-1])
    assert steps.min() > 1.0 and steps.max() < 1.2
    assert widths[-1] == 200 and all(width.is_integer() for width in widths if width >= 14 and width != least)
    back: list[float] = []
    while not film.grid.widths.fitted and len(back) < 200:
        film.grid.widths.zoom(-1)
        back.append(film.grid.layout_now().whole)
    # On the way out it stops where the whole cut just fits.
    assert back[-1] == film.grid.layout_now().room_x
    film.grid.widths.zoom(-1)
    assert film.grid.widths.fitted == (least < 1)


@films(3000)
def test_zooming_in_on_a_drift_that_shares_its_pixel_ends_at_it(film: Film) -> None:
    film.grid.widths.fit()
    at = film.middle(film.where)
    while film.grid.widths.width < 40:
        film.wheel(at, 120)
        assert film.where in film.grid.under(at)[1]


@films(500)
def test_the_wheel_zooms_by_how_far_it_is_turned(film: Film) -> None:
    film.grid.widths.set_width(20)
    at = QPointF(300, 30)
    film.wheel(at, 0)
    assert film.grid.widths.width == 20
    for _ in range(8):
        film.wheel(at, 15)
    assert film.grid.widths.width == pytest.approx(20 * 1.15)
    film.wheel(at, -120)
    assert film.grid.widths.width == pytest.approx(20)


@films(500)
def test_the_keys_zoom_around_the_shot_under_the_cursor(film: Film) -> None:
    film.grid.widths.fit()
    film.grid.go_to(film.row, 250)
    before = film.middle(250).x()
    for steps in (1,) * 12 + (-1,) * 8:
        film.grid.widths.zoom(steps)
        assert film.middle(250).x() == pytest.approx(before, abs=0.5)
    # Out of view it counts for nothing: the middle stays.
    film.grid.widths.set_width(20)
    film.grid.horizontalScrollBar().setValue(0)
    place = film.grid.layout_now().columns_at(ROOM // 2)[0]
    film.grid.widths.zoom(2)
    assert film.grid.layout_now().columns_at(ROOM // 2)[0] == place


@films(500)
def test_scroll_bars_reach_both_ends_at_every_zoom(film: Film) -> None:
    bar = film.grid.horizontalScrollBar()
    for width in (1, 1.81, 2.5, 4.99, 13.3, 14.4, 62, 200):
        film.grid.widths.set_width(width)
        settle()
        bar.setValue(bar.maximum())
        layout = film.grid.layout_now()
        assert layout.span(layout.columns - 1)[1] == min(layout.room_x, layout.whole)
        assert bar.pageStep() == ROOM and bar.singleStep() >= 20
        bar.setValue(0)
        assert film.grid.layout_now().span(0)[0] == 0
        for place in (499, 0, 250):
            film.grid.scrollTo(film.model.index(film.line, place))
            start, end = film.grid.layout_now().span(place)
            assert 0 <= start < end <= ROOM


# The mouse


@films(3000)
def test_a_click_goes_to_the_worst_of_the_shots_under_it(film: Film, qtbot: QtBot) -> None:
    film.grid.widths.fit()
    settle()
    assert len(film.grid.under(film.middle(film.where))[1]) in (3, 4)
    view, at = film.grid.viewport(), film.middle(film.where).toPoint()
    at.setX(film.grid.layout_now().span(film.where)[0])
    qtbot.mouseClick(view, Qt.MouseButton.LeftButton, pos=at)
    assert film.current() == film.where
    film.grid.go_to(film.row, 0)
    qtbot.mouseClick(film.grid.shots.viewport(), Qt.MouseButton.LeftButton, pos=QPoint(at.x(), 10))
    assert film.current() == film.where
    film.grid.go_to(film.row, 0)
    settle()
    picked: list[tuple[int, int]] = []
    film.traces.picked.connect(lambda row, column: picked.append((row, column)))
    canvas = film.traces.canvas.viewport()
    place = QPoint(film.grid.viewport().x() + at.x(), canvas.height() // 2)
    qtbot.mouseClick(canvas, Qt.MouseButton.LeftButton, pos=place)
    assert picked == [(film.row, film.where)]


@films(3000)
def test_a_drag_takes_in_every_shot_under_its_ends(film: Film, qtbot: QtBot) -> None:
    film.grid.widths.fit()
    settle()
    view, y = film.grid.viewport(), film.grid.layout_now().y_of(film.line) + 8
    qtbot.mouseClick(view, Qt.MouseButton.LeftButton, pos=QPoint(100, y))
    qtbot.mouseClick(view, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.ShiftModifier, pos=QPoint(200, y))
    chosen = {index.column() for index in film.grid.selectedIndexes()}
    layout = film.grid.layout_now()
    assert chosen == set(range(layout.columns_at(100).start, layout.columns_at(200).stop))


@films(500, 3000)
def test_the_mouse_is_told_how_many_shots_share_a_pixel_and_the_worst(film: Film, qtbot: QtBot) -> None:
    film.grid.widths.fit()
    settle()
    at, names = film.middle(film.where), film.session.table.shots
    places = film.grid.under(at)[1]
    tip = film.grid.tip_at(at)
    assert f"{names[film.where]}  {PARAMETER}" in tip and "shot 350 m" in tip and "master 3.5 m" in tip
    shared = f"{len(places)} shots, {names[places[0]]} to {names[places[-1]]}"
    assert (f"Under the pointer: {shared}. The worst:\n" in tip) == (len(places) > 1)
    header = film.grid.shots.tip_at(QPointF(at.x(), 5))
    assert header == (shared if len(places) > 1 else names[film.where])
    canvas = film.traces.canvas.viewport()
    qtbot.mouseMove(canvas, QPoint(film.grid.viewport().x() + int(at.x()), canvas.height() // 2))
    settle()
    said = film.traces.said.text()
    assert said.startswith(
        f"{shared}, the worst: {names[film.where]}" if len(places) > 1 else names[film.where]
    )
    assert "range 350 m" in said


@films(3000)
def test_the_overview_counts_what_lies_under_the_pointer(film: Film, qtbot: QtBot) -> None:
    overview = Overview(film.model, film.grid)
    qtbot.addWidget(overview)
    overview.resize(film.grid.width(), 80)
    overview.show()
    film.model.set_filter(Show.ALL, "")
    film.model.set_expanded({group.name for group in film.model.state.groups})
    settle()
    room = overview.map_rect()
    lines = len(film.model.state.listing.lines)
    line = film.model.state.listing.line_of(film.row)
    assert line is not None and lines < room.height()
    x = room.left() + (film.where * room.width()) // 3000
    tip = overview.tip_at(QPointF(x + 0.5, room.top() + (line + 0.5) * room.height() / lines))
    assert tip.startswith("Under the pointer: ") and " shots, FM_" in tip
    assert film.session.table.shots[film.where] in tip and "350 m" in tip


# Names, selection and cursor


@settings(max_examples=examples(60), suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(width=st.floats(0.3, 90.0), scroll=st.floats(0.0, 1.0), current=st.integers(0, 499))
@films(500)
def test_names_of_shots_never_overlap(film: Film, width: float, scroll: float, current: int) -> None:
    film.grid.widths.set_width(width)
    bar = film.grid.horizontalScrollBar()
    bar.setValue(round(scroll * bar.maximum()))
    header = film.grid.shots
    header.mark(current)
    layout = film.grid.layout_now()
    labels = header.labels.written(layout, film.grid.currentIndex().column())
    ordered = sorted(labels, key=lambda label: label.left)
    for one, other in pairwise(ordered):
        assert one.right <= other.left
    for label in labels:
        start, end = layout.span(label.section)
        if header.labels.one_each(layout):
            assert start < label.left and label.right < end
            continue
        assert label.left < layout.room_x and label.right > 0
        if label.section != current:
            assert label.left == start + 4
            assert label.right <= layout.room_x or layout.whole - layout.left > layout.room_x
    first, last = layout.columns_between(0, layout.room_x)
    if not header.labels.one_each(layout) and first <= current < last:
        own = next(label for label in labels if label.section == current)
        assert own.left >= 0 and own.right <= layout.room_x
    # As many as there is room for: nowhere two names' width is left blank, but beside the cursor's.
    starts = [label.left for label in ordered]
    assert not labels or max(np.diff(starts), default=0.0) <= 3 * (header.labels.widest() + 12) + layout.width


@films(500, 3000)
def test_a_selection_is_framed_where_its_columns_are(film: Film) -> None:
    film.grid.widths.fit()
    film.grid.go_to(film.row, 10)
    first, last = film.model.index(film.line, 100), film.model.index(film.line, 180)
    film.grid.selectionModel().select(
        QItemSelection(first, last), QItemSelectionModel.SelectionFlag.ClearAndSelect
    )
    settle()
    layout = film.grid.layout_now()
    image = pixels_of(film.grid.viewport().grab().toImage())
    lit = (image[layout.y_of(film.line) + 12] == rgb(theme.TEXT)).all(axis=1)
    start, end = layout.span(100)[0], layout.span(180)[1]
    assert np.flatnonzero(lit).tolist() == [start, end - 1]


@films(500, 3000)
def test_the_cursor_stands_around_its_pixel_and_hides_no_drift(film: Film) -> None:
    film.grid.widths.fit()
    film.grid.go_to(film.row, film.where)
    settle()
    layout = film.grid.layout_now()
    start, end = layout.span(film.where)
    row = pixels_of(film.grid.viewport().grab().toImage())[layout.y_of(film.line) + 12]
    frame = {rgb(theme.BRIGHT), rgb(theme.DIM_TEXT)}
    lit = [x for x in range(start - 20, end + 20) if tuple(row[x]) in frame]
    assert lit == [start - 4, start - 3, end + 2, end + 3]
    colour = shades.rgb(int(film.model.picture.codes(film.model.state)[film.line, film.where]))
    assert [x for x in range(start - 3, end + 3) if tuple(row[x]) == colour] == list(range(start, end))
