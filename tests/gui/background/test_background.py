"""What is done beside the window: it ends cleanly whatever happens in it, and says for how long it is busy."""

from __future__ import annotations

import threading
from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtWidgets import QMainWindow
from pytestqt.qtbot import QtBot

from samelight.gui.background.background import Aside
from samelight.gui.inspector.inspector import Inspector
from samelight.gui.screenshots.backstage import _reads
from samelight.gui.state.rows import GridState, Line
from samelight.sequence.contents import Contents, Shelf
from samelight.sequence.session import Session
from samelight.sheets.errors import SamelightError
from samelight.sheets.sheet import Sheet


class _OutOfTheOrdinary(BaseException):
    """What no handler of ordinary errors takes."""


def fails_with(error: BaseException) -> Callable[[], object]:
    def work() -> object:
        raise error

    return work


@pytest.mark.parametrize(
    ("error", "why"),
    [
        (SamelightError("HB_060.v001.yaml is no sheet"), "HB_060.v001.yaml is no sheet"),
        (OSError("no such share"), "no such share"),
        (OSError(), "OSError"),
        (ValueError("a mistake"), "ValueError: a mistake"),
        (KeyError(), "KeyError"),
        (SystemExit(3), "SystemExit: 3"),
        (_OutOfTheOrdinary(), "_OutOfTheOrdinary"),
    ],
)
def test_whatever_goes_wrong_is_told_and_ends_no_thread_with_a_traceback(
    qtbot: QtBot, monkeypatch: pytest.MonkeyPatch, error: BaseException, why: str
) -> None:
    unheard: list[object] = []
    monkeypatch.setattr(threading, "excepthook", unheard.append)
    aside = Aside()
    with qtbot.waitSignal(aside.done, timeout=10000) as done:
        aside.ask("one", fails_with(error))
    assert done.args is not None and done.args[:2] == ["one", None]
    told = done.args[2]
    if not isinstance(error, OSError | SamelightError):
        told, _, kept = told.partition(" (the traceback is in ")
        assert "Traceback" in Path(kept.removesuffix(")")).read_text(encoding="utf-8")
    assert told == why
    qtbot.waitUntil(lambda: not aside.busy, timeout=10000)
    with qtbot.waitSignal(aside.done, timeout=10000) as done:  # and the next is done as if nothing had been
        aside.ask("two", lambda: 7)
    assert done.args == ["two", 7, ""]
    assert unheard == []


def test_it_is_busy_until_what_came_of_it_was_told(qtbot: QtBot) -> None:
    aside, go_on = Aside(), threading.Event()
    told: list[tuple[object, bool]] = []
    aside.done.connect(lambda name, *_: told.append((name, aside.busy)))
    assert not aside.busy
    aside.ask("one", lambda: go_on.wait(10))
    assert aside.busy
    go_on.set()
    for thread in threading.enumerate():
        if thread.name == "aside":
            thread.join(10)
    assert aside.busy and told == []  # it is done, and nobody knows yet
    qtbot.waitUntil(lambda: bool(told), timeout=10000)
    qtbot.waitUntil(lambda: not aside.busy, timeout=10000)
    assert told == [("one", True)]


def test_of_what_waits_only_the_last_is_done(qtbot: QtBot) -> None:
    aside, go_on = Aside(), threading.Event()
    told: list[object] = []
    aside.done.connect(lambda name, *_: told.append(name))
    aside.ask("one", lambda: go_on.wait(10))
    aside.ask("two", lambda: None)
    aside.ask("three", lambda: None)
    go_on.set()
    qtbot.waitUntil(lambda: not aside.busy, timeout=10000)
    assert told[-1] == "three" and "two" not in told


def test_a_picture_of_a_window_waits_until_older_versions_are_read(
    qtbot: QtBot, harbour_session: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    go_on, read = threading.Event(), Contents.read_sheet

    def slow(contents: Contents, shelf: Shelf, path: Path, shot: str, version: int) -> Sheet:
        go_on.wait(10)
        return read(contents, shelf, path, shot, version)

    monkeypatch.setattr(Contents, "read_sheet", slow)
    window, inspector = QMainWindow(), Inspector()
    qtbot.addWidget(window)
    window.setCentralWidget(inspector)
    window.show()
    assert not _reads(window)
    state = GridState(harbour_session)
    row, column = harbour_session.table.row("lights.sun.direction"), harbour_session.table.column("HB_060")
    assert row is not None and column is not None
    inspector.show_cell(state, Line(state.group_of(row), row), column)
    assert _reads(window)
    go_on.set()
    qtbot.waitUntil(lambda: not _reads(window), timeout=10000)
    assert "v001: az 131.0°" in inspector.page.toPlainText()
