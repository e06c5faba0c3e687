"""What a captured mark sees of its lights, past what a USD scene holds."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from samelight.sheets.sheet import sheet_from_document
from samelight.sheets.trees import parse_document
from samelight.sheets.writing import yaml_text
from samelight.sources import in_the_way
from samelight.sources.usd.capture import capture_usd
from samelight.sources.usd.solids import triangles_of

HEAD = """#usda 1.0
(
    upAxis = "{up}"
    metersPerUnit = {metres}
    startTimeCode = 1
    endTimeCode = 9
)
"""
QUAD = "int[] faceVertexCounts = [4]\nint[] faceVertexIndices = [0, 1, 2, 3]\npoint3f[] points = [{points}]"
WALL = QUAD.format(points="(-5, -5, 1), (0, -5, 1), (0, 5, 1), (-5, 5, 1)")
"""A wall a metre before the mark, of which it hides the left half."""


def prim(kind: str, name: str, *lines: str, meta: str = "") -> str:
    body = "\n".join(lines)
    return f'def {kind} "{name}"{f" ({meta})" if meta else ""}\n{{\n{body}\n}}\n'


def moved(*place: float) -> str:
    return f'double3 xformOp:translate = {place}\nuniform token[] xformOpOrder = ["xformOp:translate"]'


FACE = prim("Xform", "face", "custom bool samelight:mark = true")
SOFT = prim("DiskLight", "soft", "float inputs:radius = 0.5", moved(0, 0, 4))


def mark_of(folder: Path, *prims: str, up: str = "Y", metres: float = 1.0) -> dict[str, Any]:
    scene = folder / "scene.usda"
    scene.write_text(HEAD.format(up=up, metres=metres) + "".join(prims), encoding="utf-8")
    tree = capture_usd(scene)
    sheet_from_document(parse_document(scene.with_suffix(".yaml"), yaml_text(tree)))
    mark: dict[str, Any] = tree["marks"]["face"]
    return {**mark, "remarks": tree.get("remarks", [])}


def test_half_of_a_light_is_hidden_and_what_hides_it_is_named(tmp_path: Path) -> None:
    mark = mark_of(tmp_path, prim("Xform", "set", prim("Mesh", "wall", WALL)), FACE, SOFT)
    assert mark["sees"]["soft"] == pytest.approx(0.5, abs=0.03)
    assert mark["hidden_by"] == {"soft": "/set/wall"}


def test_what_hides_most_of_a_light_a_thousand_kilometres_away_is_named(tmp_path: Path) -> None:
    """A strip that hides a seventh of it is not, though its name comes first."""
    strip = QUAD.format(points="(0.05, -5, 1), (0.07, -5, 1), (0.07, 5, 1), (0.05, 5, 1)")
    lamp = prim("DiskLight", "lamp", "float inputs:radius = 1e5", moved(0, 0, 1e6))
    mark = mark_of(tmp_path, prim("Mesh", "strip", strip), prim("Mesh", "wall", WALL), FACE, lamp)
    assert mark["sees"]["lamp"] < 0.45
    assert mark["hidden_by"] == {"lamp": "/wall"}


def test_a_scene_of_lights_alone_says_nothing(tmp_path: Path) -> None:
    assert "sees" not in mark_of(tmp_path, FACE, SOFT)


def test_the_scenes_own_axes_and_units(tmp_path: Path) -> None:
    """The same wall in centimetres and Z-up: what was (x, y, z) is (x, -z, y)."""
    points = "(-500, -100, -500), (0, -100, -500), (0, -100, 500), (-500, -100, 500)"
    wall = prim("Mesh", "wall", QUAD.format(points=points))
    light = prim("SphereLight", "lamp", "float inputs:radius = 1", moved(-100, -400, 0))
    other = prim("SphereLight", "other", "float inputs:radius = 1", moved(100, -400, 0))
    faces = prim(
        "Xform",
        "face",
        "custom bool samelight:mark = true",
        'float xformOp:rotateX = 90\nuniform token[] xformOpOrder = ["xformOp:rotateX"]',
    )
    assert mark_of(tmp_path, wall, faces, light, other, up="Z", metres=0.01)["sees"] == {
        "lamp": 0.0,
        "other": 1.0,
    }


@pytest.mark.parametrize(
    ("wall", "why"),
    [
        (prim("Mesh", "wall", WALL, 'token visibility = "invisible"'), "hidden"),
        (prim("Mesh", "wall", WALL, 'uniform token purpose = "guide"'), "a guide"),
        (prim("Mesh", "wall", WALL, "float[] primvars:displayOpacity = [0.1]"), "transparent"),
        (
            prim("Xform", "face", prim("Mesh", "wall", WALL), "custom bool samelight:mark = true"),
            "below the mark",
        ),
        (
            prim("Xform", "boatman", prim("Mesh", "wall", WALL), FACE, meta='kind = "component"'),
            "of the model that holds the mark",
        ),
    ],
)
def test_what_casts_no_shadow(tmp_path: Path, wall: str, why: str) -> None:
    marked = () if "samelight:mark" in wall else (FACE,)
    crate = prim("Cube", "crate", "double size = 0.1", moved(30, 0, 0))
    mark = mark_of(tmp_path, wall, *marked, crate, SOFT)
    assert mark["sees"]["soft"] == 1.0, why


def test_shadow_links_and_lights_without_shadows(tmp_path: Path) -> None:
    linked = (
        "uniform bool collection:shadowLink:includeRoot = true\nrel collection:shadowLink:excludes = </wall>"
    )
    lights = [
        prim("SphereLight", "plain", moved(-1, 0, 4)),
        prim("SphereLight", "linked", moved(-1, 0, 4), linked),
        prim(
            "SphereLight",
            "off",
            moved(-1, 0, 4),
            "bool inputs:shadow:enable = 0",
            meta='prepend apiSchemas = ["ShadowAPI"]',
        ),
    ]
    mark = mark_of(tmp_path, prim("Mesh", "wall", WALL), FACE, *lights)
    assert mark["sees"] == {"plain": 0.0, "linked": 1.0, "off": 1.0}


def test_each_point_of_an_instancer_and_not_its_model(tmp_path: Path) -> None:
    leaf = prim("Mesh", "leaf", QUAD.format(points="(-1, -1, 0), (1, -1, 0), (1, 1, 0), (-1, 1, 0)"))
    leaves = prim(
        "PointInstancer",
        "leaves",
        "int[] protoIndices = [0, 0]",
        "point3f[] positions = [(50, 0, 2), (3, 0, 2)]",
        "rel prototypes = </leaves/leaf>",
        leaf,
    )
    lights = [
        prim("SphereLight", name, "float inputs:radius = 0.01", moved(x, 0, 4))
        for name, x in (("near", 6), ("model", 0))
    ]
    mark = mark_of(tmp_path, leaves, FACE, *lights)
    assert mark["sees"] == {"near": 0.0, "model": 1.0}
    assert mark["hidden_by"] == {"near": "/leaves"}


MESH = QUAD.format(points="(-1, -1, 4), (1, -1, 4), (1, 1, 4), (-1, 1, 4)")
BACK = QUAD.format(points="(-1, -1, 4), (-1, 1, 4), (1, 1, 4), (1, -1, 4)")


@pytest.mark.parametrize(("points", "seen"), [(BACK, {"screen": 0.5}), (MESH, None)])
def test_a_mesh_light_is_seen_by_its_triangles(
    tmp_path: Path, points: str, seen: dict[str, float] | None
) -> None:
    """A screen of 2 x 2 m whose left half the wall hides; one that turns its back gives the mark nothing to be hidden."""
    screen = prim("Mesh", "screen", points, meta='prepend apiSchemas = ["MeshLightAPI"]')
    mark = mark_of(tmp_path, prim("Mesh", "wall", WALL), FACE, screen)
    assert mark.get("sees") == (seen if seen is None else pytest.approx(seen, abs=0.06))


def test_of_many_instances_each_counts_by_what_it_gives(tmp_path: Path) -> None:
    """A lamp at 2 m, 30 degrees off, behind the wall, and two at 4 m beside it: the first gives 4 cos 30 of 2 + 4 cos 30."""
    lamps = prim(
        "PointInstancer",
        "lamps",
        "int[] protoIndices = [0, 0, 0]",
        "point3f[] positions = [(-1, 0, 1.732), (0.1, 0, 3.999), (0.1, 0.1, 3.998)]",
        "rel prototypes = </lamps/lamp>",
        prim("SphereLight", "lamp", "float inputs:radius = 0.01"),
    )
    mark = mark_of(tmp_path, prim("Mesh", "wall", WALL), FACE, lamps)
    assert mark["sees"] == {"lamp": pytest.approx(2 / (2 + 4 * 0.866), abs=0.02)}
    assert mark["hidden_by"] == {"lamp": "/wall"}


def test_what_moves_is_looked_at_at_each_key(tmp_path: Path) -> None:
    door = prim(
        "Cube",
        "door",
        "double size = 1",
        "double3 xformOp:translate.timeSamples = { 1: (9, 0, 2), 9: (0, 0, 2) }",
        'uniform token[] xformOpOrder = ["xformOp:translate"]',
    )
    mark = mark_of(
        tmp_path, door, FACE, prim("SphereLight", "lamp", "float inputs:radius = 0.01", moved(0, 0, 4))
    )
    assert mark["sees"] == {"lamp": {"keys": [[1, 1.0], [9, 0.0]]}}


def test_a_skinned_surface_casts_where_it_is_posed(tmp_path: Path) -> None:
    """A wall bound far off to the side, brought before the light by its one joint."""
    wall = prim(
        "Mesh",
        "wall",
        QUAD.format(points="(19, -1, 1), (21, -1, 1), (21, 1, 1), (19, 1, 1)"),
        "matrix4d primvars:skel:geomBindTransform = ( (1,0,0,0), (0,1,0,0), (0,0,1,0), (0,0,0,1) )",
        'int[] primvars:skel:jointIndices = [0] (\n elementSize = 1\n interpolation = "constant"\n)',
        'float[] primvars:skel:jointWeights = [1] (\n elementSize = 1\n interpolation = "constant"\n)',
        "rel skel:skeleton = </body/bones>",
        meta='prepend apiSchemas = ["SkelBindingAPI"]',
    )
    bones = prim(
        "Skeleton",
        "bones",
        'uniform token[] joints = ["root"]',
        "uniform matrix4d[] bindTransforms = [( (1,0,0,0), (0,1,0,0), (0,0,1,0), (0,0,0,1) )]",
        "uniform matrix4d[] restTransforms = [( (1,0,0,0), (0,1,0,0), (0,0,1,0), (-20,0,0,1) )]",
    )
    lamp = prim("SphereLight", "lamp", "float inputs:radius = 0.01", moved(0, 0, 4))
    mark = mark_of(tmp_path, prim("SkelRoot", "body", wall, bones), FACE, lamp)
    assert mark["sees"] == {"lamp": 0.0}


@pytest.mark.parametrize("kind", ["Cube", "Sphere", "Cylinder", "Cone", "Capsule", "Plane"])
def test_simple_bodies(tmp_path: Path, kind: str) -> None:
    lights = [
        prim("SphereLight", name, "float inputs:radius = 0.01", moved(*place))
        for name, place in (("behind", (0, 0, 8)), ("beside", (8, 0, 8)))
    ]
    mark = mark_of(tmp_path, prim(kind, "body", moved(0, 0, 4)), FACE, *lights)
    assert mark["sees"] == {"behind": 0.0, "beside": 1.0}


@pytest.mark.parametrize(
    ("wall", "said"),
    [
        (WALL.replace("(0, -5, 1), (0, 5, 1)", "(-5, -5, 1), (-5, -5, 1)"), ""),
        (WALL.replace("(0, 5, 1)", "(nan, 5, 1)"), ""),
        (WALL.replace("[0, 1, 2, 3]", "[0, 1, 2, 9]"), "no point of it"),
        (WALL.replace("[4]", "[5]"), "other corners"),
    ],
)
def test_surfaces_that_are_none_end_in_a_sentence(tmp_path: Path, wall: str, said: str) -> None:
    lamp = prim("SphereLight", "lamp", "float inputs:radius = 0.01", moved(1, 0, 4))
    mark = mark_of(tmp_path, prim("Mesh", "wall", wall), FACE, lamp)
    assert mark["sees"] == {"lamp": 1.0}
    assert any(said in remark for remark in mark["remarks"]) or not said


def test_more_than_is_looked_at_is_a_sentence(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(in_the_way, "MOST_TRIANGLES", 1)
    mark = mark_of(tmp_path, prim("Mesh", "wall", WALL), FACE, SOFT)
    assert "sees" not in mark
    assert any("nobody looked" in remark for remark in mark["remarks"])


def test_polygons_as_fans() -> None:
    counts, corners = np.array([3, 5, 2, 0]), np.arange(10)
    assert triangles_of(counts, corners, 10).tolist() == [[0, 1, 2], [3, 4, 5], [3, 5, 6], [3, 6, 7]]


def camera(*lines: str, at: tuple[float, float, float] = (0, 0, 5)) -> str:
    return prim("Camera", "looks", *(lines or (moved(*at),)))


CLOSE = QUAD.format(points="(-1, -1, 0.05), (1, -1, 0.05), (1, 1, 0.05), (-1, 1, 0.05)")
FLOOR = QUAD.format(points="(-9, 0, 9), (9, 0, 9), (9, 0, -9), (-9, 0, -9)")
SPOT = prim(
    "Xform",
    "face",
    "custom bool samelight:mark = true",
    'float xformOp:rotateX = -90\nuniform token[] xformOpOrder = ["xformOp:rotateX"]',
)
"""A mark that lies on the floor."""


@pytest.mark.parametrize(
    ("prims", "seen", "by"),
    [
        ((prim("Mesh", "wall", WALL), FACE, camera()), 0.5, "/wall"),
        ((prim("Mesh", "wall", WALL), FACE, camera(at=(-2, 0, 5))), 0.0, "/wall"),
        ((prim("Mesh", "wall", WALL), FACE, camera(at=(2, 0, 5))), 1.0, None),
        ((prim("Mesh", "wall", WALL), FACE, camera(at=(0, 0, 0.5))), 1.0, None),
        ((prim("Mesh", "wall", WALL), FACE, camera(at=(0, 0, -5))), None, None),
        ((prim("Mesh", "wall", WALL), FACE, camera(moved(0, 0, 5), 'token projection = "orthographic"')), None, None),
        ((prim("Mesh", "wall", WALL), FACE), None, None),
        ((prim("Xform", "face", prim("Mesh", "wall", WALL), "custom bool samelight:mark = true"), camera()), 1.0, None),
        ((prim("Mesh", "wall", WALL, meta='prepend apiSchemas = ["MeshLightAPI"]'), prim("Cube", "crate", moved(30, 0, 0)), FACE, camera()), 1.0, None),
        ((prim("Mesh", "wall", WALL, 'token visibility = "invisible"'), FACE, camera()), 1.0, None),
        ((prim("Mesh", "hat", CLOSE), FACE, camera()), 0.61, "/hat"),
        ((prim("Mesh", "floor", FLOOR), SPOT, camera(at=(0, 0.1, 5))), 1.0, None),
        ((prim("Mesh", "floor", FLOOR), FACE, camera(at=(0, 0.1, 5))), 0.5, "/floor"),
    ],
)  # fmt: skip
def test_what_the_camera_sees_of_a_mark(
    tmp_path: Path, prims: tuple[str, ...], seen: float | None, by: str | None
) -> None:
    mark = mark_of(tmp_path, *prims, SOFT)
    assert mark.get("in_view") == (None if seen is None else pytest.approx(seen, abs=0.03))
    assert mark.get("covered_by") == by


def test_a_camera_that_moves_past_what_hides_a_mark(tmp_path: Path) -> None:
    """What the mark sees of a light does not follow the camera, and so is looked at once."""
    past = (
        "double3 xformOp:translate.timeSamples = { 1: (0, 0, 5), 5: (2, 0, 5), 9: (-2, 0, 5) }",
        'uniform token[] xformOpOrder = ["xformOp:translate"]',
    )
    mark = mark_of(tmp_path, prim("Mesh", "wall", WALL), FACE, camera(*past), SOFT)
    assert mark["in_view"] == {"keys": [[1, 0.5], [5, 1.0], [9, 0.0]]}
    assert mark["covered_by"] == "/wall"
    assert mark["sees"]["soft"] == pytest.approx(0.5, abs=0.03)
