"""Lights below point instancers, and lights that are geometry: counted where they stand."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from drift.computed.scenes import Scene, Tree
from known import about, being
from light_reference import rig_at, sheet_of
from samelight.drift.cells import Grade
from samelight.drift.computed.mark_levels import levels_at
from samelight.light.instances import MOST, instances_of, instances_text
from samelight.light.mesh import mesh_of
from samelight.sheets.values import Level

HEAD = '(metersPerUnit = 0.5\nupAxis = "Z")\n'
LAMP = (
    'def RectLight "lamp"\n{\nfloat inputs:width = 0.4\nfloat inputs:height = 0.2\nfloat inputs:intensity = 50\n'
    "double3 xformOp:translate = (0, 0, 0.5)\n"
    'uniform token[] xformOpOrder = ["xformOp:translate"]\n}\n'
)
FACE = {"face": {"position": [0.3, 0.2, 0.4], "normal": [0.0, 1.0, 0.0]}}
PLACES = ((0.0, 0.0, 4.0), (2.0, 1.0, 3.0), (-1.0, 2.0, 5.0), (9.0, 9.0, 9.0))


def instancer(inside: str = "", shown: int = 3, model: str = LAMP) -> str:
    places = ", ".join(map(str, PLACES))
    return (
        f'{HEAD}def PointInstancer "grid"\n{{\npoint3f[] positions = [{places}]\nint[] protoIndices = [1, 1, 1, 0]\n'
        "quath[] orientations = [(1, 0, 0, 0), (0.8, 0.6, 0, 0), (1, 0, 0, 0), (1, 0, 0, 0)]\n"
        "rel prototypes = [</grid/none>, </grid/model>]\n"
        f'{inside}\ndef Xform "none"\n{{\n}}\ndef Xform "model"\n{{\n'
        "double3 xformOp:translate = (0.1, 0, 0)\n"
        f'uniform token[] xformOpOrder = ["xformOp:translate"]\n{model}}}\n}}\n'
    )


def apart() -> str:
    """The same lamps, each as a prim of its own: turned, then moved, and the model's own place within."""
    turns = ("(1, 0, 0, 0)", "(0.8, 0.6, 0, 0)", "(1, 0, 0, 0)")
    parts = []
    for index, (place, turn) in enumerate(zip(PLACES, turns, strict=False)):
        parts.append(
            f'def Xform "at_{index}"\n{{\ndouble3 xformOp:translate = {place}\nquatf xformOp:orient = {turn}\n'
            "double3 xformOp:translate:model = (0.1, 0, 0)\n"
            'uniform token[] xformOpOrder = ["xformOp:translate", "xformOp:orient", "xformOp:translate:model"]\n'
            f"{LAMP}}}\n"
        )
    return HEAD + "".join(parts)


def received(tree: Tree) -> float:
    kept = {key: value for key, value in tree.items() if key not in ("samelight", "shot")}
    at = levels_at(rig_at([sheet_of({**kept, "marks": FACE}, "A")]), "face")
    return float(at.totals[1][0])


def test_instances_give_what_as_many_lights_give(captured: Callable[..., dict[str, Any]]) -> None:
    once, several = captured(instancer()), captured(apart())
    assert list(once["lights"]) == ["lamp"] and len(several["lights"]) == 3
    assert once["lights"]["lamp"]["instances"] == "3 instances"
    assert received(several) > 0.0
    assert received(once) == pytest.approx(received(several), rel=1e-5)


def test_one_that_is_not_shown_is_none_of_them(captured: Callable[..., dict[str, Any]]) -> None:
    hidden = captured(instancer("int64[] invisibleIds = [1, 2]"))
    assert "instances" not in hidden["lights"]["lamp"]
    # The one that is left stands where the first stands of those that are lights of their own.
    first = captured(apart().split('def Xform "at_1"')[0])
    assert received(hidden) == pytest.approx(received(first), rel=1e-5)


def test_a_model_that_stands_nowhere_is_off(captured: Callable[..., dict[str, Any]]) -> None:
    none = captured(instancer("int64[] invisibleIds = [0, 1, 2]"))
    assert none["lights"]["lamp"]["visible"] is False and received(none) == 0.0
    assert any("no instance of it" in remark for remark in none["remarks"])


@pytest.mark.parametrize(
    "bad", ["int[] protoIndices = [1]", "int[] protoIndices = [1, 1, 1, 7]", "float3[] scales = [(0, 0, 0)]"]
)
def test_an_instancer_that_contradicts_itself_is_a_remark_at_most(
    captured: Callable[..., dict[str, Any]], bad: str
) -> None:
    text = instancer()
    sheet = captured(
        text.replace("int[] protoIndices = [1, 1, 1, 0]", bad) if "proto" in bad else instancer(bad)
    )
    assert "lamp" in sheet["lights"]


def test_many_instances_are_thinned_and_count_as_many() -> None:
    placed = [((float(index), 0.0, 0.0), None, None) for index in range(3 * MOST)]
    held = instances_of(instances_text(placed))
    assert held is not None and len(held.position) <= MOST
    assert held.weight * len(held.position) == pytest.approx(len(placed))


def lamp(**more: object) -> Tree:
    return {"lamp": {"type": "point", "intensity": 8, "position": [0, 0, 2], **more}}


def places(*xs: float) -> Tree:
    text = instances_text([((x, 0.0, 2.0), None, None) for x in xs])
    return {"instances": f"{len(xs)} instances", "instances_sha256": str(hash(xs)), "instances_places": text}


def test_one_row_with_their_number_and_their_sum_at_the_mark() -> None:
    marks: Tree = {"marks": {"face": {"position": [0, 0, 0], "normal": [0, 0, 1]}}}
    moved = Scene({"lights": lamp(**places(0.0, 1.5))}, A={**marks, "lights": lamp(**places(0.0, 1.5, -1.5))})
    assert moved.cell("lights.lamp.instances").grade >= Grade.DRIFT
    level = moved.cell("marks.face.level.lamp")
    # 8 / 4, and twice or once 8 x (2 / 2.5) / 6.25.
    figures = (being(Level, level.master).value, being(Level, level.value).value)
    assert figures == (about(3.024), about(4.048))
    assert moved.table.row("count.lights") is not None


@pytest.mark.parametrize(
    "text", ["", "1", "1; 0 0", "0; 1 2 3 4 5 6 7 8 9", "1; nan 0 0 0 0 -1 1 0 0", "x; 0 0 0 0 0 -1 1 0 0"]
)
def test_damaged_instances_are_none(text: str) -> None:
    assert instances_of(text) is None


# Geometry


def mesh(points: str, counts: str, corners: str, more: str = "") -> str:
    return (
        '(metersPerUnit = 1\nupAxis = "Y")\ndef Mesh "glow" (prepend apiSchemas = ["MeshLightAPI"])\n{\n'
        f"point3f[] points = [{points}]\nint[] faceVertexCounts = [{counts}]\nint[] faceVertexIndices = [{corners}]\n"
        f"float inputs:intensity = 10\n{more}\n}}\n"
    )


SQUARE = "(-1, 3, -1), (1, 3, -1), (1, 3, 1), (-1, 3, 1)"
BOX = ", ".join(str((x, y, z)) for x in (-1, 1) for y in (2, 4) for z in (-1, 1))


def test_a_mesh_as_a_rect_of_its_size(captured: Callable[..., dict[str, Any]]) -> None:
    square = captured(mesh(SQUARE, "4", "0, 1, 2, 3"))
    rect = captured(
        '(metersPerUnit = 1\nupAxis = "Y")\ndef RectLight "glow"\n{\nfloat inputs:width = 2\nfloat inputs:height = 2\n'
        "float inputs:intensity = 10\nfloat xformOp:rotateX = -90\ndouble3 xformOp:translate = (0, 3, 0)\n"
        'uniform token[] xformOpOrder = ["xformOp:translate", "xformOp:rotateX"]\n}\n'
    )
    assert square["lights"]["glow"]["area"] == 4.0
    assert received(square) == pytest.approx(received(rect), rel=1e-6) and received(square) > 0.0


@pytest.mark.parametrize(
    ("change", "factor"),
    [
        ("", 1.0),
        ("bool inputs:normalize = 1", 0.25),  # over its area
        ('uniform token orientation = "leftHanded"', 0.0),  # it shines upwards then
    ],
)
def test_its_area_and_its_side_count(
    captured: Callable[..., dict[str, Any]], change: str, factor: float
) -> None:
    plain, other = (captured(mesh(SQUARE, "4", "0, 1, 2, 3", more)) for more in ("", change))
    assert received(other) == pytest.approx(factor * received(plain))


def test_a_closed_box_shows_its_near_sides_alone(captured: Callable[..., dict[str, Any]]) -> None:
    """From straight below only its lower face: as the square at that height."""
    faces = "0, 1, 5, 4, 2, 6, 7, 3, 0, 2, 3, 1, 4, 5, 7, 6, 0, 4, 6, 2, 1, 3, 7, 5"
    box = captured(mesh(BOX, "4, 4, 4, 4, 4, 4", faces))
    below = captured(mesh(SQUARE.replace("3,", "2,"), "4", "0, 1, 2, 3"))
    assert box["lights"]["glow"]["area"] == 24.0 and box["lights"]["glow"]["mesh"] == "12 triangles"
    assert received(box) == pytest.approx(received(below), rel=1e-6)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (mesh(SQUARE, "4", "0, 1, 2"), "damaged"),
        (mesh(SQUARE, "4", "0, 1, 2, 9"), "damaged"),
        (mesh("", "", ""), "damaged"),
        (mesh("(0, 0, 0), (1, 0, 0), (2, 0, 0)", "3", "0, 1, 2"), "no area"),
        (mesh("(nan, 0, 0), (1, 0, 0), (2, 1, 0)", "3", "0, 1, 2"), "no area, or no finite one"),
        (mesh(SQUARE, ", ".join(["4"] * 600), ", ".join(["0, 1, 2, 3"] * 600)), "more than 512 triangles"),
    ],
)
def test_a_mesh_that_is_none_is_a_remark_and_not_counted(
    captured: Callable[..., dict[str, Any]], text: str, says: str
) -> None:
    sheet = captured(text)
    assert any(says in remark and "not counted" in remark for remark in sheet["remarks"])
    assert "mesh_triangles" not in sheet["lights"]["glow"] and received(sheet) == 0.0


def test_damaged_triangles_in_a_sheet_are_none() -> None:
    for text in ("", "0 0 0; 0 1 2", "0 0; 0 0 0", "0 0 0 1 0 0 nan 1 0; 0 1 2", "0 0 0 1 0 0 0 1 0; 0 1"):
        assert mesh_of(text) is None
