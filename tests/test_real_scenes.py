"""Scenes that nobody here wrote, from capture to comparison: one light in two spellings is one light."""

from __future__ import annotations

from pathlib import Path

import pytest

from samelight.cli.main import main
from samelight.sequence.session import Session, open_session

HERE = Path(__file__).parent
COPIES = HERE / "data" / "usd"
REAL = HERE.parents[1] / "shared" / "data" / "real" / "usd"


def scene(name: str) -> Path:
    return next(COPIES.rglob(name))


def sequence(folder: Path, scenes: dict[str, Path], master: Path) -> Session:
    """A sequence captured from scenes by the command line, with one of them as the master."""
    (folder / "master").mkdir(parents=True)
    assert main(["capture", str(master), "-o", str(folder / "master" / "master.v001.yaml")]) == 0
    for shot, path in scenes.items():
        target = folder / "shots" / shot / f"{shot}.v001.yaml"
        assert main(["capture", str(path), "-o", str(target)]) == 0
    cut = ", ".join(scenes)
    (folder / "sequence.yaml").write_text(f"title: Captured\ncut: [{cut}]\n", encoding="utf-8")
    return open_session(folder)


def test_a_dome_on_a_y_up_and_on_a_z_up_stage_is_the_same_light(tmp_path: Path) -> None:
    up_y, up_z = scene("domeLightYup.usda"), scene("domeLightZup.usda")
    session = sequence(tmp_path / "domes", {"DM_010": up_y, "DM_020": up_z}, up_y)
    assert not session.unreadable()
    drifting = [
        (c.shot, c.parameter)
        for c in session.table.cells()
        if c.parameter.startswith(("lights", "environments"))
    ]
    assert drifting == []
    assert session.table.counts()["same"] > 0


@pytest.mark.skipif(not REAL.is_dir(), reason="the collection of real scenes is not beside this checkout")
def test_every_real_scene_becomes_a_shot_that_opens(tmp_path: Path) -> None:
    scenes = sorted(REAL.rglob("*.usda"))
    assert scenes
    named = {f"RS_{index:03d}": path for index, path in enumerate(scenes, 1)}
    session = sequence(tmp_path / "real", named, scenes[0])
    assert session.unreadable() == {}
    assert set(session.contents.sheets) == set(named)
    lights = sum(len(sheet.sections.get("lights", {})) for sheet in session.contents.sheets.values())
    assert lights >= 15
