"""Directions against published figures and an independent implementation."""

import math

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from samelight.light import directions

EARTH_RADIUS = 6372.8  # km, as the task below has it


def place(latitude: float, longitude: float) -> tuple[float, ...]:
    """A point of the globe as the direction of a light: any consistent mapping keeps great-circle angles."""
    return directions.from_azimuth_elevation(longitude, latitude)


def test_great_circle_nashville_to_los_angeles() -> None:
    """Rosetta Code, task "Haversine formula": BNA 36.12 N 86.67 W to LAX 33.94 N 118.40 W, R = 6372.8 km:
    2887.2599 km (from memory)."""
    angle = directions.angle_between(place(36.12, -86.67), place(33.94, -118.40))
    assert math.radians(angle) * EARTH_RADIUS == pytest.approx(2887.2599, abs=1e-4)


def test_great_circle_los_angeles_to_new_york() -> None:
    """E. Williams, "Aviation Formulary", worked example LAX 33 57 N 118 24 W to JFK 40 38 N 73 47 W: 0.623585
    rad, 2144 nautical miles (from memory)."""
    angle = directions.angle_between(
        place(33 + 57 / 60, -(118 + 24 / 60)), place(40 + 38 / 60, -(73 + 47 / 60))
    )
    assert math.radians(angle) == pytest.approx(0.623585, abs=1e-6)
    assert angle * 60 == pytest.approx(2144, abs=0.5)


def test_sun_of_the_usd_example_stage_against_an_angled_light() -> None:
    """The Sun of the public sample stage McUsd and the light of AngledLight, noted when the stages were read
    (they are not kept here), to four to seven digits: 50.03 degrees apart, worked out as acos of their dot
    product."""
    sun, angled = (-0.3289899, -0.8191520, 0.4698463), (0.4967, -0.8192, 0.2868)
    assert directions.angle_between(sun, angled) == pytest.approx(50.03, abs=0.01)
    assert directions.to_azimuth_elevation(sun)[1] == pytest.approx(55.0, abs=1e-4)
    assert directions.to_azimuth_elevation(sun)[0] == pytest.approx(35.0, abs=1e-4)


def test_angles_of_a_cube_and_a_tetrahedron() -> None:
    """Euclidean geometry: body diagonal to edge acos(1/sqrt 3) = 54.7356 degrees (the magic angle), vertices
    of a tetrahedron from its centre acos(-1/3) = 109.4712 degrees."""
    assert directions.angle_between((1, 1, 1), (1, 0, 0)) == pytest.approx(54.7356103, abs=1e-7)
    assert directions.angle_between((1, 1, 1), (1, -1, -1)) == pytest.approx(109.4712206, abs=1e-7)


@pytest.mark.parametrize("order", directions.EULER_ORDERS)
def test_euler_orders_against_scipy(order: str) -> None:
    """scipy.spatial.transform.Rotation 1.17, extrinsic (lower-case) sequences."""
    angles = {"X": 17.0, "Y": -42.0, "Z": 133.0}
    expected = Rotation.from_euler(order.lower(), [angles[axis] for axis in order], degrees=True).as_matrix()
    assert np.allclose(directions.from_euler((17.0, -42.0, 133.0), order), expected, atol=1e-14)


def test_gltf_directional_light_quaternion() -> None:
    """KHR_lights_punctual: a light shines along its node's -Z. A node turned by the quaternion (x, y, z, w) =
    (-sqrt 1/2, 0, 0, sqrt 1/2), a quarter turn about -X, shines straight down (glTF 2.0, section 3.6,
    quaternions)."""
    half = math.sqrt(0.5)
    rotation = np.eye(4)
    rotation[:3, :3] = Rotation.from_quat([-half, 0, 0, half]).as_matrix().T  # row vectors
    assert directions.direction_from_matrix(rotation.tolist()) == pytest.approx((0, -1, 0), abs=1e-12)
