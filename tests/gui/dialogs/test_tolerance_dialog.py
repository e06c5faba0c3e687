"""A tolerance from selected cells in the window: proposed, tried, written with its reason."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from samelight.gui.dialogs.tolerance_dialog import ToleranceDialog
from samelight.sequence.session import open_session
from samelight.sheets.errors import SamelightError

POSITION = "lights.lantern_spot.position"


def test_a_tolerance_is_seen_before_it_is_written(qtbot: QtBot, harbour_folder: Path) -> None:
    session = open_session(harbour_folder)
    dialog = ToleranceDialog(
        session, session.table.places([("HB_090", POSITION), ("HB_100", POSITION)]), "mira"
    )
    qtbot.addWidget(dialog)
    assert (dialog.pattern.currentText(), dialog.amount.text()) == (POSITION, "0.81 m")
    qtbot.waitUntil(lambda: not dialog.busy)
    assert dialog.shown.toPlainText().startswith("Fall silent: 2 of the 2 selected.")
    dialog.amount.setText("as you like")
    qtbot.waitUntil(lambda: not dialog.busy)
    assert "as you like" in dialog.said.text() and not dialog.shown.toPlainText()
    dialog.why.setText("It follows the boatman")
    assert not dialog.write_button.isEnabled()
    dialog.amount.setText("0.6 m")
    dialog.pattern.setCurrentText("lights.*.position")
    qtbot.waitUntil(lambda: not dialog.busy)
    said = dialog.shown.toPlainText()
    assert "Falls silent too: 1\n    HB_180  lights.window_fill.position" in said
    assert f"Drifts still: 1\n    HB_100  {POSITION}" in said
    assert "+  lights.*.position: {at_most: 0.6 m, why: " in said
    dialog.write_button.click()
    assert dialog.written == harbour_folder / "policy.yaml"
    text = dialog.written.read_text("utf-8")
    assert "It follows the boatman (mira, " in text and "# the grade is built on it" in text


def test_nothing_is_asked_for_cells_that_have_no_tolerance(qtbot: QtBot, harbour_folder: Path) -> None:
    session = open_session(harbour_folder)
    window = QWidget()
    qtbot.addWidget(window)
    with pytest.raises(SamelightError, match="Select the cells"):
        ToleranceDialog(session, [], "mira", window)
    assert not window.children()


def test_what_was_not_seen_is_not_written(qtbot: QtBot, harbour_folder: Path) -> None:
    """An amount that is typed and entered at once is tried first."""
    session = open_session(harbour_folder)
    dialog = ToleranceDialog(session, session.table.places([("HB_090", POSITION)]), "mira")
    qtbot.addWidget(dialog)
    dialog.why.setText("It follows the boatman")
    qtbot.waitUntil(dialog.write_button.isEnabled)
    policy = (harbour_folder / "policy.yaml").read_bytes()
    dialog.amount.setText("99 m")
    assert not dialog.write_button.isEnabled()
    dialog.write()
    assert dialog.written is None and (harbour_folder / "policy.yaml").read_bytes() == policy
    qtbot.waitUntil(dialog.write_button.isEnabled)
    with (harbour_folder / "policy.yaml").open("a", encoding="utf-8") as file:
        file.write("# by somebody else\n")
    dialog.write()
    assert dialog.written is None and "changed on disk" in dialog.said.text()
