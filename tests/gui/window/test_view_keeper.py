"""Saved views in the window: taken, listed in the menu, shown, deleted."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt, QTimer, SignalInstance
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QInputDialog, QMenu, QMessageBox
from pytestqt.qtbot import QtBot

from gui_help import opened, press
from known import being, there
from samelight.gui.dialogs.views_dialog import EVERYBODY, MINE, ViewsDialog
from samelight.gui.state.rows import Order, Show
from samelight.gui.window.main_window import MainWindow
from samelight.gui.window.view_keeper import ViewKeeper
from samelight.sequence.saved_views import (
    LONGEST_FILTER,
    Shown,
    View,
    ViewFolder,
    list_views,
    own_folder,
    save_view,
    shared_folder,
)


@pytest.fixture(autouse=True)
def no_views_of_mine() -> Iterator[None]:
    shutil.rmtree(own_folder(), ignore_errors=True)
    yield
    shutil.rmtree(own_folder(), ignore_errors=True)


@pytest.fixture
def window(standing_window: MainWindow) -> MainWindow:
    """What they list is put back."""
    return standing_window


def texts(keeper: ViewKeeper) -> list[str]:
    keeper.fill_menu()
    return [action.text() for action in keeper.menu.actions()]


def count_of(signal: SignalInstance) -> list[None]:
    """Grows by one each time the signal comes."""
    seen: list[None] = []
    signal.connect(lambda: seen.append(None))
    return seen


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
    window.settings.keep("who", "Ines")
    window.select("HB_050", "lights.rim.colour")
    press(qtbot, window, "together")
    press(qtbot, window, "pin")
    window.select("HB_060", "render.gi.range")
    press(qtbot, window, "hide_rows")
    window.select("HB_070", "lights.sun.direction")
    press(qtbot, window, "hide_shots")
    press(qtbot, window, "only_mine")
    window.bar.show_box.setCurrentText(str(Show.DRIFTING))
    window.bar.filter_edit.setText("lights")
    window.bar.shown_box.setCurrentText(str(Shown.BOTH))
    opened(window).views.grid.order_box.setCurrentText(str(Order.WORST))
    opened(window).views.grid.widths.set_width(48)
    return opened(window).view_keeper.take(opened(window).work.views)


def reset(window: MainWindow, qtbot: QtBot) -> None:
    save_view(own_folder(), "Start", View(column_width=64.0))
    choose(opened(window).view_keeper, "Start")
    assert opened(window).view_keeper.take(opened(window).work.views) == View(column_width=64.0)


def test_a_view_that_was_saved_shows_the_same_again(window: MainWindow, qtbot: QtBot) -> None:
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
    lines, columns = (
        list(opened(window).views.model.state.listing.lines),
        list(opened(window).views.model.state.listing.columns),
    )

    def save(dialog: ViewsDialog) -> None:
        QTest.keyClicks(dialog.name, "Rims")
        dialog.places[EVERYBODY].setChecked(True)
        QTest.keyClick(dialog.name, Qt.Key.Key_Return)

    in_dialog(save)
    press(qtbot, window, "save_view")
    assert window.statusBar().currentMessage() == "Saved the view Rims"
    assert window.session is not None
    (saved,) = list_views(shared_folder(window.session.contents.folder)).saved
    assert (saved.name, saved.view) == ("Rims", view)
    reset(window, qtbot)
    assert not window.actions_by_name["only_mine"].isChecked()
    choose(opened(window).view_keeper, "Rims")
    assert opened(window).view_keeper.take(opened(window).work.views) == view
    assert (
        opened(window).views.model.state.listing.lines,
        opened(window).views.model.state.listing.columns,
    ) == (lines, columns)
    assert (
        window.bar.show_box.currentText() == str(Show.DRIFTING) and window.bar.filter_edit.text() == "lights"
    )
    assert window.actions_by_name["only_mine"].isChecked()
    assert window.statusBar().currentMessage() == "View Rims"


def test_the_menu_lists_those_for_everybody_and_mine(window: MainWindow) -> None:
    assert window.session is not None
    assert texts(opened(window).view_keeper) == ["For everybody", "Nothing yet", "For me", "Nothing yet"]
    save_view(shared_folder(window.session.contents.folder), "Sun & sky", View())
    save_view(own_folder(), "Night", View())
    assert texts(opened(window).view_keeper) == ["For everybody", "Sun && sky", "For me", "Night"]


def test_the_menu_stands_in_the_window(window: MainWindow) -> None:
    view_menu = next(action for action in window.menuBar().actions() if action.text() == "&View")
    listed = being(QMenu, view_menu.menu())
    assert window.views_menu.menuAction() in listed.actions()


def test_a_bad_file_is_skipped_and_told(window: MainWindow) -> None:
    assert window.session is not None
    folder = shared_folder(window.session.contents.folder)
    folder.mkdir()
    (folder / "Odd.yaml").write_text("samelight_view: 2\nrwos: everything\n", encoding="utf-8")
    save_view(folder, "Good", View())
    assert texts(opened(window).view_keeper)[:3] == ["For everybody", "Good", "Skipped: Odd.yaml"]
    choose(opened(window).view_keeper, "Skipped: Odd.yaml")
    assert "Odd.yaml:2:1" in window.statusBar().currentMessage()
    assert "did you mean rows" in window.statusBar().currentMessage()


def test_a_skipped_file_goes_by_its_own_name(
    window: MainWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "dawn: second" / "Odd & new.yaml"
    skipped = ViewFolder(faults=((path, f"{path}:1:1: rwos"),))
    monkeypatch.setattr("samelight.gui.window.view_keeper.list_views", lambda folder: skipped)
    assert texts(opened(window).view_keeper)[:2] == ["For everybody", "Skipped: Odd && new.yaml"]


def test_what_the_sequence_does_not_have_is_ignored_and_told(window: MainWindow) -> None:
    view = View(
        expanded=("lights.sun", "lights.moon"),
        pinned=("lights.moon.level",),
        hidden_shots=("HB_020", "ZZ_010"),
    )
    save_view(own_folder(), "Moon", view)
    choose(opened(window).view_keeper, "Moon")
    state = opened(window).views.state
    assert (
        state.view.expanded == ("lights.sun",)
        and state.view.pinned == ()
        and state.view.hidden_shots == ("HB_020",)
    )
    said = window.statusBar().currentMessage()
    assert said.startswith(
        "View Moon. It names 3 rows or shots not here: lights.moon, lights.moon.level, ZZ_010"
    )


def test_the_bar_says_what_is_listed_once_a_cell_was_gone_to(window: MainWindow) -> None:
    window.bar.show_box.setCurrentText(str(Show.UNDECIDED))
    window.bar.filter_edit.setText("rim")
    listings = count_of(window.bar.filtered)
    window.select("HB_050", "lights.sun.direction")
    assert (window.bar.filter_edit.text(), window.bar.show_box.currentText()) == ("", str(Show.ALL))
    assert listings == []
    view = opened(window).view_keeper.take(opened(window).work.views)
    assert (view.filter, view.rows) == ("", Show.ALL)
    assert opened(window).views.cell_name() == ("HB_050", "lights.sun.direction")


def test_a_view_is_of_the_grid_and_not_of_the_fields(window: MainWindow) -> None:
    window.bar.ask_for(View(rows=Show.UNDECIDED, filter="bounce", cells=Shown.BOTH))
    view = opened(window).view_keeper.take(opened(window).work.views)
    assert (view.rows, view.filter, view.cells) == (Show.ALL, "", opened(window).views.model.shown)
    assert view.cells is not Shown.BOTH


def test_who_types_in_the_middle_of_the_filter_stays_there(window: MainWindow) -> None:
    window.select("HB_050", "lights.sun.direction")
    window.bar.filter_edit.setText(" colour")
    window.bar.filter_edit.setCursorPosition(0)
    assert opened(window).views.cell_name() != ("HB_050", "lights.rim.colour")
    QTest.keyClicks(window.bar.filter_edit, "rim")
    assert (window.bar.filter_edit.text(), window.bar.filter_edit.cursorPosition()) == ("rim colour", 3)
    window.bar.filter_edit.undo()
    assert window.bar.filter_edit.text() == " colour"


def test_a_fitted_view_fits_a_window_of_another_size(window: MainWindow) -> None:
    window.resize(1500, 900)
    opened(window).views.grid.widths.fit()
    view = opened(window).view_keeper.take(opened(window).work.views)
    assert view.fitted and view.column_width is None
    save_view(own_folder(), "Whole cut", view)
    opened(window).views.grid.widths.set_width(60)
    wide = opened(window).view_keeper.take(opened(window).work.views)
    assert (wide.fitted, wide.column_width) == (False, 60.0)
    window.resize(1000, 900)
    QApplication.processEvents()
    choose(opened(window).view_keeper, "Whole cut")
    layout = opened(window).views.grid.layout_now()
    assert opened(window).views.grid.widths.fitted and layout.whole == layout.room_x
    save_view(own_folder(), "Wide", wide)
    choose(opened(window).view_keeper, "Wide")
    assert (opened(window).views.grid.widths.fitted, opened(window).views.grid.widths.width) == (False, 60)


def test_only_my_shots_of_a_view_asks_for_them(window: MainWindow, monkeypatch: pytest.MonkeyPatch) -> None:
    window.settings.keep("who", "ada")
    monkeypatch.setattr(QInputDialog, "getText", lambda *_: ("HB_010-HB_030", True))
    save_view(own_folder(), "Mine", View(only_my_shots=True))
    choose(opened(window).view_keeper, "Mine")
    assert there(opened(window).views.state.mine) == {"HB_010", "HB_020", "HB_030"}
    assert window.statusBar().currentMessage() == "View Mine"


def test_a_view_of_my_shots_says_so_when_they_are_not_known(
    window: MainWindow, monkeypatch: pytest.MonkeyPatch
) -> None:
    window.settings.keep("who", "ada")
    monkeypatch.setattr(QInputDialog, "getText", lambda *_: ("", False))
    save_view(own_folder(), "Mine", View(only_my_shots=True, pinned=("lights.moon",)))
    choose(opened(window).view_keeper, "Mine")
    assert opened(window).views.state.mine is None
    assert not window.actions_by_name["only_mine"].isChecked()
    assert window.statusBar().currentMessage() == (
        "View Mine. Your shots are not known, so all are listed. It names 1 row or shot not here: lights.moon"
    )


def test_a_view_leaves_the_switch_in_the_settings_alone(window: MainWindow, qtbot: QtBot) -> None:
    window.settings.keep("who", "Ines")
    save_view(own_folder(), "Mine", View(only_my_shots=True))
    save_view(own_folder(), "All", View())
    choose(opened(window).view_keeper, "Mine")
    assert opened(window).my_shots.on and window.settings.text("only_mine") != "on"
    press(qtbot, window, "only_mine")
    press(qtbot, window, "only_mine")
    assert opened(window).my_shots.on and window.settings.text("only_mine") == "on"
    choose(opened(window).view_keeper, "All")
    assert not opened(window).my_shots.on and window.settings.text("only_mine") == "on"


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
    assert window.bar.filter_edit.text() == "rim"


def test_the_dialog_does_not_write_over_what_it_cannot_read(qtbot: QtBot, tmp_path: Path) -> None:
    folders = {EVERYBODY: tmp_path / "all", MINE: tmp_path / "me"}
    folders[MINE].mkdir()
    faulty = folders[MINE] / "Sun.yaml"
    faulty.write_text("rwos: everything\n", encoding="utf-8")
    dialog = ViewsDialog(View(filter="rim"), folders)
    qtbot.addWidget(dialog)
    assert "Sun.yaml:1:1" in dialog.said.text()
    dialog.name.setText("sun")
    dialog.save()
    assert dialog.said.text().startswith("Not saved: sun is there and cannot be read")
    assert dialog.result() != ViewsDialog.DialogCode.Accepted
    assert faulty.read_text(encoding="utf-8") == "rwos: everything\n"


def test_the_dialog_reads_the_files_once_and_not_at_each_key(
    qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folders = {EVERYBODY: tmp_path / "all", MINE: tmp_path / "me"}
    save_view(folders[MINE], "Sun", View())
    read: list[Path] = []

    def listing(folder: Path) -> ViewFolder:
        read.append(folder)
        return list_views(folder)

    monkeypatch.setattr("samelight.gui.dialogs.views_dialog.list_views", listing)
    dialog = ViewsDialog(View(), folders)
    qtbot.addWidget(dialog)
    QTest.keyClicks(dialog.name, "sun")
    assert dialog.save_button.text() == "&Replace"
    dialog.places[EVERYBODY].setChecked(True)
    assert dialog.save_button.text() == "&Save"
    assert read == [folders[EVERYBODY], folders[MINE]]
    assert [button.text() for button in dialog.places.values()] == ["for &everybody", "for &me"]


def test_a_long_filter_leaves_the_window_as_wide_as_it_is(window: MainWindow) -> None:
    width = window.width()
    window.bar.filter_edit.setText("no such row " * 500)
    QApplication.processEvents()
    assert opened(window).work.nothing.isVisible()
    said = opened(window).work.nothing.text()
    assert said.startswith("No row matches 'no such row ") and said.endswith("Press Esc to clear the filter.")
    assert window.width() == width
    assert len(window.bar.filter_edit.text()) == LONGEST_FILTER


def test_many_faulty_files_leave_the_dialog_its_size(qtbot: QtBot, tmp_path: Path) -> None:
    for number in range(30):
        (tmp_path / f"{number}.yaml").write_text("rwos: everything\n", encoding="utf-8")
    dialog = ViewsDialog(View(), {EVERYBODY: tmp_path, MINE: tmp_path / "me"})
    qtbot.addWidget(dialog)
    said = dialog.said.text().splitlines()
    assert len(said) == 4 and said[-1] == "and 27 more"


def answered(asked: list[str], answer: str) -> None:
    """Note what the next box asks, and give one answer."""

    def look() -> None:
        box = QApplication.activeModalWidget()
        if not isinstance(box, QMessageBox):
            QTimer.singleShot(20, look)
            return
        asked.append(box.text())
        next(button for button in box.buttons() if button.text().replace("&", "") == answer).click()

    QTimer.singleShot(0, look)


@pytest.mark.parametrize("was", [None, View(filter="sun")])
def test_a_view_that_somebody_saved_meanwhile_is_replaced_only_when_the_user_says_so(
    qtbot: QtBot, tmp_path: Path, was: View | None
) -> None:
    folders = {EVERYBODY: tmp_path / "all", MINE: tmp_path / "me"}
    if was is not None:
        save_view(folders[EVERYBODY], "Sun", was)
    dialog = ViewsDialog(View(filter="rim"), folders)
    qtbot.addWidget(dialog)
    dialog.name.setText("Sun")
    dialog.places[EVERYBODY].setChecked(True)
    save_view(folders[EVERYBODY], "Sun", View(filter="theirs"))
    asked: list[str] = []
    answered(asked, "Cancel")
    dialog.save()
    assert len(asked) == 1 and "Sun" in asked[0] and "for everybody" in asked[0]
    assert list_views(folders[EVERYBODY]).saved[0].view.filter == "theirs"
    assert (dialog.name.text(), dialog.place) == ("Sun", EVERYBODY)
    assert dialog.save_button.text() == "&Replace"  # what is there now is listed
    assert dialog.result() != ViewsDialog.DialogCode.Accepted
    save_view(folders[EVERYBODY], "Sun", View(filter="theirs again"))
    answered(asked, "Replace")
    dialog.save()
    assert len(asked) == 2
    assert list_views(folders[EVERYBODY]).saved[0].view.filter == "rim"
    assert dialog.result() == ViewsDialog.DialogCode.Accepted
