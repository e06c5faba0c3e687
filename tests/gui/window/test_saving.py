"""What takes long to be made is asked for first, and made beside the window."""

from __future__ import annotations

import threading
from pathlib import Path

import pytest
from PySide6.QtWidgets import QFileDialog, QMessageBox
from pytestqt.qtbot import QtBot

from samelight.gui.state.last_look import last_look
from samelight.gui.window import handing_over
from samelight.gui.window.main_window import MainWindow
from samelight.reports.report import Report, make_report
from samelight.sequence.session import open_session
from samples import copy_of


@pytest.fixture
def made(monkeypatch: pytest.MonkeyPatch) -> list[threading.Thread]:
    """The threads in which reports were made."""
    found: list[threading.Thread] = []

    def noting(*given: object, **named: object) -> Report:
        found.append(threading.current_thread())
        return make_report(*given, **named)  # type: ignore[arg-type] # as it is called

    monkeypatch.setattr(handing_over, "make_report", noting)
    return found


def ask_for(monkeypatch: pytest.MonkeyPatch, path: str) -> None:
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (path, ""))


def test_the_report_is_made_beside_the_window_once_its_file_is_named(
    window: MainWindow,
    qtbot: QtBot,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    made: list[threading.Thread],
) -> None:
    ask_for(monkeypatch, "")
    window.run("save_report")
    assert not made and not window.saving.busy, "no file was named"
    ask_for(monkeypatch, str(tmp_path / "report"))
    window.run("save_report")
    assert window.statusBar().currentMessage() == "Making report.html…"
    qtbot.waitUntil(lambda: not window.saving.busy)
    assert len(made) == 1 and made[0] is not threading.main_thread()
    assert window.statusBar().currentMessage() == "Saved report.html"
    assert "Harbour" in (tmp_path / "report.html").read_text(encoding="utf-8")


def test_how_a_sequence_stood_is_kept_beside_the_window_where_another_is_opened(
    window: MainWindow, qtbot: QtBot, tmp_path: Path
) -> None:
    opened = window.opened
    assert opened is not None
    before = opened.session.contents.folder
    assert last_look(window.settings.folder, before) is None
    window.show_session(open_session(copy_of("first_steps", tmp_path / "another")))
    assert window.saving.busy
    qtbot.waitUntil(lambda: not window.saving.busy)
    assert last_look(window.settings.folder, before) is not None


def test_a_report_that_cannot_be_written_is_said(
    window: MainWindow,
    qtbot: QtBot,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    (tmp_path / "file").touch()
    said: list[str] = []
    monkeypatch.setattr(QMessageBox, "warning", lambda *words: said.append(words[2]))
    ask_for(monkeypatch, str(tmp_path / "file" / "report.md"))
    window.run("save_report")
    qtbot.waitUntil(lambda: not window.saving.busy)
    assert "could not be written" in said[0]


def test_what_is_to_be_written_is_written_though_the_window_closes(
    window: MainWindow, monkeypatch: pytest.MonkeyPatch
) -> None:
    closing, written, told = threading.Event(), list[str](), list[object]()
    close = window.loader.close

    def closes() -> None:
        closing.set()
        close()

    monkeypatch.setattr(window.loader, "close", closes)
    window.saving.run("first", lambda: closing.wait(240))
    window.saving.run("second", lambda: written.append("report"), told.append)
    window.close()
    assert written == ["report"] and not told and not window.saving.busy
