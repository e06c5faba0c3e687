"""Shots are mended from the window: what is ticked is copied, or written as the next versions."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication
from pytestqt.qtbot import QtBot

from samelight.changes.mending import Way
from samelight.gui.dialogs import mend_dialog
from samelight.gui.dialogs.mend_dialog import MendDialog
from samelight.sequence.session import open_session
from samelight.sheets.trees import read_document


def names(dialog: MendDialog, *, ticked: bool = False) -> list[str]:
    items = [dialog.shots.item(row) for row in range(dialog.shots.count())]
    return [item.text() for item in items if not ticked or item.checkState() is Qt.CheckState.Checked]


def test_ticked_shots_are_copied_and_written(
    qtbot: QtBot, harbour_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    session = open_session(harbour_folder)
    monkeypatch.setattr(mend_dialog, "AT_ONCE", 0)  # as for a film
    dialog = MendDialog(session, "mira", {"HB_060"})
    qtbot.addWidget(dialog)
    assert not dialog.write_button.isEnabled()
    qtbot.waitUntil(lambda: not dialog.busy)
    assert "HB_040" not in names(dialog) and names(dialog, ticked=True) == ["HB_060"]
    assert "-  sun: {type: distant, azimuth: 143 deg" in dialog.text.toPlainText()
    dialog.copy_button.click()
    assert QGuiApplication.clipboard().text() == (
        "HB_060\n  lights.sun.direction: azimuth: 131 deg (now 143 deg)\n"
    )
    dialog.who.setText(" ")
    assert not dialog.write_button.isEnabled()
    dialog.who.setText("Ines")
    dialog.shots.item(names(dialog).index("HB_070")).setCheckState(Qt.CheckState.Checked)
    (harbour_folder / "shots/HB_070/HB_070.v003.yaml").write_text("somebody else's", "utf-8")
    dialog.write_button.click()
    assert [path.name for path in dialog.written] == ["HB_060.v003.yaml"]
    assert "HB_070.v003.yaml: could not be written" in dialog.said.text() and dialog.result() == 0
    data = read_document(harbour_folder / "shots/HB_060/HB_060.v003.yaml").data
    assert data["published"]["by"] == "Ines" and data["lights"]["sun"]["azimuth"] == "131 deg"
    assert names(dialog, ticked=True) == ["HB_070"], "to press again writes what was not written"
    counts: list[int] = []

    def counted(count: int, word: str) -> str:
        counts.append(count)
        return f"{count} {word}"

    monkeypatch.setattr(mend_dialog, "counted", counted)
    dialog.every.setChecked(True)
    assert counts == [dialog.shots.count()], "all are counted once, and not for each of them"


def test_all_that_are_behind_adopt_the_master(qtbot: QtBot, harbour_folder: Path) -> None:
    dialog = MendDialog(open_session(harbour_folder), "mira", {"HB_060"}, Way.ADOPT)
    qtbot.addWidget(dialog)
    assert names(dialog) == ["HB_150"] and names(dialog, ticked=True) == []
    assert "takes over: lights.bounce.level" in dialog.text.toPlainText()
    dialog.every.click()
    dialog.write_button.click()
    assert dialog.result() == MendDialog.DialogCode.Accepted
    assert read_document(dialog.written[0]).data["master"] == 3
