"""A folder that is no sequence yet, opened in the window."""

from __future__ import annotations

import threading
from pathlib import Path

import pytest
from PySide6.QtWidgets import QApplication, QDialog
from pytestqt.qtbot import QtBot

from gui_help import opened
from samelight.gui.dialogs.start_dialog import StartDialog
from samelight.gui.window.main_window import MainWindow
from samelight.sheets.folder_files import SEQUENCE_FILE
from samelight.sources.batch import Job, Outcome, capture_job

SCENE = '#usda 1.0\n(metersPerUnit = 1)\ndef SphereLight "lamp"\n{\n    float inputs:intensity = 3\n}\n'


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


@pytest.fixture
def scenes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of three scenes, of which one cannot be read; they are captured in this process, one after another."""
    folder = tmp_path / "quay"
    folder.mkdir()
    for shot in ("A_010", "A_020"):
        (folder / f"{shot}.usda").write_text(SCENE)
    (folder / "A_030.usda").write_text("#usda 1.0\nnonsense")
    monkeypatch.setattr("samelight.sources.batch.capture_apart", capture_job)
    monkeypatch.setattr("samelight.sources.pools.processors", lambda: 1)
    return folder


def test_scenes_are_captured_at_once_and_what_failed_is_told(
    empty_window: MainWindow, qtbot: QtBot, scenes: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    said = answered(monkeypatch, key_shot="A_010")
    empty_window.open_folder(scenes)
    qtbot.waitUntil(lambda: empty_window.session is not None)
    assert "makes sheets of the 3 scenes" in said[0]
    assert (scenes / "shots/A_010/A_010.v001.yaml").is_file()
    work = opened(empty_window).work
    assert work.views.session.contents.shots == ("A_010", "A_020") and work.first_master.isVisible()
    assert any(trouble.shot == "A_030" for trouble in work.views.session.troubles)


def test_capturing_is_stopped_and_goes_on_later(
    empty_window: MainWindow, qtbot: QtBot, scenes: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    answered(monkeypatch, key_shot="A_010")
    going_on = threading.Event()

    def slow(job: Job) -> Outcome:
        if job.shot != "A_010":
            going_on.wait()
        return capture_job(job)

    monkeypatch.setattr("samelight.sources.batch.capture_apart", slow)
    empty_window.open_folder(scenes)
    welcome = empty_window.opening.welcome
    qtbot.waitUntil(lambda: welcome.name.text() == "1 of 3  the scene of A_010")
    welcome.cancel_button.click()
    going_on.set()
    assert welcome.sample_button.isVisible() and empty_window.session is None
    assert empty_window.loader.background.wait()
    empty_window.open_folder(scenes)
    qtbot.waitUntil(lambda: empty_window.session is not None)
    assert opened(empty_window).session.contents.shots == ("A_010", "A_020")


def test_a_folder_of_nothing_says_what_is_missing(
    empty_window: MainWindow, qtbot: QtBot, tmp_path: Path
) -> None:
    (tmp_path / "A_010.yaml").touch()
    empty_window.open_folder(tmp_path)
    qtbot.waitUntil(lambda: "no sequence.yaml in it" in empty_window.opening.welcome.text.text())
    assert empty_window.opening.welcome.text.text().endswith("shots/SHOT/SHOT.v001.yaml: A_010.yaml")
