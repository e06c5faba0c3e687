"""The inspector says which layers of the scene a value comes from."""

from __future__ import annotations

from functools import partial
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from conftest import write_sequence
from samelight.gui.inspector import layers_of
from samelight.gui.inspector.layers_of import LayersOf
from samelight.sequence.session import open_session
from samelight.sources.batch import Job, capture_job

SCENE = '#usda 1.0\n(metersPerUnit = 1)\ndef SphereLight "lamp"\n{\n    float inputs:intensity = 3\n}\n'


def _is_said(layers: LayersOf, text: str) -> bool:
    return text in layers.said.toPlainText()


def test_the_layers_are_listed_on_a_click(
    qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(layers_of, "tried", lambda file, limits, work, *args: work(*args))
    scene = tmp_path / "shot.usda"
    scene.write_text(SCENE)
    master = {"lights": {"lamp": {"type": "sphere", "intensity": 2, "radius": 0.5}}}
    folder = write_sequence(
        tmp_path / "quay", master=master, shots={"S_020": master}, sequence={"cut": ["S_010", "S_020"]}
    )
    capture_job(Job(folder, "S_010", scene))
    session = open_session(folder)
    layers = LayersOf()
    qtbot.addWidget(layers.ask)
    qtbot.addWidget(layers.said)
    rows = {row.parameter: row for row in session.table.rows}
    level = rows["lights.lamp.level"]
    assert not layers.show_for(session, "S_020", level)  # it was typed
    assert not layers.show_for(session, "S_010", rows["lights.lamp"])
    for parameter, says in (
        ("lights.lamp.level", "inputs:intensity: 3.0 (shot.usda, line 5)"),
        ("lights.lamp.radius", "No layer says anything of it"),
    ):
        assert layers.show_for(session, "S_010", rows[parameter])
        assert layers.said.isHidden()
        qtbot.mouseClick(layers.ask.buttons[0], Qt.MouseButton.LeftButton)
        qtbot.waitUntil(partial(_is_said, layers, says))
    scene.unlink()
    assert not layers.show_for(session, "S_010", level)
