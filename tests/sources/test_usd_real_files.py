"""Every real scene against what usd-core itself reports of it, read by its schema classes instead of by name."""

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from pxr import Gf, Usd, UsdGeom, UsdLux

from samelight.sheets.sheet import sheet_from_document
from samelight.sheets.trees import parse_document
from samelight.sheets.writing import yaml_text
from samelight.sources.request import CaptureRequest
from samelight.sources.usd.capture import capture_usd

REAL = Path(__file__).parents[2].parent / "shared" / "data" / "real" / "usd"
COPIED = sorted((Path(__file__).parents[1] / "data" / "usd").glob("*.usda"))
SCENES = [*COPIED, *sorted(REAL.rglob("*.usda"))]
IDS = [f"{path.parent.name}/{path.name}" for path in SCENES]


def test_the_copied_scenes_are_there() -> None:
    assert [path.name for path in COPIED] == ["domeLightYup.usda", "domeLightZup.usda"]


@pytest.mark.skipif(not REAL.is_dir(), reason="the folder of real scenes is not beside the project")
def test_the_real_scenes_hold_lights() -> None:
    assert sum(len(lights_of(Usd.Stage.Open(str(path)))) for path in SCENES[len(COPIED) :]) >= 15


def lights_of(stage: Any) -> list[Any]:
    return [prim for prim in stage.Traverse() if prim.HasAPI(UsdLux.LightAPI)]


def at(value: dict[str, Any] | float | list[float], time: float) -> float | list[float]:
    """A value of a sheet at a time that is one of its keys."""
    return dict(map(tuple, value["keys"]))[time] if isinstance(value, dict) else value


def y_up(vector: Any, stage: Any) -> list[float]:
    x, y, z = vector
    return [x, z, -y] if UsdGeom.GetStageUpAxis(stage) == "Z" else [x, y, z]


@pytest.mark.parametrize("path", SCENES, ids=IDS)
def test_against_usd_core(path: Path) -> None:
    stage = Usd.Stage.Open(str(path))
    sheet = capture_usd(path)
    groups = {**sheet["lights"], **sheet.get("environments", {})}
    by_path = {where: groups[name] for name, where in sheet["source"]["lights"].items()}
    prims = lights_of(stage)
    assert sorted(by_path) == sorted(str(prim.GetPath()) for prim in prims)
    metres = UsdGeom.GetStageMetersPerUnit(stage)
    time = stage.GetStartTimeCode()
    for prim in prims:
        lamp, api = by_path[str(prim.GetPath())], UsdLux.LightAPI(prim)
        assert at(lamp["intensity"], time) == pytest.approx(api.GetIntensityAttr().Get(time), rel=1e-6)
        assert at(lamp["exposure"], time) == pytest.approx(api.GetExposureAttr().Get(time), rel=1e-6)
        assert at(lamp["color"], time) == pytest.approx(list(api.GetColorAttr().Get(time)), rel=1e-6)
        matrix = UsdGeom.Xformable(prim).ComputeLocalToWorldTransform(time)
        if "direction" in lamp:
            aim = y_up(matrix.TransformDir(Gf.Vec3d(0, 0, -1)).GetNormalized(), stage)
            assert at(lamp["direction"], time) == pytest.approx(aim, abs=1e-9)
        if "position" in lamp:
            place = [number * metres for number in y_up(matrix.Transform(Gf.Vec3d(0, 0, 0)), stage)]
            assert at(lamp["position"], time) == pytest.approx(place, abs=1e-9)
        if prim.IsA(UsdLux.SphereLight):
            # None of these scenes scales a light.
            assert lamp["radius"] == pytest.approx(
                UsdLux.SphereLight(prim).GetRadiusAttr().Get(time) * metres
            )
        if prim.IsA(UsdLux.DiskLight):
            assert lamp["radius"] == pytest.approx(UsdLux.DiskLight(prim).GetRadiusAttr().Get(time) * metres)
        if prim.IsA(UsdLux.DistantLight):
            assert lamp["angle"] == pytest.approx(UsdLux.DistantLight(prim).GetAngleAttr().Get(time))


@pytest.mark.parametrize("path", SCENES, ids=IDS)
def test_a_capture_is_a_sheet(path: Path) -> None:
    sheet = capture_usd(path, CaptureRequest(shot="HB_010", version=2, master=3))
    read = sheet_from_document(parse_document(Path("HB_010.v002.yaml"), yaml_text(sheet)), version=2)
    assert (read.shot, read.version, read.master) == ("HB_010", 2, 3)
    assert set(read.sections.get("lights", {})) == set(sheet["lights"])


def test_moving_parent(real: Callable[..., Path]) -> None:
    lamp = capture_usd(real("lightMoving.usda"))["lights"]["light1"]
    # The parent slides from (-2, -2, 0) to (2, -2, 0), Z-up and in centimetres by default.
    assert lamp["position"] == {
        "keys": [[1, [-0.02, 0.0, 0.02]], [2, [0.0, 0.0, 0.02]], [3, [0.02, 0.0, 0.02]]],
        "interpolation": "linear",
    }
    assert (lamp["exposure"], lamp["treat_as_point"]) == (4.0, False)


def test_disk_that_looks_down(real: Callable[..., Path]) -> None:
    lamp = capture_usd(real("mxLights.usda"))["lights"]["DiskLight"]
    assert lamp["direction"] == pytest.approx([0, -math.sqrt(0.5), -math.sqrt(0.5)])
    assert (lamp["radius"], lamp["intensity"], lamp["purpose"]) == (0.01, 50.0, "render")


def test_what_does_not_compose_is_remarked_upon(real: Callable[..., Path]) -> None:
    remarks = capture_usd(real("mxDirectLights.usda"))["remarks"]
    assert any("standard_surface_default.mtlx" in remark for remark in remarks)
