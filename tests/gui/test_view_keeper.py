"""Saved views in the window: taken, listed in the menu, shown, deleted."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QInputDialog
from pytestqt.qtbot import QtBot

from gui_help import press
from samelight.gui.main_window import MainWindow
from samelight.gui.rows import Order, Show
from samelight.gui.view_keeper import ViewKeeper
from samelight.gui.views_dialog import EVERYBODY, MINE, ViewsDialog
from samelight.saved_views import Shown, View, list_views, own_folder, save_view, shared_folder


@pytest.fixture(autouse=True)
def no_views_of_mine() -> Iterator[None]:
    shutil.rmtree(own_folder(), ignore_errors=True)
    yield
    shutil.rmtree(own_folder(), ignore_errors=True)


def texts(keeper: ViewKeeper) -> list[str]:
    keeper.fill_menu()
    return [action.text() for action in keeper.menu.actions()]


def choose(keeper: ViewKeeper, name: str) -> None:
    keeper.fill_menu()
    next(action for action in keeper.menu.actions() if action.text() == name).trigger()
    QApplication.processEvents()


def in_dialog(act: Callable[[ViewsDialog], None]) -> None:
    """Do something in the dialog for views as soon as it is there."""

    def there() -> None:
        dialog = QApplication.activeModalWidget()
        if isinstance(dialog, ViewsDialog):
            act(dialog)
        else:
            QTimer.singleShot(20, there)

    QTimer.singleShot(0, there)


def arrange(window: MainWindow, qtbot: QtBot) -> View:
    """Make a view that states everything, in the window."""
    assert window.grid is not None and window.model is not None
    window.memory.keep("who", "Ines")
    window.select("HB_050", "lights.rim.colour")
    press(qtbot, window, "together")
    press(qtbot, window, "pin")
    window.select("HB_060", "render.gi.range")
    press(qtbot, window, "hide_rows")
    window.select("HB_070", "lights.sun.direction")
    press(qtbot, window, "hide_shots")
    press(qtbot, window, "only_mine")
    window.show_box.setCurrentText(str(Show.DRIFTING))
    window.filter_edit.setText("lights")
    window.shown_box.setCurrentText(str(Shown.BOTH))
    window.grid.order_box.setCurrentText(str(Order.WORST))
    window.grid.set_column_width(48)
    assert window.work.views is not None
    return window.view_keeper.take(window.work.views)


def reset(window: MainWindow, qtbot: QtBot) -> None:
    save_view(own_folder(), "Start", View(column_width=64.0))
    choose(window.view_keeper, "Start")
    assert window.work.views is not None
    assert window.view_keeper.take(window.work.views) == View(column_width=64.0)


def test_a_view_that_was_saved_shows_the_same_again(window: MainWindow, qtbot: QtBot) -> None:
    assert window.model is not None and window.grid is not None and window.work.views is not None
    view = arrange(window, qtbot)
    assert view == View(
        rows=Show.DRIFTING,
        filter="lights",
        order=Order.WORST,
        cells=Shown.BOTH,
        only_my_shots=True,
        column_width=48.0,
        expanded=("lights.rim", "lights.sun", "render.gi"),
        pinned=("lights.rim.colour",),
        hidden_rows=("render.gi.range",),
        hidden_shots=("HB_070",),
        together=("lights.rim",),
    )
    lines, columns = list(window.model.state.lines), list(window.model.state.columns)

    def save(dialog: ViewsDialog) -> None:
        QTest.keyClicks(dialog.name, "Rims")
        dialog.places[EVERYBODY].setChecked(True)
        QTest.keyClick(dialog.name, Qt.Key.Key_Return)

    in_dialog(save)
    press(qtbot, window, "save_view")
    assert window.statusBar().currentMessage() == "Saved the view Rims"
    assert window.session is not None
    (saved,) = list_views(shared_folder(window.session.folder)).saved
    assert (saved.name, saved.view) == ("Rims", view)
    reset(window, qtbot)
    assert not window.actions_by_name["only_mine"].isChecked()
    choose(window.view_keeper, "Rims")
    assert window.view_keeper.take(window.work.views) == view
    assert (window.model.state.lines, window.model.state.columns) == (lines, columns)
    assert window.show_box.currentText() == str(Show.DRIFTING) and window.filter_edit.text() == "lights"
    assert window.actions_by_name["only_mine"].isChecked()
    assert window.statusBar().currentMessage() == "View Rims"


def test_the_menu_lists_those_for_everybody_and_mine(window: MainWindow) -> None:
    assert window.session is not None
    assert texts(window.view_keeper) == ["For everybody", "none yet", "For me", "none yet"]
    save_view(shared_folder(window.session.folder), "Sun & sky", View())
    save_view(own_folder(), "Night", View())
    assert texts(window.view_keeper) == ["For everybody", "Sun && sky", "For me", "Night"]


def test_the_menu_stands_in_the_window(window: MainWindow) -> None:
    view_menu = next(action for action in window.menuBar().actions() if action.text() == "&View")
    listed = view_menu.menu()
    assert listed is not None
    assert window.view_keeper.menu.menuAction() in listed.actions()


def test_a_bad_file_is_skipped_and_told(window: MainWindow) -> None:
    assert window.session is not None
    folder = shared_folder(window.session.folder)
    folder.mkdir()
    (folder / "Odd.yaml").write_text("samelight_view: 1\nrwos: everything\n", encoding="utf-8")
    save_view(folder, "Good", View())
    assert texts(window.view_keeper)[:3] == ["For everybody", "Good", "Skipped: Odd.yaml"]
    choose(window.view_keeper, "Skipped: Odd.yaml")
    assert "Odd.yaml:2:1" in window.statusBar().currentMessage()
    assert "did you mean rows" in window.statusBar().currentMessage()


def test_what_the_sequence_does_not_have_is_ignored_and_told(window: MainWindow) -> None:
    assert window.work.views is not None
    view = View(
        expanded=("lights.sun", "lights.moon"),
        pinned=("lights.moon.level",),
        hidden_shots=("HB_020", "ZZ_010"),
    )
    save_view(own_folder(), "Moon", view)
    choose(window.view_keeper, "Moon")
    state = window.work.views.state
    assert state.expanded == {"lights.sun"} and state.pinned == [] and state.hidden_shots == {"HB_020"}
    said = window.statusBar().currentMessage()
    assert said.startswith(
        "View Moon. It names 3 rows or shots not here: lights.moon, lights.moon.level, ZZ_010"
    )


def test_only_my_shots_of_a_view_asks_for_them(window: MainWindow, monkeypatch: pytest.MonkeyPatch) -> None:
    assert window.work.views is not None
    window.memory.keep("who", "ada")
    monkeypatch.setattr(QInputDialog, "getText", lambda *_: ("HB_010-HB_030", True))
    save_view(own_folder(), "Mine", View(only_my_shots=True))
    choose(window.view_keeper, "Mine")
    assert window.work.views.state.mine == {"HB_010", "HB_020", "HB_030"}


def test_the_dialog_replaces_deletes_and_refuses(qtbot: QtBot, tmp_path: Path) -> None:
    folders = {EVERYBODY: tmp_path / "all", MINE: tmp_path / "me"}
    save_view(folders[EVERYBODY], "Sun", View(filter="sun"))
    dialog = ViewsDialog(View(filter="rim"), folders)
    qtbot.addWidget(dialog)
    assert not dialog.save_button.isEnabled() and not dialog.delete_button.isEnabled()
    dialog.name.setText("a/b")
    dialog.save()
    assert dialog.said.text().startswith("Not saved: a view's name is a file's")
    dialog.list.setCurrentRow(0)
    assert (dialog.name.text(), dialog.place) == ("Sun", EVERYBODY)
    assert dialog.save_button.text() == "&Replace"
    dialog.places[MINE].setChecked(True)
    assert dialog.save_button.text() == "&Save"
    dialog.places[EVERYBODY].setChecked(True)
    dialog.save()
    assert list_views(folders[EVERYBODY]).saved[0].view.filter == "rim"
    again = ViewsDialog(View(), folders)
    qtbot.addWidget(again)
    again.list.setCurrentRow(0)
    again.list.setFocus()
    QTest.keyClick(again.list, Qt.Key.Key_Delete)
    assert list_views(folders[EVERYBODY]).saved == () and again.list.count() == 0


def test_a_view_that_cannot_be_written_is_told_and_the_name_stays(qtbot: QtBot, tmp_path: Path) -> None:
    (tmp_path / "all").write_text("in the way", encoding="utf-8")
    dialog = ViewsDialog(View(), {EVERYBODY: tmp_path / "all", MINE: tmp_path / "me"})
    qtbot.addWidget(dialog)
    dialog.name.setText("Sun")
    dialog.places[EVERYBODY].setChecked(True)
    dialog.save()
    assert "could not be written" in dialog.said.text() and dialog.name.text() == "Sun"
    assert dialog.result() != ViewsDialog.DialogCode.Accepted


def test_a_view_is_chosen_in_the_dialog_with_the_keys(window: MainWindow, qtbot: QtBot) -> None:
    save_view(own_folder(), "Rims", View(filter="rim"))

    def pick(dialog: ViewsDialog) -> None:
        dialog.list.setFocus()
        QTest.keyClick(dialog.list, Qt.Key.Key_Down)
        QTest.keyClick(dialog.list, Qt.Key.Key_Return)

    in_dialog(pick)
    press(qtbot, window, "save_view")
    assert window.filter_edit.text() == "rim"
