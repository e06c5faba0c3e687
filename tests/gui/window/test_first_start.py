"""What somebody sees who starts the program for the first time: what is wrong, where, how bad, and whose it is."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from gui_help import opened, show_window
from samelight.decisions.state import State
from samelight.drift.cells import CellName
from samelight.findings.finding import Finding
from samelight.gui.findings.panel import SHORT_ROLE
from samelight.gui.grid.cut_strip import CutStrip
from samelight.gui.state.grid_words import line_title
from samelight.gui.state.headline import headline
from samelight.gui.state.rows import GridState, Order, Show
from samelight.gui.traces.traces import TracesView
from samelight.gui.window.main_window import MainWindow
from samelight.gui.window.workspace import Workspace
from standing_harbour import StandingHarbour


@pytest.fixture
def window(first_start: None, qtbot: QtBot, standing_harbour: StandingHarbour) -> Iterator[MainWindow]:
    made = show_window(qtbot, standing_harbour.session(at_once=False))
    qtbot.waitUntil(lambda: not made.searching.busy)
    yield made
    made.close()


def work_of(window: MainWindow) -> Workspace:
    return opened(window).work


def strip_of(window: MainWindow) -> CutStrip:
    return work_of(window).views.grid.shots.strip


def test_it_opens_on_what_differs_the_worst_first_with_the_whole_cut_in_view(window: MainWindow) -> None:
    state, grid = work_of(window).views.state, work_of(window).views.grid
    assert (state.view.rows, state.view.order, state.view.fitted) == (Show.DRIFTING, Order.WORST, True)
    layout = grid.layout_now()
    assert layout.columns_between(0, layout.room_x) == (0, 24)
    drifting = np.flatnonzero((state.standing.stands > 1).any(axis=1))
    assert {line.row for line in state.listing.lines if line.row is not None} <= set(drifting.tolist())
    assert (
        state.standing.score[
            state.listing.lines[0].row or state.groups[state.listing.lines[0].group].rows[0]
        ].max()
        > 0
    )


def test_a_short_sequence_is_shown_once_with_its_findings(
    own_settings: None, qtbot: QtBot, standing_harbour: StandingHarbour, monkeypatch: pytest.MonkeyPatch
) -> None:
    shown: list[CellName] = []
    plain = TracesView.show_row

    def show(self: TracesView, state: GridState, row: int, column: int) -> None:
        shown.append((state.table.shots[column], state.table.rows[row].parameter))
        plain(self, state, row, column)

    monkeypatch.setattr(TracesView, "show_row", show)
    made = show_window(qtbot, standing_harbour.session(at_once=False))
    assert made.session is not None
    assert shown == [work_of(made).views.cell_name()]
    assert made.findings.model.rowCount() == len(made.session.cases.findings) > 0
    count = len(made.session.cases.findings)
    assert made.panels.docks["findings"].windowTitle() == f"Findings: {count} of {count} left"
    made.close()


def test_the_headline_counts_and_a_press_on_it_goes_to_the_worst(window: MainWindow, qtbot: QtBot) -> None:
    work = work_of(window)
    findings = [one for one in window.findings.model.findings if one.state is not State.INTENDED]
    worst: Finding = findings[0]
    shots = {shot for finding in findings for shot in finding.shots}
    assert (
        work.headline.said()
        == f"{len(findings)} things to look at in {len(shots)} shots. Worst: {worst.says}"
    )
    qtbot.mouseClick(work.headline, Qt.MouseButton.LeftButton)
    assert window.findings.current() == worst
    name = work.views.cell_name()
    assert name is not None and name[0] in worst.shots


def test_the_headline_follows_decisions_and_says_when_all_is_well(window: MainWindow) -> None:
    state = work_of(window).views.state
    state.session.cases.findings.clear()
    assert headline(state).worst is None
    assert headline(state).says.endswith("undecided.")
    assert (
        "looking" in headline(state, looking=True).says or "undecided" in headline(state, looking=True).says
    )


def test_rows_without_drift_are_one_line_that_brings_them_back(window: MainWindow, qtbot: QtBot) -> None:
    work = work_of(window)
    state = work.views.state
    quiet = int((state.standing.stands <= 1).all(axis=1).sum())
    assert work.folded.said() == f"{quiet} rows are the same in all shots. List every row"
    qtbot.mouseClick(work.folded, Qt.MouseButton.LeftButton)
    assert state.view.rows is Show.ALL and window.bar.show_box.currentText() == str(Show.ALL)
    assert work.folded.isHidden()
    window.bar.show_box.setCurrentText(str(Show.UNDECIDED))
    assert work.folded.said().endswith("have nothing undecided. List every row")
    window.bar.filter_edit.setText("sun direction")
    assert work.folded.isHidden()  # what the words leave out is not counted
    assert [line_title(state, line, lone=True) for line in state.listing.lines] == ["sun direction"]
    assert state.listing.is_lone(0)


def test_a_finding_whose_cells_follow_from_others_does_not_bring_back_every_row(window: MainWindow) -> None:
    state = work_of(window).views.state
    press_finding = window.findings.model.findings[0]
    listed = {line.row for line in state.listing.lines}
    assert any(row not in listed for row, _ in press_finding.cells)  # else this tries nothing
    window.findings.choose(press_finding)
    assert state.view.rows is Show.DRIFTING
    name = work_of(window).views.cell_name()
    assert name is not None and name in {
        (state.table.shots[column], state.table.rows[row].parameter) for row, column in press_finding.cells
    }


def test_a_picture_of_each_shot_stands_over_its_column(window: MainWindow, qtbot: QtBot) -> None:
    strip, grid = strip_of(window), work_of(window).views.grid
    grid.widths.set_width(62)
    places = strip.places(grid.layout_now())
    first, last = grid.layout_now().columns_between(0, grid.layout_now().room_x)
    assert [section for section, _ in places] == list(range(first, last))
    shot = work_of(window).views.state.table.shots[first]
    qtbot.waitUntil(lambda: strip.frames.frame(shot, 128) is not None)
    frame = strip.frames.frame(shot, 128)
    assert frame is not None and frame.image is not None
    room = places[0][1]
    drawn = grid.shots.grab().toImage()
    colours = {
        drawn.pixelColor(x, int(room.center().y())).name()
        for x in range(int(room.left()) + 4, int(room.right()) - 4)
    }
    assert any(name[1:3] != name[3:5] for name in colours)  # a picture of a dawn, and no grey


def test_narrow_columns_share_a_picture_and_figures_stay(window: MainWindow) -> None:
    strip, grid = strip_of(window), work_of(window).views.grid
    grid.widths.set_width(16)
    sections = [section for section, _ in strip.places(grid.layout_now())]
    assert sections == list(range(0, 24, 3))
    grid.widths.set_width(62)


def test_who_lights_what_stands_over_the_runs_of_the_cut(window: MainWindow) -> None:
    strip, grid = strip_of(window), work_of(window).views.grid
    grid.widths.fit()
    assert list(strip.runs(grid.layout_now())) == [("Ines", 0, 10), ("Tomas", 10, 23), ("Ines", 23, 24)]
    model = window.findings.model
    said = {model.data(model.index(row), SHORT_ROLE) for row in range(model.rowCount())}
    assert any(text.startswith("HB_120 (Tomas). ") for text in said)


def test_frames_over_the_shots_are_put_away_and_the_choice_is_kept(window: MainWindow) -> None:
    strip, header = strip_of(window), work_of(window).views.grid.shots
    before = header.height()
    press_height = strip.pictures_height
    window.actions_by_name["frames"].trigger()
    QApplication.processEvents()
    assert header.height() == before - press_height and not strip.places(
        work_of(window).views.grid.layout_now()
    )
    assert window.settings.text("frames") == "hidden"
    window.actions_by_name["frames"].trigger()
    assert header.height() == before


def test_a_few_shots_keep_columns_of_a_readable_width(window: MainWindow) -> None:
    work = work_of(window)
    work.views.grid.widths.fit()
    work.views.model.relisted(lambda state: state.show_only(frozenset({"HB_050", "HB_060", "HB_070"})))
    assert work.views.grid.widths.width == 120
    work.views.model.relisted(lambda state: state.show_only(None))


def test_six_findings_are_in_view_on_a_small_screen(window: MainWindow) -> None:
    window.resize(1280, 720)
    QApplication.processEvents()
    listing = window.findings.list
    room = listing.viewport().rect()
    whole = [
        row
        for row in range(listing.model().rowCount())
        if room.contains(listing.visualRect(listing.model().index(row, 0)))
    ]
    assert len(whole) >= 6
