"""What is done beside the window: it ends cleanly whatever happens in it, and says for how long it is busy."""

from __future__ import annotations

import contextlib
import threading
import weakref
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

import pytest
import shiboken6
from PySide6.QtCore import QObject
from PySide6.QtWidgets import QApplication, QMainWindow
from pytestqt.qtbot import QtBot

from samelight.gui.background import background as background_module
from samelight.gui.background.background import Background, wait_for_all
from samelight.gui.inspector.inspector import Inspector
from samelight.gui.screenshots.backstage import readers_of
from samelight.gui.state.rows import GridState, Line
from samelight.gui.window.main_window import MainWindow
from samelight.sequence.contents import Contents
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
    background, told, sentences = Background(), list[int](), list[str]()
    background.run("one", fails_with(error), bool, sentences.append)
    qtbot.waitUntil(lambda: bool(sentences))
    (said,) = sentences
    if not isinstance(error, OSError | SamelightError):
        said, _, kept = said.partition(" (the traceback is in ")
        assert "Traceback" in Path(kept.removesuffix(")")).read_text(encoding="utf-8")
    assert said == why
    assert not background.busy
    background.run("two", lambda: 7, told.append)  # and the next is done as if nothing had been
    qtbot.waitUntil(lambda: bool(told))
    assert told == [7] and len(sentences) == 1
    assert unheard == []


def test_an_error_that_nobody_takes_is_raised_in_the_thread_of_the_window(qtbot: QtBot) -> None:
    background, error = Background(), ValueError("a mistake")
    with qtbot.captureExceptions() as raised:
        background.run("one", fails_with(error))
        qtbot.waitUntil(lambda: bool(raised))
    assert raised[0][1] is error


def test_it_is_busy_until_what_came_of_it_was_told(qtbot: QtBot) -> None:
    background, told = Background(), list[object]()
    assert not background.busy
    background.run("one", lambda: 1, told.append)
    assert background.wait()
    assert (background.busy, told) == (True, [])  # it is done, and nobody knows yet
    qtbot.waitUntil(lambda: not background.busy)
    assert told == [1]


def held(background: Background, told: Callable[[object], object] = bool) -> threading.Event:
    """What lets it go on: it has begun something, and is held up in it until it is let go or asked to end."""
    begun, go_on = threading.Event(), threading.Event()

    def work() -> object:
        begun.set()
        return go_on.wait(240)

    background.run("held up", work, told, stop=go_on.set)
    assert begun.wait(240)
    return go_on


def test_of_one_name_only_the_last_is_told_and_what_waited_is_not_begun(qtbot: QtBot) -> None:
    background = Background()
    begun, told = list[int](), list[object]()
    go_on = held(background)

    def begin(number: int) -> int:
        begun.append(number)
        return number

    for number in (1, 2, 3):
        background.run("one", partial(begin, number), told.append)
    go_on.set()
    qtbot.waitUntil(lambda: not background.busy)
    assert begun == told == [3]


def test_what_waits_is_begun_by_its_rank(qtbot: QtBot) -> None:
    background, begun = Background(), list[int]()
    go_on = held(background)
    for rank in (2, 0, 1):
        background.run(rank, partial(begun.append, rank), rank=rank)
    go_on.set()
    qtbot.waitUntil(lambda: not background.busy)
    assert begun == [0, 1, 2]


def test_what_was_cancelled_is_asked_to_end_and_tells_nothing(qtbot: QtBot) -> None:
    background, told = Background(), list[object]()
    go_on = held(background, told.append)
    background.cancel("held up")
    assert go_on.is_set() and not background.busy and "held up" not in background
    assert background.wait()
    QApplication.processEvents()
    assert told == []


def test_only_as_many_are_done_at_once_as_there_are_threads(qtbot: QtBot) -> None:
    background = Background(threads=2)
    meet = threading.Barrier(2, timeout=240)
    at_once, most, lock = list[int](), list[int](), threading.Lock()

    def work(number: int) -> None:
        with lock:
            at_once.append(number)
            most.append(len(at_once))
        meet.wait()
        with lock:
            at_once.remove(number)

    for number in range(6):
        background.run(number, partial(work, number))
    qtbot.waitUntil(lambda: not background.busy)
    assert max(most) == 2


def test_what_comes_after_its_owner_is_gone_is_told_to_nobody(qtbot: QtBot) -> None:
    told, gone = list[object](), list[object]()
    owner = QObject()
    background = Background(owner)
    background.destroyed.connect(lambda: gone.append(True))
    go_on = held(background)
    background.run("one", lambda: 1, told.append)
    del background
    owner.deleteLater()
    del owner
    qtbot.waitUntil(lambda: bool(gone))
    go_on.set()
    wait_for_all()
    QApplication.processEvents()
    assert told == []


class Held:
    """Notes in which thread it was let go of."""

    def __init__(self, gone: list[int]) -> None:
        weakref.finalize(self, lambda: gone.append(threading.get_ident()))

    def take(self, found: object) -> None:
        """What a job tells."""


@pytest.fixture
def slow_threads(monkeypatch: pytest.MonkeyPatch) -> threading.Event:
    """Threads beside the window that have told of a job stand still until this is set."""
    go_on = threading.Event()

    class Slow(contextlib.suppress):
        def __exit__(self, *raised: Any) -> bool:
            found = super().__exit__(*raised)
            if threading.current_thread().name == "background":
                go_on.wait(240)
            return found

    monkeypatch.setattr(contextlib, "suppress", Slow)
    return go_on


@pytest.mark.parametrize("left", ["told", "cancelled", "abandoned", "failed"])
def test_what_a_job_holds_is_let_go_of_in_the_thread_of_the_window(
    qtbot: QtBot, slow_threads: threading.Event, left: str
) -> None:
    gone, owner = list[int](), QObject()
    background, holder = Background(owner), Held(gone)
    begun, go_on = threading.Event(), threading.Event()

    def work(kept: Held) -> Held:
        begun.set()
        assert go_on.wait(240)
        if left == "failed":
            raise SamelightError("as it happens")
        return kept

    background.run("one", partial(work, holder), holder.take, holder.take)
    del holder
    assert begun.wait(240)
    if left == "cancelled":
        background.cancel("one")
    elif left == "abandoned":
        shiboken6.delete(owner)
        del background
    go_on.set()
    qtbot.waitUntil(lambda: bool(gone))
    assert gone == [threading.get_ident()]
    slow_threads.set()


def test_what_others_wait_for_has_the_threads_that_are_there(
    qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(background_module, "LINGER", 600.0)
    begun: list[threading.Thread] = []
    start = threading.Thread.start

    def noted(thread: threading.Thread) -> None:
        begun.append(thread)
        start(thread)

    monkeypatch.setattr(threading.Thread, "start", noted)
    background = Background(threads=2)
    for number in range(20):
        background.run(number, lambda: None)
        qtbot.waitUntil(lambda: not background.busy)
    assert len(begun) == 1
    assert background.wait()
    qtbot.waitUntil(lambda: not any(thread.is_alive() for thread in begun))  # the last of them does not stay


def test_closing_the_window_waits_for_all_and_tells_no_more(qtbot: QtBot) -> None:
    window, told = MainWindow(), list[object]()
    qtbot.addWidget(window)
    window.show()
    one, other = Background(window.pages), Background(window.notice)
    held(one, told.append)
    begun, stop, ended = threading.Event(), threading.Event(), list[bool]()

    def work() -> None:
        begun.set()
        ended.append(stop.wait(240))

    other.run("one", work, told.append, stop=stop.set)
    assert begun.wait(240)
    one.run("waits", lambda: 1, told.append)
    window.close()
    assert ended == [True]
    assert not one.busy and not other.busy and not window.isVisible()
    QApplication.processEvents()
    assert told == []


def test_a_picture_of_a_window_waits_until_older_versions_are_read(
    qtbot: QtBot, harbour_session: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    go_on, read = threading.Event(), Contents.read_sheet

    def slow(contents: Contents, path: Path, shot: str, version: int) -> Sheet:
        go_on.wait(240)
        return read(contents, path, shot, version)

    monkeypatch.setattr(Contents, "read_sheet", slow)
    window, inspector = QMainWindow(), Inspector()
    qtbot.addWidget(window)
    window.setCentralWidget(inspector)
    window.show()
    assert not readers_of(window)
    state = GridState(harbour_session)
    row, column = harbour_session.table.row("lights.sun.direction"), harbour_session.table.column("HB_060")
    assert row is not None and column is not None
    inspector.show_cell(state, Line(state.groups.of_row[row], row), column)
    assert readers_of(window)
    go_on.set()
    qtbot.waitUntil(lambda: not readers_of(window))
    assert "v001: az 131.0°" in inspector.page.toPlainText()
