"""Profiles that a scene names: kept in the sheet, counted, and a remark where they cannot be."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from drift.computed.scenes import FACE, Scene, Tree, shot
from samelight.drift.cells import Grade
from samelight.drift.explanations import formula

NARROW = "0 30 60 90; 0; 100 50 0 0"
LAMP: Tree = {
    "type": "sphere",
    "radius": 0.05,
    "intensity": 100,
    "position": [0, 0, 2],
    "direction": [0, 0, -1],
    "ies": "a.ies",
    "ies_sha256": "aa",
    "ies_profile": NARROW,
}
LIGHT = (
    '(metersPerUnit = 1\nupAxis = "Y")\ndef SphereLight "lamp" (prepend apiSchemas = ["ShapingAPI"])\n'
    "{\nasset inputs:shaping:ies:file = @lamp.ies@\n}\n"
)
FILE = "IESNA:LM-63-2002\nTILT=NONE\n1 -1 1 4 1 1 2 0 0 0\n1 1 40\n0 30 60 90\n0\n100 50 0 0\n"


def test_a_profile_goes_into_the_sheet(tmp_path: Path, captured: Callable[..., dict[str, Any]]) -> None:
    (tmp_path / "lamp.ies").write_text(FILE)
    sheet = captured(LIGHT)
    assert sheet["lights"]["lamp"]["ies_profile"] == NARROW and "remarks" not in sheet


def test_a_bad_profile_is_a_remark(tmp_path: Path, captured: Callable[..., dict[str, Any]]) -> None:
    (tmp_path / "lamp.ies").write_bytes(b"\x00\xff no profile")
    sheet = captured(LIGHT)
    assert "ies_profile" not in sheet["lights"]["lamp"]
    assert sheet["remarks"] == [
        "/lamp: its profile lamp.ies is not counted: it has no line TILT=, and so is no LM-63 file."
    ]


def scene(**own: object) -> Scene:
    aside: Tree = {"face": {"position": [2, 0, 0], "normal": [0, 0, 1]}}
    setup: Tree = {"lights": {"lamp": LAMP}}
    return Scene(setup, A=shot({"lamp": {**LAMP, **own}}, marks={**aside, "front": FACE}))


def test_a_wider_profile_is_light_at_a_mark_off_its_axis() -> None:
    """45 degrees off: 25 of 100 against 80 of 100."""
    wide = scene(ies="b.ies", ies_sha256="bb", ies_profile="0 30 60 90; 0; 100 90 70 0")
    assert wide.cell("marks.face.level.lamp").drift == pytest.approx(1.678, abs=0.01)
    assert wide.cell("marks.front.level.lamp").drift == pytest.approx(0.0, abs=0.03)
    assert not wide.cell("marks.face.level").remark
    cell = wide.cell("lights.lamp.ies")
    assert cell.grade >= Grade.DRIFT
    told = formula(cell)
    assert "reference: beam 60°, peak 100 cd" in told and "shot: beam 137°, peak 100 cd" in told


def test_its_angles_are_scaled() -> None:
    assert scene(ies_angle_scale=2.0).cell("marks.face.level.lamp").drift == pytest.approx(1.32, abs=0.02)


def test_a_profile_that_the_sheet_does_not_hold_is_said() -> None:
    bare = scene(ies_profile="")
    assert bare.cell("marks.face.level.lamp").remark == "without its profile"
    for leaf in ("key", "key_height", "key_size"):
        assert "without the profile of lamp" in bare.cell(f"marks.face.{leaf}").remark
    assert "the profile of lamp" in bare.cell("marks.face.level").remark
    # The same profile by its hash: no drift of the file itself.
    assert bare.cell("lights.lamp.ies").grade is Grade.SAME
