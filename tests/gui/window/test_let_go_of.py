"""What was open is let go of: by reading the sequence again, and by closing the window."""

from __future__ import annotations

import gc
import os
import sys
from functools import partial
from pathlib import Path
from weakref import ref

import pytest
from PySide6.QtCore import QEvent
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from gui_help import open_window
from samelight.drift.table import Table
from samelight.gui.window.main_window import MainWindow
from samelight.sequence.session import Session

TIMES = 3


def held() -> tuple[int, int]:
    """How many threads and open files the process has."""
    return len(list(Path("/proc/self/task").iterdir())), len(os.listdir("/proc/self/fd"))  # noqa: PTH208 - names alone


def swept() -> None:
    QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete.value)
    gc.collect()


def is_read_again(window: MainWindow, before: Session | None) -> bool:
    return window.session is not before and not window.loader.busy


@pytest.mark.skipif(sys.platform != "linux", reason="only there a process can count what it holds so")
def test_reading_again_and_closing_leave_nothing_behind(qtbot: QtBot, harbour_folder: Path) -> None:
    open_window(qtbot, harbour_folder).close()  # what Qt takes once for good
    swept()
    threads, files = held()
    window = open_window(qtbot, harbour_folder)
    tables: list[ref[Table]] = []
    for _ in range(TIMES):
        before = window.session
        window.run("reload")
        qtbot.waitUntil(partial(is_read_again, window, before))
        assert window.session is not None
        tables.append(ref(window.session.table))
    del before

    def all_but_the_last_are_gone() -> bool:
        swept()
        return [table() is not None for table in tables] == [False] * (TIMES - 1) + [True]

    qtbot.waitUntil(all_but_the_last_are_gone)
    window.close()

    def are_back() -> bool:
        swept()
        return held()[0] <= threads and held()[1] <= files

    qtbot.waitUntil(are_back)


def test_what_was_open_goes_without_a_search(
    qtbot: QtBot, harbour_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A film is set aside while it is read, and what was open before with it: no search finds what is in a circle then."""
    window = open_window(qtbot, harbour_folder)
    for name in ("sky", "cloud", "plan", "inspector"):  # each was seen once, and stands behind the last
        window.panels.docks[name].raise_()
        QApplication.processEvents()
    assert window.panels.sky.sky is not None and window.panels.sky.visibleRegion().isEmpty()
    monkeypatch.setattr(gc, "collect", lambda generation=2: 0)
    tables: list[ref[Table]] = []
    for _ in range(TIMES):
        before = window.session
        assert before is not None
        tables.append(ref(before.table))
        window.run("reload")
        qtbot.waitUntil(partial(is_read_again, window, before))
        del before

    def are_gone() -> bool:
        QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete.value)
        return not any(table() for table in tables)

    qtbot.waitUntil(are_gone)
