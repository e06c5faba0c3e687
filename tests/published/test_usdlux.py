"""UsdLux's formulas on the numbers that usd-core reports, and the capture of them.

Sources: the schema text of UsdLux as shipped with usd-core 26.11 (`usdLux/schema.usda`, classes LightAPI,
DistantLight, ShapingAPI, DomeLight, DomeLight_1), read for these tests; scenes of the OpenUSD tests at commit
59992d2178afcebd89273759f2bddfe730e59aa8.
"""

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from pxr import Gf, Usd, UsdGeom, UsdLux

from known import there
from samelight.light import colour, levels
from samelight.light.levels import LightSizes
from samelight.sources.usd.capture import capture_usd

REAL = Path(__file__).parents[2].parent / "shared" / "data" / "real" / "usd"


def real(name: str) -> Path:
    if not REAL.is_dir():
        pytest.skip("the folder of real scenes is not beside the project")
    (path,) = (path for path in REAL.rglob("*.usda") if path.as_posix().endswith(f"/{name}"))
    return path


def light(tmp_path: Path, define: Callable[..., Any], **inputs: bool | float) -> tuple[Any, dict[str, Any]]:
    """A stage of metres with Y up that holds one light, /key, and the capture of that light."""
    tmp_path.mkdir(parents=True, exist_ok=True)
    path = tmp_path / "scene.usda"
    stage = Usd.Stage.CreateNew(str(path))
    UsdGeom.SetStageMetersPerUnit(stage, 1)
    prim = define(stage, "/key").GetPrim()
    for name, value in inputs.items():
        prim.GetAttribute(f"inputs:{name}").Set(value)
    stage.Save()
    return stage, capture_usd(path)["lights"]["key"]


def nit(lamp: dict[str, Any]) -> float:
    """LightAPI: intensity scales the power of the light linearly, exposure as a power of 2; without normalize that is
    the luminance of the light in nit where its colour is white."""
    return levels.effective(lamp["intensity"], lamp["exposure"])


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        # pxr/usdImaging/usdImagingGL/testenv/testUsdImagingGLMaterialXBasic/mxDirectLights.usda: 3.5 and 2 stops.
        ("mxDirectLights.usda", 14.0),
        # pxr/usdImaging/bin/testusdview/testenv/testUsdviewLightVisibility/test.usda: 0.35 and 6 stops.
        ("testUsdviewLightVisibility/test.usda", 22.4),
        # pxr/usdImaging/usdImagingGL/testenv/testUsdImagingGLAnimatedLights/lightMoving.usda: 1 and 4 stops.
        ("lightMoving.usda", 16.0),
        # pxr/usdImaging/bin/testusdview/testenv/testUsdviewSceneLights/test.usda: 20 and none.
        ("testUsdviewSceneLights/test.usda", 20.0),
    ],
)
def test_luminance_of_real_lights(name: str, expected: float) -> None:
    path = real(name)
    stage = Usd.Stage.Open(str(path))
    time = stage.GetStartTimeCode()
    reported = [
        UsdLux.LightAPI(prim).GetIntensityAttr().Get(time)
        * 2 ** UsdLux.LightAPI(prim).GetExposureAttr().Get(time)
        for prim in stage.Traverse()
        if prim.HasAPI(UsdLux.LightAPI)
    ]
    assert reported == pytest.approx([expected] * len(reported), rel=1e-6)
    captured = [nit(lamp) for lamp in capture_usd(path)["lights"].values()]
    assert captured == pytest.approx(reported, rel=1e-6)


def test_difference_of_two_real_lights_in_stops() -> None:
    # log2(22.4 / 14), by hand.
    assert levels.stops(22.4, 14.0) == pytest.approx(0.678, abs=5e-4)


def test_intensity_one_at_two_stops_is_four_nit(tmp_path: Path) -> None:
    """LightAPI, inputs:exposure: the example of the schema text."""
    _, lamp = light(tmp_path, UsdLux.SphereLight.Define, intensity=1.0, exposure=2.0)
    assert nit(lamp) == 4.0


def test_default_distant_light(tmp_path: Path) -> None:
    """DistantLight: intensity 50000, angle 0.53, normalize off; by the size factor of its angle that is 3.360 lx."""
    stage, lamp = light(tmp_path, UsdLux.DistantLight.Define)
    prim = stage.GetPrimAtPath("/key")
    assert prim.GetAttribute("inputs:intensity").Get(0) == lamp["intensity"] == 50000.0
    assert lamp["angle"] == pytest.approx(prim.GetAttribute("inputs:angle").Get(0), rel=1e-6)
    illuminance = levels.emitted(
        lamp["intensity"],
        lamp["exposure"],
        shape="distant",
        normalize=lamp["normalize"],
        sizes=LightSizes(angle=lamp["angle"]),
    )
    assert illuminance == pytest.approx(3.360, abs=5e-4)


@pytest.mark.parametrize(
    ("angle", "factor"),
    # LightAPI, inputs:normalize, sizeFactor of a distant light; t is half the angle in radians, figures by hand:
    # t = 0 gives 1, up to 90 degrees pi sin^2 t, above pi (2 - sin^2 t).
    [
        (0.0, 1.0),
        (0.53, 6.72037e-5),
        (1.0, 2.39240e-4),
        (50.0, 0.561108),
        (180.0, math.pi),
        (270.0, 4.712389),
    ],
)
def test_size_factor_of_a_distant_light(tmp_path: Path, angle: float, factor: float) -> None:
    _, plain = light(tmp_path / "plain", UsdLux.DistantLight.Define, angle=angle, intensity=2.0)
    _, normalised = light(
        tmp_path / "normalised", UsdLux.DistantLight.Define, angle=angle, intensity=2.0, normalize=True
    )

    def lux(lamp: dict[str, Any]) -> float:
        return levels.emitted(
            lamp["intensity"],
            lamp["exposure"],
            shape="distant",
            normalize=lamp["normalize"],
            sizes=LightSizes(angle=lamp["angle"]),
        )

    # With normalize on, intensity x 2^exposure of a distant light is its illuminance.
    assert lux(normalised) == 2.0
    assert lux(plain) == pytest.approx(2.0 * factor, rel=1e-5)


@pytest.mark.parametrize(
    ("define", "inputs", "area"),
    [
        # LightAPI, inputs:normalize: the world-space surface area. Rect w h (one side), disk pi r^2, sphere 4 pi r^2,
        # cylinder 2 pi r l without its caps.
        (UsdLux.RectLight.Define, {"width": 3.0, "height": 2.0}, 6.0),
        (UsdLux.DiskLight.Define, {"radius": 2.0}, 4.0 * math.pi),
        (UsdLux.SphereLight.Define, {"radius": 2.0}, 16.0 * math.pi),
        (UsdLux.CylinderLight.Define, {"radius": 0.5, "length": 4.0}, 4.0 * math.pi),
    ],
)
@pytest.mark.parametrize("metres", [1.0, 0.01])
def test_normalised_power_does_not_depend_on_the_size(
    tmp_path: Path, define: Callable[..., Any], inputs: dict[str, float], area: float, metres: float
) -> None:
    def level(normalize: bool) -> float:
        path = tmp_path / f"{normalize}.usda"
        stage = Usd.Stage.CreateNew(str(path))
        UsdGeom.SetStageMetersPerUnit(stage, metres)
        prim = define(stage, "/key").GetPrim()
        for name, value in {**inputs, "intensity": 5.0, "normalize": normalize}.items():
            prim.GetAttribute(f"inputs:{name}").Set(value)
        stage.Save()
        sheet = capture_usd(path)
        lamp = sheet["lights"]["key"]
        sizes = {name: lamp[name] for name in inputs}
        return levels.emitted(
            lamp["intensity"],
            lamp["exposure"],
            shape=lamp["type"],
            normalize=lamp["normalize"],
            area_unit=sheet["units"].get("area", 1.0),
            sizes=LightSizes(**sizes),
        )

    # The area counts in squares of the scene's unit: without normalize it multiplies, with it it is divided away.
    assert level(False) / level(True) == pytest.approx(area, rel=1e-6)


@pytest.mark.parametrize("kelvin", [2856, 3200, 4000, 5000, 5600, 6500, 8000, 10000])
def test_temperature_multiplies_the_colour(tmp_path: Path, kelvin: int) -> None:
    """LightAPI, inputs:colorTemperature: the colour is multiplied by UsdLuxBlackbodyTemperatureAsRgb, whose luma is 1.
    Below 2000 K it stands off the black body; test_colour_published.py measures by how much."""
    _, lamp = light(
        tmp_path, UsdLux.SphereLight.Define, enableColorTemperature=True, colorTemperature=float(kelvin)
    )
    assert lamp["temperature"] == float(kelvin)
    shown = UsdLux.BlackbodyTemperatureAsRgb(kelvin)
    assert colour.luminance(list(shown)) == pytest.approx(1.0, abs=2e-3)
    u, v = there(colour.light_chromaticity((1.0, 1.0, 1.0), lamp["temperature"], "rec709"))
    assert (u, v) == pytest.approx(colour.chromaticity(list(shown)), abs=1e-3)


def test_fallbacks(tmp_path: Path) -> None:
    """Fallbacks of the schema, as usd-core reports them and as the capture takes them where they are written."""
    for number, (define, expected) in enumerate(
        (
            (UsdLux.RectLight.Define, {"width": 1.0, "height": 1.0}),
            (UsdLux.DiskLight.Define, {"radius": 0.5}),
            (UsdLux.SphereLight.Define, {"radius": 0.5}),
            (UsdLux.CylinderLight.Define, {"length": 1.0, "radius": 0.5}),
            (UsdLux.PortalLight.Define, {"width": 1.0, "height": 1.0}),
        )
    ):
        stage, lamp = light(tmp_path / str(number), define)
        prim = stage.GetPrimAtPath("/key")
        for name, value in expected.items():
            assert prim.GetAttribute(f"inputs:{name}").Get(0) == lamp[name] == value


@pytest.mark.parametrize(
    ("up", "expected"),
    # OpenEXR latlong map: latitude +90 is up, longitude 0 looks along +Z and longitude 90 along +X. DomeLight_1 with
    # its pole on Z: up is +Z and longitude 0 looks along -Y.
    [("Y", [(0, 1, 0), (0, 0, 1)]), ("Z", [(0, 0, 1), (0, -1, 0)])],
)
def test_new_dome_is_upright_at_rest_whatever_the_up_axis(
    tmp_path: Path, up: str, expected: list[tuple[int, ...]]
) -> None:
    path = tmp_path / "scene.usda"
    stage = Usd.Stage.CreateNew(str(path))
    UsdGeom.SetStageMetersPerUnit(stage, 1)
    UsdGeom.SetStageUpAxis(stage, up)
    UsdLux.DomeLight_1.Define(stage, "/sky")
    stage.Save()
    assert capture_usd(path)["environments"]["sky"]["rotation"] == 0.0
    pole, centre = expected
    # In the frame of the sheet both are the same dome: pole up, centre of the texture to the south (+Z).
    turned = [(x, z, -y) if up == "Z" else (x, y, z) for x, y, z in (pole, centre)]
    assert tuple(turned) == ((0, 1, 0), (0, 0, 1))


def test_orient_to_stage_up_axis_makes_the_old_dome_upright(tmp_path: Path) -> None:
    """DomeLight.OrientToStageUpAxis of usd-core: a turn by 90 degrees about X on a Z-up stage."""
    path = tmp_path / "scene.usda"
    stage = Usd.Stage.CreateNew(str(path))
    UsdGeom.SetStageMetersPerUnit(stage, 1)
    UsdGeom.SetStageUpAxis(stage, "Z")
    dome = UsdLux.DomeLight.Define(stage, "/sky")
    dome.OrientToStageUpAxis()
    stage.Save()
    up = dome.ComputeLocalToWorldTransform(0).TransformDir(Gf.Vec3d(0, 1, 0))
    assert list(up) == pytest.approx([0, 0, 1], abs=1e-9)
    assert capture_usd(path)["environments"]["sky"]["rotation"] == 0.0


def test_a_light_shines_along_its_own_minus_z(tmp_path: Path) -> None:
    """LightAPI and DistantLight: light is emitted along the -Z axis; right-handed (UsdGeom)."""
    path = tmp_path / "scene.usda"
    stage = Usd.Stage.CreateNew(str(path))
    UsdGeom.SetStageMetersPerUnit(stage, 1)
    for define, name in ((UsdLux.DistantLight.Define, "sun"), (UsdLux.RectLight.Define, "panel")):
        UsdGeom.Xformable(define(stage, f"/{name}")).AddRotateXYZOp().Set(Gf.Vec3f(-30, 20, 10))
    stage.Save()
    lights = capture_usd(path)["lights"]
    rotation = (
        Gf.Rotation(Gf.Vec3d.XAxis(), -30)
        * Gf.Rotation(Gf.Vec3d.YAxis(), 20)
        * Gf.Rotation(Gf.Vec3d.ZAxis(), 10)
    )
    expected = list(rotation.TransformDir(Gf.Vec3d(0, 0, -1)))
    assert lights["sun"]["direction"] == pytest.approx(expected, abs=1e-9)
    assert lights["panel"]["direction"] == pytest.approx(expected, abs=1e-9)
