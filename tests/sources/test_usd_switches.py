"""Lights that variants and inactive prims switch off: in the sheet, in the findings, asked for, and switched on by a layer."""

from pathlib import Path
from typing import Any

import pytest

from conftest import write_sequence
from known import there
from samelight.cli.main import main
from samelight.drift.cells import Grade
from samelight.sequence.session import Session, open_session
from samelight.sheets.trees import read_document
from samelight.sources.errors import CaptureError
from samelight.sources.request import CaptureRequest
from samelight.sources.scenes import capture_scene
from samelight.sources.usd.capture import capture_usd
from samelight.sources.usd.master_layer import write_master

HEAD = '#usda 1.0\n(\nmetersPerUnit = 1\nupAxis = "Y"\n{}\n)\n'
RIG = """
def Xform "set" (
    variants = {
        string lamps = "on"
        string time = "day"
    }
    prepend variantSets = ["lamps", "time"]
)
{
    def DistantLight "sun"
    {
    }
    def SphereLight "key" {
        float inputs:intensity = 5
    }
    def Xform "practicals"
    {
        def SphereLight "bulb" {
        float inputs:intensity = 7
    }
    }
    variantSet "lamps" = {
        "on" {
            def SphereLight "fill" {
        float inputs:intensity = 2
    }
        }
        "off" {
            over "key" (active = false) {
            }
        }
    }
    variantSet "time" = {
        "day" {
            over "sun"
            {
                float inputs:intensity = 3
            }
        }
        "night" {
            over "sun" {
        float inputs:intensity = 0.1
    }
        }
    }
}
def Xform "crate" (
    kind = "component"
    variants = {
        string model = "a"
    }
    prepend variantSets = "model"
)
{
    variantSet "model" = {
        "a" {
            def Cube "box" { }
        }
        "b" {
            def Sphere "box" { }
        }
    }
}
"""
SHOTS = {
    "S_010": "",
    "S_020": 'over "set" (variants = {\nstring lamps = "off"\n}) {\n}',
    "S_030": 'over "set"\n{\n    over "practicals" (active = false) {\n    }\n}',
    "S_040": 'over "set"\n{\n    over "key" (active = false) {\n    }\n}',
}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A sequence of four shots, of which three switch lights off, each in a way of its own."""
    folder = tmp_path_factory.mktemp("switches") / "quay"
    scenes = folder / "scenes"
    scenes.mkdir(parents=True)
    (scenes / "rig.usda").write_text(HEAD.format("") + RIG)
    trees = {}
    for shot, text in SHOTS.items():
        path = scenes / f"{shot}.usda"
        path.write_text(HEAD.format("subLayers = [@./rig.usda@]") + text)
        trees[shot] = capture_usd(path, CaptureRequest(home=folder))
        trees[shot]["source"]["scene"] = f"scenes/{shot}.usda"
    master = {key: value for key, value in trees["S_010"].items() if key not in ("shot", "source")}
    return write_sequence(folder, master=master, shots=trees)


@pytest.fixture(scope="module")
def session(folder: Path) -> Session:
    return open_session(folder)


def source(session: Session, shot: str) -> dict[str, Any]:
    found: dict[str, Any] = session.contents.sheets[shot].typed["source"]
    return found


def test_the_sheet_knows_what_is_selected_and_what_is_off(session: Session) -> None:
    # Of a model without lights among many nobody asks for the variant.
    assert source(session, "S_010")["variants"] == {"/set": {"lamps": "on", "time": "day"}}
    assert "inactive" not in source(session, "S_010")
    assert source(session, "S_020")["inactive"] == {
        "/set/key": {"prim": "/set/key", "layer": "rig.usda", "variant": "lamps=off"}
    }
    assert source(session, "S_030")["inactive"] == {
        "/set/practicals/bulb": {"prim": "/set/practicals", "layer": "S_030.usda"}
    }


def test_the_findings_say_what_switched_it_off(session: Session) -> None:
    found = [finding for finding in session.cases.findings if finding.finding == "switched-off"]
    assert {finding.shots: finding.says for finding in found} == {
        (
            "S_020",
        ): "fill and key are switched off in S_020: its variant set lamps of /set stands at off, not at on.",
        ("S_030",): "bulb is switched off in S_030: /set/practicals is inactive by S_030.usda.",
        ("S_040",): "key is switched off in S_040: /set/key is inactive by S_040.usda.",
    }
    assert {parameter for finding in found for parameter in finding.parameters} == {
        "lights.fill",
        "lights.key",
        "lights.bulb",
    }


def test_a_variant_that_is_asked_for_is_selected(folder: Path, session: Session, tmp_path: Path) -> None:
    scene = folder / "scenes" / "S_010.usda"
    night = capture_usd(scene, CaptureRequest(variants=(("time", "night"), ("lamps", "off"))))
    assert set(night["lights"]) == {"sun", "bulb"}
    assert night["lights"]["sun"]["intensity"] == 0.1
    assert night["source"]["variants"] == {"/set": {"lamps": "off", "time": "night"}}
    sheet = tmp_path / "night.yaml"
    assert main(["capture", str(scene), "-o", str(sheet), "--variant", "time={shot}", "--shot", "night"]) == 0
    data = read_document(sheet).data
    assert data["lights"]["sun"]["intensity"] == 0.1
    assert data["source"]["asked"] == {"variants": {"time": "night"}}
    with pytest.raises(CaptureError, match=r"variant set.*none called lamp.*lamps"):
        capture_usd(scene, CaptureRequest(variants=(("lamp", "on"),)))
    with pytest.raises(CaptureError, match=r"a variant of time: day, night, found nigth.*night"):
        capture_usd(scene, CaptureRequest(variants=(("time", "nigth"),)))


def test_a_master_is_made_with_the_variants_that_were_asked_for(folder: Path, tmp_path: Path) -> None:
    scene = folder / "scenes" / "S_010.usda"
    for time, intensity in (("night", 0.1), ("day", 3.0)):
        source = capture_scene(scene, CaptureRequest(variants=(("time", time),)))["source"]
        out = tmp_path / f"{time}.usda"
        assert write_master(out, scene, source, 1, "") == len(source["lights"])
        assert capture_usd(out)["lights"]["sun"]["intensity"] == pytest.approx(intensity)


@pytest.mark.parametrize(
    ("shot", "says"),
    [("S_020", '"lamps" = "on"'), ("S_030", "active = true"), ("S_040", "active = true")],
)
def test_a_layer_switches_it_on_again(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], shot: str, says: str
) -> None:
    layer = tmp_path / "mend.usda"
    assert main(["fix", str(folder), "--shots", shot, "--usd-layer", str(layer)]) == 0
    assert "cannot" not in capsys.readouterr().err
    text = layer.read_text()
    assert says.replace('"lamps"', "string lamps") in text
    mended = tmp_path / "mended.usda"
    scene = folder / "scenes" / f"{shot}.usda"
    mended.write_text(HEAD.format(f"subLayers = [@{layer}@, @{scene}@]"))
    tree = capture_usd(mended)
    assert {name: group["intensity"] for name, group in tree["lights"].items()} == {
        "sun": 3.0,
        "key": 5.0,
        "fill": 2.0,
        "bulb": 7.0,
    }


def test_what_drifts_under_the_switch_is_put_back_too(folder: Path, tmp_path: Path) -> None:
    """A light that is off and has been turned down as well is as the master has it once it is on."""
    work = tmp_path / "quay"
    (work / "scenes").mkdir(parents=True)
    (work / "scenes/rig.usda").write_text(HEAD.format("") + RIG)
    scene = work / "scenes/S_010.usda"
    scene.write_text(
        HEAD.format("subLayers = [@./rig.usda@]")
        + 'over "set"\n{\n    over "key" (active = false)\n    {\n        float inputs:intensity = 1\n    }\n}\n'
    )
    tree = capture_usd(scene)
    tree["source"]["scene"] = "scenes/S_010.usda"
    master = there(open_session(folder).contents.master).typed
    write_sequence(work, master={**master, "version": 1}, shots={"S_010": tree})
    layer = tmp_path / "mend.usda"
    assert main(["fix", str(work), "--usd-layer", str(layer), "--shots", "S_010"]) == 0
    assert "float inputs:intensity = 5" in layer.read_text()


def test_lights_that_are_merely_gone_are_not_switched_off(folder: Path, tmp_path: Path) -> None:
    trees = {shot: dict(open_session(folder).contents.sheets[shot].typed) for shot in ("S_010", "S_030")}
    trees["S_030"]["source"] = {k: v for k, v in trees["S_030"]["source"].items() if k != "inactive"}
    master = there(open_session(folder).contents.master).typed
    session = open_session(write_sequence(tmp_path / "quay", master=master, shots=trees))
    assert any(cell.parameter == "lights.bulb" for cell in session.table.cells(above=Grade.WITHIN))
    assert [finding for finding in session.cases.findings if finding.finding == "switched-off"] == []
