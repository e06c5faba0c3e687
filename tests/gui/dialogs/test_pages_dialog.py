"""The pages of the lighters in the window: copied, opened to print, saved."""

from __future__ import annotations

import threading
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import QUrl
from PySide6.QtGui import QDesktopServices, QGuiApplication
from PySide6.QtWidgets import QFileDialog
from pytestqt.qtbot import QtBot

from samelight.gui.dialogs import pages_dialog
from samelight.gui.dialogs.pages_dialog import PagesDialog, printed_page
from samelight.gui.widgets.settings import Settings
from samelight.reports.lighter_pages import HandOver, hand_over
from samelight.sequence.session import Session


def test_a_page_is_copied_printed_and_saved(
    qtbot: QtBot, harbour_session: Session, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    dialog = PagesDialog(harbour_session, Settings(), "Ines")
    qtbot.addWidget(dialog)
    items = [dialog.names.item(row).text() for row in range(dialog.names.count())]
    assert items[0].startswith("All lighters: ") and items[1].startswith("Ines: ")
    dialog.buttons["copy"].click()
    text = QGuiApplication.clipboard().text()
    assert text.startswith("Ines: ") and "azimuth: 131 (now 143)" in text and "Tomas" not in text

    opened: list[QUrl] = []

    def open_url(url: QUrl) -> bool:
        opened.append(url)
        return True

    monkeypatch.setattr(QDesktopServices, "openUrl", open_url)
    dialog.buttons["print"].click()
    qtbot.waitUntil(lambda: bool(opened))
    page = printed_page().read_text(encoding="utf-8")
    assert opened[0].toLocalFile() == str(printed_page())
    assert page.count("<article>") == 1 and page.count("<image ") >= 4

    dialog.names.setCurrentRow(0)
    assert dialog.text.toPlainText().count(" to mend in ") == len(items) - 1
    path, everything, offered = tmp_path / "all", dialog.text.toPlainText(), []

    def choose(parent: object, title: str, start: str, kinds: str) -> tuple[str, str]:
        offered.append(Path(start).name)
        return str(path), "Text (*.txt)"

    monkeypatch.setattr(QFileDialog, "getSaveFileName", choose)
    dialog.buttons["save"].click()
    dialog.names.setCurrentRow(1)  # another is looked at while the page is made
    qtbot.waitUntil(lambda: dialog.said.text() == "Saved all.txt")
    assert offered == ["harbour-lighters.html"]
    assert path.with_suffix(".txt").read_text(encoding="utf-8") == everything


def test_the_pages_of_a_film_are_made_beside_the_window(
    qtbot: QtBot, harbour_session: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    at_once = PagesDialog(harbour_session, Settings(), "Ines")
    qtbot.addWidget(at_once)
    go_on = threading.Event()

    def held_up(session: Session, made: datetime, **more: Any) -> HandOver:
        assert threading.current_thread() is not threading.main_thread() and go_on.wait(240)
        return hand_over(session, made, **more)

    monkeypatch.setattr(pages_dialog, "AT_ONCE", 0)
    monkeypatch.setattr(pages_dialog, "hand_over", held_up)
    dialog = PagesDialog(harbour_session, Settings(), "Ines")
    qtbot.addWidget(dialog)
    assert dialog.said.text() == "Making the pages…"
    assert not any(button.isEnabled() for button in dialog.buttons.values())
    go_on.set()
    qtbot.waitUntil(lambda: not dialog.busy)
    assert all(button.isEnabled() for button in dialog.buttons.values()) and dialog.said.text() == ""
    assert dialog.names.currentRow() == at_once.names.currentRow() == 1
    assert dialog.text.toPlainText() == at_once.text.toPlainText() != ""
