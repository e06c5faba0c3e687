"""The inspector in the window: what is chosen in the grid is what it shows, and its clicks go back there."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from gui_help import answer_reason, opened, press
from samelight.gui.state.rows import Line
from samelight.gui.widgets.page_parts import Section
from samelight.gui.window.main_window import MainWindow


@pytest.fixture
def window(standing_window: MainWindow) -> MainWindow:
    """They look at it."""
    return standing_window


def spot(window: MainWindow) -> tuple[str, str]:
    current = opened(window).views.grid.current_line()
    assert current is not None
    state = opened(window).views.model.state
    return state.table.shots[current[1]], state.table.rows[state.listing.row_at(*current)].parameter


def settle() -> None:
    for _ in range(6):
        QApplication.processEvents()


def read(qtbot: QtBot, window: MainWindow) -> str:
    settle()
    qtbot.waitUntil(lambda: not window.inspector.versions.waiting)
    return window.inspector.page.toPlainText()


def test_a_neighbour_is_one_click_away_and_back(window: MainWindow, qtbot: QtBot) -> None:
    window.select("HB_060", "lights.sun.direction")
    settle()
    qtbot.mouseClick(window.inspector.neighbours.buttons[1], Qt.MouseButton.LeftButton)
    assert spot(window) == ("HB_070", "lights.sun.direction")
    qtbot.mouseClick(window.inspector.neighbours.buttons[0], Qt.MouseButton.LeftButton)
    assert spot(window) == ("HB_060", "lights.sun.direction")
    assert read(qtbot, window).startswith("HB_060\nlights.sun.direction")


def test_the_finding_is_one_click_away(window: MainWindow, qtbot: QtBot) -> None:
    qtbot.waitUntil(lambda: bool(window.findings.model.findings))
    window.select("HB_120", "render.gi.range")
    settle()
    qtbot.mouseClick(window.inspector.findings.buttons[0], Qt.MouseButton.LeftButton)
    current = window.findings.current()
    assert current is not None and "GI range is 100 times" in current.says
    # Once more, although the list already stands there: the cells are selected again.
    window.select("HB_010", "lights.sun.level")
    window.findings.choose(current)
    assert spot(window) == ("HB_120", "render.gi.range")


def test_a_selection_of_several_is_summed_up_and_one_is_a_cell_again(
    window: MainWindow, qtbot: QtBot
) -> None:
    press(qtbot, window, "expand")
    window.select("HB_050", "lights.sun.direction")
    for _ in range(3):
        qtbot.keyClick(opened(window).views.grid, Qt.Key.Key_Right, Qt.KeyboardModifier.ShiftModifier)
    said = read(qtbot, window)
    assert said.startswith("4 cells\n1 parameter in 4 shots")
    assert "all: az 143.0° el 24.0°" in said
    # A finding selects its cells, and they are summed up as well.
    qtbot.waitUntil(lambda: bool(window.findings.model.findings))
    finding = next(one for one in window.findings.model.findings if one.says.startswith("The sun stands"))
    window.findings.choose(finding)
    assert read(qtbot, window).startswith(f"{len(finding.cells)} cells")
    qtbot.keyClick(opened(window).views.grid, Qt.Key.Key_Right)
    assert "great-circle" in read(qtbot, window)


def test_a_row_of_a_group_is_one_click_away(window: MainWindow, qtbot: QtBot) -> None:
    press(qtbot, window, "collapse")
    state = opened(window).views.model.state
    row, column = state.table.row("lights.window_fill.position"), state.table.column("HB_180")
    assert row is not None and column is not None
    opened(window).views.grid.go_to_line(state.listing.lines.index(Line(state.groups.of_row[row])), column)
    assert "of 11 rows differ from the reference" in read(qtbot, window)
    button = next(b for b in window.inspector.places.buttons if b.text() == "position")
    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)
    assert spot(window) == ("HB_180", "lights.window_fill.position")


def test_a_decision_is_in_the_inspector_with_what_became_of_it(window: MainWindow, qtbot: QtBot) -> None:
    window.select("HB_180", "lights.window_fill.position")
    answer_reason("put it back", "ada")
    press(qtbot, window, "return")
    page = window.inspector.page
    window.select("HB_180", "lights.window_fill.position")
    qtbot.waitUntil(lambda: "ada  sent back: put it back" in page.toPlainText())
    assert "drift, sent back" in page.toPlainText() and "Holds." in page.toPlainText()
    press(qtbot, window, "undo")
    window.select("HB_180", "lights.window_fill.position")
    qtbot.waitUntil(lambda: "Taken back." in page.toPlainText())
    assert "drift, undecided" in page.toPlainText()


def test_an_opening_on_a_group_makes_the_sections_that_it_shows_and_a_cell_those_of_cells(
    qtbot: QtBot, own_window: MainWindow
) -> None:
    """What is made meanwhile is never a window of its own, which would take the keys."""
    inspector = own_window.inspector
    before = {id(each) for each in QApplication.topLevelWidgets() if each.isVisible()}
    assert [part.title.text() for part in inspector.page.parts if isinstance(part, Section)] == [
        "What differs"
    ]
    state = opened(own_window).views.state
    windows: list[QWidget] = []
    for what in state.table.rows:
        if what.kind in ("colour", "direction") or what.section == "picture":
            own_window.select(state.table.shots[0], what.parameter)
            assert own_window.inspector is inspector  # it shows the cell now
            windows += [
                each for each in QApplication.topLevelWidgets() if each.isVisible() and id(each) not in before
            ]
    assert windows == []
    titles = [part.title.text() for part in inspector.page.parts if isinstance(part, Section)]
    assert titles.index("Values") < titles.index("How it is measured") < titles.index("Tolerance")
