"""Animation: samples, splines, held stages, moving parents, layer offsets, visibility."""

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from pxr import Sdf, Usd, UsdLux

from samelight.sources.keyed import value_at
from samelight.sources.remarks import Remarks
from samelight.sources.request import CaptureRequest
from samelight.sources.usd.capture import capture_usd
from samelight.sources.usd.lights import capture_light
from samelight.sources.usd.override import Change, write_override
from samelight.sources.usd.scene import scene_of
from samelight.sources.usd.time import StageClock

RANGE = "startTimeCode = 1\nendTimeCode = 10\n"


def moving(typed: dict[str, Any], at: int) -> list[float]:
    """The animated value of a key list at one of its frames."""
    keys: dict[float, list[float]] = dict(map(tuple, typed["keys"]))
    return keys[at]


def test_animated_intensity(light: Callable[..., dict[str, Any]]) -> None:
    lamp = light("SphereLight", "float inputs:intensity.timeSamples = {1: 2, 4: 8, 10: 1}", head=RANGE)
    assert lamp["intensity"] == {"keys": [[1, 2.0], [4, 8.0], [10, 1.0]], "interpolation": "linear"}


def test_intensity_with_samples_alone_is_not_the_fallback(light: Callable[..., dict[str, Any]]) -> None:
    assert light("DistantLight", "float inputs:intensity.timeSamples = {5: 3}")["intensity"] == 3.0
    assert (
        light("DistantLight", "float inputs:intensity.timeSamples = {5: 3}", head=RANGE)["intensity"] == 3.0
    )


def test_without_a_range_every_sample_counts(light: Callable[..., dict[str, Any]]) -> None:
    lamp = light("SphereLight", "float inputs:intensity.timeSamples = {1: 2, 40: 8}")
    assert lamp["intensity"]["keys"] == [[1, 2.0], [40, 8.0]]


def test_a_flat_curve_is_a_value(light: Callable[..., dict[str, Any]]) -> None:
    assert (
        light("SphereLight", "float inputs:intensity.timeSamples = {1: 2, 4: 2}", head=RANGE)["intensity"]
        == 2.0
    )


def test_range_cuts_the_curve_at_its_ends(light: Callable[..., dict[str, Any]]) -> None:
    inside = "float inputs:intensity.timeSamples = {0: 0, 100: 100}"
    lamp = light("SphereLight", inside, frames=(10, 20))
    assert lamp["intensity"] == {"keys": [[10, 10.0], [20, 20.0]], "interpolation": "linear"}
    assert light("SphereLight", inside, frames=(200, 300))["intensity"] == 100.0


def test_subframes_stay_where_they_are(light: Callable[..., dict[str, Any]]) -> None:
    lamp = light("SphereLight", "float inputs:intensity.timeSamples = {1: 1, 1.25: 2, 2: 1}", head=RANGE)
    assert lamp["intensity"]["keys"] == [[1, 1.0], [1.25, 2.0], [2, 1.0]]


def test_animated_colour(light: Callable[..., dict[str, Any]]) -> None:
    lamp = light("SphereLight", "color3f inputs:color.timeSamples = {1: (1, 0, 0), 9: (0, 0, 1)}", head=RANGE)
    assert lamp["color"] == {"keys": [[1, [1.0, 0.0, 0.0]], [9, [0.0, 0.0, 1.0]]], "interpolation": "linear"}


def test_switches_and_tokens_are_held(light: Callable[..., dict[str, Any]]) -> None:
    lamp = light("SphereLight", "bool inputs:normalize.timeSamples = {1: 0, 5: 1}", head=RANGE)
    assert lamp["normalize"] == {"keys": [[1, False], [5, True]], "interpolation": "held"}


def test_held_stage(scene: Callable[..., Path]) -> None:
    path = scene(
        """(metersPerUnit = 1
        startTimeCode = 2
        endTimeCode = 9)
        def RectLight "key"
        {
            float inputs:intensity.timeSamples = {1: 2, 5: 8}
            float3 xformOp:rotateXYZ.timeSamples = {1: (0, 0, 0), 5: (0, 90, 0)}
            uniform token[] xformOpOrder = ["xformOp:rotateXYZ"]
        }
        """
    )
    stage = Usd.Stage.Open(str(path))
    stage.SetInterpolationType(Usd.InterpolationTypeHeld)
    remarks = Remarks()
    held = scene_of(stage, StageClock((2.0, 9.0), True, remarks), [], remarks)
    lamp = capture_light(held, stage.GetPrimAtPath("/key"))
    assert lamp["intensity"] == {"keys": [[2, 2.0], [5, 8.0]], "interpolation": "held"}
    assert lamp["direction"] == {
        "keys": [[2, [0.0, 0.0, -1.0]], [5, [-1.0, 0.0, 0.0]]],
        "interpolation": "held",
    }


def test_spline_is_sampled_at_whole_frames(light: Callable[..., dict[str, Any]]) -> None:
    lamp = light(
        "SphereLight", "float inputs:intensity.spline = {\n1: 5; post linear,\n10: 14,\n}", head=RANGE
    )
    values = lamp["intensity"]
    assert (values["keys"][0], values["keys"][-1]) == ([1, 5.0], [10, 14.0])
    assert lamp["remarks"] == [
        "/key: inputs:intensity is a spline; the sheet holds its value at each whole frame."
    ]


def test_curved_spline(light: Callable[..., dict[str, Any]]) -> None:
    lamp = light(
        "SphereLight",
        "float inputs:intensity.spline = {\n1: 0; post curve (3, 0),\n10: 9; pre (3, 0),\n}",
        head=RANGE,
    )
    keys = lamp["intensity"]["keys"]
    assert [frame for frame, _ in keys] == list(range(1, 11))
    assert keys[0][1] == 0.0
    assert keys[-1][1] == 9.0
    # Flat at both ends: slow to start, and by symmetry half way at half time.
    assert keys[1][1] < 1.0
    assert keys[4][1] + keys[5][1] == pytest.approx(9.0, abs=1e-4)


def test_samples_without_a_value_take_the_fallback(light: Callable[..., dict[str, Any]]) -> None:
    lamp = light("SphereLight", "float inputs:radius.timeSamples = {1: None, 5: 2}", head=RANGE)
    assert lamp["radius"]["keys"] == [[1, 0.5], [5, 2.0]]
    assert any("samples without a value" in remark for remark in lamp["remarks"])


def under(parent: str, child: str = "", kind: str = "SphereLight", head: str = RANGE) -> str:
    return f"""(metersPerUnit = 1
    {head})
    def Xform "rig"
    {{
        {parent}
        def {kind} "key"
        {{
            {child}
        }}
    }}
    """


def test_parent_slides(captured: Callable[..., dict[str, Any]]) -> None:
    text = under(
        "double3 xformOp:translate.timeSamples = {1: (-2, 0, 0), 5: (0, 4, 0), 10: (2, 0, 0)}\n"
        'uniform token[] xformOpOrder = ["xformOp:translate"]'
    )
    lamp = captured(text)["lights"]["key"]
    assert lamp["position"] == {
        "keys": [[1, [-2.0, 0.0, 0.0]], [5, [0.0, 4.0, 0.0]], [10, [2.0, 0.0, 0.0]]],
        "interpolation": "linear",
    }


def test_parent_turns_the_child_about_itself(captured: Callable[..., dict[str, Any]]) -> None:
    """What stands off the axis goes round in a circle, so that two keys would cut across it."""
    text = under(
        'float xformOp:rotateY.timeSamples = {1: 0, 10: 90}\nuniform token[] xformOpOrder = ["xformOp:rotateY"]',
        'double3 xformOp:translate = (0, 0, 2)\nuniform token[] xformOpOrder = ["xformOp:translate"]',
        kind="RectLight",
    )
    lamp = captured(text)["lights"]["key"]
    assert [frame for frame, _ in lamp["position"]["keys"]] == list(range(1, 11))
    turn = math.radians(40)
    assert moving(lamp["position"], 5) == pytest.approx([2 * math.sin(turn), 0, 2 * math.cos(turn)])
    # A direction goes along the great circle between its keys, and there two are enough.
    assert lamp["direction"]["keys"] == [[1, [0.0, 0.0, -1.0]], [10, [-1.0, 0.0, 0.0]]]


def test_direction_that_leaves_the_great_circle_is_kept_frame_by_frame(
    captured: Callable[..., dict[str, Any]],
) -> None:
    text = under(
        'float xformOp:rotateY.timeSamples = {1: 0, 10: 180}\nuniform token[] xformOpOrder = ["xformOp:rotateY"]',
        'float xformOp:rotateX = -30\nuniform token[] xformOpOrder = ["xformOp:rotateX"]',
        kind="DistantLight",
    )
    direction = captured(text)["lights"]["key"]["direction"]
    assert [frame for frame, _ in direction["keys"]] == list(range(1, 11))
    assert {round(vector[1], 9) for _, vector in direction["keys"]} == {-0.5}


def test_growing_scale_grows_the_size(captured: Callable[..., dict[str, Any]]) -> None:
    text = under(
        'float3 xformOp:scale.timeSamples = {1: (1, 1, 1), 10: (4, 4, 4)}\nuniform token[] xformOpOrder = ["xformOp:scale"]'
    )
    assert captured(text)["lights"]["key"]["radius"] == {
        "keys": [[1, 0.5], [10, 2.0]],
        "interpolation": "linear",
    }


def test_reset_of_the_transform_stack_leaves_the_parent_behind(
    captured: Callable[..., dict[str, Any]],
) -> None:
    text = under(
        "double3 xformOp:translate.timeSamples = {1: (-2, 0, 0), 5: (0, 4, 0)}\n"
        'uniform token[] xformOpOrder = ["xformOp:translate"]',
        'double3 xformOp:translate = (7, 0, 0)\nuniform token[] xformOpOrder = ["!resetXformStack!", "xformOp:translate"]',
    )
    assert captured(text)["lights"]["key"]["position"] == [7.0, 0.0, 0.0]


def test_spline_in_a_transform(captured: Callable[..., dict[str, Any]]) -> None:
    text = under(
        'double xformOp:translateX.spline = {\n1: 0; post linear,\n10: 9,\n}\nuniform token[] xformOpOrder = ["xformOp:translateX"]'
    )
    sheet = captured(text)
    assert moving(sheet["lights"]["key"]["position"], 10) == [9.0, 0.0, 0.0]
    assert any("its transform holds a spline" in remark for remark in sheet["remarks"])


def test_layer_offset_moves_and_stretches_time(
    scene: Callable[..., Path], captured: Callable[..., dict[str, Any]]
) -> None:
    scene('def SphereLight "lamp"\n{\nfloat inputs:intensity.timeSamples = {1: 2, 4: 8}\n}\n', "lamp.usda")
    sheet = captured(
        """(metersPerUnit = 1)
        def "key" (references = @lamp.usda@</lamp> (offset = 1000; scale = 2))
        {
        }
        """
    )
    assert sheet["lights"]["key"]["intensity"]["keys"] == [[1002, 2.0], [1008, 8.0]]


def test_visibility(captured: Callable[..., dict[str, Any]]) -> None:
    text = under('token visibility.timeSamples = {1: "inherited", 5: "invisible"}')
    assert captured(text)["lights"]["key"]["visible"] == {
        "keys": [[1, True], [5, False]],
        "interpolation": "held",
    }
    assert captured(under('token visibility = "invisible"'))["lights"]["key"]["visible"] is False
    assert "visible" not in captured(under(""))["lights"]["key"]


def test_very_long_range_is_sampled_sparsely_with_a_remark(
    captured: Callable[..., dict[str, Any]], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("samelight.sources.over_time.MOST_FRAMES", 500)
    text = under(
        'float xformOp:rotateY.timeSamples = {0: 0, 2500: 90}\nuniform token[] xformOpOrder = ["xformOp:rotateY"]',
        'double3 xformOp:translate = (0, 0, 2)\nuniform token[] xformOpOrder = ["xformOp:translate"]',
    )
    sheet = captured(text, frames=(0, 2500))
    assert len(sheet["lights"]["key"]["position"]["keys"]) == 418
    assert any("every 6th frame" in remark for remark in sheet["remarks"])


def test_frames_of_the_sheet(captured: Callable[..., dict[str, Any]]) -> None:
    text = under("")
    assert captured(text)["frames"] == [1, 10]
    assert captured(text, frames=(1001, 1084))["frames"] == [1001, 1084]
    assert "frames" not in captured(under("", head=""))
    backward = captured(under("", head="startTimeCode = 10\nendTimeCode = 1\n"))
    assert "frames" not in backward
    assert any("10 to 1, is none" in remark for remark in backward["remarks"])


LAMP = """(
    metersPerUnit = 1
    startTimeCode = {first}
    endTimeCode = {last}
    {rates}
)
def SphereLight "lamp"
{{
    float inputs:intensity.timeSamples = {{ {first}: 2, {middle}: 8, {last}: 1 }}
}}
"""


@pytest.mark.parametrize(
    ("rates", "asked", "times"),
    [
        ("", {}, 1),
        ("timeCodesPerSecond = 25", {}, 1),
        ("framesPerSecond = 25", {}, 1),
        ("timeCodesPerSecond = 240\nframesPerSecond = 24", {}, 10),
        ("timeCodesPerSecond = 48", {"frame_rate": 24.0, "keeps_rate": True}, 2),
        ("timeCodesPerSecond = 24", {"frame_rate": 24.0, "keeps_rate": True}, 1),
        ("", {"frame_rate": 25.0, "keeps_rate": True}, 1),
    ],
)
def test_other_time_codes_are_told_in_frames(
    scene: Callable[..., Path], tmp_path: Path, rates: str, asked: dict[str, Any], times: int
) -> None:
    """And a layer back says them in the time codes of the scene."""
    codes = {"first": 10 * times, "middle": 13 * times, "last": 20 * times}
    path = scene(LAMP.format(rates=rates, **codes))
    tree = capture_usd(path, CaptureRequest(**asked))
    assert tree["lights"]["lamp"]["intensity"]["keys"] == [[10, 2.0], [13, 8.0], [20, 1.0]]
    assert tree["frames"] == [10, 20]
    said = any("time codes a frame" in remark for remark in tree.get("remarks", []))
    assert said == (times != 1)
    assert ("codes_per_frame" in tree["source"]) == said
    part = capture_usd(path, CaptureRequest(frames=(10, 13), **asked))
    assert part["lights"]["lamp"]["intensity"]["keys"] == [[10, 2.0], [13, 8.0]]
    wanted = {"keys": [[10, 3.0], [15, 4.0]], "interpolation": "linear"}
    layer = tmp_path / "layer.usda"
    change = Change("lights", "lamp", "intensity", wanted, "")
    assert write_override(layer, path, tree["source"], [change], "") == (1, [])
    made = Sdf.Layer.FindOrOpen(str(layer))
    assert made.ListTimeSamplesForPath("/lamp.inputs:intensity") == [10 * times, 15 * times]


def test_samples_between_frames_stay_where_they_are(light: Callable[..., dict[str, Any]]) -> None:
    lamp = light(
        "SphereLight",
        "float inputs:intensity.timeSamples = {1: 2, 4.25: 8, 10: 1}\n"
        "double3 xformOp:translate.timeSamples = {1: (0, 0, 0), 4.5: (9, 0, 0), 10: (0, 0, 0)}\n"
        'uniform token[] xformOpOrder = ["xformOp:translate"]',
        head=RANGE,
    )
    assert lamp["intensity"]["keys"] == [[1, 2.0], [4.25, 8.0], [10, 1.0]]
    assert [4.5, [9.0, 0.0, 0.0]] in lamp["position"]["keys"]


def test_values_out_of_clips_are_read(scene: Callable[..., Path]) -> None:
    """A cache of animation that stands in files of its own, one after the other; these are files of the scene."""
    for number, level in ((1, 2), (2, 7)):
        start = 1 + 10 * (number - 1)
        scene(
            f'def SphereLight "lamp"\n{{\n    float inputs:intensity.timeSamples = {{ {start}: {level}, {start + 4}: {level + 1} }}\n}}\n',
            f"clip.{number}.usda",
        )
    scene('def SphereLight "lamp"\n{\n    float inputs:intensity\n}\n', "manifest.usda")
    path = scene(
        """(
    metersPerUnit = 1
    startTimeCode = 1
    endTimeCode = 20
)
def SphereLight "lamp" (
    clips = {
        dictionary default = {
            asset[] assetPaths = [@./clip.1.usda@, @./clip.2.usda@]
            string primPath = "/lamp"
            asset manifestAssetPath = @./manifest.usda@
            double2[] active = [(1, 0), (11, 1)]
            double2[] times = [(1, 1), (11, 11), (20, 20)]
        }
    }
)
{
}
"""
    )
    tree = capture_usd(path)
    keys = dict(map(tuple, tree["lights"]["lamp"]["intensity"]["keys"]))
    assert (keys[1], keys[5], keys[11], keys[15]) == (2.0, 3.0, 7.0, 8.0)
    assert {"clip.1.usda", "clip.2.usda"} <= set(tree["source"]["files"])


def test_a_temperature_that_is_switched_stands_in_the_colour(light: Callable[..., dict[str, Any]]) -> None:
    lamp = light(
        "SphereLight",
        "bool inputs:enableColorTemperature.timeSamples = {1: 0, 5: 1}\n"
        "float inputs:colorTemperature = 3000\ncolor3f inputs:color = (1, 0.5, 0.5)",
        head=RANGE,
    )
    assert "temperature" not in lamp
    assert value_at(lamp["color"], 1) == value_at(lamp["color"], 4) == [1.0, 0.5, 0.5]
    warmth = UsdLux.BlackbodyTemperatureAsRgb(3000)
    for frame in (5, 10):
        assert value_at(lamp["color"], frame) == pytest.approx(
            [warmth[0], warmth[1] / 2, warmth[2] / 2], rel=1e-5
        )


def test_a_shutter_that_somebody_set_stands_with_the_camera(scene: Callable[..., Path]) -> None:
    text = '(metersPerUnit = 1)\ndef Camera "cam"\n{\n%s}\n'
    assert "shutter_open" not in capture_usd(scene(text % ""))["camera"]
    camera = capture_usd(scene(text % "    double shutter:open = -0.25\n    double shutter:close = 0.25\n"))[
        "camera"
    ]
    assert (camera["shutter_open"], camera["shutter_close"]) == (-0.25, 0.25)
