"""glTF lights, their place in the node graph, cameras, marks and image-based light."""

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from gltf_files import PUNCTUAL, carried, scene_of
from known import being
from samelight.sheets.sheet import sheet_from_document
from samelight.sheets.trees import parse_document
from samelight.sheets.values import Level
from samelight.sheets.vocabulary import kind_by_name
from samelight.sheets.writing import yaml_text
from samelight.sources.errors import CaptureError
from samelight.sources.gltf.capture import capture_gltf
from samelight.sources.gltf.nodes import transform

REAL = Path(__file__).parents[2].parent / "shared" / "data" / "real" / "gltf"
real = pytest.mark.skipif(not REAL.is_dir(), reason="the folder of real scenes is not beside the project")

SUN = {"type": "directional", "intensity": 3.5, "color": [1.0, 0.9, 0.7]}
SPOT = {"type": "spot", "intensity": 80, "spot": {"innerConeAngle": 0.3, "outerConeAngle": 0.4}, "range": 6}
TURNED = (-math.sqrt(0.5), 0.0, 0.0, math.sqrt(0.5))
"""A quarter turn about x, which lets a light shine straight down."""


@real
def test_a_real_sun() -> None:
    (path,) = REAL.rglob("LightsDirectional.gltf")
    sheet = capture_gltf(path)
    sun = sheet["lights"]["Sun"]
    assert (sun["type"], sun["intensity"], sun["unit"]) == ("distant", 20000.0, "lx")
    assert sun["color"] == [0.8, 0.2, 0.2]  # the file's own numbers are 32-bit floats
    # By the file's quaternion (-0.8431, 0.1253, -0.0120, 0.5227), with SciPy's own rotations.
    quaternion = [-0.8431437015533447, 0.12529098987579346, -0.012030127458274364, 0.5227487087249756]
    assert sun["direction"] == pytest.approx(Rotation.from_quat(quaternion).apply([0, 0, -1]), abs=1e-9)
    assert "position" not in sun
    assert "remarks" not in sheet


@real
def test_real_points() -> None:
    (path,) = REAL.rglob("LightsPoint.gltf")
    lights = capture_gltf(path)["lights"]
    assert list(lights) == ["PointLightRed", "PointLightGreen", "PointLightBlue"]
    assert all(
        (lamp["intensity"], lamp["unit"], lamp["range"]) == (450.0, "cd", 10.0) for lamp in lights.values()
    )
    assert lights["PointLightRed"]["position"] == [2.0, 1.0, 0.0]
    assert "direction" not in lights["PointLightRed"]


@real
def test_a_real_camera_and_a_sun_below_it() -> None:
    (path,) = REAL.rglob("DirectionalLight.gltf")
    sheet = capture_gltf(path)
    assert sheet["lights"]["Sun_Orientation"]["direction"] == [0.0, 0.0, -1.0]
    # yfov 0.65 rad, aspect ratio 1.777: 2 atan(tan(0.325) 1.777) = 61.82 degrees across.
    assert sheet["camera"]["fov"] == pytest.approx(61.823, abs=1e-3)
    assert (sheet["camera"]["position"], sheet["camera"]["moves"]) == ([0.0, 0.0, 2.0], False)


def test_levels_become_candela_and_lux(gltf: Callable[..., dict[str, Any]], tmp_path: Path) -> None:
    sheet = gltf(scene_of([carried(0, name="sun"), carried(1, name="torch")], [SUN, SPOT]))
    read = sheet_from_document(parse_document(tmp_path / "sheet.yaml", yaml_text(sheet)))
    assert isinstance(read.value("lights", "sun", "level"), Level)
    assert being(Level, read.value("lights", "sun", "level")).quantity == "illuminance"
    assert read.value("lights", "torch", "level") == Level(80.0, "intensity")


def test_fallbacks_are_those_of_the_extension(gltf: Callable[..., dict[str, Any]]) -> None:
    lights = gltf(
        scene_of([carried(0, name="a"), carried(1, name="b")], [{"type": "point"}, {"type": "spot"}])
    )
    point, spot = lights["lights"].values()
    assert (point["intensity"], point["color"]) == (1.0, [1.0, 1.0, 1.0])
    assert "range" not in point
    assert (spot["cone"], spot["inner_cone"], spot["softness"]) == (45.0, 0.0, 1.0)


def test_a_spot_keeps_both_cones(gltf: Callable[..., dict[str, Any]]) -> None:
    spot = gltf(scene_of([carried(0, name="torch", rotation=TURNED)], [SPOT]))["lights"]["torch"]
    assert spot["cone"] == pytest.approx(math.degrees(0.4), abs=1e-4)
    assert spot["inner_cone"] == pytest.approx(math.degrees(0.3), abs=1e-4)
    # UsdLux fades from cone (1 - softness), which is where glTF's inner cone ends.
    assert spot["cone"] * (1 - spot["softness"]) == pytest.approx(spot["inner_cone"], abs=1e-3)
    assert spot["direction"] == pytest.approx([0.0, -1.0, 0.0], abs=1e-12)
    assert spot["range"] == 6.0
    assert (kind_by_name("inner_cone"), kind_by_name("range")) == ("angle", "length")


def test_cones_the_wrong_way_round_are_remarked_upon(gltf: Callable[..., dict[str, Any]]) -> None:
    odd = {"type": "spot", "spot": {"innerConeAngle": 0.5, "outerConeAngle": 0.4}}
    sheet = gltf(scene_of([carried(0, name="torch")], [odd]))
    assert sheet["lights"]["torch"]["softness"] == 0.0
    assert "cones" in sheet["remarks"][0]


def test_everything_above_a_light_moves_it(gltf: Callable[..., dict[str, Any]]) -> None:
    nodes = [
        {
            "name": "boat",
            "translation": [10, 0, 0],
            "rotation": [0, math.sqrt(0.5), 0, math.sqrt(0.5)],
            "children": [1],
        },
        {"name": "mast", "scale": [2, 2, 2], "children": [2]},
        carried(0, name="lantern", translation=[0, 1, -3]),
    ]
    lantern = gltf(scene_of(nodes, [SPOT]))["lights"]["lantern"]
    # (0, 1, -3) doubled, a quarter turn left about y: -6 along z becomes -6 along x, then 10 on.
    assert lantern["position"] == pytest.approx([4.0, 2.0, 0.0], abs=1e-9)
    assert lantern["direction"] == pytest.approx([-1.0, 0.0, 0.0], abs=1e-9)
    assert lantern["intensity"] == 80.0


def test_a_matrix_and_its_parts_are_one(gltf: Callable[..., dict[str, Any]]) -> None:
    parts: dict[str, list[float]] = {
        "translation": [1, 2, 3],
        "rotation": [0.1, 0.7, -0.2, 0.67],
        "scale": [2, 3, 4],
    }
    flat = transform(parts["translation"], parts["rotation"], parts["scale"]).ravel().tolist()
    nodes = [carried(0, name="a", **parts), carried(0, name="b", matrix=flat)]
    a, b = gltf(scene_of(nodes, [SPOT]))["lights"].values()
    assert a["position"] == pytest.approx(b["position"])
    assert a["direction"] == pytest.approx(b["direction"])


@given(
    st.lists(st.floats(-1, 1), min_size=4, max_size=4).filter(lambda q: np.linalg.norm(q) > 0.1),
    st.lists(st.floats(-3, 3), min_size=3, max_size=3),
)
def test_rotations_are_those_of_scipy(quaternion: list[float], vector: list[float]) -> None:
    turned = np.array(vector) @ transform((0, 0, 0), quaternion, (1, 1, 1))[:3, :3]
    assert turned == pytest.approx(Rotation.from_quat(quaternion).apply(vector), abs=1e-9)


def test_one_light_on_several_nodes(gltf: Callable[..., dict[str, Any]]) -> None:
    nodes = [{"name": "left", "children": [2]}, {"name": "right", "children": [3]}]
    nodes += [carried(0, name="lamp", translation=[-1, 0, 0]), carried(0, name="lamp", translation=[1, 0, 0])]
    sheet = gltf(scene_of(nodes, [{"type": "point"}]))
    assert sheet["source"]["lights"] == {"left_lamp": "/left/lamp", "right_lamp": "/right/lamp"}
    assert sheet["lights"]["right_lamp"]["position"] == [1.0, 0.0, 0.0]


def test_nodes_without_names_and_with_the_same(gltf: Callable[..., dict[str, Any]]) -> None:
    nodes = [carried(0), carried(0, name="lamp"), carried(0, name="lamp"), carried(0, name="a/b")]
    names = list(gltf(scene_of(nodes, [{"type": "point"}]))["lights"])
    assert names == ["node_0", "lamp", "lamp_2", "a_b"]


def test_only_the_scene_that_is_shown(gltf: Callable[..., dict[str, Any]]) -> None:
    nodes = [carried(0, name="here"), carried(0, name="elsewhere")]
    data = scene_of(nodes, [{"type": "point"}]) | {"scenes": [{"nodes": [1]}, {"nodes": [0]}], "scene": 1}
    assert list(gltf(data)["lights"]) == ["here"]
    without = {key: value for key, value in data.items() if key != "scene"}
    sheet = gltf(without)
    assert list(sheet["lights"]) == ["elsewhere"]
    assert "does not say which of its scenes" in sheet["remarks"][0]
    nowhere = {key: value for key, value in without.items() if key != "scenes"}
    assert list(gltf(nowhere)["lights"]) == ["here", "elsewhere"]


def test_hidden_nodes_hide_what_is_below(gltf: Callable[..., dict[str, Any]]) -> None:
    hidden = {"extensions": {"KHR_node_visibility": {"visible": False}}}
    nodes = [{"name": "rig", "children": [1], **hidden}, carried(0, name="lamp"), carried(0, name="sun")]
    lights = gltf(scene_of(nodes, [{"type": "point"}]))["lights"]
    assert lights["lamp"]["visible"] is False
    assert "visible" not in lights["sun"]


def test_lights_camera_and_marks_by_name_and_path(gltf: Callable[..., dict[str, Any]]) -> None:
    nodes = [
        {"name": "rig", "children": [1, 2]},
        carried(0, name="key"),
        carried(0, name="fill"),
        carried(0, name="sun"),
        {"name": "left", "camera": 0},
        {"name": "right", "camera": 0, "translation": [1, 0, 0]},
        {"name": "face", "translation": [0, 1.6, 0]},
        {"name": "hand", "extras": {"samelight:mark": "grip"}},
    ]
    cameras = [{"type": "perspective", "perspective": {"yfov": 0.5, "znear": 0.1}}]
    data = scene_of(nodes, [{"type": "point"}], cameras=cameras)
    sheet = gltf(data, lights=["/rig", "sun"], camera="right", marks=["/face"])
    assert list(sheet["lights"]) == ["key", "fill", "sun"]
    assert list(gltf(data, lights=["key"])["lights"]) == ["key"]
    assert sheet["camera"]["position"] == [1.0, 0.0, 0.0]
    assert "fov" not in sheet["camera"]
    assert sheet["camera"]["vertical_fov"] == pytest.approx(math.degrees(0.5), abs=1e-4)
    assert sheet["marks"]["face"]["position"] == [0.0, 1.6, 0.0]
    assert sheet["marks"]["face"]["normal"] == [0.0, 0.0, 1.0]
    assert set(sheet["marks"]) == {"face", "grip"}
    assert "Of 2 cameras" in gltf(data)["remarks"][0]
    for option in ({"lights": ["kex"]}, {"camera": "lefr"}, {"marks": ["fase"]}):
        with pytest.raises(CaptureError, match="did you mean"):
            gltf(data, **option)


def test_an_image_based_light_is_an_environment(gltf: Callable[..., dict[str, Any]], tmp_path: Path) -> None:
    for number in range(6):
        (tmp_path / f"dawn_{number}.png").write_bytes(bytes([number]))
    image_based = {
        "name": "dawn",
        "intensity": 2.5,
        # 30 degrees about y, against the clock seen from above: 330 clockwise.
        "rotation": [0, math.sin(math.radians(15)), 0, math.cos(math.radians(15))],
        "irradianceCoefficients": [[0.1, 0.2, 0.3]] * 9,
        "specularImageSize": 256,
        "specularImages": [[0, 1, 2, 3, 4, 5]],
    }
    data = scene_of([{"name": "set"}], images=[{"uri": f"dawn_{number}.png"} for number in range(6)])
    data["extensions"] = {"EXT_lights_image_based": {"lights": [image_based]}}
    data["scenes"][0]["extensions"] = {"EXT_lights_image_based": {"light": 0}}
    sheet = gltf(data)
    dawn = sheet["environments"]["dawn"]
    assert (dawn["texture"], dawn["intensity"]) == ("dawn_0.png", 2.5)
    assert dawn["rotation"] == pytest.approx(330.0)
    assert len(dawn["irradiance"]) == 27
    before = dawn["sha256"]
    assert sorted(sheet["source"]["files"]) == [f"dawn_{number}.png" for number in range(6)]
    (tmp_path / "dawn_5.png").write_bytes(b"other")
    assert gltf(data)["environments"]["dawn"]["sha256"] != before
    (tmp_path / "dawn_5.png").unlink()
    sheet = gltf(data)
    assert "sha256" not in sheet["environments"]["dawn"]
    assert "could not be read" in sheet["remarks"][0]


def test_a_light_of_another_type_is_kept(gltf: Callable[..., dict[str, Any]]) -> None:
    sheet = gltf(scene_of([carried(0, name="panel")], [{"type": "area", "intensity": 3}]))
    assert sheet["lights"]["panel"]["type"] == "Area"
    assert "no type of light" in sheet["remarks"][0]


@pytest.mark.parametrize(
    ("light", "where"),
    [
        ({}, "type"),
        ({"type": "point", "intensity": -1}, "intensity"),
        ({"type": "point", "intensity": "bright"}, "intensity"),
        ({"type": "point", "color": [1, 1]}, "color"),
        ({"type": "point", "color": [1, -1, 1]}, "color"),
        ({"type": "spot", "spot": []}, "spot"),
    ],
)
def test_a_malformed_light_is_named(
    gltf: Callable[..., dict[str, Any]], light: dict[str, Any], where: str
) -> None:
    with pytest.raises(CaptureError) as caught:
        gltf(scene_of([carried(0, name="lamp")], [light]))
    assert caught.value.fault.path == f"extensions.{PUNCTUAL}.lights[0].{where}"


def test_a_range_of_nothing_is_left_out(gltf: Callable[..., dict[str, Any]]) -> None:
    sheet = gltf(scene_of([carried(0, name="lamp")], [{"type": "point", "range": 0}]))
    assert "range" not in sheet["lights"]["lamp"]
    assert "range" in sheet["remarks"][0]


def test_a_scene_without_lights_says_so(gltf: Callable[..., dict[str, Any]]) -> None:
    assert gltf(scene_of([{"name": "set"}]))["remarks"] == ["The scene has no lights."]
