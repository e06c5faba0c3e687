"""Into a list and out of it by the keys that people expect, and to what is at fault in a file."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from gui_help import answer_reason, open_window, opened, press, show_window
from samelight.gui.state.rows import GridState, Line, Show
from samelight.gui.state.selection import Range
from samelight.gui.widgets import editor
from samelight.gui.widgets.editor import open_at
from samelight.gui.window.main_window import MainWindow
from standing_harbour import StandingHarbour


@pytest.fixture
def window(first_start: None, qtbot: QtBot, standing_harbour: StandingHarbour) -> Iterator[MainWindow]:
    made = show_window(qtbot, standing_harbour.session(at_once=False))
    qtbot.waitUntil(lambda: not made.searching.busy)
    yield made
    made.close()


def noted(monkeypatch: pytest.MonkeyPatch) -> list[object]:
    """What programs are asked to open, instead of starting them."""
    asked: list[object] = []

    def note(what: object) -> bool:
        asked.append(what)
        return True

    for name in ("_start", "_open"):
        monkeypatch.setattr(editor, name, note)
    return asked


@pytest.mark.parametrize("key", [Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Down])
def test_the_filter_is_left_for_the_rows_it_lists(window: MainWindow, qtbot: QtBot, key: Qt.Key) -> None:
    window.run("filter")
    qtbot.keyClicks(window.bar.filter_edit, "sun")
    qtbot.keyClick(window.bar.filter_edit, key)
    assert window.focusWidget() is opened(window).views.grid and window.bar.words == "sun"
    qtbot.keyClick(window, Qt.Key.Key_Escape)
    assert window.bar.words == "" and window.focusWidget() is opened(window).views.grid


def test_letters_choose_in_a_list_of_choices_and_decide_only_in_the_grid(
    window: MainWindow, qtbot: QtBot
) -> None:
    for box in (
        window.bar.show_box,
        opened(window).views.traces.scale_box,
        opened(window).views.grid.order_box,
    ):
        box.setFocus()
        before = opened(window).work.shows_contact
        qtbot.keyClick(box, Qt.Key.Key_C)
        assert opened(window).work.shows_contact is before
    opened(window).work.focus()
    qtbot.keyClick(window.focusWidget(), Qt.Key.Key_C)
    assert opened(window).work.shows_contact


def test_the_cells_of_a_finding_are_shown_once(window: MainWindow, monkeypatch: pytest.MonkeyPatch) -> None:
    shown: list[int] = []
    show = window.inspector.show_selection

    def noted_selection(state: GridState, line: Line, column: int, ranges: list[Range]) -> None:
        shown.append(len(ranges))
        show(state, line, column, ranges)

    monkeypatch.setattr(window.inspector, "show_selection", noted_selection)
    views = opened(window).views
    cells = [(row, column) for row in (2, 5) for column in (3, 6)]
    for first, other in (cells[:2], cells[2:]):
        shown.clear()
        views.select_cells([first, other])
        for _ in range(3):
            QApplication.processEvents()
        assert shown == [2]
        assert views.cell() == first
        assert len(views.grid.chosen.ranges()) == 2


def test_a_decision_and_the_cell_that_comes_up_next_are_shown_once(
    window: MainWindow, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    window.select("HB_050", "lights.sun.direction")
    QApplication.processEvents()
    shown: Counter[str] = Counter()

    def count(view: object, name: str) -> None:
        show = getattr(view, name)

        def counted(*given: object) -> None:
            shown[name] += 1
            show(*given)

        monkeypatch.setattr(view, name, counted)

    count(window.inspector, "show_selection")
    count(opened(window).views.traces, "show_row")
    count(window.findings, "show_session")
    answer_reason("The sun is later here")
    press(qtbot, window, "intend")
    assert opened(window).views.cell_name() == ("HB_060", "lights.sun.direction")
    assert "HB_060" in window.inspector.name.text()
    # The traces follow the cursor at once: from the cell that was decided on to the next.
    assert shown == {"show_selection": 1, "show_row": 2, "show_session": 1}


def test_a_filter_that_leaves_no_row_gives_the_cursor_back(window: MainWindow) -> None:
    window.select("HB_060", "lights.sun.direction")
    work = opened(window).work
    before, title, said = work.views.cell_name(), work.views.traces.title.text(), window.inspector.name.text()
    for show, words in ((Show.ALL, "no such row"), (Show.AGAIN, "")):
        work.set_filter(show, words)
        assert work.views.cell_name() is None
        work.set_filter(Show.ALL, "")
        assert work.views.cell_name() == before
        assert (work.views.traces.title.text(), window.inspector.name.text()) == (title, said)


def test_of_rows_that_are_all_hidden_no_cell_is_shown(window: MainWindow) -> None:
    window.select("HB_060", "lights.sun.direction")
    assert window.inspector.name.text()
    opened(window).views.grid.selectAll()
    window.run("hide_rows")
    assert opened(window).views.cell_name() is None
    assert not window.inspector.name.text() and not opened(window).views.traces.title.text()


def test_enter_goes_into_the_cells_of_a_finding_and_esc_back_to_what_was_listed(
    window: MainWindow, qtbot: QtBot
) -> None:
    window.run("collapse")
    before = opened(window).views.state.view
    window.findings.list.setFocus()
    for _ in range(3):  # through several findings: back is to before the first
        window.findings.step(1)
    qtbot.keyClick(window.findings.list, Qt.Key.Key_Return)
    assert window.focusWidget() is opened(window).views.grid
    assert opened(window).views.state.view != before
    name = opened(window).views.cell_name()
    qtbot.keyClick(window, Qt.Key.Key_Escape)
    assert opened(window).views.state.view == before
    assert window.findings.current() is None
    after = opened(window).views.cell_name()
    assert name is not None and after is not None and after[0] == name[0]


def test_what_was_listed_otherwise_since_stays_when_one_steps_back(window: MainWindow, qtbot: QtBot) -> None:
    window.findings.step(1)
    window.bar.show_box.setCurrentText(str(Show.ALL))
    qtbot.keyClick(window, Qt.Key.Key_Escape)
    assert opened(window).views.state.view.rows is Show.ALL


def test_what_could_not_be_read_stands_first_and_opens_at_its_line(
    first_start: None, qtbot: QtBot, harbour_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    sheet = max((harbour_folder / "shots" / "HB_090").glob("*.yaml"))
    sheet.write_text(sheet.read_text(encoding="utf-8").replace("lights:", "lighst:", 1), encoding="utf-8")
    window = open_window(qtbot, harbour_folder)
    listed = window.findings.troubles
    assert listed.isVisible() and listed.count() == 1
    assert listed.item(0).text().startswith(f"HB_090 is unreadable: {sheet.name}:")
    asked = noted(monkeypatch)
    monkeypatch.setenv("SAMELIGHT_EDITOR", "pen --at {line} {file}")
    qtbot.mouseClick(
        listed.viewport(), Qt.MouseButton.LeftButton, pos=listed.visualItemRect(listed.item(0)).center()
    )
    line = sheet.read_text(encoding="utf-8").splitlines().index("lighst:") + 1
    assert asked == [["pen", "--at", str(line), str(sheet)]]
    name = opened(window).views.cell_name()
    assert name is not None and name[0] == "HB_090"
    QApplication.processEvents()
    window.close()


def test_an_editor_is_asked_as_its_owner_says_and_only_for_texts(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    sheet = tmp_path / "HB 010.yaml"
    sheet.write_text("notes: x\n", encoding="utf-8")
    asked = noted(monkeypatch)

    def opened(what: str | None, path: Path = sheet, line: int | None = 3) -> str:
        if what is not None:
            monkeypatch.setenv("SAMELIGHT_EDITOR", what)
        else:
            monkeypatch.delenv("SAMELIGHT_EDITOR", raising=False)
        asked.clear()
        return open_at(path, line)

    assert opened("pen") == "Opened HB 010.yaml, line 3" and asked == [["pen", str(sheet)]]
    assert opened("pen '{file}:{line}'") and asked == [["pen", f"{sheet}:3"]]
    assert opened(None) and asked == [sheet]
    assert opened("pen 'half").startswith("SAMELIGHT_EDITOR cannot be read") and not asked
    program = tmp_path / "run.sh"
    program.write_text("", encoding="utf-8")
    assert opened("pen", program) == "run.sh, line 3: no text file to open" and not asked
    assert opened("pen", tmp_path / "gone.yaml", None) == "gone.yaml: no text file to open" and not asked
    monkeypatch.undo()
    monkeypatch.setenv("SAMELIGHT_EDITOR", str(tmp_path / "no such program"))
    assert "could not be started" in open_at(sheet, 1)
