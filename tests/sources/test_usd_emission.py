"""What a light gives: numbers, colour, temperature, shaping, shadows, and what is written or left out."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

SHAPING, SHADOW = '"ShapingAPI"', '"ShadowAPI"'


def test_fallbacks_that_carry_meaning_are_written(light: Callable[..., dict[str, Any]]) -> None:
    sphere = light("SphereLight")
    assert sphere == {
        "type": "sphere",
        "intensity": 1.0,
        "exposure": 0.0,
        "color": [1.0, 1.0, 1.0],
        "normalize": False,
        "radius": 0.5,
        "position": [0.0, 0.0, 0.0],
        "light_links": ["*"],
        "shadow_links": ["*"],
        "remarks": [],
    }
    distant = light("DistantLight")
    assert (distant["intensity"], distant["angle"], distant["normalize"]) == (50000.0, 0.53, False)
    assert "position" not in distant


@pytest.mark.parametrize(
    ("kind", "shape"),
    [
        ("DistantLight", "distant"),
        ("SphereLight", "sphere"),
        ("RectLight", "rect"),
        ("DiskLight", "disk"),
        ("CylinderLight", "cylinder"),
        ("PortalLight", "portal"),
        ("GeometryLight", "mesh"),
    ],
)
def test_types(light: Callable[..., dict[str, Any]], kind: str, shape: str) -> None:
    lamp = light(kind)
    assert lamp["type"] == shape
    assert ("normalize" in lamp) == (shape != "portal")
    assert ("direction" in lamp) == (shape in {"distant", "rect", "disk", "portal", "mesh"})
    assert ("axis" in lamp) == (shape == "cylinder")
    no_mesh = "/key: its geometry is no mesh, and is not counted at the marks."
    assert lamp["remarks"] == ([no_mesh] if shape == "mesh" else [])


def test_mesh_light(light: Callable[..., dict[str, Any]]) -> None:
    lamp = light("Mesh", "float inputs:intensity = 12", applied='"MeshLightAPI"')
    assert (lamp["type"], lamp["intensity"], lamp["normalize"]) == ("mesh", 12.0, False)


@pytest.mark.parametrize(("kind", "applied"), [("PluginLight", ""), ("Volume", '"VolumeLightAPI"')])
def test_other_lights_keep_their_own_type_with_a_remark(
    light: Callable[..., dict[str, Any]], kind: str, applied: str
) -> None:
    lamp = light(kind, "float inputs:intensity = 3", applied=applied)
    assert (lamp["type"], lamp["intensity"]) == (kind, 3.0)
    assert lamp["remarks"] == [
        f"/key: {kind} is not a light that UsdLux describes; its values are kept as they stand, and its level is not known."
    ]


def test_type_unknown_to_usd_is_kept(light: Callable[..., dict[str, Any]]) -> None:
    lamp = light(
        "LanternLight", "float inputs:intensity = 4\nfloat inputs:radius = 2\nint studio:samples = 64"
    )
    assert (lamp["type"], lamp["intensity"], lamp["studio"]) == ("LanternLight", 4.0, {"samples": 64})
    assert "position" not in lamp
    assert any("its place is not known" in remark for remark in lamp["remarks"])


def test_numbers_are_those_that_were_typed(light: Callable[..., dict[str, Any]]) -> None:
    lamp = light(
        "SphereLight",
        "float inputs:intensity = 0.35\nfloat inputs:exposure = 6\ncolor3f inputs:color = (0.1, 0.2, 0.3)",
    )
    assert (lamp["intensity"], lamp["exposure"], lamp["color"]) == (0.35, 6.0, [0.1, 0.2, 0.3])


def test_multipliers_only_when_authored(light: Callable[..., dict[str, Any]]) -> None:
    lamp = light("SphereLight", "float inputs:diffuse = 1\nfloat inputs:specular = 0.5")
    assert (lamp["diffuse"], lamp["specular"]) == (1.0, 0.5)


@pytest.mark.parametrize(("typed", "expected"), [("1", True), ("0", False)])
def test_normalize(light: Callable[..., dict[str, Any]], typed: str, expected: bool) -> None:
    assert light("RectLight", f"bool inputs:normalize = {typed}")["normalize"] is expected


def test_temperature_counts_only_where_it_is_on(light: Callable[..., dict[str, Any]]) -> None:
    on = "bool inputs:enableColorTemperature = 1\n"
    assert light("SphereLight", on + "float inputs:colorTemperature = 4300")["temperature"] == 4300.0
    assert light("SphereLight", on)["temperature"] == 6500.0
    assert "temperature" not in light("SphereLight", "float inputs:colorTemperature = 4300")
    off = "bool inputs:enableColorTemperature = 0\nfloat inputs:colorTemperature = 4300"
    assert "temperature" not in light("SphereLight", off)


def test_temperature_beyond_what_usd_can_show_has_a_remark(light: Callable[..., dict[str, Any]]) -> None:
    lamp = light(
        "SphereLight", "bool inputs:enableColorTemperature = 1\nfloat inputs:colorTemperature = 12000"
    )
    assert lamp["temperature"] == 12000.0
    assert any("as 10000 K" in remark for remark in lamp["remarks"])


def test_temperature_that_is_switched_over_time_has_a_remark(light: Callable[..., dict[str, Any]]) -> None:
    lamp = light("SphereLight", "bool inputs:enableColorTemperature.timeSamples = {1: 0, 5: 1}")
    assert "temperature" not in lamp
    assert any("switched over time" in remark for remark in lamp["remarks"])


def test_shaping(light: Callable[..., dict[str, Any]]) -> None:
    lamp = light(
        "SphereLight",
        """float inputs:shaping:cone:angle = 32
        float inputs:shaping:cone:softness = 0.2
        float inputs:shaping:focus = 3
        color3f inputs:shaping:focusTint = (0.5, 0, 0)
        asset inputs:shaping:ies:file = @lamps/quay.ies@
        float inputs:shaping:ies:angleScale = 0.5
        bool inputs:shaping:ies:normalize = 1
        double3 xformOp:translate = (1, 2, 3)
        uniform token[] xformOpOrder = ["xformOp:translate"]""",
        applied=SHAPING,
    )
    assert (lamp["cone"], lamp["softness"], lamp["focus"], lamp["focus_tint"]) == (
        32.0,
        0.2,
        3.0,
        [0.5, 0.0, 0.0],
    )
    assert (lamp["ies"], lamp["ies_angle_scale"], lamp["ies_normalize"]) == ("lamps/quay.ies", 0.5, True)
    assert lamp["direction"] == [0.0, 0.0, -1.0]
    assert lamp["remarks"] == ["/key: its profile lamps/quay.ies was not found; it is compared by its path."]


@pytest.mark.parametrize(
    ("inside", "cone"),
    [
        ("", 90.0),
        ("float inputs:shaping:cone:angle = 180", None),
        ("float inputs:shaping:cone:angle = 200", None),
        ("float inputs:shaping:cone:angle = 90", 90.0),
        ("float inputs:shaping:cone:softness = 0.5", 90.0),
    ],
)
def test_what_is_a_cone(light: Callable[..., dict[str, Any]], inside: str, cone: float | None) -> None:
    lamp = light("SphereLight", inside, applied=SHAPING)
    assert lamp.get("cone") == cone
    assert ("direction" in lamp) == (cone is not None)


def test_shaping_without_its_schema_is_read_with_a_remark(light: Callable[..., dict[str, Any]]) -> None:
    lamp = light("SphereLight", "float inputs:shaping:cone:angle = 40")
    assert (lamp["cone"], lamp["direction"]) == (40.0, [0.0, 0.0, -1.0])
    assert any("without ShapingAPI" in remark for remark in lamp["remarks"])


def test_profile_is_hashed(scene: Callable[..., Path], light: Callable[..., dict[str, Any]]) -> None:
    (scene("", "quay.ies")).write_bytes(b"IESNA:LM-63-2002\n")
    lamp = light("SphereLight", "asset inputs:shaping:ies:file = @quay.ies@", applied=SHAPING)
    # printf 'IESNA:LM-63-2002\n' | sha256sum
    assert lamp["ies_sha256"] == "1bc869e63ae525136d3bf7b75b3e1af64c4b16b7925ea20ba2ff98647785d47b"
    assert lamp["direction"] == [0.0, 0.0, -1.0]


def test_shadow(light: Callable[..., dict[str, Any]]) -> None:
    lamp = light(
        "SphereLight",
        """bool inputs:shadow:enable = 0
        color3f inputs:shadow:color = (0, 0, 0.25)
        float inputs:shadow:distance = 250
        float inputs:shadow:falloff = -1
        float inputs:shadow:falloffGamma = 2""",
        applied=SHADOW,
        head="",
    )
    assert lamp["shadow"] == {
        "enable": False,
        "color": [0.0, 0.0, 0.25],
        "distance": 250.0,
        "falloff": -1.0,
        "falloff_gamma": 2.0,
    }
    assert "shadow" not in light("SphereLight", applied=SHADOW)


def test_shadow_distance_is_in_metres_but_no_limit_stays_no_limit(
    captured: Callable[..., dict[str, Any]],
) -> None:
    def shadow(distance: int) -> float:
        text = f"""(metersPerUnit = 0.01)
        def SphereLight "key" (prepend apiSchemas = ["ShadowAPI"])
        {{
            float inputs:shadow:distance = {distance}
        }}
        """
        return float(captured(text)["lights"]["key"]["shadow"]["distance"])

    assert (shadow(250), shadow(-1)) == (2.5, -1.0)


def test_a_blocked_value_falls_back(light: Callable[..., dict[str, Any]]) -> None:
    lamp = light("SphereLight", "float inputs:exposure = None\nfloat inputs:diffuse = None")
    assert lamp["exposure"] == 0.0
    assert "diffuse" not in lamp


def test_old_spellings_are_ignored_by_usd_and_so_told(light: Callable[..., dict[str, Any]]) -> None:
    lamp = light(
        "DistantLight", "float intensity = 7\nfloat exposure = 5\ncolor3f color = (1, 0, 0)\nfloat angle = 2"
    )
    assert (lamp["intensity"], lamp["exposure"], lamp["angle"]) == (50000.0, 0.0, 0.53)
    assert lamp["unprefixed"] == {"intensity": 7.0, "exposure": 5.0, "color": [1.0, 0.0, 0.0], "angle": 2.0}
    assert (
        "/key: exposure = 5.0 is the spelling of old scenes; USD ignores it and reads inputs:exposure."
        in lamp["remarks"]
    )


def test_old_spelling_of_shaping(light: Callable[..., dict[str, Any]]) -> None:
    lamp = light("SphereLight", "float shaping:cone:angle = 30")
    assert lamp["unprefixed"] == {"shaping": {"cone": {"angle": 30.0}}}
    assert "cone" not in lamp


def test_own_attributes_are_kept_by_namespace(light: Callable[..., dict[str, Any]]) -> None:
    lamp = light(
        "SphereLight",
        """custom int harbour:samples = 64
        custom bool harbour:look:soft = 1
        custom string harbour = "whole"
        custom float samples = 8
        custom string type = "lantern"
        custom double2 harbour:range = (0.5, 2)
        custom token[] harbour:groups = ["quay", "boats"]
        custom asset harbour:gobo = @nets.tif@
        custom float[] harbour:keys = [1, 2]
        custom matrix4d harbour:frame = ((1, 0, 0, 0), (0, 1, 0, 0), (0, 0, 1, 0), (4, 5, 6, 1))
        custom quatf harbour:turn = (1, 0, 0, 0)
        custom float harbour:hot = inf""",
    )
    assert lamp["harbour"] == {
        "value": "whole",
        "samples": 64,
        "look": {"soft": True},
        "range": [0.5, 2.0],
        "groups": ["quay", "boats"],
        "gobo": "nets.tif",
        "keys_": [1.0, 2.0],
        "frame": [1.0, 0.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0, 1.0, 0.0, 4.0, 5.0, 6.0, 1.0],
        "turn": [1.0, 0.0, 0.0, 0.0],
    }
    assert lamp["samples"] == 8.0
    assert (lamp["type"], lamp["custom"]) == ("sphere", {"type": "lantern"})
    assert lamp["remarks"] == ["/key: harbour:hot is not finite and is left out."]


def test_long_arrays_are_left_out_with_a_remark(light: Callable[..., dict[str, Any]]) -> None:
    lamp = light("SphereLight", f"custom float[] harbour:cache = [{', '.join(['1'] * 300)}]")
    assert "harbour" not in lamp
    assert lamp["remarks"] == ["/key: harbour:cache holds 300 entries and is left out."]


def test_a_driven_value_has_a_remark(light: Callable[..., dict[str, Any]]) -> None:
    lamp = light(
        "SphereLight", "float inputs:intensity = 2\nfloat inputs:intensity.connect = </rig.outputs:level>"
    )
    assert lamp["intensity"] == 2.0
    assert lamp["remarks"] == [
        "/key: inputs:intensity is driven by /rig.outputs:level; the sheet holds its own value, not what drives it."
    ]


def test_texture_of_a_rect(scene: Callable[..., Path], light: Callable[..., dict[str, Any]]) -> None:
    scene("", "maps/window.exr").write_bytes(b"dawn")
    lamp = light("RectLight", "asset inputs:texture:file = @maps/window.exr@")
    assert lamp["texture"] == "maps/window.exr"
    # printf dawn | sha256sum
    assert lamp["sha256"] == "8326e09ce4e90a419a510ed74895cf6713f2fb42b0b3ffc126527ec2b9e95872"
