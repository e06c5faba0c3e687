"""Anything at all is done in the window while others change the folder: nothing fails, and Qt warns of nothing."""

from __future__ import annotations

from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from gui_help import open_window
from gui_monkey import Monkey

EVENTS = 100


@pytest.mark.parametrize("seed", range(3))
def test_whatever_is_done_nothing_fails(qtbot: QtBot, harbour_folder: Path, seed: int) -> None:
    window = open_window(qtbot, harbour_folder)
    monkey = Monkey(window, harbour_folder, seed)
    with qtbot.captureExceptions() as failed:
        monkey.run(EVENTS)
        window.close()
    assert failed == [], monkey.done[-10:]
    assert len(monkey.done) == EVENTS
