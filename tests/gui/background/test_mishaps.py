"""A window in which something fails goes on, says so in its bar, and tells every view that does not fail."""

from __future__ import annotations

import gc
import sys
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QTimer
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from gui_help import answer_reason, opened, press
from samelight.decisions.state import State
from samelight.findings import registry
from samelight.findings.board import Board
from samelight.findings.finding import Finding
from samelight.gui.background import live
from samelight.gui.background.mishaps import Mishaps, tell_each
from samelight.gui.state.cell_states import STATES
from samelight.gui.window.main_window import MainWindow
from samelight.sequence.contents import read_contents
from samelight.sheets import unforeseen


@pytest.fixture(autouse=True)
def log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr(unforeseen, "kept_errors", lambda: tmp_path / "log")
    return tmp_path / "log"


@pytest.fixture
def said(window: MainWindow) -> Iterator[list[str]]:
    """What the window was told, by a window that hears of its errors as that of the program does."""
    mishaps, told = Mishaps(), list[str]()
    mishaps.said.connect(window.notice.show_mishap)
    mishaps.said.connect(told.append)
    with mishaps.heard():
        yield told


def fails(*_: object, **__: object) -> None:
    raise RuntimeError("made to fail")


def test_each_is_told_whoever_fails(monkeypatch: pytest.MonkeyPatch) -> None:
    told: list[str] = []
    heard: list[type[BaseException]] = []
    monkeypatch.setattr(sys, "excepthook", lambda kind, error, where: heard.append(kind))
    tell_each(
        lambda: told.append("one"),
        fails,
        lambda: told.append("two"),
        lambda: 1 / 0,
        lambda: told.append("three"),
    )
    assert told == ["one", "two", "three"]
    assert heard == [RuntimeError, ZeroDivisionError]


@pytest.mark.parametrize(
    "view",
    [
        "panels.show_session",
        "notice.show_session",
        "bar.show_counts",
        "review.show",
        "searching.ask",
        "enable",
    ],
)
def test_a_decision_reaches_the_views_whatever_fails_beside_them(
    qtbot: QtBot, window: MainWindow, said: list[str], monkeypatch: pytest.MonkeyPatch, view: str
) -> None:
    assert window.session is not None
    window.select("HB_110", "lights.rim.colour")
    row, column = window.session.table.row("lights.rim.colour"), window.session.table.column("HB_110")
    assert row is not None and column is not None
    holder, _, name = view.rpartition(".")
    monkeypatch.setattr(getattr(window, holder) if holder else window, name, fails)
    counts = window.bar.count_label.text()
    answer_reason("asked for in dailies")
    press(qtbot, window, "intend")
    assert window.session.cases.state(row, column) is State.INTENDED
    assert STATES[opened(window).views.model.state.standing.states[row, column]] is State.INTENDED
    assert (window.bar.count_label.text() != counts) == (view != "bar.show_counts")
    assert said and "made to fail" in said[0] and "the traceback is in" in said[0]
    assert "Marked as intended: 1 cell" in window.statusBar().currentMessage()


def test_a_finder_that_fails_keeps_no_count_back(
    qtbot: QtBot, window: MainWindow, said: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(board: Board) -> list[Finding]:
        raise AttributeError("made to fail")

    finders = [(name, broken if name == "unit-slip" else finder) for name, finder in registry.FINDERS]
    monkeypatch.setattr(registry, "FINDERS", finders)
    window.select("HB_110", "lights.rim.colour")
    counts = window.bar.count_label.text()
    answer_reason("asked for in dailies")
    press(qtbot, window, "intend")
    assert window.bar.count_label.text() != counts
    assert "The finding 'unit-slip' could not be drawn" in window.notice.text()
    assert said == []


def test_what_failed_stands_in_the_bar_with_the_file(
    qtbot: QtBot, window: MainWindow, said: list[str], log: Path
) -> None:
    QTimer.singleShot(0, fails)
    qtbot.waitUntil(lambda: bool(said))
    (kept,) = log.iterdir()
    assert said == [
        f"Something in the window failed: RuntimeError: made to fail (the traceback is in {kept})."
    ]
    assert window.notice.text() == said[0]
    assert window.session is not None
    window.notice.show_session(window.session)
    window.notice.show_trouble("the folder is gone")
    assert window.notice.text() == said[0]
    assert "the folder is gone" in window.notice.toolTip()
    window.notice.show_mishap("another")
    window.notice.show_mishap(said[0])
    assert window.notice.toolTip().splitlines() == [said[0], "another", "the folder is gone"]


def test_errors_of_threads_and_of_what_is_let_go_are_heard(
    qtbot: QtBot, window: MainWindow, said: list[str]
) -> None:
    class LetGo:
        def __del__(self) -> None:
            fails()

    thread = threading.Thread(target=fails)
    thread.start()
    thread.join()
    qtbot.waitUntil(lambda: len(said) == 1)
    LetGo()
    gc.collect()
    qtbot.waitUntil(lambda: len(said) == 2)


def test_a_widget_that_fails_to_paint_takes_nothing_down(
    qtbot: QtBot, window: MainWindow, said: list[str]
) -> None:
    class Broken(QWidget):
        def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
            painter = QPainter(self)
            painter.drawLine(0, 0, 5, 5)
            fails()

    broken = Broken(window)
    broken.resize(20, 20)
    broken.show()
    qtbot.waitUntil(lambda: bool(said))
    for _ in range(3):
        window.update()
        broken.update()
        qtbot.wait(30)
    window.select("HB_120", "lights.rim.colour")
    spot = opened(window).views.cell_name()
    assert spot is not None and spot[0] == "HB_120"


def test_ctrl_c_ends_the_program_and_is_no_mishap(qtbot: QtBot, window: MainWindow, said: list[str]) -> None:
    def stopped() -> None:
        raise KeyboardInterrupt

    in_the_end = QTimer()
    in_the_end.setSingleShot(True)
    in_the_end.timeout.connect(lambda: QApplication.exit(1))
    in_the_end.start(20000)
    QTimer.singleShot(0, stopped)
    status = QApplication.exec()
    in_the_end.stop()
    assert status == 130
    assert said == []


def test_the_folder_is_followed_after_an_error_of_the_watcher(
    qtbot: QtBot, window: MainWindow, harbour_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(live, "read_contents", fails)
    qtbot.waitUntil(lambda: "made to fail" in window.notice.toolTip())
    monkeypatch.setattr(live, "read_contents", read_contents)
    sheet = max((harbour_folder / "shots/HB_110").glob("*.yaml"))
    sheet.write_text(sheet.read_text("utf-8").replace("exposure: 1", "exposure: 3"), "utf-8")
    qtbot.waitUntil(lambda: bool(window.watching.changed))
    qtbot.waitUntil(lambda: "made to fail" not in window.notice.toolTip())


def test_a_sequence_whose_reading_fails_is_no_page_that_waits_for_ever(
    qtbot: QtBot, harbour_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("samelight.sequence.session.open_store", fails)
    made = MainWindow()
    qtbot.addWidget(made)
    made.show()
    with qtbot.waitSignal(made.loader.failed) as failed:
        made.open_folder(harbour_folder)
    assert failed.args is not None and "made to fail" in failed.args[0]
    made.close()
