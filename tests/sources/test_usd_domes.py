"""Environments: however its dome was turned upright, one sky is one sky."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from samelight.sources.usd.capture import capture_usd

ORDER = "uniform token[] xformOpOrder"
OLD, NEW = "DomeLight", "DomeLight_1"


def sky(
    captured: Callable[..., dict[str, Any]], kind: str = OLD, inside: str = "", up: str = "Y", head: str = ""
) -> dict[str, Any]:
    text = f'(metersPerUnit = 1\nupAxis = "{up}"\n{head})\ndef {kind} "sky"\n{{\n{inside}\n}}\n'
    sheet = captured(text)
    return {**sheet["environments"]["sky"], "remarks": sheet.get("remarks", [])}


def ops(**values: int) -> str:
    """Transform operations in the order given; the last is applied first."""
    lines = [f"float xformOp:{name.replace('__', ':')} = {value}" for name, value in values.items()]
    names = ", ".join(f'"xformOp:{name.replace("__", ":")}"' for name in values)
    return "\n".join([*lines, f"{ORDER} = [{names}]"])


def test_two_real_scenes_hold_one_sky(copied: Callable[..., Any]) -> None:
    upright, z_up = (capture_usd(copied(f"domeLight{axis}up.usda")) for axis in "YZ")
    assert upright["environments"] == z_up["environments"]
    assert upright["environments"]["DomeLight"] == {
        "texture": "testImage.png",
        "format": "automatic",
        "intensity": 1.0,
        "exposure": 0.0,
        "color": [1.0, 1.0, 1.0],
        "rotation": 0.0,
        "light_links": ["*"],
        "shadow_links": ["*"],
    }
    assert upright["lights"] == {}
    assert (upright["source"]["up_axis"], z_up["source"]["up_axis"]) == ("Y", "Z")


@pytest.mark.parametrize(
    ("kind", "up", "inside"),
    [
        (OLD, "Y", ""),
        (OLD, "Z", ops(rotateX__orientToStageUpAxis=90)),
        (OLD, "Z", ops(rotateX__Zup=90)),
        (NEW, "Y", ""),
        (NEW, "Z", ""),
        (NEW, "Z", 'uniform token poleAxis = "scene"'),
        (NEW, "Z", 'uniform token poleAxis = "Z"'),
        (NEW, "Y", 'uniform token poleAxis = "Y"'),
        (NEW, "Z", 'uniform token poleAxis = "Y"\n' + ops(rotateX=90)),
    ],
)
def test_upright_at_rest(captured: Callable[..., dict[str, Any]], kind: str, up: str, inside: str) -> None:
    dome = sky(captured, kind, inside, up)
    assert dome["rotation"] == 0.0
    assert "matrix" not in dome
    assert dome["remarks"] == []


@pytest.mark.parametrize(
    ("kind", "up", "inside"),
    [
        (OLD, "Y", ops(rotateY=-40)),
        (OLD, "Z", ops(rotateZ=-40, rotateX__orientToStageUpAxis=90)),
        (NEW, "Z", ops(rotateZ=-40)),
    ],
)
def test_rotation_is_clockwise_seen_from_above(
    captured: Callable[..., dict[str, Any]], kind: str, up: str, inside: str
) -> None:
    assert sky(captured, kind, inside, up)["rotation"] == pytest.approx(40.0, abs=1e-6)


def test_rotation_is_given_within_one_turn(captured: Callable[..., dict[str, Any]]) -> None:
    assert sky(captured, inside=ops(rotateY=40))["rotation"] == pytest.approx(320.0, abs=1e-6)


def test_scale_does_not_turn_a_dome(captured: Callable[..., dict[str, Any]]) -> None:
    inside = f'float3 xformOp:scale = (5, 5, 5)\n{ORDER} = ["xformOp:scale"]'
    assert sky(captured, inside=inside)["rotation"] == 0.0


def test_dome_left_lying_on_a_z_up_stage(captured: Callable[..., dict[str, Any]]) -> None:
    dome = sky(captured, up="Z")
    assert "rotation" not in dome
    # Its x stays, its pole +Y lies to the north (-Z), the centre of its texture (+Z) points up.
    assert dome["matrix"] == [1, 0, 0, 0, 0, 0, -1, 0, 0, 1, 0, 0, 0, 0, 0, 1]
    assert dome["remarks"] == [
        "/sky: its pole lies on the horizon: a dome at rest has its pole on Y, on a Z-up stage too."
    ]


def test_pole_of_the_new_dome_on_the_other_axis(captured: Callable[..., dict[str, Any]]) -> None:
    dome = sky(captured, NEW, 'uniform token poleAxis = "Z"', "Y")
    # Pole on +Z, centre on -Y, as the schema says of Z.
    assert dome["matrix"] == [1, 0, 0, 0, 0, 0, 1, 0, 0, -1, 0, 0, 0, 0, 0, 1]


def test_tilted_dome(captured: Callable[..., dict[str, Any]]) -> None:
    dome = sky(captured, inside=ops(rotateX=10))
    assert dome["matrix"][4:7] == pytest.approx([0, 0.984807753, 0.173648178])
    assert "rotation" not in dome


def test_mirrored_dome(captured: Callable[..., dict[str, Any]]) -> None:
    dome = sky(captured, inside=f'float3 xformOp:scale = (-1, 1, 1)\n{ORDER} = ["xformOp:scale"]')
    assert dome["mirrored"] is True
    assert dome["matrix"][0:3] == [-1.0, 0.0, 0.0]
    assert dome["remarks"] == ["/sky: a scale of -1 mirrors its environment."]


def test_dome_of_no_size(captured: Callable[..., dict[str, Any]]) -> None:
    dome = sky(captured, inside=f'float3 xformOp:scale = (0, 0, 0)\n{ORDER} = ["xformOp:scale"]')
    assert "rotation" not in dome
    assert "matrix" not in dome
    assert dome["remarks"] == ["/sky: its transform leaves it no rotation."]


def test_turning_dome_counts_on_past_a_full_turn(captured: Callable[..., dict[str, Any]]) -> None:
    inside = f'float xformOp:rotateY.timeSamples = {{1: -350, 5: -370}}\n{ORDER} = ["xformOp:rotateY"]'
    dome = sky(captured, inside=inside, head="startTimeCode = 1\nendTimeCode = 5")
    (first, start), (last, end) = dome["rotation"]["keys"]
    assert (first, last) == (1, 5)
    assert (start, end) == (pytest.approx(350.0, abs=1e-6), pytest.approx(370.0, abs=1e-6))


def test_tumbling_dome_keeps_its_matrices(captured: Callable[..., dict[str, Any]]) -> None:
    inside = f'float xformOp:rotateX.timeSamples = {{1: 0, 5: 40}}\n{ORDER} = ["xformOp:rotateX"]'
    dome = sky(captured, inside=inside, head="startTimeCode = 1\nendTimeCode = 5")
    assert [frame for frame, _ in dome["matrix"]["keys"]] == [1, 2, 3, 4, 5]
    assert "rotation" not in dome


def test_texture_hash_and_format(scene: Callable[..., Path], captured: Callable[..., dict[str, Any]]) -> None:
    scene("", "maps/dawn.exr").write_bytes(b"dawn")
    dome = sky(
        captured,
        inside='asset inputs:texture:file = @maps/dawn.exr@\ntoken inputs:texture:format = "latlong"',
    )
    # printf dawn | sha256sum
    digest = "8326e09ce4e90a419a510ed74895cf6713f2fb42b0b3ffc126527ec2b9e95872"
    assert (dome["texture"], dome["format"], dome["sha256"]) == ("maps/dawn.exr", "latlong", digest)
    (remark,) = dome["remarks"]
    assert remark.startswith("/sky: what its texture maps/dawn.exr looks like is not known")


def test_missing_texture(captured: Callable[..., dict[str, Any]]) -> None:
    dome = sky(captured, inside="asset inputs:texture:file = @maps/gone.exr@")
    assert dome["texture"] == "maps/gone.exr"
    assert "sha256" not in dome
    assert dome["remarks"] == ["/sky: its texture maps/gone.exr was not found; it is compared by its path."]


def test_texture_that_changes_over_time_has_no_one_hash(captured: Callable[..., dict[str, Any]]) -> None:
    dome = sky(captured, inside="asset inputs:texture:file.timeSamples = {1: @a.exr@, 5: @b.exr@}")
    assert dome["texture"] == {"keys": [[1, "a.exr"], [5, "b.exr"]], "interpolation": "held"}


def test_portals_and_normalize(captured: Callable[..., dict[str, Any]]) -> None:
    text = """(metersPerUnit = 1)
    def DomeLight "sky"
    {
        bool inputs:normalize = 1
        rel portals = [</window>, </gone>]
    }
    def PortalLight "window"
    {
    }
    """
    sheet = captured(text)
    assert sheet["environments"]["sky"]["portals"] == ["/gone", "/window"]
    assert "normalize" not in sheet["environments"]["sky"]
    assert sheet["lights"]["window"]["type"] == "portal"
    assert sheet["source"]["lights"] == {"sky": "/sky", "window": "/window"}
    assert sheet["remarks"] == ["/sky: its portals name what is not there: /gone."]


def test_the_pole_axis_is_for_the_dome_alone_and_not_for_what_stands_below_it(
    captured: Callable[..., dict[str, Any]],
) -> None:
    text = """(metersPerUnit = 1
    upAxis = "Z")
    def DomeLight_1 "sky"
    {
        def RectLight "window"
        {
        }
    }
    """
    sheet = captured(text)
    assert sheet["environments"]["sky"]["rotation"] == 0.0
    assert sheet["lights"]["window"]["direction"] == [0.0, -1.0, 0.0]
