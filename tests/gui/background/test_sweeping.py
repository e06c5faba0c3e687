"""Circles of garbage are let go of in the window's thread, and in no other."""

from __future__ import annotations

import gc
import threading
import weakref
from collections.abc import Callable, Iterator

import pytest
from pytestqt.qtbot import QtBot

from samelight.gui.background.sweeping import Sweeping, swept_in_this_thread
from samelight.sheets.garbage import set_aside, take_back


class Circle:
    """Refers to itself, and notes in which thread it was let go."""

    def __init__(self, gone: list[int]) -> None:
        self.me = self
        weakref.finalize(self, lambda: gone.append(threading.get_ident()))


def in_another_thread(work: Callable[[], object]) -> None:
    thread = threading.Thread(target=work)
    thread.start()
    thread.join()


@pytest.fixture
def unswept(sweeping: Sweeping) -> Iterator[None]:
    """Python searches by itself, as it does before the window is there."""
    gc.enable()
    yield
    gc.disable()


def test_tests_of_the_window_run_as_the_window_does(sweeping: Sweeping) -> None:
    assert not gc.isenabled()
    gone: list[int] = []
    Circle(gone)
    kept: list[list[int]] = [[] for _ in range(2 * gc.get_threshold()[0])]
    assert gone == []
    assert sweeping.look() is not None and kept
    assert gone == [threading.get_ident()]


def test_what_another_thread_leaves_is_let_go_of_here(qtbot: QtBot, unswept: None) -> None:
    gone: list[int] = []

    def work() -> None:
        Circle(gone)
        kept: list[list[int]] = [
            [] for _ in range(20 * gc.get_threshold()[0])
        ]  # enough for Python to search by itself
        assert kept

    with swept_in_this_thread() as sweeping:
        assert not gc.isenabled()
        in_another_thread(work)
        assert gone == []
        kept: list[list[int]] = [[] for _ in range(2 * gc.get_threshold()[0])]
        assert sweeping.look() is not None and kept
        assert gone == [threading.get_ident()]
        assert sweeping.look() is None, "there is little now"
    assert gc.isenabled()


def test_what_was_set_aside_is_not_searched_in_another_thread(qtbot: QtBot) -> None:
    gone: list[int] = []
    with swept_in_this_thread():
        Circle(gone)
        set_aside()
        in_another_thread(take_back)
        assert gone == [] and gc.get_freeze_count() == 0
        gc.collect()
    assert gone == [threading.get_ident()]
    set_aside()  # as the tests that were collected are
