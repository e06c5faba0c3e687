"""What a captured mark sees of its lights, past what a glTF scene holds."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gltf_files import Animated, Data, Meshes, carried, scene_of, walled_with_everything
from samelight.sheets.sheet import sheet_from_document
from samelight.sheets.trees import parse_document
from samelight.sheets.writing import json_text, yaml_text
from samelight.sources import in_the_way
from samelight.sources.errors import CaptureError
from samelight.sources.gltf import solids
from samelight.sources.gltf.capture import capture_gltf
from samelight.sources.gltf.file import Asset, Json
from samelight.sources.gltf.nodes import transform
from samelight.sources.usd.capture import capture_usd
from thoroughness import examples

Capture = Callable[..., dict[str, Any]]

WALL = [(-5, -5, 1), (0, -5, 1), (0, 5, 1), (-5, 5, 1)]
"""A wall a metre before the mark, of which it hides the left half."""
QUAD = [0, 1, 2, 0, 2, 3]
FACE: Data = {"name": "face", "extras": {"samelight:mark": True}}
POINT: Data = {"type": "point"}
LEFT, RIGHT = (carried(0, name=name, translation=[x, 0, 4]) for name, x in (("left", -1), ("right", 1)))
LENS: Data = {"type": "perspective", "perspective": {"yfov": 0.5, "znear": 0.1}}
EYE: Data = {"name": "looks", "camera": 0, "translation": [0, 0, 5]}
HIDDEN = {"left": 0.0, "right": 1.0}
SEEN = {"left": 1.0, "right": 1.0}


def walled(*nodes: Data, made: Meshes | None = None, **rest: Any) -> Data:
    """A scene of a face, a lamp to either side behind where the wall stands, and these nodes."""
    if made is None:
        made = Meshes()
        made.mesh(WALL, QUAD)
    return made.into(scene_of([FACE, LEFT, RIGHT, *nodes], [POINT], **rest))


def face_of(sheet: dict[str, Any]) -> dict[str, Any]:
    face: dict[str, Any] = sheet["marks"]["face"]
    return face


def test_what_hides_a_light_is_named(gltf: Capture) -> None:
    face = face_of(gltf(walled({"name": "set", "children": [4]}, {"name": "wall", "mesh": 0})))
    assert face["sees"] == HIDDEN
    assert face["hidden_by"] == {"left": "/set/wall"}


def test_what_the_camera_sees_of_a_mark(gltf: Capture) -> None:
    """Half of it past the wall; all of it where the wall is the shape of a light, or of the mark's own node."""
    face = face_of(gltf(walled({"name": "wall", "mesh": 0}, EYE, cameras=[LENS])))
    assert face["in_view"] == pytest.approx(0.5, abs=0.02)
    assert face["covered_by"] == "/wall"
    made = Meshes()
    made.mesh(WALL, QUAD)
    lamp = carried(0, name="lamp", mesh=0)
    nodes = [FACE, lamp, EYE]
    face = face_of(gltf(made.into(scene_of(nodes, [POINT], cameras=[LENS]))))
    assert face["in_view"] == 1.0 and "covered_by" not in face
    nodes = [{**FACE, "children": [1]}, {"name": "wall", "mesh": 0}, EYE]
    assert face_of(gltf(made.into(scene_of(nodes, [POINT], cameras=[LENS]))))["in_view"] == 1.0


def test_a_scene_of_lights_alone_says_nothing(gltf: Capture) -> None:
    assert "sees" not in face_of(gltf(scene_of([FACE, LEFT], [POINT])))


@pytest.mark.parametrize(
    ("nodes", "seen"),
    [
        ([{"name": "wall", "mesh": 0, "translation": [20, 0, 0]}], SEEN),
        ([{"name": "wall", "mesh": 0, "scale": [-1, 1, 1]}], {"left": 1.0, "right": 0.0}),
        ([{"name": "wall", "mesh": 0, "rotation": [0, 0, 1, 0]}], {"left": 1.0, "right": 0.0}),
        (
            [{"name": "turned", "children": [4], "rotation": [0, 0, 1, 0]}, {"mesh": 0}],
            {"left": 1.0, "right": 0.0},
        ),
        (
            [{"mesh": 0, "matrix": [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 5, 0, 0, 1]}],
            {"left": 1.0, "right": 0.0},
        ),
        ([{"mesh": 0, "extensions": {"KHR_node_visibility": {"visible": False}}}], SEEN),
        ([{"children": [4], "extensions": {"KHR_node_visibility": {"visible": False}}}, {"mesh": 0}], SEEN),
    ],
)
def test_where_a_node_stands(gltf: Capture, nodes: list[Data], seen: dict[str, float]) -> None:
    assert face_of(gltf(walled(*nodes)))["sees"] == seen


@pytest.mark.parametrize(
    ("mode", "corners", "casts"),
    [(4, None, True), (5, [0, 1, 3, 2], True), (6, [0, 1, 2, 3], True), (1, QUAD, False), (0, None, False)],
)
def test_triangles_strips_and_fans(gltf: Capture, mode: int, corners: list[int] | None, casts: bool) -> None:
    made = Meshes()
    made.mesh([WALL[corner] for corner in QUAD] if corners is None else WALL, corners, mode=mode)
    assert face_of(gltf(walled({"mesh": 0}, made=made)))["sees"] == (HIDDEN if casts else SEEN)


def test_points_of_whole_numbers(gltf: Capture) -> None:
    """KHR_mesh_quantization; it is read, and so is not said to be required and unread."""
    made = Meshes()
    made.meshes.append(
        {
            "primitives": [
                {"attributes": {"POSITION": made.numbers(WALL, "<i2")}, "indices": made.numbers(QUAD, "<u2")}
            ]
        }
    )
    sheet = gltf(walled({"mesh": 0}, made=made, extensionsRequired=["KHR_mesh_quantization"]))
    assert face_of(sheet)["sees"] == HIDDEN
    assert "remarks" not in sheet


@pytest.mark.parametrize(
    ("material", "casts", "said"),
    [
        ({}, True, False),
        ({"alphaMode": "OPAQUE", "pbrMetallicRoughness": {"baseColorFactor": [1, 1, 1, 0]}}, True, False),
        ({"alphaMode": "BLEND"}, True, True),
        ({"alphaMode": "MASK"}, True, True),
        ({"alphaMode": "BLEND", "pbrMetallicRoughness": {"baseColorFactor": [1, 1, 1, 0.2]}}, False, False),
        ({"alphaMode": "MASK", "pbrMetallicRoughness": {"baseColorFactor": [1, 1, 1, 0.4]}}, False, False),
        (
            {
                "alphaMode": "MASK",
                "alphaCutoff": 0.3,
                "pbrMetallicRoughness": {"baseColorFactor": [1, 1, 1, 0.4]},
            },
            True,
            True,
        ),
    ],
)
def test_what_lets_light_through(gltf: Capture, material: Data, casts: bool, said: bool) -> None:
    made = Meshes()
    made.mesh(WALL, QUAD, material=0)
    sheet = gltf(walled({"name": "wall", "mesh": 0}, made=made, materials=[material]))
    assert face_of(sheet)["sees"] == (HIDDEN if casts else SEEN)
    assert any("alphaMode" in one and "/wall" in one for one in sheet.get("remarks", [])) is said


def test_each_instance_of_a_mesh(gltf: Capture) -> None:
    """Leaves at 0.5 m and a half turn of one of them; what stands at the node itself is none."""
    made = Meshes()
    made.mesh([(-0.1, -0.1, 0), (0.3, -0.1, 0), (0.3, 0.1, 0), (-0.1, 0.1, 0)], QUAD)
    attributes = {
        "TRANSLATION": made.numbers([(0.5, 0, 2), (0.7, 0, 2)]),
        "ROTATION": made.numbers([(0, 0, 0, 1), (0, 0, 1, 0)]),
        "SCALE": made.numbers([(0.1, 0.1, 0.1), (1, 1, 1)]),
    }
    leaves = {
        "name": "leaves",
        "mesh": 0,
        "translation": [0, 0, 0],
        "extensions": {"EXT_mesh_gpu_instancing": {"attributes": attributes}},
    }
    sheet = gltf(walled(leaves, made=made, extensionsRequired=["EXT_mesh_gpu_instancing"]))
    assert face_of(sheet)["sees"] == {"left": 1.0, "right": 0.0}
    assert face_of(sheet)["hidden_by"] == {"right": "/leaves"}
    assert "remarks" not in sheet


def test_what_moves_or_is_switched_is_looked_at_at_each_key(gltf: Capture) -> None:
    moving = Animated().move((3, "translation"), [0.0, 1.0], [[20, 0, 0], [0, 0, 0]], "STEP")
    moving.move("/nodes/4/extensions/KHR_node_visibility/visible", [0.0, 0.5], [0.0, 1.0], "STEP")
    made = Meshes()
    made.raw, made.accessors, made.views = moving.raw, moving.accessors, moving.views
    made.mesh(WALL, QUAD)
    made.mesh([(x + 5, y, z) for x, y, z in WALL], QUAD)
    switched = {"mesh": 1, "extensions": {"KHR_node_visibility": {"visible": False}}}
    scene = walled({"mesh": 0}, switched, made=made)
    scene["animations"] = moving.into({})["animations"]
    assert face_of(gltf(scene, frame_rate=24.0))["sees"] == {
        "left": {"keys": [[0, 1.0], [12, 1.0], [24, 0.0]]},
        "right": {"keys": [[0, 1.0], [12, 0.0], [24, 0.0]]},
    }


def test_a_skinned_mesh_casts_where_its_joints_pose_it(gltf: Capture) -> None:
    """The wall, bound 20 m to the side, brought back by its joint; where its own node stands does not count."""
    made = Meshes()
    weights = {
        "JOINTS_0": made.numbers([(0, 1, 0, 0)] * 4, "<u1"),
        "WEIGHTS_0": made.numbers([(0.5, 0.5, 0, 0)] * 4),
    }
    made.mesh([(x + 20, y, z) for x, y, z in WALL], QUAD, attributes=weights)
    away = np.eye(4)
    away[3, 0] = -30.0
    skin = {"joints": [4, 4], "inverseBindMatrices": made.numbers([np.eye(4).ravel(), away.ravel()])}
    nodes: list[Data] = [
        {"mesh": 0, "skin": 0, "translation": [0, 0, 70]},
        {"name": "bone", "translation": [-5, 0, 0]},
    ]
    assert face_of(gltf(walled(*nodes, made=made, skins=[skin])))["sees"] == HIDDEN


def test_the_nodes_of_light_and_mark_cast_nothing_for_themselves(gltf: Capture) -> None:
    """The mesh of a light's own node hides that light from nobody; the one that holds the mark hides none from it."""
    made = Meshes()
    made.mesh([(-0.1, -0.1, -0.5), (0.1, -0.1, -0.5), (0.1, 0.1, -0.5), (-0.1, 0.1, -0.5)], QUAD)
    made.mesh([(-9, -9, 1), (9, -9, 1), (9, 9, 1), (-9, 9, 1)], QUAD)
    lamps = [
        carried(0, name="own", mesh=0, translation=[1, 0, 4]),
        carried(0, name="other", translation=[1.5, 0, 5.25]),
    ]
    body = {"name": "body", "mesh": 1, "children": [1, 2]}
    hat = {"name": "hat", "mesh": 1}
    scene = made.into(scene_of([body, FACE, hat, *lamps], [POINT]))
    assert face_of(gltf(scene))["sees"] == {"own": 1.0, "other": 0.0}
    assert face_of(gltf(scene))["hidden_by"] == {"other": "/own"}


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"meshes": [{"primitives": [{"attributes": {"POSITION": 0}, "indices": 99}]}]}, "an index below"),
        ({"meshes": [{"primitives": [{"attributes": {"POSITION": 1}}]}]}, "3 numbers each"),
        ({"meshes": [{"primitives": 3}]}, "a list of objects"),
        ({"meshes": [{"primitives": [{"mode": 9}]}]}, "one of 0"),
        (
            {"meshes": [{"primitives": [{"extensions": {"KHR_draco_mesh_compression": {}}}]}]},
            "packed by KHR_draco",
        ),
        ({"meshes": []}, "an index below 0"),
        ({"buffers": [{"byteLength": 72, "uri": "gone.bin"}]}, "gone.bin was not found"),
    ],
)
def test_surfaces_that_are_none_end_in_a_sentence(gltf: Capture, wrong: Data, said: str) -> None:
    sheet = gltf({**walled({"name": "wall", "mesh": 0}), **wrong})
    assert face_of(sheet)["sees"] == SEEN
    assert any(
        said in one and one.startswith("/wall: its surface cannot be read") for one in sheet["remarks"]
    )
    assert sheet["source"].get("missing_files", False) is ("gone.bin" in said or "packed" in said)


def test_corners_that_are_no_points_and_skins_that_are_none(gltf: Capture) -> None:
    made = Meshes()
    made.mesh(WALL, [0, 1, 7])
    made.mesh(WALL, QUAD)
    nodes = [{"name": "wall", "mesh": 0}, {"name": "body", "mesh": 1, "skin": 0}]
    sheet = gltf(walled(*nodes, made=made, skins=[{"joints": []}]))
    assert face_of(sheet)["sees"] == HIDDEN
    assert any("corners below 4" in one for one in sheet["remarks"])
    assert any("/body: its skin cannot be read" in one for one in sheet["remarks"])


@pytest.mark.parametrize("module", [in_the_way, solids])
def test_more_than_is_looked_at_is_a_sentence(
    gltf: Capture, monkeypatch: pytest.MonkeyPatch, module: Any
) -> None:
    monkeypatch.setattr(module, "MOST_TRIANGLES", 1)
    sheet = gltf(walled({"mesh": 0}))
    assert "sees" not in face_of(sheet)
    assert any("nobody looked" in remark for remark in sheet["remarks"])


def test_more_instances_than_are_looked_at_are_not_placed_first(
    gltf: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = Meshes()
    made.mesh(WALL, QUAD)
    places = {"TRANSLATION": made.numbers([(0.0, 0.0, 0.1 * step) for step in range(9)])}
    walls = {"name": "walls", "mesh": 0, "extensions": {"EXT_mesh_gpu_instancing": {"attributes": places}}}
    placed: list[object] = []

    def place(*parts: Sequence[float]) -> object:
        placed.append(parts)
        return transform(*parts)

    monkeypatch.setattr(solids, "transform", place)
    monkeypatch.setattr(solids, "MOST_TRIANGLES", 16)
    sheet = gltf(walled(walls, made=made))
    assert any("nobody looked" in remark for remark in sheet["remarks"])
    assert not placed
    monkeypatch.setattr(solids, "MOST_TRIANGLES", 18)
    assert face_of(gltf(walled(walls, made=made)))["sees"] == HIDDEN
    assert len(placed) == 9


class _Counted(list[Json]):
    """A list that says how often it was gone through."""

    times = 0

    def __iter__(self) -> Iterator[Json]:
        self.times += 1
        return super().__iter__()


def test_the_lists_of_a_file_are_looked_through_once_however_many_meshes_it_has(
    gltf: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = Meshes()
    for _ in range(5):
        made.mesh(WALL, QUAD)
    listed: dict[str, _Counted] = {}
    before = Asset.objects

    def counted(asset: Asset, owner: Json, key: str, at: str = "") -> list[Json]:
        if owner is asset.data and isinstance(owner, dict) and key in owner and key not in listed:
            owner[key] = listed[key] = _Counted(owner[key])
        return before(asset, owner, key, at)

    monkeypatch.setattr(Asset, "objects", counted)
    sheet = gltf(walled(*({"name": f"wall{mesh}", "mesh": mesh} for mesh in range(5)), made=made))
    assert face_of(sheet)["sees"] == HIDDEN
    assert [listed[key].times for key in ("meshes", "accessors", "bufferViews", "buffers")] == [1] * 4


@settings(max_examples=examples(20), deadline=None)
@given(st.integers(0, 2**32 - 1))
def test_the_same_scene_in_usd_and_in_gltf_is_seen_alike(
    tmp_path_factory: pytest.TempPathFactory, seed: int
) -> None:
    """Shares of points, a sun and a sky, and what takes them: of meshes that are turned and scaled unevenly below others."""
    folder = tmp_path_factory.mktemp("alike")
    usd, gltf = _both(np.random.default_rng(seed))
    (folder / "scene.usda").write_text(usd, encoding="utf-8")
    (folder / "scene.gltf").write_text(json_text(gltf), encoding="utf-8")
    one = face_of(capture_usd(folder / "scene.usda"))
    other = face_of(capture_gltf(folder / "scene.gltf"))
    assert one["sees"] == other["sees"]
    assert one.get("hidden_by") == other.get("hidden_by")
    assert one["in_view"] == other["in_view"]
    assert one.get("covered_by") == other.get("covered_by")


def _both(random: np.random.Generator) -> tuple[str, Data]:
    """A random scene as the text of a .usda file and as the JSON of a .gltf file."""
    made, nodes, prims = Meshes(), [], []
    for number in range(int(random.integers(3, 7))):
        points = random.uniform(-1, 1, (int(random.integers(3, 9)), 3)).astype(np.float32)
        corners = random.integers(0, len(points), (int(random.integers(1, 8)), 3))
        at, scale = random.uniform(-2, 2, 3).round(3), random.uniform(-3, 3, 3).round(3)
        turn = random.normal(size=4)
        x, y, z, w = (turn / math.sqrt(float((turn * turn).sum()))).tolist()
        mesh = made.mesh(points, corners.ravel())
        above = {"translation": at.tolist(), "rotation": [x, y, z, w]}
        nodes += [
            {"name": f"set{number}", **above, "children": [2 * number + 1]},
            {"name": "wall", "mesh": mesh, "scale": scale.tolist()},
        ]
        prims.append(
            f'def Xform "set{number}" {{\n double3 xformOp:translate = {_listed(at)}\n'
            f" quatd xformOp:orient = ({w}, {x}, {y}, {z})\n"
            ' uniform token[] xformOpOrder = ["xformOp:translate", "xformOp:orient"]\n def Mesh "wall" {\n'
            f"  int[] faceVertexCounts = {[3] * len(corners)}\n  int[] faceVertexIndices = {corners.ravel().tolist()}\n"
            f"  point3f[] points = [{', '.join(map(_listed, points))}]\n"
            f"  double3 xformOp:scale = {_listed(scale)}\n"
            '  uniform token[] xformOpOrder = ["xformOp:scale"]\n }\n}\n'
        )
    for number in range(6):
        place = random.uniform(-6, 6, 3).round(3)
        nodes.append(carried(0, name=f"lamp{number}", translation=place.tolist()))
        prims.append(
            f'def SphereLight "lamp{number}" {{\n bool treatAsPoint = 1\n float inputs:radius = 0\n'
            f" double3 xformOp:translate = {_listed(place)}\n"
            ' uniform token[] xformOpOrder = ["xformOp:translate"]\n}\n'
        )
    nodes += [carried(1, name="sun"), FACE, {"name": "looks", "camera": 0, "translation": [0, 0, 6]}]
    prims += [
        'def Camera "looks" {\n double3 xformOp:translate = (0, 0, 6)\n'
        ' uniform token[] xformOpOrder = ["xformOp:translate"]\n}\n',
        'def DistantLight "sun" {\n}\n',
        'def DomeLight "sky" {\n}\n',
        'def Xform "face" {\n custom bool samelight:mark = true\n}\n',
    ]
    lights = [POINT, {"type": "directional"}]
    data = made.into(scene_of(nodes, lights, cameras=[LENS]))
    data["scenes"][0]["extensions"] = {"EXT_lights_image_based": {"light": 0}}
    data["extensions"]["EXT_lights_image_based"] = {"lights": [{"name": "sky"}]}
    return '#usda 1.0\n(\n upAxis = "Y"\n metersPerUnit = 1\n)\n' + "".join(prims), data


def _listed(numbers: Any) -> str:
    return f"({', '.join(repr(float(number)) for number in numbers)})"


def test_a_scene_without_geometry_reads_no_buffer(tmp_path: Path) -> None:
    """Nor does one without a mark: the buffer is not even there."""
    scene = walled({"mesh": 0})
    scene["nodes"][0] = {"name": "nobody"}
    scene["buffers"][0]["uri"] = "gone.bin"
    (tmp_path / "scene.gltf").write_text(json_text(scene), encoding="utf-8")
    assert "remarks" not in capture_gltf(tmp_path / "scene.gltf")


JUNK: list[Any] = [None, True, -1, 0, 1, 99, 1e300, "x", [], {}, [0, 0], [{}], [None], {"POSITION": 3}, 2**40]


@settings(max_examples=examples(600), deadline=None)
@given(st.data())
def test_junk_in_any_place_is_an_error_or_a_sheet(
    tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    """Any value of the scene's text replaced by any other, or taken away."""
    made, scene = walled_with_everything()
    whole = made.into(scene)
    owner: Any = whole
    while True:
        keys = sorted(owner) if isinstance(owner, dict) else range(len(owner))
        key = data.draw(st.sampled_from(keys))
        if not isinstance(owner[key], dict | list) or not owner[key] or data.draw(st.integers(0, 3)) == 0:
            break
        owner = owner[key]
    if data.draw(st.booleans()) or isinstance(owner, list):
        owner[key] = data.draw(st.sampled_from(JUNK))
    else:
        del owner[key]
    path = tmp_path_factory.getbasetemp() / "junk.gltf"
    path.write_text(json_text(whole), encoding="utf-8")
    try:
        sheet = capture_gltf(path)
    except CaptureError as error:
        assert "junk.gltf" in str(error)
    else:
        sheet_from_document(parse_document(path.with_suffix(".yaml"), yaml_text(sheet)))
