"""Levels against the schema text of UsdLux, the glTF specification and the laws of photometry."""

import math

import pytest

from known import about
from samelight.light import levels, marks
from samelight.light.levels import LightSizes
from samelight.light.marks import Source


def lux(candelas: int, distance: float, tilt: int) -> float:
    lamp = Source("point", candelas, levels.INTENSITY, position=[(0, distance, 0)])
    normal = [(math.sin(math.radians(tilt)), math.cos(math.radians(tilt)), 0)]
    return float(marks.illuminance(lamp, [(0, 0, 0)], normal)[0])


@pytest.mark.parametrize(
    ("candelas", "distance", "tilt", "expected"),
    [(100, 1, 0, 100), (100, 2, 0, 25), (100, 2, 60, 12.5), (450, 5, 0, 18), (1000, 10, 30, 8.660254)],
)
def test_inverse_square_and_cosine(candelas: int, distance: int, tilt: int, expected: float) -> None:
    """E = I cos t / d^2 (Lambert 1760; CIE S 017:2020, illuminance). Figures by hand."""
    assert lux(candelas, distance, tilt) == pytest.approx(expected, abs=1e-6)


def test_stops_of_distance_and_angle() -> None:
    assert levels.stops(lux(100, 2, 0), lux(100, 1, 0)) == pytest.approx(-2)
    assert levels.stops(lux(100, 2, 60), lux(100, 2, 0)) == pytest.approx(-1)


def test_intensity_and_exposure() -> None:
    """UsdLux schema, LightAPI `inputs:exposure`: intensity 1 at exposure 2 is 4 nits. The other figures are
    of public USD files: 0.35 at 6 stops, 3.5 at 2 stops, 50000 at 4 stops."""
    assert levels.effective(1, 2) == 4
    assert levels.effective(0.35, 6) == pytest.approx(22.4)
    assert levels.effective(3.5, 2) == 14
    assert levels.effective(50000, 4) == 800000
    assert levels.stops(22.4, 14) == pytest.approx(0.678, abs=5e-4)


@pytest.mark.parametrize(
    ("angle", "expected"),
    [(0.53, 6.72037e-5), (1, 2.39240e-4), (50, 0.561108), (180, math.pi), (270, 4.712389), (0, 1)],
)
def test_distant_size_factor(angle: float, expected: float) -> None:
    """UsdLux schema, `inputs:normalize` of a DistantLight; figures worked out from its formula."""
    assert levels.area("distant", LightSizes(angle=angle)) == pytest.approx(expected, rel=1e-5)
    assert levels.emitted(
        2, shape="distant", normalize=False, sizes=LightSizes(angle=angle)
    ) == pytest.approx(2 * expected, rel=1e-5)


def test_usd_default_distant_light_is_dim() -> None:
    """The fallback of a DistantLight, 50000 nits at 0.53 degrees, not normalised: 3.360 lx, far below the
    sun."""
    assert levels.photometric(50000, "nit", shape="distant") == (
        about(3.360, abs=5e-4),
        "illuminance",
    )


def test_usdlux_fallbacks_are_those_of_the_installed_schema() -> None:
    """usd-core's own schema registry."""
    from pxr import Usd, UsdLux

    stage = Usd.Stage.CreateInMemory()
    sphere, disk = UsdLux.SphereLight.Define(stage, "/sphere"), UsdLux.DiskLight.Define(stage, "/disk")
    rect, tube = UsdLux.RectLight.Define(stage, "/rect"), UsdLux.CylinderLight.Define(stage, "/tube")
    distant = UsdLux.DistantLight.Define(stage, "/distant")
    assert sphere.GetRadiusAttr().Get() == disk.GetRadiusAttr().Get() == levels.FALLBACK_RADIUS
    assert tube.GetRadiusAttr().Get() == levels.FALLBACK_RADIUS
    assert tube.GetLengthAttr().Get() == levels.FALLBACK_LENGTH
    assert (rect.GetWidthAttr().Get(), rect.GetHeightAttr().Get()) == (
        levels.FALLBACK_WIDTH,
        levels.FALLBACK_HEIGHT,
    )
    assert distant.GetAngleAttr().Get() == pytest.approx(levels.FALLBACK_ANGLE)
    assert rect.GetNormalizeAttr().Get() is False
    assert rect.GetExposureAttr().Get() == 0


def test_gltf_range_window() -> None:
    """KHR_lights_punctual advises max(min(1 - (d / range)^4, 1), 0) / d^2: 0.0375 at 5 m of 10 m. It is a
    renderer's cut, not light, so the level here stays the inverse square 0.04, of which the window leaves
    fifteen sixteenths."""
    distance, limit = 5.0, 10.0
    window = max(min(1 - (distance / limit) ** 4, 1), 0)
    assert lux(1, distance, 0) * window == pytest.approx(0.0375)


def test_a_sphere_of_even_luminance() -> None:
    """A Lambertian sphere of luminance L and radius r is a point of intensity pi r^2 L to a mark that faces
    it, at any distance outside it (textbook, from memory)."""
    for distance in (1.0, 3.0, 50.0):
        ball = Source("sphere", 1000.0, levels.LUMINANCE, position=[(0, distance, 0)], radius=0.5)
        expected = math.pi * 0.25 * 1000 / distance**2
        assert marks.illuminance(ball, [(0, 0, 0)])[0] == pytest.approx(expected)


def test_lumens_of_an_even_point_and_cone() -> None:
    """Solid angles 4 pi and 2 pi (1 - cos a) (CIE S 017:2020, luminous intensity): 1000 lm are 79.577 cd from
    a bare point and 592.4 cd in a cone of 43 degrees half angle. Figures by hand."""
    assert levels.photometric(1000, "lm", shape="point")[0] == pytest.approx(79.5775, abs=1e-4)
    cone = 1000 / (2 * math.pi * (1 - math.cos(math.radians(43))))
    assert levels.photometric(1000, "lm", shape="spot", cone=43)[0] == pytest.approx(cone)
    assert cone == pytest.approx(592.4, abs=0.1)


def test_sky_of_even_luminance() -> None:
    """E = pi L under a hemisphere of even luminance (Moon and Spencer 1942, the even sky): 10000 lx from
    3183.1 cd/m2."""
    sky = Source("environment", 3183.0989, levels.LUMINANCE)
    assert marks.illuminance(sky, [(0, 0, 0)])[0] == pytest.approx(10000, abs=1e-3)
