"""The master version that a scene's layers state."""

from collections.abc import Callable
from pathlib import Path

import pytest
from pxr import Sdf

from conftest import write_sequence
from samelight.cli.main import main
from samelight.sequence.session import open_session
from samelight.sheets.errors import SamelightError
from samelight.sheets.sequence import read_sequence
from samelight.sources.batch import Job, capture_job
from samelight.sources.keyed import value_at
from samelight.sources.request import CaptureRequest
from samelight.sources.usd.adopted_layer import NewMaster, write_adopted
from samelight.sources.usd.capture import capture_usd
from samelight.sources.usd.master_layer import write_master

RIG = '(\ncustomLayerData = {{\ndictionary samelight = {{\nint master = {}\n}}\n}}\n)\ndef SphereLight "key"\n{{\n}}\n'

Scenes = Callable[..., Path]


@pytest.fixture
def shot(scene: Scenes) -> Scenes:
    def write(*versions: int, own: str = "") -> Path:
        for version in versions:
            scene(RIG.format(version), f"master.v{version:03d}.usda")
        layers = ", ".join(f"@./master.v{version:03d}.usda@" for version in versions)
        return scene(f"(\nmetersPerUnit = 1\nsubLayers = [{layers}]\n{own}\n)\n", "shot.usda")

    return write


def test_the_scene_says_which_master_it_stands_on(shot: Scenes) -> None:
    tree = capture_usd(shot(3))
    assert tree["master"] == 3
    assert "remarks" not in tree
    assert capture_usd(shot(3), CaptureRequest(master=2))["master"] == 2


def test_of_several_the_strongest_counts_and_it_is_said(shot: Scenes) -> None:
    tree = capture_usd(shot(2, 5))
    assert tree["master"] == 2
    assert tree["remarks"] == ["The scene's layers are of masters 2, 5; the strongest says 2."]


@pytest.mark.parametrize(
    "stated", ['string samelight = "3"', 'dictionary samelight = {\nstring master = "3"\n}']
)
def test_what_is_no_version_is_none(shot: Scenes, stated: str) -> None:
    assert "master" not in capture_usd(shot(own=f"customLayerData = {{\n{stated}\n}}"))


def test_a_referenced_master_counts_too(scene: Scenes) -> None:
    scene(RIG.format(4), "master.usda")
    path = scene('(metersPerUnit = 1)\ndef "rig" (references = @master.usda@</key>)\n{\n}\n', "shot.usda")
    assert capture_usd(path)["master"] == 4


SET = """(
    metersPerUnit = 0.01
    upAxis = "Z"
    startTimeCode = 1001
    endTimeCode = 1010
    renderSettingsPrimPath = "/Render/main"
)
def Xform "set" (kind = "assembly")
{
    double3 xformOp:translate = (10, 20, 30)
    float3 xformOp:rotateXYZ = (0, 0, 40)
    uniform token[] xformOpOrder = ["xformOp:translate", "xformOp:rotateXYZ"]
    def RectLight "key" (prepend apiSchemas = ["ShapingAPI", "ShadowAPI"])
    {
        float inputs:intensity.timeSamples = { 1001: 5, 1010: 9 }
        float inputs:shaping:cone:angle = 40
        bool inputs:shadow:enable = 0
        uniform bool collection:lightLink:includeRoot = 0
        rel collection:lightLink:includes = </set/boat>
        rel light:filters = </set/gobo>
        custom int renderer:samples = 64
        float3 xformOp:rotateXYZ = (10, 20, 30)
        uniform token[] xformOpOrder = ["xformOp:rotateXYZ"]
    }
    def LightFilter "gobo"
    {
        float inputs:density = 0.5
    }
    def Cube "boat"
    {
    }
    def Cube "quay"
    {
    }
}
def DomeLight "sky"
{
    asset inputs:texture:file = @./maps/dawn.exr@
}
def "Render"
{
    def RenderSettings "main"
    {
        uniform int2 resolution = (960, 540)
    }
}
"""


def test_publishing_writes_the_light_of_the_scene_and_nothing_else(scene: Scenes, tmp_path: Path) -> None:
    """Laid under a scene that has the set alone, the layer lights it as the key shot is lit."""
    folder = tmp_path / "quay"
    (folder / "maps").mkdir(parents=True)
    (folder / "maps/dawn.exr").write_bytes(b"dawn")
    path = scene(SET, "quay/S_010.usda")
    (folder / "sequence.yaml").write_text("title: quay\ncut: [S_010]\nkey_shot: S_010\nscenes: '*.usda'\n")
    assert main(["capture", "--sequence", str(folder)]) == 0
    assert main(["publish", str(folder), "--usd", "--who", "Ada"]) == 0
    layer = folder / "master/master.v001.usda"
    made = Sdf.Layer.FindOrOpen(str(layer))
    assert made.documentation == "Master 1 of quay, from S_010."
    assert not made.GetPrimAtPath("/set/boat")
    assert open_session(folder).contents.master_version == 1
    shot = scene(
        '(\nmetersPerUnit = 0.01\nupAxis = "Z"\nrenderSettingsPrimPath = "/Render/main"\n'
        "subLayers = [@./master/master.v001.usda@]\n)\n"
        'over "set"\n{\n    def Cube "boat"\n    {\n    }\n    def Cube "quay"\n    {\n    }\n}\n',
        "quay/S_020.usda",
    )
    found, first = capture_usd(shot), capture_usd(path)
    assert found["master"] == 1
    for section in ("lights", "environments", "render"):
        texture = {"sky": {"texture": "./maps/dawn.exr"}} if section == "environments" else {}
        for name, group in found[section].items():
            assert {**group, **texture.get(name, {})} == first[section][name]
        assert found[section].keys() == first[section].keys()
    # What is published stays as it is.
    assert main(["publish", str(folder), "--usd", "--who", "Ada"]) == 0
    assert (folder / "master/master.v002.usda").exists()


def test_a_scene_that_changed_since_is_not_published(
    scene: Scenes, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Neither it nor anything that it is made of; a change that gave the same sheet is none."""
    folder = tmp_path / "quay"
    lamp = 'def SphereLight "key"\n{\n    float inputs:intensity = %s\n}\n'
    scene(lamp % 3, "quay/rig.usda")
    shot = scene("(\nmetersPerUnit = 1\nsubLayers = [@./rig.usda@]\n)\n", "quay/S_010.usda")
    (folder / "sequence.yaml").write_text("title: quay\ncut: [S_010]\nkey_shot: S_010\nscenes: 'S_*.usda'\n")
    capture_job(Job(folder, "S_010", shot))
    scene(lamp % 4, "quay/rig.usda")
    capsys.readouterr()
    assert main(["publish", str(folder), "--usd"]) == 2
    assert f"{shot} has changed since S_010.v001.yaml was captured: capture S_010 again first" in (
        capsys.readouterr().err
    )
    assert not (folder / "master").exists()
    scene(lamp % "3.0", "quay/rig.usda")
    capture_job(Job(folder, "S_010", shot))
    assert main(["publish", str(folder), "--usd"]) == 0


def test_a_layer_says_by_its_name_which_master_it_is(scene: Scenes, tmp_path: Path) -> None:
    """Where it does not say so itself; the pattern tells the end of its path."""
    lamp = 'def SphereLight "key"\n{\n}\n'
    scene(lamp, "quay/rig/light.v004.usda")
    scene(RIG.format(7), "quay/rig/light.v005.usda")
    shots = {}
    for name in ("004", "005"):
        head = f"(\nmetersPerUnit = 1\nsubLayers = [@./rig/light.v{name}.usda@]\n)\n"
        shots[name] = scene(head, f"quay/S_{name}.usda")
    named = CaptureRequest(master_layers="rig/light.v{version}.usd*")
    assert capture_usd(shots["004"], named)["master"] == 4
    assert capture_usd(shots["005"], named)["master"] == 7
    assert "master" not in capture_usd(
        shots["004"], CaptureRequest(master_layers="set/light.v{version}.usda")
    )
    folder = write_sequence(tmp_path / "quay", shots={})
    for pattern in ("", "light.v{version}.usda"):
        capture_job(Job(folder, "S_004", shots["004"], CaptureRequest(master_layers=pattern)))
    assert "master: 4\n" in (folder / "shots/S_004/S_004.v002.yaml").read_text()


@pytest.mark.parametrize("pattern", ["light.usda", "[light]", ""])
def test_a_pattern_of_masters_has_a_version(tmp_path: Path, pattern: str) -> None:
    with pytest.raises(SamelightError, match=r"master_layers.*a pattern of names with a"):
        read_sequence(write_sequence(tmp_path / "quay", sequence={"master_layers": pattern}))
    with pytest.raises(SystemExit):
        main(["capture", "quay.usda", "--master-layers", "light.usda"])


def test_without_a_scene_nothing_is_published(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    tree = {"lights": {"key": {"type": "sphere", "intensity": 1, "radius": 1}}}
    folder = write_sequence(tmp_path / "quay", shots={"S_010": tree}, sequence={"key_shot": "S_010"})
    assert main(["publish", str(folder), "--usd"]) == 2
    assert "was not captured from a scene" in capsys.readouterr().err
    assert not (folder / "master").exists()


FLICKER = """(
    metersPerUnit = 1
    startTimeCode = {first}
    endTimeCode = {last}
{more}
)
{over} "rig"
{{
    {rig}
    def SphereLight "lamp"
    {{
        float inputs:intensity.timeSamples = {{ {first}: 2, {middle}: 5, {last}: 3 }}
    }}
}}
"""
TURNS = """float xformOp:rotateY.timeSamples = {{ {first}: 0, {last}: 90 }}
    uniform token[] xformOpOrder = ["xformOp:rotateY"]
    def DistantLight "sun"
    {{
    }}
"""


def test_a_layer_moves_as_its_scene_does_and_later_where_the_shot_begins_later(
    scene: Scenes, tmp_path: Path
) -> None:
    """Also what turns above a light, which between its ends goes another way than a matrix does."""
    times = {"first": 1001, "middle": 1010, "last": 1021}
    key = scene(FLICKER.format(over="def Xform", rig=TURNS.format(**times), more="", **times), "key.usda")
    found = capture_usd(key)
    master = tmp_path / "master.usda"
    assert write_master(master, key, found["source"], 1, "") == 2
    taken = capture_usd(master)
    assert taken["lights"]["lamp"]["intensity"] == found["lights"]["lamp"]["intensity"]
    for frame in range(1001, 1022, 4):
        turned = [value_at(one["lights"]["sun"]["direction"], frame, circle=True) for one in (taken, found)]
        assert turned[0] == pytest.approx(turned[1], abs=1e-6)
    shot = scene("(\nmetersPerUnit = 1\nstartTimeCode = 1\nendTimeCode = 21\n)\n", "shot.usda")
    wanted = {
        "lights": {
            "lamp": {
                **found["lights"]["lamp"],
                "intensity": {"keys": [[1, 2.0], [10, 5.0], [21, 3.0]], "interpolation": "linear"},
            }
        }
    }
    new = NewMaster(master, 1, found["source"]["lights"], later=-1000)
    made = write_adopted(tmp_path / "over.usda", shot, capture_usd(shot), wanted, new, "")
    assert made.left == ()
    assert made.kept == 1  # the sun, which the shot is not to have
    whole = scene(
        "(\nmetersPerUnit = 1\nstartTimeCode = 1\nendTimeCode = 21\nsubLayers = [@./over.usda@, @./shot.usda@]\n)\n",
        "whole.usda",
    )
    assert capture_usd(whole)["lights"] == wanted["lights"]
