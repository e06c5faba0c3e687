"""The window marks what is new, moved and mended since somebody last looked, and says the day in one sentence."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from gui_help import open_window, opened, press
from samelight.drift.cells import Cell
from samelight.gui.dialogs.since_dialog import SinceDialog
from samelight.gui.state.grid_words import cell_tip
from samelight.gui.state.last_look import last_look
from samelight.gui.window import open_sequence
from samelight.gui.window.main_window import MainWindow
from samelight.reports.since import Since
from samelight.sequence.case_events import Event
from samelight.sequence.saved_views import Show

SUN = "lights.sun.direction"


def ask(qtbot: QtBot, window: MainWindow, *, nothing: bool = False) -> list[str]:
    """Ask what is new since the last look; what the dialog offered."""
    offered: list[str] = []

    def answer() -> None:
        dialog = QApplication.activeModalWidget()
        if not isinstance(dialog, SinceDialog):
            QTimer.singleShot(20, answer)
            return
        offered.append(dialog.look.text())
        (dialog.nothing if nothing else dialog.look).setChecked(True)
        dialog.ok.click()

    QTimer.singleShot(0, answer)
    press(qtbot, window, "since")
    return offered


def test_what_is_new_since_the_last_look_is_marked(qtbot: QtBot, harbour_folder: Path) -> None:
    before = open_window(qtbot, harbour_folder)
    assert before.opened is not None and before.opened.looked is None
    before.close()
    sheets = harbour_folder / "shots"
    for shot, old, new in (("HB_060", "143 deg", "131 deg"), ("HB_010", "azimuth: 131", "azimuth: 120")):
        path = max((sheets / shot).iterdir())
        text = path.read_text("utf-8")
        assert old in text
        version = int(path.stem[-3:]) + 1
        changed = text.replace(old, new).replace(f"version: {version - 1}", f"version: {version}", 1)
        path.with_name(f"{shot}.v{version:03d}.yaml").write_text(changed, "utf-8")

    window = open_window(qtbot, harbour_folder)
    (offered,) = ask(qtbot, window)
    assert offered.startswith("&I last looked (")
    state = opened(window).views.state
    table = state.table
    marks = {
        (table.shots[column], table.rows[row].parameter): event
        for (row, column), event in state.looked_back.cells.items()
    }
    assert marks["HB_060", SUN] is Event.GONE and marks["HB_010", SUN] is Event.OPENED
    assert opened(window).work.headline.said().startswith("Since I last looked (")
    assert " mended, " in opened(window).work.headline.said()
    row, column = table.row(SUN), table.column("HB_060")
    assert row is not None and column is not None
    assert "= gone since I last looked" in cell_tip(opened(window).views.state, row, column)
    window.bar.show_box.setCurrentText(str(Show.CHANGED))
    listed = {state.listing.name_of(line) for line in opened(window).views.state.listing.lines}
    assert SUN in listed and "lights.window_fill.position" not in listed
    plain = opened(window).views.grid.grab().toImage()
    ask(qtbot, window, nothing=True)
    window.bar.show_box.setCurrentText(str(Show.ALL))
    assert not opened(window).views.state.looked_back.cells
    assert not opened(window).work.headline.said().startswith("Since")
    assert opened(window).views.grid.grab().toImage() != plain
    window.close()


def test_to_read_a_sequence_again_is_no_look(
    qtbot: QtBot, harbour_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is new since yesterday is still that, however often somebody mends a shot and the window reads it. It is read once,
    when somebody asks."""
    read: list[Path] = []

    def counted(folder: Path, sequence: Path) -> Since | None:
        read.append(sequence)
        return last_look(folder, sequence)

    monkeypatch.setattr(open_sequence, "last_look", counted)
    open_window(qtbot, harbour_folder).close()
    window = open_window(qtbot, harbour_folder)
    assert not read
    sessions, looked = [window.session], []
    for _ in range(2):
        window.run("reload")
        qtbot.waitUntil(lambda: window.session is not sessions[-1] and not window.loader.busy)
        sessions.append(window.session)
        looked.append(opened(window).looked)
        assert read == [harbour_folder]
    assert looked[0] is not None and looked[0] is looked[1]
    window.close()


class Counted(dict[Cell, Event]):
    """Counts how often all of it is gone through."""

    walks = 0

    def items(self) -> Any:
        self.walks += 1
        return super().items()


def test_painting_does_not_go_through_all_that_is_marked(qtbot: QtBot, harbour_folder: Path) -> None:
    window = open_window(qtbot, harbour_folder)
    plain = opened(window).views.grid.grab().toImage()
    opened(window).work.look_back(Since("ever", {}))
    state = opened(window).views.state
    counted = Counted(state.looked_back.cells)
    state.looked_back = replace(state.looked_back, cells=counted)
    assert counted and opened(window).views.grid.grab().toImage() != plain
    assert counted.walks == 0
    window.close()
