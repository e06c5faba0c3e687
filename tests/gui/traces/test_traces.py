"""The traces as they are drawn: marks, several lights, scales, jumps and what is read out under the mouse."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from PySide6.QtCore import QEvent, QObject, QPoint, QPointF, Qt
from PySide6.QtGui import QFont, QImage, QPainter, QPen, QPolygonF
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from gui_help import open_window, opened, show_window
from samelight.decisions.decision import Verb
from samelight.drift.table import Table
from samelight.gui.paint import drift_scale, theme
from samelight.gui.paint.plots import pg
from samelight.gui.state.grid_words import line_title
from samelight.gui.state.rows import GridState
from samelight.gui.traces.trace_data import MOST_TOGETHER, Panel, Strand, Trace, TraceScale
from samelight.gui.traces.trace_items import RING, draw_path
from samelight.gui.traces.trace_plot import ASIDE, Axis, TracePlot
from samelight.gui.traces.traces import TracesView
from samelight.gui.window.main_window import MainWindow
from samelight.sequence.session import Session

MakeSequence = Callable[..., Path]


@pytest.fixture
def window(standing_window: MainWindow) -> MainWindow:
    """Most look at it."""
    return standing_window


def settle() -> None:
    for _ in range(6):
        QApplication.processEvents()


def traces_of(window: MainWindow) -> TracesView:
    settle()
    return opened(window).views.traces


def at(traces: TracesView, plot: int, column: int, value: float) -> QPointF:
    """Where a value of a shot is drawn, in pixels of the canvas."""
    x = traces.x_of(column)
    assert x is not None
    scene = traces.plots[plot].vb.mapViewToScene(QPointF(x, value))
    return QPointF(traces.canvas.viewportTransform().map(scene))


def colours(image: QImage, place: QPointF, reach: int = 3) -> set[tuple[int, int, int]]:
    found = set()
    for dx in range(-reach, reach + 1):
        for dy in range(-reach, reach + 1):
            colour = image.pixelColor(round(place.x()) + dx, round(place.y()) + dy)
            found.add((colour.red(), colour.green(), colour.blue()))
    return found


def hover(traces: TracesView, qtbot: QtBot, place: QPointF) -> None:
    qtbot.mouseMove(traces.canvas.viewport(), place.toPoint())
    settle()


def column(window: MainWindow, shot: str) -> int:
    assert window.session is not None
    found = window.session.table.column(shot)
    assert found is not None
    return found


def test_a_moved_sun_is_coloured_where_it_moved_only(window: MainWindow) -> None:
    window.select("HB_010", "lights.sun.direction")
    traces = traces_of(window)
    assert window.session is not None
    image = traces.canvas.grab().toImage()
    row, moved = window.session.table.row("lights.sun.direction"), column(window, "HB_060")
    drift = drift_scale.rgb(float(window.session.table.severity[row, moved]))
    assert drift in colours(image, at(traces, 1, moved, 143.0))
    # Its elevation stayed, and is grey.
    for red, green, blue in colours(image, at(traces, 2, moved, 24.0)):
        assert red == green == blue


@pytest.mark.parametrize(
    ("parameter", "own"),
    [
        ("lights.sun.direction", ["azimuth", "elevation"]),
        ("lights.sun.level", ["level"]),
        ("environments.dawn_sky.rotation", ["rotation"]),
    ],
)
def test_what_the_cursor_is_on_takes_the_room(window: MainWindow, parameter: str, own: list[str]) -> None:
    window.select("HB_060", parameter)
    plots = traces_of(window).plots
    settle()
    high = {plot.panel.title: plot.size().height() for plot in plots if plot.panel is not None}
    assert len(high) > len(own)
    assert all(height == ASIDE for title, height in high.items() if title not in own)
    assert all(high[title] > ASIDE for title in own)


def test_a_switch_leaves_the_room_to_the_quantities_of_its_light(window: MainWindow) -> None:
    window.select("HB_130", "environments.dawn_sky.seen_by")
    settle()
    blocks, *others = traces_of(window).plots
    assert blocks.panel is not None and blocks.panel.first.words
    assert others and all(plot.size().height() >= blocks.size().height() > ASIDE for plot in others)
    assert [plot.left.unit for plot in others] == ["st", "°"]


def test_a_lone_drift_is_marked_at_one_pixel_a_shot(window: MainWindow) -> None:
    window.select("HB_010", "render.gi.range")
    assert window.session is not None
    opened(window).views.grid.widths.set_width(1)
    traces = traces_of(window)
    image = traces.canvas.grab().toImage()
    moved = column(window, "HB_120")
    row = window.session.table.row("render.gi.range")
    drift = drift_scale.rgb(float(window.session.table.severity[row, moved]))
    assert drift in colours(image, at(traces, 0, moved, 350.0))


def test_ctrl_and_click_on_names_draws_lights_together(window: MainWindow, qtbot: QtBot) -> None:
    grid = opened(window).views.grid
    window.run("collapse")
    traces = traces_of(window)
    for title in ("sun", "window_fill"):
        index = next(
            i
            for i, line in enumerate(opened(window).views.model.state.listing.lines)
            if line_title(opened(window).views.model.state, line) == title
        )
        place = grid.visualRect(opened(window).views.model.index(index, 0)).center()
        place.setX(60)
        qtbot.mouseClick(
            grid.names.viewport(), Qt.MouseButton.LeftButton, Qt.KeyboardModifier.ControlModifier, pos=place
        )
    assert traces.title.text() == "sun, window_fill"
    assert [plot.left.name for plot in traces.plots] == [
        "level from master",
        "azimuth from master",
        "elevation from master",
    ]
    window.select("HB_060", "lights.sun.direction")
    # Each line has its name, its style and its value beside the plot.
    assert traces.plots[1].left.said == [("sun +12°", 0), ("window_fill 0°", 1)]
    assert "sun azimuth +12° from master" in traces.said.text()
    assert "window_fill" not in traces.said.text()  # of several lights only what is off the master's
    window.run("alone")
    assert traces.title.text() == "lights.sun.direction"


def test_the_keyboard_alone_draws_lights_together(window: MainWindow) -> None:
    window.select("HB_060", "lights.sun.direction")
    window.run("together")
    window.select("HB_060", "lights.rim.colour")
    window.run("together")
    traces = traces_of(window)
    assert traces.title.text() == "sun, rim"
    window.run("together")
    assert traces.title.text() == "sun"


def test_more_lights_than_can_be_told_apart_are_said_not_drawn(window: MainWindow) -> None:
    lights = [
        i for i, group in enumerate(opened(window).views.model.state.groups) if group.section == "lights"
    ]
    assert len(lights) > MOST_TOGETHER
    window.select("HB_060", "lights.sun.direction")
    for index in lights:
        opened(window).views.grid.relisting.plot_together(index)
    traces = traces_of(window)
    assert f"of {len(lights)}" in traces.title.text()
    assert len(traces.plots[0].panel.strands) == MOST_TOGETHER  # type: ignore[union-attr]  # a panel is shown
    traces.grab()


def test_lines_of_several_lights_differ_without_hue(window: MainWindow) -> None:
    window.select("HB_060", "lights.sun.direction")
    window.run("together")
    window.select("HB_060", "lights.window_fill.direction")
    window.run("together")
    opened(window).views.grid.widths.set_width(40)
    traces = traces_of(window)
    image = traces.canvas.grab().toImage()
    # Between HB_170 and HB_180 the fill leaves the master's line: dashed, so that parts of the way are blank.
    assert window.session is not None
    row = window.session.table.row("lights.window_fill.direction")
    fill = next(s for s in traces.plots[2].panel.strands if s.name == "window_fill")  # type: ignore[union-attr]
    assert fill.trace.row == row
    before, there = column(window, "HB_170"), column(window, "HB_180")
    start, end = at(traces, 2, before, 0.0), at(traces, 2, there, float(fill.trace.values[there]))
    seen = []
    for step in range(20, 80):
        place = start + (end - start) * (step / 100)
        seen.append(max(value[0] for value in colours(image, place, 1)))
    assert max(seen) > 150 and min(seen) < 90


@pytest.mark.parametrize("scale", list(TraceScale))
def test_every_scale_is_drawn_and_read_out_in_its_unit(window: MainWindow, scale: TraceScale) -> None:
    window.select("HB_120", "render.gi.range")
    traces = traces_of(window)
    traces.scale_box.setCurrentText(str(scale))
    settle()
    expected = "6.644 st" if scale is TraceScale.STOPS else "350 m"
    assert f"range {expected}" in traces.said.text()
    assert (f"shot {expected}", None) in traces.plots[0].left.said
    traces.grab()
    if scale is TraceScale.LOG:
        ticks = traces.plots[0].left.tickValues(0.3, 2.7, 200.0)
        said = traces.plots[0].left.tickStrings(ticks[0][1], 1.0, 1.0)
        assert {"10", "100"} <= set(said) and set(said) <= {"2", "5", "10", "20", "50", "100", "200", "500"}


def test_the_mouse_reads_out_any_shot_and_leaves_the_chosen_one(window: MainWindow, qtbot: QtBot) -> None:
    window.select("HB_010", "lights.sun.direction")
    traces = traces_of(window)
    hover(traces, qtbot, at(traces, 1, column(window, "HB_060"), 140.0))
    assert traces.said.text().startswith("HB_060")
    for said in ("level 0 st", "azimuth 143°", "elevation 24°"):
        assert said in traces.said.text()
    assert ("shot 143°", None) in traces.plots[1].left.said
    traces.canvas.left.emit()
    assert traces.said.text().startswith("HB_010")


def test_a_jump_at_a_cut_has_a_bracket_and_is_said(qtbot: QtBot, make_sequence: MakeSequence) -> None:
    rim = {"type": "point", "position": [0, 1, 0], "intensity": 1}
    exposures = (0.0, 0.15, -0.15, 0.0)
    folder = make_sequence(
        master={"lights": {"rim": rim}},
        shots={
            f"QU_{10 * place:03d}": {"lights": {"rim": {**rim, "exposure": exposure}}}
            for place, exposure in enumerate(exposures, 1)
        },
        policy={"tolerances": {"lights.rim.level": "0.2 st"}},
    )
    window = open_window(qtbot, folder)
    window.select("QU_020", "lights.rim.level")
    traces = traces_of(window)
    assert "jumps at the cut QU_020 | QU_030" in traces.said.text()
    image = traces.canvas.grab().toImage()
    upper, lower = at(traces, 0, 1, 0.15), at(traces, 0, 2, -0.15)
    cut = (upper.x() + lower.x()) / 2
    bright = (theme.BRIGHT.red(),) * 3
    for y in (upper.y(), (upper.y() + lower.y()) / 2 - 9, lower.y()):
        assert bright in colours(image, QPointF(cut, y), 2)
    window.select("QU_040", "lights.rim.level")
    assert "jumps" not in traces_of(window).said.text()
    # A cut between shots of which one is hidden is no cut of the film.
    window.select("QU_030", "lights.rim.level")
    window.run("hide_shots")
    traces_of(window).grab()
    window.close()


def test_a_click_picks_the_nearest_of_several_lights(window: MainWindow, qtbot: QtBot) -> None:
    window.select("HB_010", "lights.sun.direction")
    window.run("together")
    window.select("HB_010", "lights.window_fill.direction")
    window.run("together")
    traces = traces_of(window)
    shot = column(window, "HB_060")
    place = at(traces, 1, shot, 12.0)
    qtbot.mouseClick(traces.canvas.viewport(), Qt.MouseButton.LeftButton, pos=place.toPoint())
    current = opened(window).views.grid.current_line()
    assert current is not None and current[1] == shot
    assert opened(window).views.model.state.listing.name_of(current[0]) == "lights.sun.direction"


def test_hidden_shots_leave_the_plots_as_well(window: MainWindow) -> None:
    window.select("HB_050", "lights.sun.direction")
    window.run("hide_shots")
    traces = traces_of(window)
    moved = column(window, "HB_060")
    place = opened(window).views.grid.grid_state.listing.place(moved)
    assert place == moved - 1
    offset = traces.mapTo(window, traces.rect().topLeft()).x() + traces.x_of_column(moved)
    cell = (
        opened(window)
        .views.grid.viewport()
        .mapTo(window, opened(window).views.grid.viewport().rect().topLeft())
        .x()
    )
    assert offset == pytest.approx(cell + (place + 0.5) * opened(window).views.grid.widths.width, abs=1.0)
    image = traces.canvas.grab().toImage()
    assert window.session is not None
    row = window.session.table.row("lights.sun.direction")
    drift = drift_scale.rgb(float(window.session.table.severity[row, moved]))
    assert drift in colours(image, at(traces, 1, moved, 143.0))


def test_the_scale_has_a_name_and_a_tip(window: MainWindow) -> None:
    traces = traces_of(window)
    assert traces.scale_box.accessibleName() and traces.scale_box.toolTip()
    assert traces.scale_box.focusPolicy() & Qt.FocusPolicy.TabFocus
    assert traces.said.accessibleName()


def test_each_shot_has_its_own_line_and_band_where_references_differ(window: MainWindow) -> None:
    window.select("HB_010", "marks.face.key_angle")
    opened(window).views.grid.widths.fit()
    traces = traces_of(window)
    panel = traces.plots[0].panel
    assert panel is not None and panel.first.masters is not None and panel.first.highs is not None
    image = traces.canvas.grab().toImage()
    for shot in ("HB_020", "HB_170"):  # neighbours whose references are far from each other's
        place = column(window, shot)
        low, high = (of[place] for of in (panel.first.lows, panel.first.highs))  # type: ignore[index]  # arrays
        inside, outside = at(traces, 0, place, (low + high) / 2), at(traces, 0, place, high)
        start, end = opened(window).views.grid.layout_now().span(place)
        reach = (end - start) / 2 - 6
        edge = QPointF(inside.x() + reach, inside.y() - (inside.y() - outside.y()) / 2)
        over = QPointF(edge.x(), outside.y() - 12)
        assert min(colours(image, edge, 0))[0] > min(colours(image, over, 0))[0]


@pytest.mark.parametrize(
    ("parameter", "shot"),
    [
        ("environments.dawn_sky.seen_by", "HB_130"),
        ("passes.background.frames", "HB_020"),
        ("marks.face.key_side", "HB_050"),
    ],
)
@pytest.mark.parametrize("width", [8, 60])
def test_what_is_no_quantity_stands_in_blocks_under_its_columns(
    window: MainWindow, parameter: str, shot: str, width: int
) -> None:
    """As light at the edges of the column of the shot that differs as inside it, and nothing over the one before."""
    opened(window).views.grid.widths.set_width(width)
    window.select(shot, parameter)
    traces = traces_of(window)
    image = traces.canvas.grab().toImage()
    place = column(window, shot)
    start, end = opened(window).views.grid.layout_now().span(place)
    half, reach = at(traces, 0, place, 0.5), (end - start) / 2 - 1.5
    inside = [
        QPointF(half.x() + share * reach, half.y())
        for share in ((-1.0, -0.5, 0.5, 1.0) if width > 10 else (-1.0, 1.0))
    ]
    block = {min(colours(image, spot, 0)) for spot in inside}
    beside = [QPointF(half.x() - share * (end - start), half.y()) for share in (0.6, 1.0)]
    assert len(block) == 1
    for spot in beside:
        assert min(colours(image, spot, 0)) < min(block)


@pytest.mark.parametrize(
    ("shot", "parameter"),
    [
        ("HB_150", "lights.lantern_spot.colour"),
        ("HB_050", "lights.sun.direction"),
        ("HB_120", "render.gi.range"),
    ],
)
def test_no_ring_is_cut_off_at_the_edge_of_its_plot(window: MainWindow, shot: str, parameter: str) -> None:
    for size in ((1280, 720), (1100, 640), (1600, 950), (2200, 1200)):
        window.resize(*size)
        window.select(shot, parameter)
        traces = traces_of(window)
        assert traces.plots
        for plot in traces.plots:
            across, up = plot.ring.getData()
            assert across
            for x, y in zip(across, up, strict=True):
                place, room = plot.vb.mapViewToScene(QPointF(x, y)), plot.vb.sceneBoundingRect()
                assert room.top() + RING + 1 <= place.y() <= room.bottom() - RING - 1, size
                assert plot.lines.viewRect().contains(QPointF(x, y)), size


def test_a_plot_too_low_for_a_ring_still_shows_its_points() -> None:
    values = np.array([1.0, 5.0])
    panel = Panel("it", (Strand(Trace("it", "", 0, values, 1.0, 0.9, 1.1)),))
    for room in (0.0, 0.1, 0.25, 0.4, 3.0):
        low, high = panel.spread(room)
        share = min(room, 0.4) * (high - low)
        assert low <= min(0.9, 1.0 - share + 1e-9) and high >= 5.0 + share - 1e-9
    nothing = replace(panel.first, values=np.full(2, np.nan))
    assert Panel("it", (Strand(nothing),)).spread(0.2) == nothing.spread()


def counted_plots(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    plotted: list[str] = []
    plain = TracePlot.show_panel

    def show(self: TracePlot, panel: Panel, state: GridState, *, alone: bool) -> None:
        plotted.append(panel.title)
        plain(self, panel, state, alone=alone)

    monkeypatch.setattr(TracePlot, "show_panel", show)
    return plotted


def test_along_a_row_only_the_mark_moves(window: MainWindow, monkeypatch: pytest.MonkeyPatch) -> None:
    window.select("HB_010", "lights.sun.direction")
    traces, plotted = traces_of(window), counted_plots(monkeypatch)
    for shot in ("HB_060", "HB_120", "HB_010", "HB_080"):
        window.select(shot, "lights.sun.direction")
        settle()
        assert plotted == []
        assert traces.said.text().startswith(shot)
        place = column(window, shot) + 0.5
        assert [plot.ring.getData()[0] for plot in traces.plots] == [[place]] * 3
    window.select("HB_080", "lights.rim.level")
    assert plotted


def test_a_table_made_anew_is_plotted_anew_only_where_it_differs(
    own_window: MainWindow, monkeypatch: pytest.MonkeyPatch
) -> None:
    window = own_window
    window.select("HB_060", "lights.sun.direction")
    traces, plotted = traces_of(window), counted_plots(monkeypatch)
    assert window.session is not None
    state, table = opened(window).views.model.state, window.session.table
    row, shot = table.row("lights.sun.direction"), column(window, "HB_060")
    assert row is not None

    def renewed(codes: NDArray[np.int32]) -> GridState:
        made = state.renewed()
        pool = [entry and entry._replace() for entry in table.pool]
        made.table = Table.coded(table.shots, table.rows, [None, *pool], np.where(codes, codes + 1, 0))
        return made

    other = table.row("render.gi.range")
    assert other is not None
    codes = table.codes.copy()
    codes[other, shot] = codes[other, column(window, "HB_120")]
    traces.show_row(renewed(codes), row, shot)
    assert plotted == []
    codes = table.codes.copy()
    codes[row, shot] = codes[row, 0]
    traces.show_row(renewed(codes), row, shot)
    assert "azimuth" in plotted
    assert "azimuth 131°" in traces.said.text()


class Events(QObject):
    """The events of one type that reach a widget."""

    def __init__(self, widget: QWidget, kind: QEvent.Type) -> None:
        super().__init__(widget)
        self.kind, self.count = kind, 0
        widget.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: N802 - Qt names it
        self.count += event.type() == self.kind
        return False


def on_screen(window: MainWindow, traces: TracesView) -> QImage:
    """The plots as they stand there, without painting them for the picture."""
    settle()
    corner, size = traces.canvas.mapTo(window, QPoint(0, 0)), traces.canvas.size()
    shot = window.screen().grabWindow(window.winId(), corner.x(), corner.y(), size.width(), size.height())
    return shot.toImage()


def test_another_state_is_painted_only_where_it_is_seen(own_window: MainWindow) -> None:
    window = own_window
    window.select("HB_010", "lights.sun.direction")
    traces = traces_of(window)
    assert window.session is not None
    row, shot = window.session.table.row("lights.sun.direction"), column(window, "HB_060")
    other = window.session.table.row("render.gi.range")
    assert row is not None and other is not None
    paints, before = Events(traces.canvas.viewport(), QEvent.Type.Paint), on_screen(window, traces)
    for decided, is_seen in (((other, column(window, "HB_120")), False), ((row, shot), True)):
        window.session.decide(Verb.INTEND, [decided], "ada", "meant")
        opened(window).views.model.decisions_changed()
        traces.show_row(opened(window).views.model.state, row, 0)
        assert (on_screen(window, traces) != before) == is_seen
        assert bool(paints.count) == is_seen


def test_another_row_or_scroll_is_painted_once(window: MainWindow) -> None:
    window.select("HB_010", "lights.sun.direction")
    traces, grid = traces_of(window), opened(window).views.grid
    assert grid is not None
    grid.widths.set_width(120)
    settle()
    paints = Events(traces.canvas.viewport(), QEvent.Type.Paint)
    window.select("HB_010", "lights.rim.level")
    settle()
    assert paints.count == 1
    grid.horizontalScrollBar().setValue(200)
    settle()
    assert paints.count == 2


def test_a_plot_that_stands_by_looks_for_no_figures(
    window: MainWindow, monkeypatch: pytest.MonkeyPatch
) -> None:
    looked: list[bool] = []
    specs = pg.AxisItem.generateDrawSpecs

    def noted(axis: Axis, painter: QPainter) -> object:
        looked.append(axis.aside)
        return specs(axis, painter)

    window.select("HB_010", "lights.sun.direction")
    monkeypatch.setattr(pg.AxisItem, "generateDrawSpecs", noted)
    window.select("HB_010", "lights.bounce.level")
    traces = traces_of(window)
    aside = [plot.left for plot in traces.plots if plot.left.aside]
    assert aside and looked and not any(looked)
    image = QImage(8, 8, QImage.Format.Format_RGB32)
    painter = QPainter(image)
    for axis in aside:  # its line is where pyqtgraph would draw it
        axis.setTicks([])
        assert axis.generateDrawSpecs(painter)[0] == specs(axis, painter)[0]
        axis.setTicks(None)
    painter.end()


def test_along_a_row_nothing_is_laid_out_anew(window: MainWindow) -> None:
    window.select("HB_010", "lights.sun.direction")
    traces = traces_of(window)
    laid_out = Events(traces, QEvent.Type.LayoutRequest)
    said = traces.said.text()
    window.select("HB_060", "lights.sun.direction")
    settle()
    assert traces.said.text() != said and laid_out.count == 0
    window.select("HB_060", "lights.rim.level")
    settle()
    assert laid_out.count  # it would be seen


@pytest.mark.parametrize("width", [4, 15, 62])
def test_what_is_painted_around_the_mark_is_what_painting_all_would_give(
    window: MainWindow, width: int
) -> None:
    window.select("HB_010", "lights.sun.direction")
    traces, grid = traces_of(window), opened(window).views.grid
    assert grid is not None
    grid.widths.set_width(width)

    before = on_screen(window, traces)
    for shot in ("HB_060", "HB_040", "HB_030", "HB_200", "HB_050"):
        window.select(shot, "lights.sun.direction")
        moved = on_screen(window, traces)
        assert moved != before
        traces.canvas.viewport().update()
        assert on_screen(window, traces) == moved
        before = moved


def test_plots_by_another_state_show_what_it_lists(own_window: MainWindow) -> None:
    """The values are the same, the shots that are listed and what was intended are not."""
    window = own_window
    window.select("HB_060", "lights.sun.direction")
    traces = traces_of(window)
    opened(window).views.model.relisted(lambda state: state.hide_shots([0, 1]))
    window.select("HB_060", "lights.sun.direction")
    settle()
    assert traces.plots[1].ring.getData()[0] == [column(window, "HB_060") - 2 + 0.5]
    assert traces.plots[1].lines.columns.size == len(opened(window).views.model.state.listing.columns)


@pytest.mark.parametrize("scale", [1.0, 1.5, 2.0])
def test_the_head_is_as_high_as_its_type(
    qtbot: QtBot, harbour_session: Session, monkeypatch: pytest.MonkeyPatch, qapp: QApplication, scale: float
) -> None:
    plain = theme.font

    def font(points: float = 10.0, *, bold: bool = False) -> QFont:
        return plain(points * scale, bold=bold)

    with monkeypatch.context() as patch:
        patch.setattr(theme, "font", font)
        theme.apply(qapp)
        large = show_window(qtbot, harbour_session)
        large.select("HB_060", "lights.sun.direction")
        traces, grid = traces_of(large), opened(large).views.grid
        for part in (traces.title, traces.scale_box, grid.order_box):
            assert part.height() >= part.sizeHint().height()
        assert grid.order_box.geometry().bottom() < grid.shots.geometry().bottom()
        large.close()
    theme.apply(qapp)


def test_to_and_fro_between_more_and_fewer_plots_draws_the_same(window: MainWindow) -> None:
    seen: dict[str, list[QImage]] = {}
    for _ in range(2):
        for parameter in ("lights.lantern_spot.colour", "lights.sun.direction", "render.gi.range"):
            window.select("HB_150", parameter)
            traces = traces_of(window)
            seen.setdefault(parameter, []).append(traces.canvas.grab().toImage())
    assert len({image.size().toTuple() for images in seen.values() for image in images}) == 1
    for first, again in seen.values():
        assert first == again


def test_a_line_that_turns_all_the_time_is_one_pixel_wide(qapp: QApplication) -> None:
    class Strokes(QPainter):
        def drawPolyline(self, points: QPolygonF) -> None:  # type: ignore[override]  # noqa: N802 - Qt calls it so
            strokes.append((points.size(), self.pen().widthF(), self.pen().style()))

    strokes: list[tuple[int, float, Qt.PenStyle]] = []
    image = QImage(100, 50, QImage.Format.Format_RGB32)
    painter = Strokes(image)
    painter.setPen(QPen(Qt.GlobalColor.white, 1.5, Qt.PenStyle.DashLine))
    for shots, wide in ((20, 100.0), (500, 100.0), (20, 100.0), (2, 5.0), (3, 5.0)):
        draw_path(painter, np.linspace(0.0, wide, shots), np.arange(0.0, shots) % 2.0 * 40.0)
    painter.end()
    widths = [(20, 1.5), (500, 1.0), (20, 1.5), (2, 1.5), (3, 1.5)]  # whatever was drawn before
    assert strokes == [(turns, width, Qt.PenStyle.DashLine) for turns, width in widths]
