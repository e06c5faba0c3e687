"""A folder that is no sequence yet, opened in the window."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtWidgets import QApplication, QDialog, QMessageBox
from pytestqt.qtbot import QtBot

from samelight.gui.dialogs.start_dialog import StartDialog
from samelight.gui.window.main_window import MainWindow
from samelight.sheets.sequence import SEQUENCE_FILE


def answered(monkeypatch: pytest.MonkeyPatch, *, key_shot: str | None) -> list[str]:
    """Answer the dialog with a key shot, or put it away; what it said."""
    said: list[str] = []

    def answer(dialog: QDialog) -> int:
        assert isinstance(dialog, StartDialog)
        said.append(dialog.found.text())
        if key_shot is None:
            return int(QDialog.DialogCode.Rejected)
        dialog.key_shot.setCurrentText(key_shot)
        dialog.write()
        return dialog.result()

    monkeypatch.setattr(StartDialog, "exec", answer)
    return said


@pytest.fixture
def empty_window(qtbot: QtBot) -> MainWindow:
    window = MainWindow()
    qtbot.addWidget(window)
    window.show()
    return window


def test_its_key_shot_is_asked_for_and_it_opens(
    empty_window: MainWindow, qtbot: QtBot, harbour_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (harbour_folder / SEQUENCE_FILE).unlink()
    said = answered(monkeypatch, key_shot="HB_040")
    empty_window.open_folder(harbour_folder)
    qtbot.waitUntil(lambda: empty_window.session is not None)
    assert empty_window.session is not None and empty_window.session.contents.sequence.key_shot == "HB_040"
    assert "24 shots" in said[0]


def test_nothing_is_written_where_it_is_put_away(
    empty_window: MainWindow, qtbot: QtBot, harbour_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (harbour_folder / SEQUENCE_FILE).unlink()
    said = answered(monkeypatch, key_shot=None)
    empty_window.open_folder(harbour_folder)
    qtbot.waitUntil(lambda: bool(said))
    QApplication.processEvents()
    assert not (harbour_folder / SEQUENCE_FILE).exists() and empty_window.session is None
    assert empty_window.opening.welcome.sample_button.isVisible()


def test_scenes_without_sheets_say_what_comes_next(
    empty_window: MainWindow, qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("A_010.usda", "A_020.usda"):
        (tmp_path / name).touch()
    answered(monkeypatch, key_shot="A_010")
    told: list[str] = []
    monkeypatch.setattr(QMessageBox, "information", lambda *words: told.append(words[2]))
    empty_window.open_folder(tmp_path)
    qtbot.waitUntil(lambda: bool(told))
    assert "samelight capture --sequence" in told[0]
    qtbot.waitUntil(lambda: not empty_window.loader.busy)


def test_a_folder_of_nothing_says_what_is_missing(
    empty_window: MainWindow, qtbot: QtBot, tmp_path: Path
) -> None:
    empty_window.open_folder(tmp_path)
    qtbot.waitUntil(lambda: "no sequence.yaml in it" in empty_window.opening.welcome.text.text())
