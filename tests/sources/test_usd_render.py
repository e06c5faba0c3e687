"""Render settings, products, variables and passes."""

from collections.abc import Callable
from typing import Any

SETTINGS = """
def Scope "Render"
{
    def RenderSettings "beauty"
    {
        rel camera = </cameras/main>
        rel products = </Render/picture>
        uniform int2 resolution = (1920, 804)
        uniform float pixelAspectRatio = 2
        uniform token[] includedPurposes = ["default", "render"]
        uniform token[] materialBindingPurposes = ["full"]
        uniform token renderingColorSpace = "lin_ap1_scene"
        custom int harbour:gi:bounces = 3
        custom float harbour:gi:range = 3.5
        custom bool harbour:denoise = 1
        custom token other:quality = "final"
    }
    def RenderSettings "draft"
    {
    }
    def RenderProduct "picture"
    {
        rel orderedVars = [</Render/vars/colour>, </Render/vars/gone>]
        token productName = "frames/HB_010.exr"
        uniform bool disableMotionBlur = 1
        custom token harbour:compression = "none"
    }
    def Scope "vars"
    {
        def RenderVar "colour"
        {
            uniform string sourceName = "Ci"
            custom int harbour:channel = 2
        }
        def RenderVar "depth"
        {
            uniform token dataType = "float"
        }
    }
    def RenderPass "crew" (
        prepend apiSchemas = ["CollectionAPI:renderVisibility"]
    )
    {
        uniform token passType = "layer"
        uniform string[] command = ["render", "<renderSettings>"]
        rel renderSource = </Render/beauty>
        rel collection:renderVisibility:excludes = [</set/quay>, </set/gone>]
        rel collection:prune:includes = </set/nets>
        custom int harbour:rays = 192
    }
    def RenderPass "background"
    {
        rel inputPasses = </Render/crew>
    }
}
def Xform "set"
{
    def Cube "quay"
    {
    }
    def Sphere "nets"
    {
    }
}
def Scope "cameras"
{
    def Camera "main"
    {
    }
}
"""
HEAD = '(metersPerUnit = 0.01\nrenderSettingsPrimPath = "/Render/beauty")'


def test_settings(captured: Callable[..., dict[str, Any]]) -> None:
    sheet = captured(HEAD + SETTINGS)
    assert sheet["render"]["beauty"] == {
        "resolution": [1920, 804],
        "pixel_aspect": 2.0,
        "aspect_policy": "expandAperture",
        "data_window": [0.0, 0.0, 1.0, 1.0],
        "disable_motion_blur": False,
        "disable_depth_of_field": False,
        "instantaneous_shutter": False,
        "included_purposes": ["default", "render"],
        "material_binding_purposes": ["full"],
        "rendering_color_space": "lin_ap1_scene",
        "camera": "/cameras/main",
        "products": ["/Render/picture"],
        "harbour": {"gi": {"bounces": 3, "range": 3.5}, "denoise": True},
        "other": {"quality": "final"},
    }
    assert sheet["source"]["render_settings"] == "/Render/beauty"
    assert sheet["working_space"] == "acescg"


def test_settings_that_fell_back_show_what_they_fell_back_to(captured: Callable[..., dict[str, Any]]) -> None:
    draft = captured(HEAD + SETTINGS)["render"]["draft"]
    assert (draft["resolution"], draft["pixel_aspect"]) == ([2048, 1080], 1.0)
    assert draft["included_purposes"] == ["default", "render"]
    assert draft["material_binding_purposes"] == ["full", ""]


def test_products_and_variables(captured: Callable[..., dict[str, Any]]) -> None:
    sheet = captured(HEAD + SETTINGS)
    assert sheet["render"]["products"] == {
        "picture": {
            "product_name": "frames/HB_010.exr",
            "disable_motion_blur": True,
            "harbour": {"compression": "none"},
            "vars": {
                "colour": {
                    "data_type": "color3f",
                    "source_name": "Ci",
                    "source_type": "raw",
                    "harbour": {"channel": 2},
                }
            },
        }
    }
    assert sheet["render"]["vars"] == {
        "depth": {"data_type": "float", "source_name": "", "source_type": "raw"}
    }
    assert "/Render/picture: its variables name /Render/vars/gone, which is not there." in sheet["remarks"]


def test_passes(captured: Callable[..., dict[str, Any]]) -> None:
    sheet = captured(HEAD + SETTINGS)
    assert sheet["passes"] == {
        "crew": {
            "pass_type": "layer",
            "command": "render '<renderSettings>'",
            "render_source": "/Render/beauty",
            "rendered": ["*", "!/set/gone", "!/set/quay"],
            "pruned": ["/set/nets"],
            "harbour": {"rays": 192},
        },
        "background": {"input_passes": ["/Render/crew"]},
    }
    assert "/Render/crew: its rendered names what is not there: /set/gone." in sheet["remarks"]


def test_settings_named_like_a_section_of_render(captured: Callable[..., dict[str, Any]]) -> None:
    text = '(metersPerUnit = 1)\ndef RenderSettings "products"\n{\n}\n'
    assert list(captured(text)["render"]) == ["settings"]


def test_colour_space_without_a_name_here_is_left_to_the_sequence(
    captured: Callable[..., dict[str, Any]],
) -> None:
    sheet = captured((HEAD + SETTINGS).replace("lin_ap1_scene", "lin_harbour"))
    assert "working_space" not in sheet


def test_scene_without_render_prims(captured: Callable[..., dict[str, Any]]) -> None:
    sheet = captured('(metersPerUnit = 1)\ndef SphereLight "key"\n{\n}\n')
    assert not {"render", "passes", "camera", "marks"} & set(sheet)
