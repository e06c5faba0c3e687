"""Computed rows, from the text of a sheet to the figure in the table, against laws of photometry and open standards.

The figures describe made-up scenes. On a real set a meter, local codes and licensed practice decide.
"""

from __future__ import annotations

import math

import pytest

from drift.computed.scenes import Scene, Tree
from known import about, being
from samelight.sheets.values import Bearing, Level


def at_mark(light: Tree, tilt: float = 0.0, **more: Tree) -> Level:
    """What one light gives a mark at the origin whose normal is tilted off +Z (degrees)."""
    angle = math.radians(tilt)
    marks = {"face": {"position": [0, 0, 0], "normal": [math.sin(angle), 0, math.cos(angle)]}}
    tree = {"lights": {"lamp": light}, "marks": marks, **more}
    value = Scene({"lights": {"lamp": light}}, A=tree).cell("marks.face.level.lamp").value
    assert isinstance(value, Level)
    return value


@pytest.mark.parametrize(
    ("candelas", "distance", "tilt", "lux"),
    [(100, 1, 0, 100), (100, 2, 0, 25), (100, 2, 60, 12.5), (450, 5, 0, 18), (1000, 10, 30, 8.660254)],
)
def test_inverse_square_and_cosine(candelas: float, distance: float, tilt: float, lux: float) -> None:
    """E = I cos t / d^2 (Lambert 1760; CIE S 017:2020, illuminance). Figures by hand."""
    lamp = {"type": "point", "intensity": f"{candelas} cd", "position": [0, 0, distance]}
    assert at_mark(lamp, tilt) == Level(about(lux, abs=1e-5), "illuminance")


def test_two_stops_for_twice_the_distance_and_one_for_60_degrees() -> None:
    """From the same law: 1/4 is -2 stops, cos 60 is -1."""
    near = {"type": "point", "intensity": "100 cd", "position": [0, 0, 1]}
    marks: Tree = {
        "face": {"position": [0, 0, 0], "normal": [0, 0, 1]},
        "cheek": {"position": [0, 0, 0], "normal": [math.sqrt(3), 0, 1]},
    }
    shot = {"lights": {"lamp": {**near, "position": [0, 0, 2]}}, "marks": marks}
    scene = Scene({"lights": {"lamp": near}}, A=shot)
    assert scene.cell("marks.face.level.lamp").drift == pytest.approx(-2.0)
    assert scene.cell("marks.cheek.level.lamp").drift == pytest.approx(-2.0)
    face, cheek = (scene.cell(f"marks.{mark}.level.lamp").value for mark in ("face", "cheek"))
    assert isinstance(face, Level)
    assert isinstance(cheek, Level)
    assert math.log2(cheek.value / face.value) == pytest.approx(-1.0)


def test_a_directional_light_of_gltf_is_lux() -> None:
    """KHR_lights_punctual: the intensity of a directional light is illuminance in lux, without falloff."""
    sun = {"type": "distant", "direction": [0, 0, -1], "intensity": 10000, "unit": "lx"}
    assert at_mark(sun) == Level(about(10000), "illuminance")
    assert at_mark(sun, 60) == Level(about(5000, rel=1e-4), "illuminance")


def test_a_spot_of_gltf_is_not_spread_by_its_cone() -> None:
    """KHR_lights_punctual: a spot's candela on its axis do not change with the cone angles."""
    spot = {"type": "spot", "intensity": 200, "unit": "cd", "position": [0, 0, 4], "target": [0, 0, 0]}
    assert at_mark({**spot, "cone": 10}) == at_mark({**spot, "cone": 60}) == Level(12.5, "illuminance")


@pytest.mark.parametrize(
    ("inner", "outer", "off", "share"),
    # KHR_lights_punctual, "Inner and Outer Cone Angles": the square of a ramp in the cosine; figures by hand:
    # ((cos 30 - cos 45) / (cos 0 - cos 45))^2 = (0.158919 / 0.292893)^2; the others likewise.
    [(0, 45, 30, 0.294398), (20, 45, 40, 0.0642125), (20, 45, 15, 1.0), (0, 45, 44, 0.00174441)],
)
def test_the_edge_of_a_spot_of_gltf_is_the_square_of_a_ramp(
    inner: float, outer: float, off: float, share: float
) -> None:
    x, z = 4.0 * math.sin(math.radians(off)), 4.0 * math.cos(math.radians(off))
    spot = {"type": "spot", "intensity": 200, "unit": "cd", "position": [-x, 0, z], "direction": [0, 0, -1]}
    faded = at_mark({**spot, "cone": outer, "inner_cone": inner, "softness": 1 - inner / outer})
    assert faded.value == pytest.approx(12.5 * math.cos(math.radians(off)) * share, rel=1e-4, abs=1e-9)


def test_a_cone_fades_by_smoothstep_as_usdlux_says() -> None:
    """UsdLux ShapingAPI, cone:softness: the fade starts at angle x (1 - softness); halfway through it smoothstep is 1/2.

    A cone of 30 degrees of softness 1/3 fades from 20; the mark stands 25 degrees off the axis.
    """
    aside = 4 * math.tan(math.radians(25))
    spot = {
        "type": "spot",
        "intensity": 200,
        "unit": "cd",
        "position": [0, 0, 4],
        "target": [aside, 0, 0],
        "cone": 30,
        "softness": "33.333333333 %",
    }
    assert at_mark(spot).value == pytest.approx(6.25, rel=1e-6)


def test_usdlux_intensity_and_exposure() -> None:
    """UsdLux schema, LightAPI `inputs:exposure`: intensity 1 at exposure 2 is 4 nits, here of 1 m^2 seen from 100 m."""
    panel = {"type": "rect", "width": 1, "height": 1, "position": [0, 0, 100], "target": [0, 0, 0]}
    lux = at_mark({**panel, "intensity": 1, "exposure": 2, "unit": "nit", "normalize": False})
    assert lux == Level(about(4 / 100**2, rel=1e-3), "illuminance")


def test_a_lambertian_disc_facing_the_mark() -> None:
    """E = pi L r^2 / (r^2 + d^2) on the axis of an even disc (Howell, A Catalog of Radiation Heat Transfer
    Configuration Factors, differential element to disk on its axis; from memory)."""
    disc = {"type": "disk", "radius": 1, "position": [0, 0, 2], "target": [0, 0, 0], "normalize": False}
    lux = at_mark({**disc, "intensity": 300, "unit": "nit"})
    assert lux.value == pytest.approx(math.pi * 300 * 1 / (1 + 4))


def test_an_even_sphere_is_a_point_from_outside() -> None:
    """A Lambertian sphere of luminance L and radius r: E = pi L r^2 / d^2 (textbook, from memory)."""
    ball = {"type": "sphere", "radius": 0.5, "position": [0, 0, 3], "normalize": False}
    assert at_mark({**ball, "intensity": 1000, "unit": "nit"}).value == pytest.approx(
        math.pi * 1000 * 0.25 / 9
    )


def test_an_even_sky() -> None:
    """E = pi L under a hemisphere of even luminance (Moon and Spencer 1942, the even sky): 10000 lx of 3183.1 cd/m^2."""
    lamp = {"type": "point", "intensity": "1 cd", "position": [0, 0, 1000]}
    sky = {"sky": {"intensity": "3183.0989 nit"}}
    marks = {"face": {"position": [0, 0, 0], "normal": [0, 0, 1]}}
    tree = {"lights": {"lamp": lamp}, "environments": sky}
    value = Scene(tree, A={**tree, "marks": marks}).cell("marks.face.level").value
    assert value == Level(about(10000, abs=0.01), "illuminance")


def test_the_apparent_diameter_of_the_sun() -> None:
    """0.53 degrees, the fallback of UsdLux's DistantLight angle; the key's size at a mark is that."""
    tree = {"lights": {"sun": {"type": "distant", "azimuth": 180, "elevation": 30}}}
    marks = {"face": {"position": [0, 0, 0], "normal": [0, 0, 1]}}
    cell = Scene(tree, A={**tree, "marks": marks}).cell("marks.face.key_size")
    assert cell.value == pytest.approx(0.53)


def test_the_sun_of_the_solar_position_algorithm() -> None:
    """Reda and Andreas 2004, example (doi:10.1016/j.solener.2003.12.003): 2003-10-17 12:30:30 -07:00 at 39.742476 N,
    105.1786 W, 1830.14 m stands at an azimuth of 194.340241 and an elevation of 39.888378 degrees. Their air (820 mbar,
    11 degrees C) is not the standard atmosphere that a sheet assumes, which moves the elevation by 0.0004 degrees."""
    sun = {
        "latitude": 39.742476,
        "longitude": -105.1786,
        "date_time": "2003-10-17T12:30:30-07:00",
        "elevation_m": 1830.14,
    }
    tree = {"lights": {"sun": {"type": "distant", "sun": sun}}, "environments": {"sky": {"rotation": 0}}}
    marks = {"face": {"position": [0, 0, 0], "normal": [0, 0, 1]}}
    camera = {"position": [0, 0, 5]}
    scene = Scene(tree, A={**tree, "marks": marks, "camera": camera})
    assert scene.cell("marks.face.key_height").value == pytest.approx(39.888378, abs=0.001)
    # From a camera in the south the sun stands 180 - 194.34 degrees round, to its left.
    bearing = being(Bearing, scene.cell("marks.face.key_angle").value)
    assert bearing.degrees == pytest.approx(180 - 194.340241, abs=0.001)
    assert scene.cell("sky.sky.sun_angle").value == pytest.approx(194.340241 - 360, abs=0.001)


def test_four_to_one_is_two_stops() -> None:
    """Key four times the fill is a ratio of two stops. Common practice, no source; others count key plus fill to fill."""
    lights = {
        "key": {"type": "point", "intensity": 4, "position": [0, 0, 1]},
        "fill": {"type": "point", "intensity": 1, "position": [0, 0, 1]},
    }
    even = {"key": lights["fill"], "fill": lights["fill"]}
    marks = {"face": {"position": [0, 0, 0]}}
    cell = Scene({"lights": even}, A={"lights": lights, "marks": marks}).cell("marks.face.key_to_fill")
    assert (cell.value, cell.drift) == (Level(about(4.0)), about(2.0))
