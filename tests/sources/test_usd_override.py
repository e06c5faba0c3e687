"""Layers of overs: captured, put back to the master, laid over the scene and captured again, no drift is left."""

import math
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from pxr import Sdf, Usd, UsdGeom, UsdLux

from conftest import write_sequence
from samelight.changes.fix_list import fix_list
from samelight.cli.usd_layer import changes_of
from samelight.drift.cells import Grade
from samelight.drift.policy import default_policy
from samelight.drift.table import build_table
from samelight.sequence.session import open_session
from samelight.sheets.sheet import Sheet, sheet_from_document
from samelight.sheets.trees import parse_document
from samelight.sheets.writing import yaml_text
from samelight.sources.errors import CaptureError
from samelight.sources.usd.capture import capture_usd
from samelight.sources.usd.override import Change, write_override

RIG = """
def Xform "set"
{
    def SphereLight "lamp" (prepend apiSchemas = ["ShapingAPI", "ShadowAPI"])
    {
        float inputs:intensity = 3
        float inputs:exposure = 1
        float inputs:radius = 0.1
        color3f inputs:color = (1, 0.8, 0.6)
        float inputs:shaping:cone:angle = 40
        float inputs:shaping:cone:softness = 0.25
        float inputs:shadow:distance = 4
        double3 xformOp:translate = (1, 2, 3)
        float3 xformOp:rotateXYZ = (-50, 20, 0)
        uniform token[] xformOpOrder = ["xformOp:translate", "xformOp:rotateXYZ"]
    }
    def DistantLight "sun"
    {
        float inputs:intensity = 4
        bool inputs:enableColorTemperature = 1
        float inputs:colorTemperature = 4300
        float3 xformOp:rotateXYZ = (-40, 100, 0)
        uniform token[] xformOpOrder = ["xformOp:rotateXYZ"]
    }
    def RectLight "window"
    {
        float inputs:intensity = 8
        float inputs:width = 2
        float inputs:height = 1.5
        bool inputs:normalize = 1
        uniform bool collection:lightLink:includeRoot = 0
        rel collection:lightLink:includes = </set/nets>
        custom int renderer:samples = 64
        double3 xformOp:translate = (0, 3, -4)
        uniform token[] xformOpOrder = ["xformOp:translate"]
    }
    def CylinderLight "tube"
    {
        float inputs:length = 1.2
        float inputs:radius = 0.02
        double3 xformOp:translate = (0, 1, 0)
        float3 xformOp:rotateXYZ = (0, 30, 0)
        uniform token[] xformOpOrder = ["xformOp:translate", "xformOp:rotateXYZ"]
    }
    def DomeLight "sky"
    {
        float inputs:intensity = 0.8
        float3 xformOp:rotateXYZ = (0, 40, 0)
        uniform token[] xformOpOrder = ["xformOp:rotateXYZ"]
    }
    def Cube "nets"
    {
    }
    def Cube "quay"
    {
    }
}
"""
HEAD = '(\n    metersPerUnit = 1\n    upAxis = "Y"\n    startTimeCode = 1001\n    endTimeCode = 1010\n)\n'


def sheet_of(tree: dict[str, Any]) -> Sheet:
    return sheet_from_document(parse_document(Path("sheet.yaml"), yaml_text(tree)))


def drifting(master: Sheet, shot: Sheet) -> list[str]:
    """The parameters of a shot that drift from a master, as the program itself says."""
    table = build_table(["S"], {"S": shot}, master, default_policy())
    return [cell.parameter for cell in table.cells(above=Grade.WITHIN)]


def changes_to(folder: Path, master: dict[str, Any], shot: dict[str, Any]) -> list[Change]:
    """What to change in a shot to put all of it back to the master, as the command for it asks."""
    setup = {key: value for key, value in master.items() if key not in ("shot", "frames", "camera", "source")}
    session = open_session(write_sequence(folder, master=setup, shots={"S": {**shot, "shot": "S"}}))
    parts = fix_list(session, at_least=Grade.WITHIN)
    return [
        replace(change, why="nudged by accident") for part in parts for change in changes_of(session, part)
    ]


def laid_over(tmp_path: Path, scene: Path, layer: Path) -> Path:
    """A new scene in which the layer lies above the old one."""
    stage = Usd.Stage.CreateNew(str(tmp_path / f"mended_{scene.stem}.usda"))
    old = Usd.Stage.Open(str(scene))
    for name in ("upAxis", "metersPerUnit", "startTimeCode", "endTimeCode"):
        if old.HasAuthoredMetadata(name):
            stage.SetMetadata(name, old.GetMetadata(name))
    stage.GetRootLayer().subLayerPaths = [str(layer), str(scene)]
    stage.GetRootLayer().Save()
    return Path(stage.GetRootLayer().realPath)


@pytest.fixture
def mended(tmp_path: Path) -> Callable[..., tuple[list[str], list[Any], str]]:
    """Puts a shot back to a master by way of a layer; what drifted, what is left, and the text of the layer."""

    def mend(master: str, shot: str, expect_left: tuple[Any, ...] = ()) -> tuple[list[str], list[Any], str]:
        paths = []
        for name, text in (("master", master), ("shot", shot)):
            path = tmp_path / name / f"{name}.usda"
            path.parent.mkdir(exist_ok=True)
            path.write_text(f"#usda 1.0\n{text}")
            paths.append(path)
        trees = [capture_usd(path) for path in paths]
        reference, own = map(sheet_of, trees)
        before = drifting(reference, own)
        layer = tmp_path / "mend.usda"
        _, left = write_override(
            layer, paths[1], trees[1]["source"], changes_to(tmp_path / "quay", *trees), "put back"
        )
        assert [one for one in left if not any(part in one for part in expect_left)] == []
        again = sheet_of(capture_usd(laid_over(tmp_path, paths[1], layer)))
        return before, drifting(reference, again), layer.read_text()

    return mend


def replaced(text: str, **parts: tuple[str, str]) -> str:
    for old, new in parts.values():
        assert old in text
        text = text.replace(old, new)
    return text


DRIFTS = {
    "intensity": ("inputs:intensity = 3", "inputs:intensity = 2"),
    "exposure": ("inputs:exposure = 1", "inputs:exposure = 2"),
    "radius": ("inputs:radius = 0.1", "inputs:radius = 0.2"),
    "color": ("(1, 0.8, 0.6)", "(0.5, 0.8, 1)"),
    "cone": ("cone:angle = 40", "cone:angle = 30"),
    "softness": ("        float inputs:shaping:cone:softness = 0.25\n", ""),
    "shadow": ("shadow:distance = 4", "shadow:distance = 5"),
    "place": ("(1, 2, 3)", "(1.5, 2, 3)"),
    "aim": ("(-50, 20, 0)", "(-30, 25, 5)"),
    "kelvin": ("colorTemperature = 4300", "colorTemperature = 5600"),
    "no_kelvin": ("enableColorTemperature = 1", "enableColorTemperature = 0"),
    "sun": ("(-40, 100, 0)", "(-40, 112, 0)"),
    "size": ("inputs:width = 2", "inputs:width = 3"),
    "normalize": ("inputs:normalize = 1", "inputs:normalize = 0"),
    "roll": (
        '(0, 3, -4)\n        uniform token[] xformOpOrder = ["xformOp:translate"]',
        "(0, 3, -4)\n        float xformOp:rotateZ = 70\n"
        '        uniform token[] xformOpOrder = ["xformOp:translate", "xformOp:rotateZ"]',
    ),
    "light_links": ("includes = </set/nets>", "includes = </set/quay>"),
    "all_links": ("        uniform bool collection:lightLink:includeRoot = 0\n", ""),
    "samples": ("samples = 64", "samples = 8"),
    "tube": ("(0, 30, 0)", "(10, 60, 5)"),
    "tube_length": ("inputs:length = 1.2", "inputs:length = 2"),
    "sky": ("inputs:intensity = 0.8", "inputs:intensity = 0.5"),
    "sky_turn": ("(0, 40, 0)", "(0, 95, 0)"),
    "sky_tilt": ("(0, 40, 0)", "(10, 40, 0)"),
    "sky_lean": ("(0, 40, 0)", "(10, 40, -70)"),
    "hidden": ('def SphereLight "lamp" (', 'def SphereLight "lamp" (active = true '),
}


@pytest.mark.parametrize("name", [name for name in DRIFTS if name != "hidden"])
def test_each_drift_by_itself(mended: Callable[..., tuple[list[str], list[Any], str]], name: str) -> None:
    before, after, text = mended(HEAD + RIG, HEAD + replaced(RIG, one=DRIFTS[name]))
    assert before
    assert after == []
    layer = Sdf.Layer.CreateAnonymous(".usda")
    assert layer.ImportFromString(text)
    assert {spec.specifier for spec in _specs(layer)} == {Sdf.SpecifierOver}
    assert "nudged by accident" in text
    assert layer.documentation == "put back"


def _specs(layer: Any) -> Iterator[Any]:
    waiting = list(layer.rootPrims)
    while waiting:
        spec = waiting.pop()
        yield spec
        waiting.extend(spec.nameChildren)


def test_all_of_them_together(mended: Callable[..., tuple[list[str], list[Any], str]]) -> None:
    several = {
        name: pair
        for name, pair in DRIFTS.items()
        if name not in ("hidden", "no_kelvin", "all_links", "sky_tilt", "sky_lean")
    }
    before, after, _ = mended(HEAD + RIG, HEAD + replaced(RIG, **several))
    assert len(before) > 12
    assert after == []


CENTIMETRES = '(\n    metersPerUnit = 0.01\n    upAxis = "Z"\n)\n'
Z_UP = """
def Xform "rig"
{
    double3 xformOp:translate = (500, -200, 30)
    float3 xformOp:rotateXYZ = (90, 0, 25)
    float3 xformOp:scale = (2, 2, 2)
    uniform token[] xformOpOrder = ["xformOp:translate", "xformOp:rotateXYZ", "xformOp:scale"]

    def DiskLight "lamp"
    {
        float inputs:intensity = 7
        float inputs:radius = 20
        double3 xformOp:translate = (30, 60, 90)
        float3 xformOp:rotateXYZ = (11, 22, 33)
        uniform token[] xformOpOrder = ["xformOp:translate", "xformOp:rotateXYZ"]
    }
    def DomeLight "sky"
    {
        float3 xformOp:rotateXYZ = (0, 40, 0)
        uniform token[] xformOpOrder = ["xformOp:rotateXYZ"]
    }
}
"""


def test_a_scene_of_centimetres_with_z_up(mended: Callable[..., tuple[list[str], list[Any], str]]) -> None:
    shot = Z_UP.replace("(30, 60, 90)", "(10, 60, 95)").replace("(11, 22, 33)", "(40, 22, 3)")
    shot = shot.replace("radius = 20", "radius = 35").replace("(0, 40, 0)", "(0, 70, 0)")
    before, after, text = mended(CENTIMETRES + Z_UP, CENTIMETRES + shot)
    assert {"lights.lamp.position", "lights.lamp.direction", "lights.lamp.radius"} <= set(before)
    assert after == []
    assert 'upAxis = "Z"' in text
    assert "metersPerUnit = 0.01" in text
    assert "float inputs:radius = 20\n" in text  # in the scene's own unit and before its scale


def test_a_master_of_metres_and_a_shot_of_centimetres(
    mended: Callable[..., tuple[list[str], list[Any], str]],
) -> None:
    master = HEAD + RIG.split('    def RectLight "window"', maxsplit=1)[0] + "}\n"
    shot = (
        f'{CENTIMETRES}def Xform "set"\n{{\n'
        + """
    float3 xformOp:rotateXYZ = (90, 0, 0)
    uniform token[] xformOpOrder = ["xformOp:rotateXYZ"]
    def SphereLight "lamp"
    {
        float inputs:radius = 50
    }
    def DistantLight "sun"
    {
        float inputs:intensity = 1
    }
}
"""
    )
    before, after, text = mended(master, shot)
    assert len(before) > 6
    assert after == []
    assert "float inputs:radius = 10\n" in text
    assert '"ShapingAPI"' in text


MOVING = """
def Xform "boat"
{
    double3 xformOp:translate.timeSamples = { 1001: (0, 0, 0), 1010: (9, 0, 3) }
    float3 xformOp:rotateXYZ.timeSamples = { 1001: (0, 0, 0), 1010: (10, 80, 0) }
    uniform token[] xformOpOrder = ["xformOp:translate", "xformOp:rotateXYZ"]

    def SphereLight "lantern" (prepend apiSchemas = ["ShapingAPI"])
    {
        float inputs:shaping:cone:angle = 30
        double3 xformOp:translate = (0, 2, 0)
        uniform token[] xformOpOrder = ["xformOp:translate"]
    }
}
"""
STILL = """
def Xform "boat"
{
    def SphereLight "lantern" (prepend apiSchemas = ["ShapingAPI"])
    {
        float inputs:shaping:cone:angle = 30
        double3 xformOp:translate = (4, 3, 2)
        float3 xformOp:rotateXYZ = (-70, 0, 0)
        uniform token[] xformOpOrder = ["xformOp:translate", "xformOp:rotateXYZ"]
    }
}
"""


def test_a_light_below_what_moves_stands_still_in_the_world(
    mended: Callable[..., tuple[list[str], list[Any], str]], tmp_path: Path
) -> None:
    before, after, _ = mended(HEAD + STILL, HEAD + MOVING)
    assert {"lights.lantern.position", "lights.lantern.direction"} <= set(before)
    assert after == []
    stage = Usd.Stage.Open(str(tmp_path / "mended_shot.usda"))
    prim = stage.GetPrimAtPath("/boat/lantern")
    assert not UsdGeom.Xformable(prim).GetResetXformStack()  # it stays in its parent's space
    for frame in (1001, 1004, 1010):
        place = UsdGeom.XformCache(frame).GetLocalToWorldTransform(prim).ExtractTranslation()
        assert list(place) == pytest.approx([4, 3, 2], abs=1e-9)


def test_a_light_that_moves_in_the_master_too(
    mended: Callable[..., tuple[list[str], list[Any], str]],
) -> None:
    shot = MOVING.replace("(0, 2, 0)", "(0.5, 2.5, 0)").replace("(10, 80, 0)", "(10, 60, 0)")
    before, after, _ = mended(HEAD + MOVING, HEAD + shot)
    assert {"lights.lantern.position", "lights.lantern.direction"} <= set(before)
    assert after == []


def test_values_that_move_in_the_master(mended: Callable[..., tuple[list[str], list[Any], str]]) -> None:
    master = RIG.replace(
        "float inputs:intensity = 3", "float inputs:intensity.timeSamples = { 1001: 3, 1006: 1, 1010: 5 }"
    )
    master = master.replace(
        "float inputs:radius = 0.1", "float inputs:radius.timeSamples = { 1001: 0.1, 1010: 0.4 }"
    )
    master = master.replace(
        "float inputs:shadow:distance = 4",
        'token visibility.timeSamples = { 1001: "invisible", 1005: "inherited" }',
    )
    before, after, _ = mended(HEAD + master, HEAD + RIG)
    assert {"lights.lamp.level", "lights.lamp.radius", "lights.lamp.visible"} <= set(before)
    assert after == []


def test_a_reset_transform_stack_stays(
    mended: Callable[..., tuple[list[str], list[Any], str]], tmp_path: Path
) -> None:
    reset = RIG.replace(
        '["xformOp:translate", "xformOp:rotateXYZ"]',
        '["!resetXformStack!", "xformOp:translate", "xformOp:rotateXYZ"]',
        1,
    )
    shot = reset.replace("(1, 2, 3)", "(1, 2, 5)").replace(
        'def Xform "set"\n{',
        'def Xform "set"\n{\n    double3 xformOp:translate = (7, 7, 7)\n    uniform token[] xformOpOrder = ["xformOp:translate"]\n',
        1,
    )
    before, after, text = mended(HEAD + RIG, HEAD + shot)
    assert "lights.lamp.position" in before
    assert after == []
    assert "!resetXformStack!" in text


def test_a_hidden_light_is_shown(mended: Callable[..., tuple[list[str], list[Any], str]]) -> None:
    hidden = RIG.replace(
        "float inputs:intensity = 3", 'float inputs:intensity = 3\n        token visibility = "invisible"'
    )
    before, after, text = mended(HEAD + RIG, HEAD + hidden)
    assert before == ["lights.lamp.visible"]
    assert after == []
    assert 'visibility = "inherited"' in text
    before, after, _ = mended(HEAD + hidden, HEAD + RIG)
    assert (before, after) == (["lights.lamp.visible"], [])


def test_a_light_too_many_is_switched_off(mended: Callable[..., tuple[list[str], list[Any], str]]) -> None:
    before, after, text = mended(HEAD + RIG, HEAD + RIG + 'def SphereLight "extra"\n{\n}\n')
    assert (before, after) == (["lights.extra"], [])
    assert "active = false" in text


def test_the_texture_is_found_from_where_the_layer_is(
    tmp_path: Path, mended: Callable[..., tuple[list[str], list[Any], str]]
) -> None:
    for folder in ("master", "shot"):
        (tmp_path / folder / "maps").mkdir(parents=True)
        for name in ("dawn", "noon"):
            (tmp_path / folder / "maps" / f"{name}.exr").write_text(name)
    dome = 'def DomeLight "sky"\n{\n    asset inputs:texture:file = @./maps/dawn.exr@\n}\n'
    before, after, text = mended(HEAD + dome, HEAD + dome.replace("dawn", "noon"))
    assert before == ["environments.sky.texture"]
    assert after == []
    assert "@./shot/maps/dawn.exr@" in text


@pytest.fixture
def refused(tmp_path: Path) -> Callable[..., tuple[Any, ...]]:
    """What a layer could not do with one change in a scene; and whether a layer was written."""

    def refuse(text: str, change: Change, head: str = HEAD) -> tuple[Any, ...]:
        scene, layer = tmp_path / "scene.usda", tmp_path / "layer.usda"
        scene.write_text(f"#usda 1.0\n{head}{text}")
        _, left = write_override(layer, scene, capture_usd(scene)["source"], [change], "put back")
        return left, layer.exists()

    return refuse


def change(name: str, value: Any, group: str = "lamp", section: str = "lights") -> Change:
    return Change(section, group, name, value, "why")


INSTANCED = """
class Xform "_lamp"
{
    def SphereLight "bulb"
    {
    }
}
def Xform "left" (
    instanceable = true
    inherits = </_lamp>
)
{
}
"""


class TestWhatALayerCannotSay:
    def test_inside_an_instance(self, refused: Callable[..., tuple[Any, ...]]) -> None:
        left, written = refused(INSTANCED, change("intensity", 3, "bulb"))
        assert left == [
            "lights.bulb: /left/bulb is inside the instance /left, where no layer reaches it: set `instanceable = false` "
            "there, or mend what is instanced"
        ]
        assert not written

    def test_a_light_that_is_not_there(self, refused: Callable[..., tuple[Any, ...]]) -> None:
        left, _ = refused(RIG, change("", {"type": "point"}, "moon"))
        assert "cannot add it" in left[0]
        left, _ = refused(RIG, change("intensity", 3, "moon"))
        assert "not in the scene" in left[0]

    def test_another_type(self, refused: Callable[..., tuple[Any, ...]]) -> None:
        assert "another prim" in refused(RIG, change("type", "rect"))[0][0]

    def test_another_file_under_the_same_name(self, refused: Callable[..., tuple[Any, ...]]) -> None:
        assert "the file itself" in refused(RIG, change("sha256", "0" * 64, "sky", "environments"))[0][0]

    def test_a_file_that_is_nowhere(self, refused: Callable[..., tuple[Any, ...]]) -> None:
        left, _ = refused(RIG, change("texture", "maps/gone.exr", "sky", "environments"))
        assert "maps/gone.exr is not beside" in left[0]

    def test_below_what_is_hidden(self, refused: Callable[..., tuple[Any, ...]]) -> None:
        text = RIG.replace('def Xform "set"\n{', 'def Xform "set"\n{\n    token visibility = "invisible"\n')
        assert "/set above it is hidden" in refused(text, change("visible", True))[0][0]

    def test_driven_by_something_else(self, refused: Callable[..., tuple[Any, ...]]) -> None:
        text = RIG.replace(
            "float inputs:intensity = 3",
            "float inputs:intensity = 3\n        float inputs:intensity.connect = </set/nets.size>",
        )
        assert "is driven by /set/nets.size" in refused(text, change("intensity", 2.0))[0][0]

    def test_animated_in_another_way(self, refused: Callable[..., tuple[Any, ...]]) -> None:
        curve = {"keys": [[1001, 1.0], [1010, 2.0]], "interpolation": "held"}
        assert "goes between keys in another way" in refused(RIG, change("intensity", curve))[0][0]
        paths = {"keys": [[1001, "a.exr"], [1010, "b.exr"]], "interpolation": "held"}
        assert "over time" in refused(RIG, change("texture", paths, "sky", "environments"))[0][0]

    def test_what_no_scene_holds(self, refused: Callable[..., tuple[Any, ...]]) -> None:
        assert "does not hold it" in refused(RIG, change("rays", 4, "nets", "surfaces"))[0][0]
        assert (
            "render settings that the scene itself names"
            in refused(RIG, change("range", 4, "gi", "render"))[0][0]
        )
        assert "no such attribute" in refused(RIG, change("renderer.rays", 4))[0][0]

    def test_values_that_do_not_fit(self, refused: Callable[..., tuple[Any, ...]]) -> None:
        for name, value in (
            ("intensity", "bright"),
            ("color", "red"),
            ("light_links", ["nets"]),
            ("light_links", ["/a b"]),
        ):
            left, written = refused(RIG, change(name, value))
            assert left
            assert not written

    def test_a_parent_without_size(self, refused: Callable[..., tuple[Any, ...]]) -> None:
        text = RIG.replace(
            'def Xform "set"\n{',
            'def Xform "set"\n{\n    float3 xformOp:scale = (0, 0, 0)\n    uniform token[] xformOpOrder = ["xformOp:scale"]\n',
        )
        assert "to nothing" in refused(text, change("position", [0.0, 1.0, 0.0]))[0][0]
        assert "to nothing" in refused(text, change("radius", 1.0))[0][0]

    def test_what_moves_along(self, refused: Callable[..., tuple[Any, ...]]) -> None:
        text = 'def SphereLight "key"\n{\n    def SphereLight "kicker"\n    {\n    }\n}\n'
        left, written = refused(text, change("position", [0.0, 1.0, 0.0], "key"))
        assert left == ["/key/kicker: below /key, and so moved along with it"]
        assert written

    def test_a_layer_of_another_name(self, tmp_path: Path) -> None:
        with pytest.raises(CaptureError, match=r"\.usda"):
            write_override(tmp_path / "layer.txt", tmp_path / "gone.usda", {}, [], "")
        with pytest.raises(CaptureError, match="no such file"):
            write_override(tmp_path / "layer.usda", tmp_path / "gone.usda", {}, [], "")

    def test_a_layer_that_the_scene_has_already(
        self, tmp_path: Path, refused: Callable[..., tuple[Any, ...]]
    ) -> None:
        _, written = refused(RIG, change("intensity", 2.0))
        assert written
        scene = laid_over(tmp_path, tmp_path / "scene.usda", tmp_path / "layer.usda")
        with pytest.raises(CaptureError, match="not part of the scene"):
            write_override(tmp_path / "layer.usda", scene, {}, [], "")


def test_render_settings_are_mended_too(tmp_path: Path) -> None:
    text = (
        HEAD[:-2]
        + '    renderSettingsPrimPath = "/Render/main"\n)\n'
        + """
def "Render"
{
    def RenderSettings "main"
    {
        uniform int2 resolution = (960, 540)
        custom float gi:range = 350
    }
}
"""
    )
    scene, layer = tmp_path / "scene.usda", tmp_path / "layer.usda"
    scene.write_text(f"#usda 1.0\n{text}")
    changes = [
        Change("render", "main", "gi.range", 3.5, "typed in centimetres"),
        Change("render", "main", "resolution", [1920, 1080], "as in master 2"),
    ]
    assert write_override(layer, scene, capture_usd(scene)["source"], changes, "put back") == (2, [])
    made = capture_usd(laid_over(tmp_path, scene, layer))
    stage = Usd.Stage.Open(str(tmp_path / "mended_scene.usda"))
    settings = stage.GetPrimAtPath("/Render/main")
    assert settings.GetAttribute("gi:range").Get() == 3.5
    assert tuple(settings.GetAttribute("resolution").Get()) == (1920, 1080)
    assert made["render"]["main"]["gi"] == {"range": 3.5}
    assert "typed in centimetres" in layer.read_text()


def test_the_aim_is_turned_no_further_than_it_must(tmp_path: Path) -> None:
    """A light keeps its roll: turned by 90 degrees about the vertical, its own x lies where it would by hand."""
    scene, layer = tmp_path / "scene.usda", tmp_path / "layer.usda"
    scene.write_text(f'#usda 1.0\n{HEAD}def RectLight "lamp"\n{{\n}}\n')
    write_override(layer, scene, capture_usd(scene)["source"], [change("direction", [1.0, 0.0, 0.0])], "")
    stage = Usd.Stage.Open(str(laid_over(tmp_path, scene, layer)))
    matrix = UsdGeom.XformCache().GetLocalToWorldTransform(stage.GetPrimAtPath("/lamp"))
    assert list(matrix.TransformDir((1, 0, 0))) == pytest.approx([0, 0, 1], abs=1e-12)
    assert list(matrix.TransformDir((0, 1, 0))) == pytest.approx([0, 1, 0], abs=1e-12)


@pytest.mark.parametrize(
    "direction", [[0.0, 0.0, 1.0], [0.0, 0.0, -1.0], [math.sqrt(0.5), 0.0, math.sqrt(0.5)]]
)
def test_straight_back_and_straight_on(tmp_path: Path, direction: list[float]) -> None:
    scene, layer = tmp_path / "scene.usda", tmp_path / "layer.usda"
    scene.write_text(f'#usda 1.0\n{HEAD}def RectLight "lamp"\n{{\n}}\n')
    assert write_override(
        layer, scene, capture_usd(scene)["source"], [change("direction", direction)], ""
    ) == (1, [])
    stage = Usd.Stage.Open(str(laid_over(tmp_path, scene, layer)))
    matrix = UsdGeom.XformCache().GetLocalToWorldTransform(stage.GetPrimAtPath("/lamp"))
    assert list(matrix.TransformDir((0, 0, -1))) == pytest.approx(direction, abs=1e-12)
    assert matrix.GetDeterminant() == pytest.approx(1.0)
    assert UsdLux.RectLight(stage.GetPrimAtPath("/lamp")).GetWidthAttr().Get() == 1.0
