"""The sky's map against J. P. Snyder, "Map Projections: A Working Manual", USGS Professional Paper 1395 (1987), section 24
(Lambert azimuthal equal-area, sphere) and its numerical example in appendix A.

Snyder's maps have the unit sphere's scale at the centre; here the horizon has radius 1, which is a sphere of radius
1/sqrt 2.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from samelight.gui.state.sky_data import EDGE, cap_outline, project, unproject

RADIUS = 1.0 / math.sqrt(2.0)


def oblique(radius: float, centre: float, latitude: float, turn: float) -> tuple[float, float]:
    """x and y by equations 22-4, 22-5 and 24-2, for any centre; all in degrees, `turn` the difference of longitude."""
    at, phi, lam = math.radians(centre), math.radians(latitude), math.radians(turn)
    cosine = math.sin(at) * math.sin(phi) + math.cos(at) * math.cos(phi) * math.cos(lam)
    k = math.sqrt(2.0 / (1.0 + cosine))
    x = radius * k * math.cos(phi) * math.sin(lam)
    y = radius * k * (math.cos(at) * math.sin(phi) - math.sin(at) * math.cos(phi) * math.cos(lam))
    return x, y


def seen_from(centre: float, latitude: float, turn: float) -> tuple[float, float]:
    """Distance and azimuth of a point from a centre, equations 5-3 and 5-4b, in degrees."""
    at, phi, lam = math.radians(centre), math.radians(latitude), math.radians(turn)
    distance = math.acos(math.sin(at) * math.sin(phi) + math.cos(at) * math.cos(phi) * math.cos(lam))
    azimuth = math.atan2(
        math.cos(phi) * math.sin(lam),
        math.cos(at) * math.sin(phi) - math.sin(at) * math.cos(phi) * math.cos(lam),
    )
    return math.degrees(distance), math.degrees(azimuth)


def test_the_numerical_example_of_the_sphere() -> None:
    """Appendix A, pages 332-333: R = 3.0, centre 40° N 100° W, point 20° S 100° E: x = -4.2339303, y = 4.0257775; the
    way back gives rho = 5.8423497 and c = 153.6733917°. An azimuthal map shows distance and azimuth from its centre,
    so the point at that distance and azimuth from the zenith must lie at the same x and y."""
    distance, azimuth = seen_from(40.0, -20.0, 200.0)
    assert distance == pytest.approx(153.6733917, abs=2e-6)
    x, y = project(azimuth, 90.0 - distance)
    scale = 3.0 / RADIUS
    assert (float(x) * scale, float(y) * scale) == pytest.approx((-4.2339303, 4.0257775), abs=1e-7)
    assert math.hypot(x, y) * scale == pytest.approx(5.8423497, abs=1e-7)


@pytest.mark.parametrize("elevation", [-85.0, -30.0, 0.0, 10.0, 45.0, 89.0])
@pytest.mark.parametrize("azimuth", [0.0, 33.0, 131.0, 270.0, 359.5])
def test_the_polar_aspect_equals_the_general_equations(azimuth: float, elevation: float) -> None:
    """Equations 22-4, 22-5 and 24-2 with the north pole as the centre. There longitude runs counter-clockwise from the
    bottom of the map (24-3, 24-4), so that an azimuth clockwise from the top is 180° less that longitude."""
    x, y = project(azimuth, elevation)
    assert (float(x), float(y)) == pytest.approx(oblique(RADIUS, 90.0, elevation, 180.0 - azimuth), abs=1e-12)


def test_equal_areas_of_the_sky_are_equal_areas_of_the_map() -> None:
    """The defining property: between two elevations the sphere has the area 2 pi R² (sin b - sin a) (Archimedes), and the
    map a ring of pi (r_a² - r_b²)."""
    edges = np.array([-90.0, -40.0, 0.0, 17.0, 30.0, 60.0, 90.0])
    radii = np.hypot(*project(np.zeros(edges.size), edges))
    rings = math.pi * -np.diff(radii**2)
    zones = 2.0 * math.pi * RADIUS**2 * np.diff(np.sin(np.radians(edges)))
    assert np.allclose(rings, zones, atol=1e-14)


@pytest.mark.parametrize("elevation", [0.0, 24.0, 70.0])
def test_the_scale_along_and_across_the_meridians(elevation: float) -> None:
    """Polar aspect: h = cos(45° - phi/2) along a meridian and k = sec(45° - phi/2) along a parallel, whose product is 1
    (section 24, from memory)."""
    step = 1e-5
    x, y = project([100.0, 100.0, 100.0 + step], [elevation, elevation + step, elevation])
    along = math.hypot(x[1] - x[0], y[1] - y[0]) / (RADIUS * math.radians(step))
    flat = math.cos(math.radians(elevation))
    across = math.hypot(x[2] - x[0], y[2] - y[0]) / (RADIUS * math.radians(step) * flat)
    half = math.radians(45.0 - elevation / 2.0)
    assert along == pytest.approx(math.cos(half), rel=1e-6)
    assert across == pytest.approx(1.0 / math.cos(half), rel=1e-6)


@pytest.mark.parametrize(("azimuth", "elevation"), [(0.0, 90.0), (131.0, 24.0), (300.0, -12.0), (45.0, 5.0)])
@pytest.mark.parametrize("radius", [0.5, 12.0, 60.0])
def test_a_cap_has_its_area_on_the_map(azimuth: float, elevation: float, radius: float) -> None:
    """A spherical cap of radius c has the area 2 pi R² (1 - cos c) (Archimedes), and so must its outline on an equal-area
    map (area by the shoelace formula)."""
    x, y = cap_outline(azimuth, elevation, radius, count=4000)
    area = 0.5 * abs(float(np.sum(x[:-1] * y[1:] - x[1:] * y[:-1])))
    expected = 2.0 * math.pi * RADIUS**2 * (1.0 - math.cos(math.radians(radius)))
    assert area == pytest.approx(expected, rel=1e-5)


def test_the_way_back() -> None:
    """Equations 20-14, 20-15 and 24-16 undo the projection; outside the map there is no direction."""
    for azimuth in np.arange(0.5, 360.0, 29.0).tolist():
        for elevation in (-89.0, -20.0, 0.0, 50.0, 89.0):
            x, y = project(azimuth, elevation)
            assert unproject(float(x), float(y)) == pytest.approx((azimuth, elevation), abs=1e-9)
    assert unproject(EDGE + 1e-6, 0.0) is None
