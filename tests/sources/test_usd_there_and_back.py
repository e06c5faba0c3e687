"""For every attribute that a capture reads, the way back writes it, and USD then gives the master's value, whatever is above the light."""

from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pxr import Usd, UsdGeom

from samelight.sheets.keyed import flat_names
from samelight.sources.usd.attributes import ROWS, Conversion, Keep
from samelight.sources.usd.author import HASHES
from samelight.sources.usd.capture import capture_usd
from samelight.sources.usd.override import Change, write_override
from thoroughness import examples

TYPES: dict[str, dict[str, Any]] = {
    "DistantLight": {"angle": 1.5},
    "SphereLight": {"radius": 0.3, "treat_as_point": True},
    "RectLight": {"width": 1.25, "height": 0.75},
    "DiskLight": {"radius": 0.4},
    "CylinderLight": {"radius": 0.05, "length": 1.5, "treat_as_line": True},
}
ALL: dict[str, Any] = {
    "intensity": 7.0,
    "exposure": -1.5,
    "color": [0.75, 0.5, 0.25],
    "temperature": 3200.0,
    "diffuse": 0.5,
    "specular": 0.25,
    "normalize": True,
    "cone": 35.0,
    "softness": 0.5,
    "focus": 2.0,
    "focus_tint": [0.25, 0.5, 0.75],
    "ies_angle_scale": 0.5,
    "ies_normalize": True,
    "shadow.enable": False,
    "shadow.color": [0.125, 0.25, 0.5],
    "shadow.distance": 4.0,
    "shadow.falloff": 2.0,
    "shadow.falloff_gamma": 0.5,
    "light_links": ["/rig/thing"],
    "shadow_links": ["*", "!/rig/thing"],
    "filters": ["/rig/gobo"],
    "visible": False,
    "purpose": "render",
    "material_sync": "independent",
    "shader_id": "studio",
}
PLACED = {"position", "direction"}
LAMP = """#usda 1.0
(
    metersPerUnit = {metres}
    upAxis = "{up}"
)
def Xform "rig"
{{
    double3 xformOp:translate = (3, -2, 1)
    float3 xformOp:rotateXYZ = ({turns[0]}, {turns[1]}, {turns[2]})
    float3 xformOp:scale = ({scale[0]}, {scale[1]}, {mirrored})
    float3 xformOp:translate:pivot = (1, 2, -3)
    uniform token[] xformOpOrder = ["xformOp:translate", "xformOp:translate:pivot", "xformOp:rotateXYZ", "xformOp:scale", "!invert!xformOp:translate:pivot"]

    def {kind} "lamp" (prepend apiSchemas = ["ShapingAPI", "ShadowAPI"])
    {{
        float3 xformOp:rotateXYZ = (10, 20, 30)
        uniform token[] xformOpOrder = ["xformOp:rotateXYZ"]
    }}
    def Cube "thing"
    {{
    }}
    def Cube "other"
    {{
    }}
    def LightFilter "gobo"
    {{
    }}
}}
"""


def test_every_name_that_has_a_way_back_is_tried() -> None:
    asked = {*ALL, *(name for sizes in TYPES.values() for name in sizes), *PLACED}
    # A type, files and what a mesh is made of have tests of their own; a dome has its format and its turn.
    others = {"node_id", "texture", "ies", "format", "portals", "geometry", "filter_links.FILTER"}
    spatial = {row.sheet for row in ROWS if row.keep is Keep.APART and (" " in row.sheet or "," in row.sheet)}
    assert {row.sheet for row in ROWS} - spatial - others - asked == set()
    assert not asked & set(HASHES)


PARENTS = st.fixed_dictionaries(
    {
        "turns": st.tuples(*[st.sampled_from([0, 30, 90, -135])] * 3),
        "scale": st.sampled_from([(1.0,) * 3, (0.5,) * 3, (3.0,) * 3, (2.0, 0.5, 1.0), (1.0, 1.0, 4.0)]),
        "side": st.sampled_from([1, -1]),
        "metres": st.sampled_from([1.0, 0.01]),
        "up": st.sampled_from("YZ"),
    }
)
DIRECTIONS = ([0.0, -1.0, 0.0], [0.6, 0.0, -0.8], [-0.48, -0.6, 0.64])


@settings(max_examples=examples(15))
@given(st.sampled_from(sorted(TYPES)), PARENTS, st.sampled_from(DIRECTIONS))
def test_what_is_written_is_what_comes_out(
    tmp_path_factory: pytest.TempPathFactory, kind: str, parent: dict[str, Any], direction: list[float]
) -> None:
    folder = tmp_path_factory.mktemp("way")
    scene, layer, mended = folder / "scene.usda", folder / "layer.usda", folder / "mended.usda"
    scene.write_text(LAMP.format(kind=kind, mirrored=parent["scale"][2] * parent["side"], **parent))
    wanted: dict[str, Any] = {**ALL, **TYPES[kind], "direction": direction}
    if kind != "DistantLight":
        wanted["position"] = [1.5, -0.25, 2.0]
    if kind == "RectLight":
        wanted["roll"] = 20.0
    source = capture_usd(scene)["source"]
    changes = [Change("lights", "lamp", name, value, "") for name, value in wanted.items()]
    assert write_override(layer, scene, source, changes, "") == (len(changes), [])
    metres, up = parent["metres"], parent["up"]
    mended.write_text(
        f'#usda 1.0\n(\nmetersPerUnit = {metres}\nupAxis = "{up}"\nsubLayers = [@{layer}@, @{scene}@]\n)\n'
    )
    found = flat_names(capture_usd(mended)["lights"]["lamp"])
    for name, value in wanted.items():
        is_number = isinstance(value, float) or (isinstance(value, list) and isinstance(value[0], float))
        assert found[name] == (pytest.approx(value, rel=1e-5, abs=1e-6) if is_number else value), name
    _as_usd_reports(mended, kind, wanted, parent["scale"], metres)


def _as_usd_reports(
    path: Path, kind: str, wanted: dict[str, Any], scale: tuple[float, ...], metres: float
) -> None:
    """What usd-core itself says of the composed stage, by the table alone; of sizes where what is above is scaled evenly."""
    stage = Usd.Stage.Open(str(path))
    prim = stage.GetPrimAtPath("/rig/lamp")
    for row in ROWS:
        if row.sheet not in wanted or row.keep is Keep.APART or not prim.GetAttribute(row.usd):
            continue
        if row.measure is Conversion.SIZE and len(set(scale)) > 1:
            continue
        by = {Conversion.PLAIN: 1.0, Conversion.LENGTH: metres, Conversion.SIZE: metres * scale[0]}[
            row.measure
        ]
        value = prim.GetAttribute(row.usd).Get()
        if isinstance(wanted[row.sheet], float):
            assert value * by == pytest.approx(wanted[row.sheet], rel=1e-5), row.usd
    assert UsdGeom.Imageable(prim).ComputeVisibility() == "invisible"
    if kind != "DistantLight":
        x, y, z = UsdGeom.XformCache().GetLocalToWorldTransform(prim).ExtractTranslation()
        at = (x, y, z) if UsdGeom.GetStageUpAxis(stage) == "Y" else (x, z, -y)
        assert [number * metres for number in at] == pytest.approx(wanted["position"], abs=1e-6)


SKY = LAMP.replace(
    'def {kind} "lamp" (prepend apiSchemas = ["ShapingAPI", "ShadowAPI"])', 'def {kind} "lamp"'
)
OF_A_DOME: dict[str, Any] = {
    **{name: ALL[name] for name in ("intensity", "exposure", "color", "temperature", "diffuse", "specular")},
    "format": "mirroredBall",
    "light_links": ["/rig/thing"],
    "visible": False,
}
TURNED = {
    "rotation": 40.0,
    "matrix": [0.0, 0.0, -1.0, 0.0, 0.6, 0.8, 0.0, 0.0, 0.8, -0.6, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0],
}
"""Upright, and lying: the images of its axes, each of length 1, the third the cross product of the others."""


@settings(max_examples=examples(8))
@given(st.sampled_from(["DomeLight", "DomeLight_1"]), PARENTS, st.sampled_from(sorted(TURNED)))
def test_a_sky_comes_out_as_written(
    tmp_path_factory: pytest.TempPathFactory, kind: str, parent: dict[str, Any], turn: str
) -> None:
    """However what is above it is turned, mirrored or scaled."""
    folder = tmp_path_factory.mktemp("sky")
    scene, layer, mended = folder / "scene.usda", folder / "layer.usda", folder / "mended.usda"
    scene.write_text(SKY.format(kind=kind, mirrored=parent["scale"][2] * parent["side"], **parent))
    wanted = {**OF_A_DOME, turn: TURNED[turn]}
    changes = [Change("environments", "lamp", name, value, "") for name, value in wanted.items()]
    assert write_override(layer, scene, capture_usd(scene)["source"], changes, "") == (len(changes), [])
    head = f'(\nmetersPerUnit = {parent["metres"]}\nupAxis = "{parent["up"]}"\n'
    mended.write_text(f"#usda 1.0\n{head}subLayers = [@{layer}@, @{scene}@]\n)\n")
    found = flat_names(capture_usd(mended)["environments"]["lamp"])
    for name, value in wanted.items():
        is_number = isinstance(value, float) or (isinstance(value, list) and isinstance(value[0], float))
        assert found[name] == (pytest.approx(value, rel=1e-5, abs=1e-6) if is_number else value), name
    assert "mirrored" not in found
