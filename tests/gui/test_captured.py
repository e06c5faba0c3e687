from __future__ import annotations

from pathlib import Path

from pytestqt.qtbot import QtBot

from gui_help import open_window, opened
from samelight.cli.main import main

SCENES = Path(__file__).parents[1] / "data" / "usd"


def test_a_captured_scene_opens_in_the_window(qtbot: QtBot, tmp_path: Path) -> None:
    folder = tmp_path / "domes"
    dome = next(SCENES.rglob("domeLightZup.usda"))
    assert main(["capture", str(dome), "-o", str(folder / "master" / "master.v001.yaml")]) == 0
    assert main(["capture", str(dome), "-o", str(folder / "shots" / "DM_010" / "DM_010.v001.yaml")]) == 0
    (folder / "sequence.yaml").write_text("title: Domes\ncut: [DM_010]\n", encoding="utf-8")
    window = open_window(qtbot, folder)
    assert window.session is not None
    assert opened(window).views.model.columnCount() == 1
    assert any(row.section == "environments" for row in window.session.table.rows)
    # What the capture could not be sure of is said in the window.
    assert "remark" in window.notice.text()
    window.close()
