from __future__ import annotations

import shutil
import threading
from pathlib import Path

import pytest
from PySide6.QtWidgets import QTreeWidgetItem
from pytestqt.qtbot import QtBot

from known import there
from samelight.changes.publishing import Preview, preview
from samelight.findings.finding import Finding
from samelight.gui.dialogs import publish_dialog
from samelight.gui.dialogs.publish_dialog import PublishDialog
from samelight.sequence.session import Session, open_session
from samelight.sheets.errors import SamelightError
from samelight.sheets.sheet import Sheet


def effects(dialog: PublishDialog) -> list[QTreeWidgetItem]:
    """What the dialog lists: one line for each parameter that changes."""
    listed = dialog.effects
    return [there(listed.topLevelItem(index)) for index in range(listed.topLevelItemCount())]


def test_the_dialog_shows_who_follows_and_publishes(qtbot: QtBot, harbour_folder: Path) -> None:
    sheet = harbour_folder / "shots" / "HB_040" / "HB_040.v003.yaml"
    text = sheet.read_text(encoding="utf-8")
    sheet.write_text(
        text.replace("intensity: 1.1, exposure: 1,", "intensity: 2.2, exposure: 1,"), encoding="utf-8"
    )
    dialog = PublishDialog(open_session(harbour_folder), "lead")
    qtbot.addWidget(dialog)
    assert dialog.shot.currentText() == "HB_040"
    items = effects(dialog)
    (level,) = [item for item in items if item.text(0) == "lights.window_fill.level"]
    assert [level.text(column) for column in (1, 2)] == ["2.2", "4.4"]
    assert level.text(3) == "22 follow, 1 holds its own, 1 is there already"
    below = [there(level.child(index)).text(3) for index in range(level.childCount())]
    assert below[0].startswith("follows: HB_010") and below[1:] == [
        "holds its own: HB_230",
        "is there already: HB_040",
    ]
    dialog.go.click()
    assert dialog.published is not None and dialog.published.name == "master.v004.yaml"


def test_a_shot_with_open_breaks_is_refused_until_it_is_ticked(qtbot: QtBot, harbour_folder: Path) -> None:
    dialog = PublishDialog(open_session(harbour_folder), "lead")
    qtbot.addWidget(dialog)
    dialog.shot.setCurrentText("HB_060")
    assert not dialog.go.isEnabled()
    assert "lights.sun.direction" in dialog.said.text()
    dialog.despite.setChecked(True)
    assert dialog.go.isEnabled()


def test_what_was_typed_last_is_who_publishes(qtbot: QtBot, harbour_folder: Path) -> None:
    dialog = PublishDialog(open_session(harbour_folder), "lead")
    qtbot.addWidget(dialog)
    dialog.who.setText("mara")
    dialog.go.click()
    assert dialog.published is not None
    assert "by: mara" in dialog.published.read_text(encoding="utf-8")


def test_a_whole_film_is_tried_beside_the_window(
    qtbot: QtBot, harbour_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    at_once = PublishDialog(open_session(harbour_folder), "lead")
    monkeypatch.setattr(publish_dialog, "AT_ONCE", 0)
    dialog = PublishDialog(open_session(harbour_folder), "lead")
    for made in (at_once, dialog):
        qtbot.addWidget(made)
    assert "Trying master v004 on every shot" in dialog.said.text()
    assert not dialog.go.isEnabled() and not dialog.effects.topLevelItemCount()
    dialog.shot.setCurrentText("HB_050")  # what was asked for before is not shown any more
    dialog.shot.setCurrentText(at_once.shot.currentText())
    qtbot.waitUntil(dialog.go.isEnabled)
    assert dialog.said.text() == at_once.said.text()
    assert dialog.effects.topLevelItemCount() == at_once.effects.topLevelItemCount()


@pytest.mark.parametrize("at_once", [0, 10**9])
def test_what_cannot_be_tried_is_said(
    at_once: int, qtbot: QtBot, harbour_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_: object) -> Preview:
        raise SamelightError("HB_010 cannot be compared")

    monkeypatch.setattr(publish_dialog, "AT_ONCE", at_once)
    monkeypatch.setattr(publish_dialog, "preview", fails)
    dialog = PublishDialog(open_session(harbour_folder), "lead")
    qtbot.addWidget(dialog)
    qtbot.waitUntil(lambda: dialog.said.text() == "HB_010 cannot be compared")
    assert not dialog.go.isEnabled()


def test_nobody_publishes_without_a_name(qtbot: QtBot, harbour_folder: Path) -> None:
    dialog = PublishDialog(open_session(harbour_folder), "lead")
    qtbot.addWidget(dialog)
    dialog.who.setText("  ")
    assert not dialog.go.isEnabled()


def test_what_others_write_meanwhile_is_not_in_what_is_tried(
    qtbot: QtBot, harbour_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    session, tried = open_session(harbour_folder), threading.Event()
    contents, table, found = session.contents, session.table, []

    def slow(given: Session, candidate: Sheet, setup: str) -> Preview:
        tried.wait(240)
        found.append((given.contents, given.table))
        return preview(given, candidate, setup)

    monkeypatch.setattr(publish_dialog, "AT_ONCE", 0)
    monkeypatch.setattr(publish_dialog, "preview", slow)
    dialog = PublishDialog(session, "lead")
    qtbot.addWidget(dialog)
    shutil.rmtree(harbour_folder / "shots/HB_240")
    assert session.reload() and session.contents is not contents
    tried.set()
    qtbot.waitUntil(dialog.go.isEnabled)
    assert len(found) == 1 and found[0][0] is contents and found[0][1] is table


def test_what_is_said_of_the_key_shot_stands_above_all_with_its_frame(
    qtbot: QtBot, harbour_session: Session
) -> None:
    dialog = PublishDialog(harbour_session, "lead")
    qtbot.addWidget(dialog)
    dialog.shot.setCurrentText("HB_160")
    assert "The volume samples are back at the default in HB_160: 8 for 96" in dialog.about.text()
    (item,) = effects(dialog)
    assert [item.text(column) for column in (0, 1, 2, 4)] == [
        "render.volume.samples",
        "96",
        "8",
        "×0.0833 as many, noise ×3.46",
    ]
    qtbot.waitUntil(lambda: not dialog.picture.pixmap().isNull())


def test_a_first_master_shows_its_values(qtbot: QtBot, harbour_folder: Path) -> None:
    shutil.rmtree(harbour_folder / "master")
    dialog = PublishDialog(open_session(harbour_folder), "lead")
    qtbot.addWidget(dialog)
    dialog.despite.setChecked(True)
    items = effects(dialog)
    (sun,) = [item for item in items if item.text(0) == "lights.sun"]
    assert sun.toolTip(2).startswith("type distant, direction az 131.0° el 24.0°, level 3.2")
    assert sun.childCount() == 0 and "lights.boat_lamp1" not in {item.text(0) for item in items}


def test_the_name_is_looked_up_and_not_how_it_is_shown(
    qtbot: QtBot, harbour_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[str] = []

    def findings_of(session: Session, shot: str) -> list[Finding]:
        asked.append(shot)
        return []

    monkeypatch.setattr(publish_dialog, "clean", lambda text: f"[{text}]")
    monkeypatch.setattr(publish_dialog, "findings_of", findings_of)
    dialog = PublishDialog(open_session(harbour_folder), "lead")
    qtbot.addWidget(dialog)
    assert (dialog.shot.currentText(), asked) == ("[HB_040]", ["HB_040"])
    qtbot.waitUntil(lambda: not dialog.busy)
    assert not dialog.picture.pixmap().isNull()


def test_where_no_shot_has_a_sheet_nothing_is_published(qtbot: QtBot, harbour_folder: Path) -> None:
    shutil.rmtree(harbour_folder / "shots")
    dialog = PublishDialog(open_session(harbour_folder), "lead")
    qtbot.addWidget(dialog)
    dialog.despite.setChecked(True)
    assert dialog.said.text().startswith("No shot has a sheet") and not dialog.go.isEnabled()
