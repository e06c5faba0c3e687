"""Colours that state a space of their own are in the sheet's, there and back; what is not known is said."""

from pathlib import Path
from typing import Any

import pytest
from pxr import Gf, Usd

from samelight.light.colour import to_rec709
from samelight.sources.usd.capture import capture_usd
from samelight.sources.usd.override import Change, write_override

RGB = (0.9, 0.5, 0.2)
HEAD = """#usda 1.0
(
    metersPerUnit = 1
    renderSettingsPrimPath = "/Render/main"
)
def "Render"
{{
    def RenderSettings "main"
    {{
        {}
    }}
}}
"""
SCENE = """
def Xform "set" (prepend apiSchemas = ["ColorSpaceAPI"])
{{
    uniform token colorSpace:name = "{}"
    def SphereLight "key"
    {{
        color3f inputs:color = (0.9, 0.5, 0.2) {}
    }}
}}
def SphereLight "plain"
{{
    color3f inputs:color = (0.9, 0.5, 0.2)
}}
"""
ACES = 'uniform token renderingColorSpace = "lin_ap1_scene"'


def by_gf(space: Any, there: Any) -> Any:
    return list(Gf.Color(Gf.Color(Gf.Vec3f(*RGB), Gf.ColorSpace(space)), Gf.ColorSpace(there)).GetRGB())


@pytest.fixture
def written(tmp_path: Path) -> Any:
    def write(space: Any, own: Any = "", rendering: Any = ACES) -> Any:
        path = tmp_path / "scene.usda"
        path.write_text(HEAD.format(rendering) + SCENE.format(space, own and f'(colorSpace = "{own}")'))
        return path, capture_usd(path)

    return write


@pytest.mark.parametrize(
    "space", ["lin_rec709_scene", "lin_rec2020_scene", "srgb_rec709_scene", "g22_ap1_scene"]
)
@pytest.mark.parametrize("is_own", [True, False])
def test_a_stated_space_is_honoured_and_kept_on_the_way_back(
    written: Any, tmp_path: Path, space: Any, is_own: Any
) -> None:
    scene, tree = written("lin_ap1_scene" if is_own else space, space if is_own else "")
    assert tree["working_space"] == "acescg"
    assert tree["lights"]["plain"]["color"] == list(RGB)
    # Gf works in 32 bits, and its sRGB is the same curve.
    assert tree["lights"]["key"]["color"] == pytest.approx(by_gf(space, "lin_ap1_scene"), abs=2e-5)
    layer = tmp_path / "layer.usda"
    change = Change("lights", "key", "color", [0.4, 0.3, 0.2], "")
    assert write_override(layer, scene, tree["source"], [change], "") == (1, [])
    mended = tmp_path / "mended.usda"
    mended.write_text(
        f'#usda 1.0\n(\nmetersPerUnit = 1\nrenderSettingsPrimPath = "/Render/main"\nsubLayers = [@{layer}@, @{scene}@]\n)\n'
    )
    assert capture_usd(mended)["lights"]["key"]["color"] == pytest.approx([0.4, 0.3, 0.2], abs=1e-5)
    stage = Usd.Stage.Open(str(mended))
    assert stage.GetPrimAtPath("/set/key").GetAttribute("inputs:color").Get() != Gf.Vec3f(0.4, 0.3, 0.2)


def test_without_a_rendering_space_the_sheet_says_which_it_is_in(written: Any) -> None:
    _, tree = written("lin_ap1_scene", rendering="")
    assert tree["working_space"] == "rec709"
    assert tree["lights"]["key"]["color"] == pytest.approx(list(to_rec709(RGB, "acescg")), abs=1e-6)
    assert any("names no rendering colour space" in remark for remark in tree["remarks"])


@pytest.mark.parametrize(
    ("space", "is_said"), [("lin_adobergb_scene", True), ("studio_look", True), ("raw", False)]
)
def test_what_is_not_known_stands_as_it_is(written: Any, space: Any, is_said: Any) -> None:
    _, tree = written(space)
    assert tree["lights"]["key"]["color"] == list(RGB)
    assert any(f"is stated in {space}" in remark for remark in tree.get("remarks", [])) == is_said


def test_the_space_of_a_texture_is_said(light: Any) -> None:
    dome = light("DomeLight", 'asset inputs:texture:file = @sky.exr@ (colorSpace = "lin_ap1_scene")')
    assert (
        "/key: its texture is stated in lin_ap1_scene; its pixels are read as their file says."
        in dome["remarks"]
    )
