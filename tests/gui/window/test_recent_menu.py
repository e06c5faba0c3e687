"""Opening what was opened last."""

from __future__ import annotations

import shutil
from pathlib import Path

from PySide6.QtWidgets import QMenu
from pytestqt.qtbot import QtBot

from gui_help import open_window
from known import being
from samelight.gui.widgets.commands import COMMANDS, window_keys
from samelight.gui.widgets.settings import Settings
from samelight.gui.window.main_window import MainWindow
from samelight.gui.window.recent_menu import RecentMenu, why_not


def test_the_last_one_is_first_and_is_opened(qtbot: QtBot, harbour_folder: Path, tmp_path: Path) -> None:
    other = tmp_path / "Quay & co"
    shutil.copytree(harbour_folder, other)
    open_window(qtbot, harbour_folder).close()
    window = open_window(qtbot, other)
    menu = window.recent
    menu.fill()
    actions = menu.actions()
    assert actions[0].text().startswith("&1  Quay && co    ") and actions[1].text().startswith(
        "&2  harbour    "
    )
    assert actions[1].toolTip() == str(harbour_folder.resolve())
    with qtbot.waitSignal(menu.chosen) as chosen:
        actions[1].trigger()
    assert chosen.args == [harbour_folder.resolve()]
    qtbot.waitUntil(lambda: window.session is not None and window.session.contents.folder == harbour_folder)
    window.close()


def test_what_is_not_there_is_greyed_out_and_says_why(qtbot: QtBot, tmp_path: Path) -> None:
    settings = Settings()
    (tmp_path / "empty").mkdir()
    for name in ("gone", "empty"):
        settings.opened(tmp_path / name)
    menu = RecentMenu(settings)
    qtbot.addWidget(menu)
    menu.fill()
    empty, gone = menu.actions()[:2]
    assert not empty.isEnabled() and empty.text().endswith("(no sequence.yaml in it)")
    assert not gone.isEnabled() and gone.toolTip() == f"{tmp_path / 'gone'}: the folder is not there"


def test_the_list_is_cleared(qtbot: QtBot, tmp_path: Path) -> None:
    settings = Settings()
    settings.opened(tmp_path)
    menu = RecentMenu(settings)
    qtbot.addWidget(menu)
    menu.fill()
    menu.actions()[-1].trigger()
    assert settings.recent() == []
    menu.fill()
    assert [action.text() for action in menu.actions() if action.text()] == [
        "Nothing yet",
        "&Clear this list",
    ]
    assert not any(action.isEnabled() for action in menu.actions() if action.text())


def test_a_folder_that_can_be_opened_has_nothing_wrong(harbour_folder: Path) -> None:
    assert why_not(harbour_folder) == ""


def test_the_menu_stands_in_the_menu_of_files(window: MainWindow) -> None:
    files = being(QMenu, window.menuBar().actions()[0].menu())
    assert window.recent.menuAction() in files.actions()


def test_every_command_does_something_and_no_key_is_given_twice(window: MainWindow) -> None:
    assert set(window.commands) == {command.name for command in COMMANDS}
    keys = [command.keys for command in COMMANDS if command.keys]
    assert len(keys) == len(set(keys))
    listed = window_keys()
    assert ("M", "Only my shots") in listed["View"] and ("V", "Save this view") in listed["View"]
    assert ("Down, Up", "Take an earlier reason") in listed["In the box for a reason"]
    assert sum(command.keys in dict(rows) for command in COMMANDS for rows in listed.values()) >= len(keys)
    for menu in {command.menu for command in COMMANDS}:
        letters = [
            c.title[c.title.index("&") + 1].lower() for c in COMMANDS if c.menu == menu and "&" in c.title
        ]
        assert len(letters) == len(set(letters)), menu
