"""A sequence without a master setup: the window says what is missing and offers to publish the first."""

from __future__ import annotations

import shutil
from pathlib import Path

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from gui_help import open_window, opened
from samelight.gui.dialogs.publish_dialog import PublishDialog
from samelight.gui.state.remaining import ALL_WELL, NOT_COMPARED
from samelight.gui.window.main_window import MainWindow


def test_nothing_is_well_without_a_master_and_the_first_can_be_published(
    qtbot: QtBot, harbour_folder: Path
) -> None:
    shutil.rmtree(harbour_folder / "master")
    window = open_window(qtbot, harbour_folder)
    assert window.bar.left_label.text() == NOT_COMPARED
    assert ALL_WELL not in window.bar.left_label.text()
    assert "no master" in window.windowTitle() and "v000" not in window.windowTitle()
    assert window.bar.reference_box.currentText() == "no master"
    assert window.notice.text().startswith("1 remark on this sequence: No master setup is published yet")
    assert opened(window).work.nothing.isVisible() and "no master setup" in opened(window).work.nothing.text()
    work = opened(window).work
    assert work.first_master.isVisible()

    asked: list[str] = []

    def look() -> None:
        dialog = QApplication.activeModalWidget()
        if not isinstance(dialog, PublishDialog):
            QTimer.singleShot(20, look)
            return
        asked.append(dialog.shot.currentText())
        dialog.who.setText("lead")
        dialog.go.click()

    QTimer.singleShot(0, look)
    work.first_master.click()
    assert asked == ["HB_040"]
    qtbot.waitUntil(lambda: window.session is not None and window.session.contents.master_version == 1)
    qtbot.waitUntil(lambda: not opened(window).work.first_master.isVisible())
    assert "master v001" in window.windowTitle()
    window.close()


def test_with_a_master_nothing_is_offered(window: MainWindow) -> None:
    assert not opened(window).work.first_master.isVisible()
