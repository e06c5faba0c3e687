"""A master that is adopted as a USD layer: the composed scene has the new master's lights, and what is the shot's."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from pxr import Sdf, Usd, UsdGeom

from samelight.cli.main import main
from samelight.sources.batch import Job, capture_job
from samelight.sources.request import CaptureRequest
from samelight.sources.usd.capture import capture_usd

KEY = """#usda 1.0
(
    metersPerUnit = 0.01
    upAxis = "Z"
)
def Xform "rig"
{{
    double3 xformOp:translate = (10, 20, 30)
    uniform token[] xformOpOrder = ["xformOp:translate"]
    def RectLight "key"
    {{
        float inputs:intensity = {key}
        float3 xformOp:rotateXYZ = ({turn}, 0, 0)
        double3 xformOp:translate = (0, 0, {height})
        uniform token[] xformOpOrder = ["xformOp:translate", "xformOp:rotateXYZ"]
    }}
    def SphereLight "fill"
    {{
        float inputs:intensity = {fill}
    }}
{more}}}
def DomeLight_1 "sky"
{{
    float inputs:intensity = {sky}
}}
"""
RIM = '    def SphereLight "{}"\n    {{\n        double3 xformOp:translate = (5, 0, 0)\n        uniform token[] xformOpOrder = ["xformOp:translate"]\n    }}\n'
HEAD = '#usda 1.0\n(\n    metersPerUnit = 0.01\n    upAxis = "Z"\n{}\n)\n'
TWEAKS = """    over "fill"
    {
        float inputs:intensity = 9
    }
    over "key"
    {
        float3 xformOp:rotateXYZ = (30, 0, 0)
        uniform token[] xformOpOrder = ["xformOp:transform", "xformOp:rotateXYZ"]
    }
    def Cube "boat"
    {
    }
"""
MOVED = """    double3 xformOp:translate.timeSamples = { 1: (10, 20, 30), 5: (50, 20, 30) }
"""
SHOTS = {
    "S_020": HEAD.format("    subLayers = [@./master/master.v001.usda@]")
    + 'over "rig"\n{\n'
    + TWEAKS
    + "}\n",
    "S_030": HEAD.format("")
    + 'def "set"\n{\n    over "rig" (references = @./master/master.v001.usda@</rig>)\n    {\n'
    + TWEAKS
    + '    }\n}\ndef "sky" (references = @./master/master.v001.usda@</sky>)\n{\n}\n',
}


@pytest.fixture(scope="module")
def grown(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A sequence whose master 2 has another key, place, sky and rim, and whose shots stand on master 1 with tweaks of their own."""
    folder = tmp_path_factory.mktemp("quay")
    (folder / "sequence.yaml").write_text(f"title: quay\ncut: [S_010, {', '.join(SHOTS)}]\nkey_shot: S_010\n")
    key = folder / "S_010.usda"
    key.write_text(KEY.format(key=3, turn=10, height=100, fill=1, sky=2, more=RIM.format("kicker")))
    capture_job(Job(folder, "S_010", key))
    assert main(["publish", str(folder), "--usd", "--who", "Ada"]) == 0
    master = folder / "master/master.v001.yaml"
    for shot, text in SHOTS.items():
        scene = folder / f"{shot}.usda"
        scene.write_text(text)
        capture_job(Job(folder, shot, scene, master=master))
    words = ["intend", "S_020,S_030", "lights.fill.level", "--reason", "the lamp is in frame", "--who", "Ada"]
    assert main(["decide", str(folder), *words]) == 0
    key.write_text(KEY.format(key=4, turn=20, height=150, fill=2, sky=3, more=RIM.format("rim")))
    capture_job(Job(folder, "S_010", key))
    assert main(["publish", str(folder), "--usd", "--despite-breaks"]) == 0
    return folder


def composed(folder: Path, layer: Path, shot: str) -> Path:
    whole = folder / f"{shot}_with.usda"
    whole.write_text(HEAD.format(f"    subLayers = [@{layer.as_posix()}@, @./{shot}.usda@]"))
    return whole


@pytest.mark.parametrize("shot", list(SHOTS))
def test_the_composed_scene_has_the_new_master_and_what_is_the_shots(
    grown: Path, shot: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    capsys.readouterr()
    layers = tmp_path / "layers"
    assert main(["adopt", str(grown), "--shots", shot, "--usd", str(layers)]) == 0
    streams = capsys.readouterr()
    assert all("stand below /set here" in line for line in streams.err.splitlines())
    assert "written" in streams.out
    made = Sdf.Layer.FindOrOpen(str(layers / f"{shot}.usda"))
    by = "a sublayer" if shot == "S_020" else "a reference at /set/rig, /sky"
    assert f"master 2 by {by}" in streams.out
    brought = {Path(made.ComputeAbsolutePath(one)).name for one in made.GetCompositionAssetDependencies()}
    assert brought == {"master.v002.usda"}
    assert str(grown.parent) not in made.ExportToString()
    was = capture_usd(grown / f"{shot}.usda")
    stage = Usd.Stage.Open(str(composed(grown, layers / f"{shot}.usda", shot)))
    found = capture_usd(Path(stage.GetRootLayer().realPath), CaptureRequest())
    new = capture_usd(grown / "S_010.usda")
    assert found["master"] == 2
    gone = ["/rig/kicker: it is inactive and so not in the sheet."] if shot == "S_020" else []
    assert found.get("remarks", []) == gone
    lights: dict[str, Any] = found["lights"]
    assert set(lights) == {"key", "fill", "rim"}
    assert lights["key"]["intensity"] == 4
    assert lights["fill"]["intensity"] == 9
    assert found["environments"]["sky"]["intensity"] == 3
    assert {**lights["rim"], "position": None} == {**new["lights"]["rim"], "position": None}
    # Where the key stands and points goes together, and the shot has turned it.
    for name in ("position", "direction"):
        assert lights["key"][name] == pytest.approx(was["lights"]["key"][name])
    root = "/rig" if shot == "S_020" else "/set/rig"
    place = UsdGeom.Xformable(stage.GetPrimAtPath(f"{root}/boat")).ComputeLocalToWorldTransform(
        Usd.TimeCode(1)
    )
    before = Usd.Stage.Open(str(grown / f"{shot}.usda"))
    assert place == UsdGeom.Xformable(before.GetPrimAtPath(f"{root}/boat")).ComputeLocalToWorldTransform(
        Usd.TimeCode(1)
    )


def test_what_the_shot_moves_above_the_lights_is_moved_by_no_master(
    grown: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    scene, text = grown / "S_020.usda", SHOTS["S_020"]
    scene.write_text(
        text.replace(
            'over "rig"\n{\n',
            'over "rig"\n{\n' + MOVED + '    uniform token[] xformOpOrder = ["xformOp:translate"]\n',
        )
    )
    words = ["adopt", str(grown), "--shots", "S_020", "--usd", str(tmp_path)]
    capsys.readouterr()
    assert main(words) == 2
    assert "S_020 has no layer" in (said := capsys.readouterr().err)
    assert "has changed since S_020.v001.yaml was captured" in said
    capture_job(Job(grown, "S_020", scene, master=grown / "master/master.v001.yaml"))
    assert main(words) == 0
    stage = Usd.Stage.Open(str(composed(grown, tmp_path / "S_020.usda", "S_020")))
    rig = UsdGeom.Xformable(stage.GetPrimAtPath("/rig"))
    assert rig.ComputeLocalToWorldTransform(Usd.TimeCode(5)).ExtractTranslation() == (50, 20, 30)
    assert rig.ComputeLocalToWorldTransform(Usd.TimeCode(1)).ExtractTranslation() == (10, 20, 30)


def test_without_the_masters_layer_there_is_none(
    grown: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    layer = grown / "master/master.v002.usda"
    text = layer.read_text()
    layer.unlink()
    try:
        assert main(["adopt", str(grown), "--usd", str(tmp_path / "layers")]) == 2
    finally:
        layer.write_text(text)
    assert f"{layer} is not there: publish --usd writes it with its master" in capsys.readouterr().err
    assert not list((tmp_path / "layers").iterdir())
