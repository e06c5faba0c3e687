"""Scenes that the window captures by itself."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtWidgets import QApplication

from samelight.gui.background.live import Live
from samelight.sequence.capturing import bring_up_to_date
from samelight.sequence.contents import Contents
from samelight.sequence.session import open_store
from samelight.sequence.store import SheetStore
from samelight.sources.batch import capture_job


def test_a_scene_that_changes_is_captured_and_shown(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, qapp: QApplication
) -> None:
    """Also one that lies outside the folder, of which no event tells."""
    monkeypatch.setattr("samelight.sources.batch.capture_apart", capture_job)
    scene = tmp_path / "S_010.usda"
    text = '#usda 1.0\n(metersPerUnit = 1)\ndef SphereLight "lamp"\n{\n    float inputs:intensity = 3\n}\n'
    scene.write_text(text)
    folder = tmp_path / "quay"
    folder.mkdir()
    (folder / "sequence.yaml").write_text("title: quay\ncut: [S_010]\nscenes: {S_010: ../S_010.usda}\n")
    store = SheetStore(folder)
    bring_up_to_date(store)
    session = open_store(store)
    assert session.contents.sheets["S_010"].version == 1
    live = Live(session)
    seen: list[Contents] = []
    live.changed.connect(lambda contents, compared: seen.append(contents))
    live.look(None)
    assert not seen
    scene.write_text(text.replace("= 3", "= 4"))
    live.look(None)
    assert [contents.sheets["S_010"].version for contents in seen] == [2]
