"""glTF animation: samplers, moving ancestors, pointers, and buffers in every place they may be in."""

import json
import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.interpolate import CubicHermiteSpline
from scipy.spatial.transform import Rotation, Slerp

from gltf_files import PUNCTUAL, Animated, carried, glb, scene_of
from known import being
from samelight.light.directions import angle_between
from samelight.sheets.sheet import sheet_from_document
from samelight.sheets.trees import parse_document
from samelight.sheets.values import Curve
from samelight.sheets.writing import yaml_text
from samelight.sources.errors import CaptureError
from samelight.sources.gltf.capture import capture_gltf

POINT = {"type": "point", "intensity": 10}
SPOT = {"type": "spot", "spot": {"innerConeAngle": 0.2, "outerConeAngle": 0.4}}
RATE = 24.0


def moved(*channels: tuple[Any, ...]) -> Animated:
    animated = Animated()
    for channel in channels:
        animated.move(*channel)
    return animated


def at(curve: dict[str, Any], frame: int, tmp_path: Path) -> tuple[float, ...]:
    """A captured curve of positions or directions at a frame, as a sheet reads it."""
    tree: dict[str, Any] = {
        "samelight": 2,
        "lights": {"a": {"type": "spot", "position": [0, 0, 0], "direction": [0, 0, -1]}},
    }
    name = "direction" if curve["interpolation"] == "linear" and _unit(curve) else "position"
    tree["lights"]["a"][name] = curve
    sheet = sheet_from_document(parse_document(tmp_path / "curve.yaml", yaml_text(tree)))
    return being(tuple, being(Curve, sheet.value("lights", "a", name)).at(frame))


def _unit(curve: dict[str, Any]) -> bool:
    return all(abs(np.linalg.norm(value) - 1) < 1e-6 for _, value in curve["keys"])


def test_a_slide_keeps_its_two_keys(gltf: Callable[..., dict[str, Any]]) -> None:
    animated = moved(((0, "translation"), [0, 2], [[0, 1, 0], [4, 1, 0]]))
    sheet = gltf(animated.into(scene_of([carried(0, name="lamp")], [POINT])))
    assert sheet["frames"] == [0, 48]
    position = sheet["lights"]["lamp"]["position"]
    assert position == {"keys": [[0, [0.0, 1.0, 0.0]], [48, [4.0, 1.0, 0.0]]], "interpolation": "linear"}


def test_frames_count_from_the_first_and_at_the_rate(gltf: Callable[..., dict[str, Any]]) -> None:
    animated = moved(((0, "translation"), [0, 1], [[0, 1, 0], [4, 1, 0]]))
    data = animated.into(scene_of([carried(0, name="lamp")], [POINT]))
    sheet = gltf(data, frames=(1001, 1031), frame_rate=30.0)
    keys = sheet["lights"]["lamp"]["position"]["keys"]
    assert [frame for frame, _ in keys] == [1001, 1031]
    assert (sheet["source"]["frames_per_second"], sheet["source"]["frame_of_second_0"]) == (30.0, 1001.0)
    with pytest.raises(CaptureError, match="frame rate"):
        gltf(data, frame_rate=0.0)


def test_steps_hold(gltf: Callable[..., dict[str, Any]]) -> None:
    animated = moved(((0, "translation"), [0, 1], [[0, 1, 0], [4, 1, 0]], "STEP"))
    position = gltf(animated.into(scene_of([carried(0, name="lamp")], [POINT])))["lights"]["lamp"]["position"]
    assert position == {"keys": [[0, [0.0, 1.0, 0.0]], [24, [4.0, 1.0, 0.0]]], "interpolation": "held"}


def test_splines_are_those_of_scipy(gltf: Callable[..., dict[str, Any]]) -> None:
    # Tangents are by the second; the outputs are arriving tangent, value, leaving tangent at each key.
    values, arriving, leaving = [0.0, 3.0], [0.0, -2.0], [6.0, 1.0]
    outputs = [[n, 0, 0] for key in zip(arriving, values, leaving, strict=True) for n in key]
    animated = moved(((0, "translation"), [0, 2], outputs, "CUBICSPLINE"))
    position = gltf(animated.into(scene_of([carried(0, name="lamp")], [POINT])))["lights"]["lamp"]["position"]
    spline = CubicHermiteSpline([0, 2], values, [leaving[0], arriving[1]])
    assert len(position["keys"]) == 49
    for frame, place in position["keys"]:
        assert place == pytest.approx([float(spline(frame / RATE)), 0.0, 0.0], abs=1e-6)


def test_turns_go_along_the_great_circle(gltf: Callable[..., dict[str, Any]], tmp_path: Path) -> None:
    ends = Rotation.from_euler("yx", [[0, -20], [100, -50]], degrees=True)
    animated = moved(((0, "rotation"), [0, 1], ends.as_quat()))
    direction = gltf(animated.into(scene_of([carried(0, name="torch")], [SPOT])))["lights"]["torch"][
        "direction"
    ]
    slerp = Slerp([0, 1], ends)
    for frame in range(25):
        wanted = slerp(frame / RATE).apply([0, 0, -1])
        assert angle_between(at(direction, frame, tmp_path), wanted) < 0.01


def test_the_short_way_round(gltf: Callable[..., dict[str, Any]]) -> None:
    turned = Rotation.from_euler("y", [[0], [90]], degrees=True).as_quat()
    turned[1] *= -1  # the same turn, written the other way
    animated = moved(((0, "rotation"), [0, 1], turned))
    keys = gltf(animated.into(scene_of([carried(0, name="torch")], [SPOT])))["lights"]["torch"]["direction"][
        "keys"
    ]
    assert all(x <= 1e-6 for _, (x, _, _) in keys)


def test_a_spline_of_rotations_stays_a_rotation(gltf: Callable[..., dict[str, Any]]) -> None:
    first, last = Rotation.from_euler("x", [[0], [-80]], degrees=True).as_quat()
    outputs = [[0] * 4, first, [0] * 4, [0] * 4, last, [0] * 4]
    animated = moved(((0, "rotation"), [0, 1], outputs, "CUBICSPLINE"))
    keys = gltf(animated.into(scene_of([carried(0, name="torch")], [SPOT])))["lights"]["torch"]["direction"][
        "keys"
    ]
    assert all(np.linalg.norm(direction) == pytest.approx(1.0) for _, direction in keys)
    assert keys[-1][1] == pytest.approx(Rotation.from_quat(last).apply([0, 0, -1]), abs=1e-6)


def test_any_ancestor_may_move(gltf: Callable[..., dict[str, Any]], tmp_path: Path) -> None:
    nodes = [
        {"name": "harbour", "translation": [100, 0, 0], "children": [1]},
        {"name": "boat", "children": [2]},
        carried(0, name="lantern", translation=[0, 0, -2]),
    ]
    turned = Rotation.from_euler("y", [[0], [90]], degrees=True)
    animated = moved(((1, "rotation"), [0, 1], turned.as_quat()))
    position = gltf(animated.into(scene_of(nodes, [POINT])))["lights"]["lantern"]["position"]
    slerp = Slerp([0, 1], turned)
    for frame in (0, 7, 13, 24):
        assert at(position, frame, tmp_path) == pytest.approx(
            np.array([100, 0, 0]) + slerp(frame / RATE).apply([0, 0, -2]), abs=2e-3
        )


def test_a_still_light_in_a_moving_scene_has_no_keys(gltf: Callable[..., dict[str, Any]]) -> None:
    nodes = [{"name": "boat"}, carried(0, name="lamp", translation=[1, 2, 3])]
    animated = moved(((0, "translation"), [0, 1], [[0, 0, 0], [9, 9, 9]]))
    lamp = gltf(animated.into(scene_of(nodes, [POINT])))["lights"]["lamp"]
    assert lamp["position"] == [1.0, 2.0, 3.0]


def test_pointers_move_what_a_light_is(gltf: Callable[..., dict[str, Any]]) -> None:
    lights = f"/extensions/{PUNCTUAL}/lights/0"
    animated = moved(
        (f"{lights}/intensity", [0, 1], [10, 20]),
        (f"{lights}/color", [0, 1], [[1, 1, 1], [1, 0.5, 0]]),
        (f"{lights}/range", [0, 1], [5, 6], "STEP"),
        (f"{lights}/spot/outerConeAngle", [0, 1], [0.4, 0.8]),
        ("/nodes/0/translation", [0, 1], [[0, 0, 0], [0, 2, 0]]),
    )
    spot = {**SPOT, "range": 5}
    torch = gltf(animated.into(scene_of([carried(0, name="torch")], [spot])))["lights"]["torch"]
    assert torch["intensity"]["keys"] == [[0, 10.0], [24, 20.0]]
    assert torch["color"]["keys"][-1] == [24, [1.0, 0.5, 0.0]]
    assert torch["range"] == {"keys": [[0, 5.0], [24, 6.0]], "interpolation": "held"}
    assert torch["cone"]["keys"][-1][1] == pytest.approx(math.degrees(0.8), abs=1e-4)
    assert torch["inner_cone"] == pytest.approx(math.degrees(0.2), abs=1e-4)
    assert torch["softness"]["keys"][-1][1] == pytest.approx(0.75, abs=1e-5)
    assert torch["position"]["keys"][-1] == [24, [0.0, 2.0, 0.0]]


def test_a_pointer_switches_visibility(gltf: Callable[..., dict[str, Any]]) -> None:
    pointer = "/nodes/0/extensions/KHR_node_visibility/visible"
    nodes = [
        {"name": "rig", "children": [1], "extensions": {"KHR_node_visibility": {"visible": True}}},
        carried(0, name="lamp"),
    ]
    animated = moved((pointer, [0, 1], [1, 0], "STEP"))
    lamp = gltf(animated.into(scene_of(nodes, [POINT])))["lights"]["lamp"]
    assert lamp["visible"] == {"keys": [[0, True], [24, False]], "interpolation": "held"}


def test_of_several_animations_the_first_counts(gltf: Callable[..., dict[str, Any]]) -> None:
    animated = moved(
        ((0, "translation"), [0, 1], [[0, 0, 0], [1, 0, 0]]), ((0, "translation"), [0, 1], [[5, 5, 5]] * 2)
    )
    data = animated.into(scene_of([carried(0, name="lamp")], [POINT]))
    (both,) = data["animations"]
    data["animations"] = [{**both, "channels": [channel]} for channel in both["channels"]]
    sheet = gltf(data)
    assert sheet["lights"]["lamp"]["position"]["keys"][-1] == [24, [1.0, 0.0, 0.0]]
    assert "Several animations" in sheet["remarks"][0]


@pytest.fixture
def slide() -> tuple[Animated, dict[str, Any]]:
    animated = moved(((0, "translation"), [0, 1], [[0, 0, 0], [1, 0, 0]]))
    return animated, scene_of([carried(0, name="lamp")], [POINT])


def test_a_buffer_beside_the_file(
    gltf: Callable[..., dict[str, Any]], tmp_path: Path, slide: tuple[Animated, dict[str, Any]]
) -> None:
    animated, scene = slide
    (tmp_path / "the moves.bin").write_bytes(animated.raw)
    sheet = gltf(animated.into(scene, "the%20moves.bin"))
    assert sheet["lights"]["lamp"]["position"]["keys"][-1][1] == [1.0, 0.0, 0.0]
    assert list(sheet["source"]["files"]) == ["the moves.bin"]


def test_a_buffer_in_the_binary_chunk(tmp_path: Path, slide: tuple[Animated, dict[str, Any]]) -> None:
    animated, scene = slide
    path = tmp_path / "scene.glb"
    path.write_bytes(glb(animated.into(scene, None), animated.raw))
    assert capture_gltf(path)["lights"]["lamp"]["position"]["keys"][-1][1] == [1.0, 0.0, 0.0]


@pytest.mark.parametrize(
    "uri", ["gone.bin", "https://example.invalid/moves.bin", "/etc/hostname", "//host/moves.bin"]
)
def test_a_buffer_that_is_not_there_is_a_remark(
    gltf: Callable[..., dict[str, Any]], slide: tuple[Animated, dict[str, Any]], uri: str
) -> None:
    animated, scene = slide
    sheet = gltf(animated.into(scene, uri))
    assert sheet["lights"]["lamp"]["position"] == [0.0, 0.0, 0.0]
    assert "taken as standing still" in sheet["remarks"][0]
    assert sheet["source"]["missing_files"] is True


def test_a_missing_buffer_that_no_light_needs_is_no_remark(gltf: Callable[..., dict[str, Any]]) -> None:
    animated = moved(((0, "translation"), [0, 1], [[0, 0, 0], [1, 0, 0]]))
    sheet = gltf(animated.into(scene_of([{"name": "boat"}, carried(0, name="lamp")], [POINT]), "gone.bin"))
    assert "remarks" not in sheet


def test_a_packed_buffer_is_a_remark(
    gltf: Callable[..., dict[str, Any]], slide: tuple[Animated, dict[str, Any]]
) -> None:
    animated, scene = slide
    data = animated.into(scene)
    data["bufferViews"][0]["extensions"] = {"EXT_meshopt_compression": {"buffer": 0, "count": 2}}
    assert "EXT_meshopt_compression" in gltf(data)["remarks"][0]


def test_normalised_integers_and_strides(gltf: Callable[..., dict[str, Any]]) -> None:
    # Two quaternions as signed bytes, each followed by four bytes of something else.
    raw = (
        np.array([0, 1], "<f4").tobytes()
        + bytes([0, 0, 0, 127, 9, 9, 9, 9])
        + bytes([0x81, 0, 0, 0, 9, 9, 9, 9])
    )
    data = scene_of([carried(0, name="torch")], [SPOT])
    data |= {
        "buffers": [
            {"byteLength": len(raw), "uri": "data:,".join(["", ""]) + "".join(f"%{b:02x}" for b in raw)}
        ],
        "bufferViews": [
            {"buffer": 0, "byteLength": 8},
            {"buffer": 0, "byteOffset": 8, "byteLength": 16, "byteStride": 8},
        ],
        "accessors": [
            {"bufferView": 0, "componentType": 5126, "count": 2, "type": "SCALAR", "min": [0], "max": [1]},
            {"bufferView": 1, "componentType": 5120, "normalized": True, "count": 2, "type": "VEC4"},
        ],
        "animations": [
            {
                "samplers": [{"input": 0, "output": 1, "interpolation": "STEP"}],
                "channels": [{"sampler": 0, "target": {"node": 0, "path": "rotation"}}],
            }
        ],
    }
    keys = gltf(data)["lights"]["torch"]["direction"]["keys"]
    assert keys[0][1] == [0.0, 0.0, -1.0]
    assert keys[1][1] == pytest.approx([0.0, 0.0, 1.0])  # half a turn about x


def test_sparse_values(gltf: Callable[..., dict[str, Any]], slide: tuple[Animated, dict[str, Any]]) -> None:
    animated, scene = slide
    data = animated.into(scene)
    extra = np.array([1], "<u2").tobytes() + b"\0\0" + np.array([7, 8, 9], "<f4").tobytes()
    data["buffers"].append({"byteLength": len(extra), "uri": "extra.bin"})
    data["bufferViews"] += [{"buffer": 1, "byteLength": 2}, {"buffer": 1, "byteOffset": 4, "byteLength": 12}]
    del data["accessors"][1]["bufferView"]
    data["accessors"][1]["sparse"] = {
        "count": 1,
        "indices": {"bufferView": 2, "componentType": 5123},
        "values": {"bufferView": 3},
    }
    assert "extra.bin was not found" in gltf(data)["remarks"][0]
    data["buffers"][1]["uri"] = "data:application/octet-stream," + "".join(f"%{byte:02x}" for byte in extra)
    keys = gltf(data)["lights"]["lamp"]["position"]["keys"]
    assert [value for _, value in keys] == [[0.0, 0.0, 0.0], [7.0, 8.0, 9.0]]
    data["accessors"][1]["sparse"]["count"] = 5
    with pytest.raises(CaptureError, match="at most 2"):
        gltf(data)


def change(data: dict[str, Any], where: tuple[Any, ...], value: int | str | None) -> None:
    *above, last = where
    for step in above:
        data = data[step]
    data[last] = value


@pytest.mark.parametrize(
    ("where", "value", "says"),
    [
        (("accessors", 1, "count"), 5, "bytes in its buffer view"),
        (("accessors", 1, "count"), 10**9, "at most 2,000,000"),
        (("accessors", 1, "count"), -1, "a whole number"),
        (("accessors", 1, "type"), "VEC9", "one of SCALAR"),
        (("accessors", 1, "type"), "VEC2", "values of 3 numbers"),
        (("accessors", 1, "componentType"), 1, "one of 5120"),
        (("accessors", 1, "bufferView"), 9, "an index below 2"),
        (("accessors", 1, "byteOffset"), 4, "bytes in its buffer view"),
        (("bufferViews", 1, "byteLength"), 10**12, "which a buffer view takes"),
        (("bufferViews", 1, "byteStride"), 2, "at least 12"),
        (("bufferViews", 1, "buffer"), None, "an index below 1"),
        (("buffers", 0, "byteLength"), 8, "which a buffer view takes"),
        (("buffers", 0, "uri"), "data:base64", "a comma"),
        (("buffers", 0, "uri"), "data:;base64,%%%", "base64"),
        (("buffers", 0, "uri"), "data:;base64,AAAA", "in its data URI"),
        (("buffers", 0, "uri"), 7, "text"),
        (("animations", 0, "samplers", 0, "interpolation"), "WOBBLE", "STEP, LINEAR or CUBICSPLINE"),
        (("animations", 0, "samplers", 0, "interpolation"), "CUBICSPLINE", "6 values"),
        (("animations", 0, "samplers", 0, "input"), 1, "one number a key"),
        (("animations", 0, "samplers", 0, "output"), None, "an index below 2"),
        (("animations", 0, "channels", 0, "sampler"), 3, "an index below 1"),
        (("animations", 0, "channels", 0, "target", "node"), 3, "an index below 1"),
    ],
)
def test_a_file_that_contradicts_itself(
    gltf: Callable[..., dict[str, Any]],
    slide: tuple[Animated, dict[str, Any]],
    where: tuple[Any, ...],
    value: int | str | None,
    says: str,
) -> None:
    animated, scene = slide
    data = json.loads(json.dumps(animated.into(scene)))
    if where == ("bufferViews", 1, "byteLength"):
        data["accessors"][1]["count"] = 1000
    change(data, where, value)
    with pytest.raises(CaptureError, match=says):
        gltf(data)


@pytest.mark.parametrize(
    ("seconds", "values", "says"),
    [
        ([1, 0], [[0, 0, 0], [1, 0, 0]], "ascending"),
        ([0, 0], [[0, 0, 0], [1, 0, 0]], "ascending"),
        ([0, math.nan], [[0, 0, 0], [1, 0, 0]], "finite"),
        ([0, 1], [[0, 0, 0], [math.inf, 0, 0]], "finite"),
    ],
)
def test_numbers_that_cannot_be(
    gltf: Callable[..., dict[str, Any]], seconds: list[float], values: list[list[float]], says: str
) -> None:
    animated = moved(((0, "translation"), seconds, values))
    data = animated.into(scene_of([carried(0, name="lamp")], [POINT]))
    data["accessors"][0].update({"min": [0], "max": [1]})
    with pytest.raises(CaptureError, match=says):
        gltf(data)


def test_a_rotation_of_nothing(gltf: Callable[..., dict[str, Any]]) -> None:
    animated = moved(((0, "rotation"), [0, 1], [[0, 0, 0, 0], [0, 0, 0, 1]]))
    with pytest.raises(CaptureError, match="quaternion of zeros"):
        gltf(animated.into(scene_of([carried(0, name="torch")], [SPOT])))


def test_thousands_of_moving_nodes(gltf: Callable[..., dict[str, Any]]) -> None:
    """A figure of many bones, with a light in its hand: only what moves the light is read."""
    size = 3000
    nodes = [{"name": f"bone_{number}", "children": [number + 1]} for number in range(20)]
    nodes += [carried(0, name="torch")] + [{"name": f"other_{number}"} for number in range(size)]
    animated = Animated()
    for number in range(len(nodes)):
        animated.move((number, "translation"), [0.0, 1.0], [[0.0, 0.0, 0.0], [0.1, 0.0, 0.0]])
    torch = gltf(animated.into(scene_of(nodes, [SPOT])))["lights"]["torch"]
    assert torch["position"]["keys"][-1][1] == pytest.approx([2.1, 0.0, 0.0], abs=1e-6)
