"""The first look: what the program is, the sample, what was open before, and what stands there while nothing is open."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path

import pytest
from PySide6.QtCore import QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QDragEnterEvent, QDropEvent
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from gui_help import open_window, opened
from samelight.gui.widgets.plain_text import plain
from samelight.gui.widgets.settings import Settings
from samelight.gui.window.application import first_window, run
from samelight.gui.window.main_window import MainWindow
from samelight.gui.window.welcome import EXPLANATION, Explanation, Welcome
from samelight.sequence.samples import own_copy
from samelight.sheets.resources import sample_sequence

First = Callable[[Path | None], MainWindow]


@pytest.fixture
def first(qtbot: QtBot) -> Iterator[First]:
    """Starts the program as a user does, and waits until something is open."""
    made: list[MainWindow] = []

    def start(folder: Path | None) -> MainWindow:
        window = first_window(folder, Settings())
        made.append(window)
        qtbot.addWidget(window)
        qtbot.waitUntil(lambda: window.session is not None)
        QApplication.processEvents()
        return window

    yield start
    for window in made:
        window.close()


def explanation_of(window: MainWindow) -> Explanation | None:
    return next(iter(window.findChildren(Explanation)), None)


def test_the_explanation_is_three_sentences() -> None:
    sentences = EXPLANATION.split("\n")
    assert len(sentences) == 3 and all(one.count(".") == 1 and one.endswith(".") for one in sentences)


def test_the_first_run_opens_the_sample_under_an_explanation(first: First, qtbot: QtBot) -> None:
    window = first(None)
    assert window.session is not None and window.session.contents.folder == own_copy(sample_sequence())
    explanation = explanation_of(window)
    assert explanation is not None and explanation.isVisible() and explanation.text.text() == EXPLANATION
    assert explanation.text.width() >= explanation.text.sizeHint().width()
    assert explanation.text.height() >= explanation.text.sizeHint().height()
    window.resize(1178, 662)  # a small screen
    QApplication.processEvents()
    listed = window.panels.findings.list
    fourth = listed.visualRect(listed.model().index(3, 0))
    assert listed.viewport().rect().contains(fourth), "four findings are in view below it"
    # The grid is there below it, and a key puts it away for good.
    assert opened(window).views.grid.isVisible()
    explanation.button.setFocus()
    qtbot.keyClick(explanation.button, Qt.Key.Key_Space)
    qtbot.waitUntil(lambda: explanation_of(window) is None)
    window.close()
    assert explanation_of(first(None)) is None


def test_until_it_is_put_away_the_explanation_comes_back(first: First, harbour_folder: Path) -> None:
    first(harbour_folder).close()
    assert explanation_of(first(None)) is not None


def test_the_next_run_opens_what_was_open_last(first: First, harbour_folder: Path) -> None:
    first(harbour_folder).close()
    window = first(None)
    assert window.session is not None and window.session.contents.folder == harbour_folder.resolve()


def test_the_program_runs_until_the_window_is_closed(
    qtbot: QtBot, monkeypatch: pytest.MonkeyPatch, harbour_folder: Path
) -> None:
    shown: list[MainWindow] = []

    def has_session(window: MainWindow) -> bool:
        return window.session is not None

    def loop(*_: object) -> int:
        there = [each for each in QApplication.topLevelWidgets() if each.isVisible()]
        shown.extend(each for each in there if isinstance(each, MainWindow))
        for window in shown:
            qtbot.waitUntil(partial(has_session, window))
            window.close()
        return 7

    monkeypatch.setattr(QApplication, "exec", loop)
    assert run(harbour_folder) == 7
    assert [window.session.contents.folder for window in shown if window.session] == [harbour_folder]


def test_a_window_that_is_closed_at_once_opens_nothing(
    qtbot: QtBot, harbour_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    opens: list[Path] = []
    monkeypatch.setattr(MainWindow, "open_folder", lambda _, folder: opens.append(folder))
    for is_closed, expected in ((True, []), (False, [harbour_folder])):
        window = first_window(harbour_folder, Settings())
        qtbot.addWidget(window)
        window.grab()
        if is_closed:
            window.close()
        QApplication.processEvents()
        assert opens == expected
        window.close()


def test_what_was_open_before_is_offered_and_opens(
    qtbot: QtBot, first: First, harbour_folder: Path, tmp_path: Path
) -> None:
    first(harbour_folder).close()
    window = first_window(tmp_path / "no_such_folder", Settings())
    qtbot.addWidget(window)
    qtbot.waitUntil(lambda: "could not be opened" in window.welcome.title.text())
    recent = window.welcome.recent
    assert recent.isVisible() and recent.currentItem().toolTip() == str(harbour_folder.resolve())
    recent.setFocus()
    qtbot.keyClick(recent, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: window.session is not None)
    assert window.session is not None and window.session.contents.folder == harbour_folder.resolve()
    window.close()


def test_a_click_on_what_was_open_before(qtbot: QtBot) -> None:
    page = Welcome()
    qtbot.addWidget(page)
    page.resize(700, 500)
    page.show()
    assert not page.recent.isVisible() and not page.recent_title.isVisible()
    long = Path("/shows") / ("a_folder_with_a_long_name" * 8) / "quay"
    page.show_recent([Path("/shows/harbour"), long])
    QApplication.processEvents()
    place = page.recent.visualItemRect(page.recent.item(1)).center()
    with qtbot.waitSignal(page.folder_asked) as asked:
        qtbot.mouseClick(page.recent.viewport(), Qt.MouseButton.LeftButton, pos=place)
    assert asked.args == [long]
    assert page.recent.item(1).toolTip() == plain(str(long))
    assert not page.recent.horizontalScrollBar().isVisible()


def test_each_state_shows_what_can_be_done_in_it(qtbot: QtBot) -> None:
    page = Welcome()
    qtbot.addWidget(page)
    page.show()
    page.show_recent([Path("/shows/harbour")])
    begin = {page.open_button, page.sample_button, page.drop, page.recent, page.recent_title}
    reading = {page.progress, page.cancel_button, page.name}

    def seen() -> set[object]:
        return {each for each in begin | reading if each.isVisible()}

    assert seen() == begin and page.text.text() == EXPLANATION
    page.show_loading("a_sequence_with_a_name_" * 9)
    assert seen() == reading and not page.text.isVisible()
    assert page.title.text().startswith("Opening a_sequence") and "…" in page.title.shown_text()
    assert page.title.text() in page.title.toolTip()
    page.show_recent([Path("/shows/harbour"), Path("/shows/quay")])
    assert seen() == reading
    page.show_progress(7, 26, "HB_060.v002.yaml")
    assert (page.progress.value(), page.progress.maximum()) == (7, 26)
    assert page.name.text() == "7 of 26  HB_060.v002.yaml"
    page.show_failed("sequence.yaml is missing")
    assert seen() == begin and page.text.text() == "sequence.yaml is missing"


def test_the_keys_are_where_they_are_needed(qtbot: QtBot) -> None:
    page = Welcome()
    qtbot.addWidget(page)
    page.show()
    page.activateWindow()
    qtbot.waitUntil(page.isActiveWindow)
    page.show_loading("harbour")
    assert page.focusWidget() is page.cancel_button
    page.show_failed("it is damaged")
    assert page.focusWidget() is page.sample_button
    with qtbot.waitSignal(page.sample_asked):
        qtbot.keyClick(page.sample_button, Qt.Key.Key_Space)


@pytest.mark.parametrize("of_a_file", [False, True])
def test_a_folder_that_is_dropped_opens(qtbot: QtBot, harbour_folder: Path, of_a_file: bool) -> None:
    window = MainWindow()
    qtbot.addWidget(window)
    window.show()
    data = QMimeData()
    dropped = harbour_folder / "sequence.yaml" if of_a_file else harbour_folder
    data.setUrls([QUrl.fromLocalFile(str(dropped))])
    copy, left, none = Qt.DropAction.CopyAction, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    entered = QDragEnterEvent(QPoint(50, 50), copy, data, left, none)
    QApplication.sendEvent(window, entered)
    assert entered.isAccepted()
    QApplication.sendEvent(window, QDropEvent(QPointF(50, 50), copy, data, left, none))
    qtbot.waitUntil(lambda: window.session is not None)
    assert window.session is not None and window.session.contents.folder == harbour_folder
    window.close()


def test_what_is_no_folder_is_not_taken(window: MainWindow) -> None:
    data = QMimeData()
    data.setUrls([QUrl("https://example.org/harbour"), QUrl.fromLocalFile("/no/such/folder")])
    entered = QDragEnterEvent(
        QPoint(50, 50),
        Qt.DropAction.CopyAction,
        data,
        Qt.MouseButton.LeftButton,
        Qt.KeyboardModifier.NoModifier,
    )
    entered.ignore()
    QApplication.sendEvent(window, entered)
    assert not entered.isAccepted()


def test_opening_another_one_that_fails_keeps_what_is_open(
    qtbot: QtBot, harbour_folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from PySide6.QtWidgets import QMessageBox

    window = open_window(qtbot, harbour_folder)
    said: list[str] = []
    monkeypatch.setattr(QMessageBox, "warning", lambda *words: said.append(words[2]))
    window.open_folder(tmp_path / "nothing_here")
    qtbot.waitUntil(lambda: bool(said))
    assert "nothing_here" in said[0]
    assert window.session is not None and window.session.contents.folder == harbour_folder
    assert opened(window).views.grid.isVisible()
    window.close()
