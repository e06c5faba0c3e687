"""The window, driven as a person drives it, from the first look to the ledger on disk."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt, QTimer
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QApplication, QMessageBox
from pytestqt.qtbot import QtBot

from gui_help import answer_reason, open_window, opened, press
from known import about
from samelight.decisions.state import State
from samelight.findings.finding import Finding
from samelight.gui.dialogs.deciding import ReasonDialog
from samelight.gui.paint import drift_scale, theme
from samelight.gui.state.grid_words import line_title
from samelight.gui.state.remaining import undecided_findings
from samelight.gui.state.rows import Show
from samelight.gui.window.main_window import MainWindow
from samelight.sequence.session import open_session


def spot(window: MainWindow) -> tuple[str, str]:
    """Shot and parameter under the cursor."""
    current = opened(window).views.grid.current_line()
    assert current is not None
    table = opened(window).views.model.state.table
    return table.shots[current[1]], table.rows[
        opened(window).views.model.state.listing.row_at(*current)
    ].parameter


def pixel(window: MainWindow, shot: str, parameter: str, dx: int = 30, dy: int = 3) -> tuple[int, int, int]:
    """The colour drawn near the top of a cell."""
    window.select(shot, parameter)
    QApplication.processEvents()
    index = opened(window).views.grid.currentIndex()
    # A look at the cell itself, without the cursor's frame.
    rect = opened(window).views.grid.visualRect(index)
    colour = opened(window).views.grid.viewport().grab().toImage().pixelColor(rect.topLeft() + QPoint(dx, dy))
    return colour.red(), colour.green(), colour.blue()


def test_a_lead_scans_the_cut_and_sees_the_sun_that_moved(window: MainWindow, qtbot: QtBot) -> None:
    grid, traces, model = opened(window).views.grid, opened(window).views.traces, opened(window).views.model
    assert grid is not None and traces is not None and model is not None
    window.bar.show_box.setCurrentText(str(Show.DRIFTING))
    window.bar.filter_edit.setText("sun direction")
    # The only row of its group that is listed has the group's name before its own.
    assert [line_title(model.state, line, lone=True) for line in model.state.listing.lines] == [
        "sun direction"
    ]
    assert model.state.listing.is_lone(0)
    column = model.state.table.column("HB_060")
    assert column is not None
    index = model.index(0, column)
    grid.scrollTo(index)
    qtbot.mouseClick(grid.viewport(), Qt.MouseButton.LeftButton, pos=grid.visualRect(index).center())
    assert spot(window) == ("HB_060", "lights.sun.direction")
    # The point on the plots is the cell's.
    assert [plot.trace.title for plot in traces.plots if plot.trace] == ["level", "azimuth", "elevation"]
    ring = traces.plots[1].ring.getData()
    assert (ring[0][0], ring[1][0]) == (column + 0.5, about(143.0, abs=1e-3))
    text = window.inspector.page.toPlainText()
    for said in ("az 131.0° el 24.0°", "az 143.0° el 24.0°", "great-circle", "0.5°", "Locked"):
        assert said in text


def test_a_click_on_a_point_selects_the_cell(window: MainWindow, qtbot: QtBot) -> None:
    window.select("HB_060", "lights.sun.direction")
    traces = opened(window).views.traces
    assert traces is not None and window.session is not None
    row = window.session.table.row("lights.sun.direction")
    assert row is not None
    column = window.session.table.column("HB_080")
    assert column is not None
    canvas = traces.findChildren(type(traces.canvas))[0]
    plot = traces.plots[1]
    assert plot.trace is not None
    from PySide6.QtCore import QPointF

    scene = plot.vb.mapViewToScene(QPointF(column + 0.5, float(plot.trace.values[column])))
    qtbot.mouseClick(canvas.viewport(), Qt.MouseButton.LeftButton, pos=canvas.mapFromScene(scene))
    assert spot(window) == ("HB_080", "lights.sun.direction")


def test_a_lighter_marks_a_tweak_as_intended_and_it_stays_so(qtbot: QtBot, harbour_folder: Path) -> None:
    window = open_window(qtbot, harbour_folder)
    window.select("HB_110", "lights.rim.colour")
    assert window.session is not None
    open_before = opened(window).views.model.state.counts()["unsettled"] if opened(window).views.model else 0
    answer_reason("Rim cooled on purpose", "ada")
    press(qtbot, window, "intend")
    files = list((harbour_folder / "decisions").glob("*.yaml"))
    assert len(files) == 1
    written = files[0].read_text(encoding="utf-8")
    for said in (
        "verb: intend",
        "shot: HB_110",
        "parameter: lights.rim.colour",
        "Rim cooled on purpose",
        "who: ada",
    ):
        assert said in written
    assert opened(window).views.model.state.counts()["unsettled"] == open_before - 1
    assert spot(window) != ("HB_110", "lights.rim.colour")  # the next open cell has come up
    window.select("HB_110", "lights.rim.colour")
    assert "intended" in window.inspector.page.toPlainText()
    window.close()

    again = open_window(qtbot, harbour_folder)
    assert again.session is not None
    row, column = again.session.table.row("lights.rim.colour"), again.session.table.column("HB_110")
    assert row is not None and column is not None
    assert again.session.cases.state(row, column) is State.INTENDED
    # It also comes back to the cell where it was left.
    assert spot(again) == ("HB_110", "lights.rim.colour")
    again.close()


def test_intended_cells_look_different_from_open_ones(window: MainWindow, qtbot: QtBot) -> None:
    assert window.session is not None
    row, column = window.session.table.row("lights.rim.colour"), window.session.table.column("HB_110")
    assert row is not None and column is not None
    severity = float(window.session.table.severity[row, column])
    assert pixel(window, "HB_110", "lights.rim.colour", dy=6) == drift_scale.rgb(severity)
    answer_reason("asked for in dailies")
    press(qtbot, window, "intend")
    cell_grey = (theme.CELL.red(), theme.CELL.green(), theme.CELL.blue())
    assert pixel(window, "HB_110", "lights.rim.colour", dy=6) == cell_grey


def test_undo_and_redo_go_through_the_ledger(window: MainWindow, qtbot: QtBot, harbour_folder: Path) -> None:
    assert window.session is not None
    window.select("HB_180", "lights.window_fill.position")
    cell = (window.session.table.row("lights.window_fill.position"), window.session.table.column("HB_180"))
    assert cell[0] is not None and cell[1] is not None
    place = (cell[0], cell[1])
    answer_reason("nudged by accident")
    press(qtbot, window, "return")
    assert window.session.cases.state(*place) is State.SENT_BACK
    press(qtbot, window, "undo")
    assert window.session.cases.state(*place) is State.UNDECIDED
    press(qtbot, window, "redo")
    assert window.session.cases.state(*place) is State.SENT_BACK
    window.select("HB_180", "lights.window_fill.position")
    press(qtbot, window, "withdraw")
    assert window.session.cases.state(*place) is State.UNDECIDED
    # Nothing was erased: one decision, and three that take back.
    fresh = open_session(harbour_folder)
    assert len(fresh.ledger.all()) == 4


def test_a_light_in_a_shot_is_sent_back_as_one(window: MainWindow, qtbot: QtBot) -> None:
    assert window.session is not None
    line = next(
        i
        for i, entry in enumerate(opened(window).views.model.state.listing.lines)
        if line_title(opened(window).views.model.state, entry) == "window_fill"
    )
    column = window.session.table.column("HB_180")
    assert column is not None
    opened(window).views.grid.setCurrentIndex(opened(window).views.model.index(line, column))
    answer_reason("put it back")
    press(qtbot, window, "return")
    decisions = window.session.ledger.all()
    assert {decision.parameter for decision in decisions} == {
        "lights.window_fill.position",
        "lights.window_fill.direction",
    }
    assert len({decision.batch for decision in decisions}) == 1


def test_the_keyboard_alone_travels_from_open_cell_to_open_cell(window: MainWindow, qtbot: QtBot) -> None:
    """And to each finding that is to be decided on by itself, once in a round."""
    opened(window).views.grid.setFocus()
    seen: set[object] = set()
    findings: list[Finding] = []
    wanted = sorted(finding.says for _, finding in undecided_findings(opened(window).views.state))
    opened(window).decider.came_up.connect(findings.append)
    for _ in range(opened(window).views.model.state.counts()["unsettled"]):
        known = len(findings)
        press(qtbot, window, "next")
        seen.add(spot(window) if len(findings) == known else findings[-1].says)
    assert len(seen) == opened(window).views.model.state.counts()["unsettled"]
    assert wanted and sorted(finding.says for finding in findings) == wanted
    while findings:  # back to a cell
        findings.clear()
        press(qtbot, window, "next")
    before = spot(window)
    press(qtbot, window, "next")
    press(qtbot, window, "previous")
    assert spot(window) == before


def test_a_group_opens_and_closes_from_the_keyboard(window: MainWindow, qtbot: QtBot) -> None:
    window.run("collapse")
    opened(window).views.grid.setCurrentIndex(opened(window).views.model.index(0, 0))
    count = opened(window).views.model.rowCount()
    qtbot.keyClick(opened(window).views.grid, Qt.Key.Key_Return)
    assert opened(window).views.model.rowCount() > count
    qtbot.keyClick(opened(window).views.grid, Qt.Key.Key_Return)
    assert opened(window).views.model.rowCount() == count


def test_going_to_a_shot_by_typing(window: MainWindow, qtbot: QtBot) -> None:
    press(qtbot, window, "goto")
    qtbot.keyClicks(window.bar.goto_edit, "hb_210")
    qtbot.keyClick(window.bar.goto_edit, Qt.Key.Key_Return)
    assert spot(window)[0] == "HB_210"


def test_the_selection_copies_as_tab_separated_text(window: MainWindow, qtbot: QtBot) -> None:
    window.select("HB_120", "render.gi.range")
    press(qtbot, window, "copy")
    assert QGuiApplication.clipboard().text() == "\tHB_120\nrender.gi.range\t+9900 %"


def test_filter_layout_and_last_sequence_come_back(qtbot: QtBot, harbour_folder: Path) -> None:
    window = open_window(qtbot, harbour_folder)
    window.bar.show_box.setCurrentText(str(Show.UNDECIDED))
    window.bar.filter_edit.setText("lights")
    opened(window).views.grid.widths.set_width(48)
    window.close()
    again = open_window(qtbot, harbour_folder)
    assert again.bar.filter_edit.text() == "lights"
    assert again.bar.show_box.currentText() == str(Show.UNDECIDED)
    assert opened(again).views.grid.widths.width == 48
    assert again.settings.text("last") == str(harbour_folder.resolve())
    again.close()


def test_a_reason_is_required_for_what_is_intended(window: MainWindow, qtbot: QtBot) -> None:
    from samelight.decisions.decision import Verb
    from samelight.gui.dialogs.deciding import ReasonDialog

    assert window.session is not None
    dialog = ReasonDialog(window.session, Verb.INTEND, [(0, 0)], "lead")
    qtbot.addWidget(dialog)
    assert not dialog.ok.isEnabled()
    dialog.reason.setText("   ")
    assert not dialog.ok.isEnabled()
    dialog.reason.setText("meant")
    assert dialog.ok.isEnabled()
    dialog.who.setText(" ")
    assert not dialog.ok.isEnabled()


def test_one_damaged_sheet_does_not_stop_the_others(qtbot: QtBot, harbour_folder: Path) -> None:
    damaged = next((harbour_folder / "shots" / "HB_060").glob("*.yaml"))
    for path in (harbour_folder / "shots" / "HB_060").glob("*.yaml"):
        path.write_text("samelight: 2\nlighst: {}\n", encoding="utf-8")
    window = open_window(qtbot, harbour_folder)
    assert window.session is not None
    assert len(window.session.contents.sheets) == 23
    window.bar.goto_edit.setText("HB_060")
    qtbot.keyClick(window.bar.goto_edit, Qt.Key.Key_Return)
    text = window.inspector.page.toPlainText()
    assert "lighst" in text and "did you mean lights" in text
    assert damaged.parent.name in text
    window.close()


def test_a_folder_that_is_no_sequence_says_what_is_missing(qtbot: QtBot, tmp_path: Path) -> None:
    window = MainWindow()
    qtbot.addWidget(window)
    window.show()
    window.open_folder(tmp_path)
    qtbot.waitUntil(lambda: not window.loader.busy)
    qtbot.waitUntil(lambda: "could not be opened" in window.welcome.title.text())
    assert "sequence.yaml" in window.welcome.text.text()
    window.close()


def test_loading_can_be_cancelled(
    qtbot: QtBot, harbour_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    window = MainWindow()
    qtbot.addWidget(window)
    window.show()
    with qtbot.waitSignal(window.loader.stopped):
        window.open_folder(harbour_folder)
        window.loader.cancel()
    assert window.session is None
    assert window.pages.currentIndex() == 0
    window.close()


def test_what_is_opened_in_the_place_of_another_is_not_said_to_have_stopped(
    qtbot: QtBot, harbour_folder: Path
) -> None:
    window = MainWindow()
    qtbot.addWidget(window)
    window.show()
    said: list[str] = []
    window.loader.stopped.connect(lambda: said.append("stopped"))
    with qtbot.waitSignal(window.loader.opened):
        window.open_folder(harbour_folder)
        window.open_folder(harbour_folder)
    assert not said and window.session is not None
    window.close()


def test_a_write_that_fails_is_said_and_nothing_is_decided(
    window: MainWindow, qtbot: QtBot, harbour_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (harbour_folder / "decisions").write_text("in the way", encoding="utf-8")
    said: list[str] = []
    monkeypatch.setattr(QMessageBox, "warning", lambda *words: said.append(words[2]))
    window.select("HB_110", "lights.rim.colour")
    answer_reason("meant")
    press(qtbot, window, "intend")
    assert said and "could not be written" in said[0]
    assert window.session is not None and not window.session.ledger.all()


def test_a_lead_looks_at_older_masters_neighbours_and_versions(window: MainWindow, qtbot: QtBot) -> None:
    from samelight.sequence.references import MASTER, Against, Reference

    assert window.session is not None
    listed = [window.bar.reference_box.itemText(index) for index in range(window.bar.reference_box.count())]
    assert listed[:4] == ["master v003", "master v002", "master v001", "the shot before"]
    window.select("HB_060", "lights.sun.direction")
    window.reference_link.hold_against(Reference(Against.VERSIONS, 2, "HB_060"))
    assert [opened(window).views.model.headerData(i, Qt.Orientation.Horizontal) for i in range(2)] == [
        "v001",
        "v002",
    ]
    window.select("v001", "lights.sun.direction")
    assert "HB_060 v002" in window.inspector.page.toPlainText()
    assert not window.actions_by_name["intend"].isEnabled()
    window.reference_link.hold_against(Reference(Against.BEFORE))
    window.select("HB_090", "lights.sun.direction")
    assert "HB_080" in window.inspector.page.toPlainText()
    window.reference_link.hold_against(MASTER)
    assert window.actions_by_name["intend"].isEnabled()


def test_a_fitted_cut_stays_fitted_after_reading_again(window: MainWindow, qtbot: QtBot) -> None:
    press(qtbot, window, "fit")
    assert opened(window).views.grid.widths.fitted
    before = opened(window).views.grid
    press(qtbot, window, "reload")
    qtbot.waitUntil(lambda: opened(window).views.grid is not before and not window.loader.busy)
    assert opened(window).views.grid.widths.fitted
    opened(window).views.grid.widths.set_width(90)
    before = opened(window).views.grid
    press(qtbot, window, "reload")
    qtbot.waitUntil(lambda: opened(window).views.grid is not before and not window.loader.busy)
    assert opened(window).views.grid.widths.width == 90


def test_what_is_opened_while_a_question_stands_is_not_decided_on(
    window: MainWindow, qtbot: QtBot, harbour_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was open before is put away only after the question is answered, which is then about nothing that is shown."""
    warned: list[str] = []
    gone: list[bool] = []
    monkeypatch.setattr(QMessageBox, "warning", lambda *words: warned.append(words[2]))
    window.select("HB_110", "lights.rim.colour")
    assert window.session is not None
    opened(window).work.destroyed.connect(lambda: gone.append(True))
    before = window.session

    def open_again() -> None:
        dialog = QApplication.activeModalWidget()
        if not isinstance(dialog, ReasonDialog):
            QTimer.singleShot(20, open_again)
            return
        window.show_session(open_session(harbour_folder))
        QApplication.processEvents()
        dialog.reason.setText("asked for in dailies")
        dialog.accept()

    QTimer.singleShot(0, open_again)
    window.run("intend")
    assert warned and window.session is not before and not before.history.done
    qtbot.waitUntil(lambda: bool(gone))
    assert opened(window).views.cell_name() == ("HB_110", "lights.rim.colour")
