"""The line over the grid that says what is not known."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from colour_help import contrast
from gui_help import open_window, opened, rgb
from known import there
from samelight.gui.widgets.alarm import Alarm
from samelight.gui.window.main_window import MainWindow
from samelight.sheets.errors import Fault


def damage(folder: Path, count: int) -> None:
    """Put so many decisions there that were cut off."""
    there = folder / "decisions"
    there.mkdir(exist_ok=True)
    for number in range(count):
        (there / f"2026-01-01T000000.000000Z-{number:012x}.yaml").write_text("verb: int", encoding="utf-8")


@pytest.mark.parametrize("count", [1, 3])
def test_how_many_decisions_cannot_be_read_is_said(qtbot: QtBot, harbour_folder: Path, count: int) -> None:
    damage(harbour_folder, count)
    window = open_window(qtbot, harbour_folder)
    alarm = opened(window).work.alarm
    assert alarm.isVisible()
    assert alarm.text() == f"{count} decision{'s' if count > 1 else ''} cannot be read"
    assert (
        alarm.mapTo(window, alarm.rect().topLeft()).y()
        < there(opened(window).views.grid)
        .mapTo(window, there(opened(window).views.grid).rect().topLeft())
        .y()
    )
    window.close()


def test_nothing_is_said_while_all_is_known(window: MainWindow) -> None:
    assert not opened(window).work.alarm.isVisible() and opened(window).work.alarm.text() == ""


def test_decisions_that_are_damaged_while_the_window_is_open(
    qtbot: QtBot, window: MainWindow, harbour_folder: Path
) -> None:
    damage(harbour_folder, 2)
    qtbot.waitUntil(opened(window).work.alarm.isVisible)
    assert opened(window).work.alarm.text() == "2 decisions cannot be read"
    for path in (harbour_folder / "decisions").iterdir():
        path.unlink()
    qtbot.waitUntil(lambda: not opened(window).work.alarm.isVisible())


def test_a_share_that_goes_away_and_comes_back(
    qtbot: QtBot, window: MainWindow, harbour_folder: Path
) -> None:
    away = harbour_folder.with_name("away")
    harbour_folder.rename(away)
    qtbot.waitUntil(opened(window).work.alarm.isVisible)
    assert str(harbour_folder) in opened(window).work.alarm.text()
    away.rename(harbour_folder)
    qtbot.waitUntil(lambda: not opened(window).work.alarm.isVisible())


def test_another_sequence_is_not_taken_for_the_one_that_is_gone(qtbot: QtBot, window: MainWindow) -> None:
    window.watching.stop()
    window.watching.troubled.emit("the share is gone")
    assert opened(window).work.alarm.isVisible()
    assert window.session is not None
    window.show_session(window.session)
    assert not opened(window).work.alarm.isVisible()


def test_it_stands_out_and_gives_way(qtbot: QtBot) -> None:
    alarm = Alarm()
    qtbot.addWidget(alarm)
    alarm.show_unread([Fault("harbour/decisions/1.yaml", "", "a decision", "nothing")])
    alarm.show_trouble("the share\nis gone")
    alarm.resize(300, alarm.sizeHint().height())
    QApplication.processEvents()
    picture = alarm.grab().toImage()
    ground = rgb(picture.pixelColor(1, 1))
    inks = (rgb(picture.pixelColor(x, y)) for x in range(8, 300) for y in range(3, picture.height() - 3))
    assert max(contrast(ink, ground) for ink in inks) >= 7
    assert contrast(ground, (46, 46, 46)) >= 3  # its surround
    assert "…" in alarm.shown_text() and alarm.text() in alarm.toolTip()
    assert alarm.text().startswith("Not up to date: the share is gone")
