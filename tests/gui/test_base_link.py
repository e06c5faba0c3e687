"""Another base for a whole film: the window goes on meanwhile, and what comes is what the folder holds by then."""

from __future__ import annotations

import threading
from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtWidgets import QMessageBox
from pytestqt.qtbot import QtBot

from gui_help import open_window
from samelight.bases import MASTER, Against, Base, Comparison, compare
from samelight.contents import Contents, Shelf
from samelight.gui import watching
from samelight.gui.main_window import MainWindow
from samelight.session import Session, open_session

BEFORE = Base(Against.BEFORE)


@pytest.fixture(autouse=True)
def everything_is_large(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(watching, "AT_ONCE", 0)


@pytest.fixture
def gate(monkeypatch: pytest.MonkeyPatch) -> threading.Event:
    """Comparing beside the window waits until this is set."""
    may_go = threading.Event()

    def slow(contents: Contents, base: Base = MASTER, shelf: Shelf | None = None) -> Comparison:
        may_go.wait(20)
        return compare(contents, base, shelf)

    monkeypatch.setattr(watching, "compare", slow)
    return may_go


def held(window: MainWindow) -> Callable[[], bool]:
    return lambda: window.watching.awaited is None


def session_of(window: MainWindow) -> Session:
    assert window.session is not None
    return window.session


def test_the_window_goes_on_until_all_shots_are_compared(
    qtbot: QtBot, harbour: Path, gate: threading.Event
) -> None:
    window = open_window(qtbot, harbour)
    session = session_of(window)
    window.base_box.setCurrentIndex(window.base_box.findText("the shot before"))
    window.base_box.activated.emit(window.base_box.currentIndex())
    assert session.base == MASTER and window.base_box.currentText() == "the shot before"
    assert "Comparing every shot with the shot before" in window.statusBar().currentMessage()
    window.select("HB_110", "lights.rim.colour")
    assert window.actions_by_name["intend"].isEnabled()
    gate.set()
    qtbot.waitUntil(held(window), timeout=20000)
    assert session.base == BEFORE and window.base_box.currentText() == "the shot before"
    assert not window.statusBar().currentMessage()
    assert not window.actions_by_name["intend"].isEnabled()
    assert window.model is not None and window.model.state.table is session.table
    window.close()


def test_of_several_bases_the_last_is_taken(qtbot: QtBot, harbour: Path, gate: threading.Event) -> None:
    window = open_window(qtbot, harbour)
    for base in (BEFORE, Base(Against.SHOT, shot="HB_060"), Base(Against.OLDER_MASTER, 2)):
        window.base_link.hold_against(base)
    gate.set()
    qtbot.waitUntil(held(window), timeout=20000)
    assert session_of(window).base == Base(Against.OLDER_MASTER, 2)
    window.close()


def test_back_to_the_master_nothing_is_compared_again(
    qtbot: QtBot, harbour: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    window = open_window(qtbot, harbour)
    table = session_of(window).table
    window.base_link.hold_against(BEFORE)
    qtbot.waitUntil(held(window), timeout=20000)
    monkeypatch.setattr(watching, "compare", lambda *_: pytest.fail("compared again"))
    window.base_link.hold_against(MASTER)
    qtbot.waitUntil(held(window), timeout=20000)
    assert session_of(window).table is table and session_of(window).decidable
    window.close()


def test_what_changed_meanwhile_is_in_it(qtbot: QtBot, harbour: Path, gate: threading.Event) -> None:
    window = open_window(qtbot, harbour)
    session = session_of(window)
    contents = session.contents
    window.base_link.hold_against(BEFORE)
    path = session.sheets["HB_120"].path
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("range: 350,", "range: 500,"), encoding="utf-8")
    qtbot.waitUntil(lambda: session.contents is not contents, timeout=20000)
    gate.set()
    qtbot.waitUntil(held(window), timeout=20000)
    anew = open_session(harbour)
    anew.hold_against(BEFORE)
    row, column = session.table.row("render.gi.range"), session.table.column("HB_120")
    assert row is not None and column is not None
    assert session.base == BEFORE
    assert session.table.entry(row, column) == anew.table.entry(row, column)
    window.close()


def test_a_base_that_is_not_there_is_refused(
    qtbot: QtBot, harbour: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    said: list[str] = []
    monkeypatch.setattr(QMessageBox, "warning", lambda *words: said.append(words[2]))
    window = open_window(qtbot, harbour)
    window.base_link.hold_against(Base(Against.OLDER_MASTER, 7))
    qtbot.waitUntil(held(window), timeout=20000)
    assert said == ["there is no readable master version 7"]
    assert session_of(window).base == MASTER and window.base_box.currentText() == "master v003"
    assert not window.statusBar().currentMessage()
    window.close()


def test_a_base_that_goes_gives_way_to_the_master(qtbot: QtBot, harbour: Path) -> None:
    window = open_window(qtbot, harbour)
    session = session_of(window)
    window.base_link.hold_against(Base(Against.OLDER_MASTER, 2))
    qtbot.waitUntil(held(window), timeout=20000)
    next((harbour / "master").glob("*v002*")).unlink()
    qtbot.waitUntil(lambda: session.base == MASTER, timeout=20000)
    assert window.base_box.currentText() == "master v003"
    window.close()
