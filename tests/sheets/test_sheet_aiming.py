"""Every spelling of a direction and a position comes to the same thing, whatever the axes and units."""

import math
from decimal import Decimal
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from known import being
from samelight.light.directions import (
    EULER_ORDERS,
    angle_between,
    from_azimuth_elevation,
    from_euler,
    to_azimuth_elevation,
)
from samelight.sheets.values import Level
from samelight.sheets.writing import yaml_text
from sheets.sheet_help import Known, light_of, section_of, sheet_of

AZIMUTH = st.floats(0, 360, exclude_max=True)
ELEVATION = st.floats(-89, 89)
COORDINATE = st.floats(-50, 50)
PLACE = st.lists(COORDINATE, min_size=3, max_size=3)
ANGLES = st.lists(st.floats(-180, 180), min_size=3, max_size=3)
NORTH = st.floats(0, 360).map(lambda turn: [math.sin(math.radians(turn)), 0.0, -math.cos(math.radians(turn))])
ORDERS = st.sampled_from(EULER_ORDERS)
UP = st.sampled_from(["Y", "Z"])
SPOT = {"type": "spot"}


def in_file(vector: list[float] | tuple[float, float, float], up: str) -> list[float]:
    """A vector of the Y-up frame as a file with this up axis has it."""
    x, y, z = vector
    return [x, y, z] if up == "Y" else [x, -z, y]


def matrix_of(
    angles: list[float] | tuple[float, float, float],
    order: str,
    position: list[float] | tuple[float, float, float],
    scale: tuple[float, float, float] = (1.0, 1.0, 1.0),
) -> list[float]:
    """A 4x4 transform for row vectors: scale, turn, move."""
    turned = from_euler(angles, order).T * np.array(scale)[:, None]
    rows = np.eye(4)
    rows[:3, :3], rows[3, :3] = turned, position
    return rows.ravel().tolist()


def near(
    a: list[float] | tuple[float, float, float],
    b: list[float] | tuple[float, float, float],
    degrees: float = 1e-6,
) -> bool:
    return angle_between(a, b) <= degrees


class TestDirections:
    @given(AZIMUTH, ELEVATION, UP)
    def test_azimuth_and_elevation_against_a_vector(self, azimuth: float, elevation: float, up: str) -> None:
        vector = from_azimuth_elevation(azimuth, elevation)
        by_angles = light_of({**SPOT, "azimuth": azimuth, "elevation": elevation}, up_axis=up)["direction"]
        by_vector = light_of({**SPOT, "direction": in_file(vector, up)}, up_axis=up)["direction"]
        assert near(by_angles, vector)
        assert near(by_vector, vector)

    @given(AZIMUTH, ELEVATION, NORTH, UP)
    def test_azimuths_count_from_the_sheets_north(
        self, azimuth: float, elevation: float, north: list[float], up: str
    ) -> None:
        light = {**SPOT, "azimuth": azimuth, "elevation": elevation}
        got = light_of(light, up_axis=up, north=in_file(north, up))["direction"]
        assert near(got, from_azimuth_elevation(azimuth, elevation, (north[0], north[1], north[2])))

    def test_the_compass(self) -> None:
        # From the east, so towards the west.
        assert near(light_of({**SPOT, "azimuth": 90, "elevation": 0})["direction"], (-1, 0, 0))
        # From the north; north is -Z.
        assert near(light_of({**SPOT, "azimuth": 0, "elevation": 0})["direction"], (0, 0, 1))
        # With north on +X the east lies on +Z.
        east = light_of({**SPOT, "azimuth": 90, "elevation": 0}, north=[1, 0, 0])["direction"]
        assert near(east, (0, 0, -1))

    @given(ANGLES, ORDERS, UP)
    def test_a_rotation_against_a_matrix_and_a_vector(self, angles: list[float], order: str, up: str) -> None:
        vector = (-from_euler(angles, order)[:, 2]).tolist()
        spellings: list[dict[str, Any]] = [
            {"rotation": angles, "rotation_order": order},
            {"rotation": [f"{angle!r} deg" for angle in angles], "rotation_order": order.lower()},
            {"matrix": matrix_of(angles, order, (0, 0, 0))},
            {"matrix": np.reshape(matrix_of(angles, order, (1, 2, 3), (2.0, 0.5, 3.0)), (4, 4)).tolist()},
            {"direction": vector},
        ]
        directions = [light_of({**SPOT, **typed}, up_axis=up)["direction"] for typed in spellings]
        assert all(near(directions[0], other) for other in directions)
        assert near(in_file(directions[0], up), vector)

    @given(ANGLES, ORDERS)
    def test_the_order_of_a_rotation_matters_and_is_xyz_where_none_is_stated(
        self, angles: list[float], order: str
    ) -> None:
        stated = light_of({**SPOT, "rotation": angles, "rotation_order": order})["direction"]
        silent = light_of({**SPOT, "rotation": angles})["direction"]
        expected = -from_euler(angles, "XYZ")[:, 2]
        assert near(silent, expected.tolist())
        assert near(stated, silent) or order != "XYZ"

    def test_no_rotation_shines_along_its_own_minus_z(self) -> None:
        assert light_of({**SPOT, "rotation": [0, 0, 0]})["direction"] == (0.0, 0.0, -1.0)

    @given(PLACE, PLACE, UP, st.sampled_from(["m", "cm"]))
    def test_a_target_against_a_vector(
        self, position: list[float], target: list[float], up: str, unit: str
    ) -> None:
        gap = [b - a for a, b in zip(position, target, strict=True)]
        assume(math.hypot(*gap) > 1e-3)
        scale = 1.0 if unit == "m" else 100.0
        light = {
            **SPOT,
            "position": [scale * number for number in in_file(position, up)],
            "target": [scale * number for number in in_file(target, up)],
        }
        assert near(light_of(light, up_axis=up, units={"length": unit})["direction"], gap, 1e-4)

    @given(PLACE, ANGLES, PLACE)
    def test_a_target_seen_from_a_matrix(
        self, position: list[float], angles: list[float], target: list[float]
    ) -> None:
        vector = -from_euler(angles, "XYZ")[:, 2]
        target = (np.array(position) + 3.0 * vector).tolist()
        light = {**SPOT, "matrix": matrix_of(angles, "XYZ", position), "target": target}
        assert near(light_of(light)["direction"], vector.tolist(), 1e-4)

    @given(AZIMUTH, ELEVATION)
    def test_two_spellings_that_agree_may_stand_side_by_side(self, azimuth: float, elevation: float) -> None:
        vector = from_azimuth_elevation(azimuth, elevation)
        light = {**SPOT, "direction": list(vector), "azimuth": azimuth + 0.3, "elevation": elevation}
        # The vector says it more exactly, and counts.
        assert near(light_of(light)["direction"], vector)

    @given(AZIMUTH, ELEVATION)
    def test_angles_may_have_units(self, azimuth: float, elevation: float) -> None:
        light = {**SPOT, "azimuth": f"{azimuth!r} deg", "elevation": f"{math.radians(elevation):.15f} rad"}
        assert near(light_of(light)["direction"], from_azimuth_elevation(azimuth, elevation))

    @given(st.floats(-720, 720), ELEVATION)
    def test_azimuths_go_round(self, azimuth: float, elevation: float) -> None:
        one = light_of({**SPOT, "azimuth": azimuth, "elevation": elevation})["direction"]
        other = light_of({**SPOT, "azimuth": azimuth + 360, "elevation": elevation})["direction"]
        assert near(one, other)

    def test_a_mirrored_light_shines_the_other_way(self) -> None:
        light = {**SPOT, "matrix": matrix_of((0, 0, 0), "XYZ", (0, 0, 0), (1, 1, -1))}
        assert light_of(light)["direction"] == (0.0, 0.0, 1.0)

    @pytest.mark.parametrize("shape", ["point", "sphere"])
    def test_a_bare_point_has_no_direction_and_a_point_with_a_cone_has_one(self, shape: str) -> None:
        bulb = {"type": shape, "direction": [0, -1, 0]}
        assert "direction" not in light_of(bulb)
        assert light_of({**bulb, "cone": 40})["direction"] == (0.0, -1.0, 0.0)

    def test_a_light_without_an_aim_has_none(self) -> None:
        assert "direction" not in light_of({"type": "rect", "position": [0, 0, 0]})


class TestPositions:
    @given(PLACE, UP)
    def test_metres_centimetres_text_and_matrices(self, position: list[float], up: str) -> None:
        typed = in_file(position, up)
        hundredfold = [100.0 * number for number in typed]
        places = [
            light_of({**SPOT, "position": typed}, up_axis=up),
            light_of({**SPOT, "position": hundredfold}, up_axis=up, units={"length": "cm"}),
            light_of({**SPOT, "position": [f"{number!r} cm" for number in hundredfold]}, up_axis=up),
            light_of({**SPOT, "matrix": matrix_of((0, 0, 0), "XYZ", typed)}, up_axis=up),
            light_of(
                {**SPOT, "matrix": matrix_of((0, 0, 0), "XYZ", hundredfold)},
                up_axis=up,
                units={"length": "cm"},
            ),
        ]
        for place in places:
            assert place["position"] == pytest.approx(position, abs=1e-9)

    @given(st.lists(st.decimals(-9999, 9999, places=2), min_size=3, max_size=3))
    def test_what_is_typed_in_decimals_is_equal_to_the_last_digit(self, centimetres: list[Decimal]) -> None:
        in_cm = light_of({**SPOT, "position": [float(n) for n in centimetres]}, units={"length": "cm"})
        in_m = light_of({**SPOT, "position": [float(n / 100) for n in centimetres]})
        in_text = light_of({**SPOT, "position": [f"{n} cm" for n in centimetres]})
        assert in_cm["position"] == in_m["position"] == in_text["position"]

    def test_where_a_distant_light_stands_is_nothing(self) -> None:
        assert "position" not in light_of({"type": "distant", "position": [1, 2, 3], "direction": [0, -1, 0]})

    def test_z_up(self) -> None:
        assert light_of({**SPOT, "position": [1, 2, 3]}, up_axis="Z")["position"] == (1.0, 3.0, -2.0)

    def test_a_position_may_stand_beside_its_own_matrix(self) -> None:
        light = {**SPOT, "position": [0, 2, 0], "matrix": matrix_of((0, 0, 0), "XYZ", (0, 2.001, 0))}
        assert light_of(light)["position"] == (0.0, 2.0, 0.0)


class TestCamerasAndMarks:
    def test_a_camera(self) -> None:
        text = yaml_text(
            {
                "samelight": 2,
                "camera": {"position": [4, 1, 9], "target": [4, 1, 0], "moves": False, "fov": 40},
            }
        )
        camera = sheet_of(text).sections["camera"][""]
        assert camera == {
            "position": (4.0, 1.0, 9.0),
            "direction": (0.0, 0.0, -1.0),
            "moves": False,
            "fov": 40.0,
        }

    def test_what_a_camera_exposes_at_is_kept(self) -> None:
        text = yaml_text({"samelight": 2, "camera": {"exposure": 1, "color": [1, 1, 1], "temperature": 5600}})
        camera = sheet_of(text).sections["camera"][""]
        assert being(Level, camera["exposure"]).value == 2.0
        assert camera["temperature"] == 5600.0
        assert {"color", "color_level"} <= set(camera)

    def test_a_mark(self) -> None:
        marks = section_of("marks", {"face": {"position": ["30 cm", 1.6, 0], "normal": [0, 0, 2]}})
        assert marks["face"] == {"position": (0.3, 1.6, 0.0), "normal": (0.0, 0.0, 1.0)}


class TestEnvironments:
    def sky(self, typed: dict[str, Any], **sheet: Any) -> Known:
        return section_of("environments", {"sky": typed}, **sheet)["sky"]

    @given(st.floats(-1e4, 1e4))
    def test_rotations_come_within_a_full_turn(self, angle: float) -> None:
        got = self.sky({"rotation": angle})["rotation"]
        assert 0.0 <= got <= 360.0
        assert math.cos(math.radians(got - angle)) == pytest.approx(1.0)

    @given(st.floats(1, 359))
    def test_a_number_against_a_rotation_and_a_matrix(self, angle: float) -> None:
        # Clockwise seen from above is the negative turn about +Y.
        by_number = self.sky({"rotation": angle})
        by_axes = self.sky({"rotation": [0, -angle, 0]})
        by_matrix = self.sky({"matrix": matrix_of((0, -angle, 0), "XYZ", (0, 0, 0))})
        for sky in (by_axes, by_matrix):
            assert sky["rotation"] == pytest.approx(by_number["rotation"], abs=1e-9)
            assert "tilt" not in sky

    def test_a_dome_off_the_vertical_has_a_tilt(self) -> None:
        assert self.sky({"rotation": [30, 0, 0]})["tilt"] == pytest.approx(30.0)

    def test_a_dome_at_rest_on_a_z_up_stage_lies_on_its_side(self) -> None:
        assert self.sky({"rotation": [0, 0, 0]}, up_axis="Z")["tilt"] == pytest.approx(-90.0)
        upright = self.sky({"rotation": [90, 0, 0]}, up_axis="Z")
        assert "tilt" not in upright
        assert upright["rotation"] == pytest.approx(0.0)

    def test_other_ways_to_aim_are_kept_as_they_are(self) -> None:
        sky = self.sky({"azimuth": 40, "direction": [0, 0, -1], "position": [1, 2, 3], "target": [0, 0, 0]})
        assert (sky["azimuth"], sky["direction"], sky["position"]) == (
            40.0,
            (0.0, 0.0, -1.0),
            (1.0, 2.0, 3.0),
        )
        assert sky["target"] == (0.0, 0.0, 0.0)


@given(AZIMUTH, ELEVATION)
def test_a_direction_gives_its_azimuth_and_elevation_back(azimuth: float, elevation: float) -> None:
    direction = light_of({**SPOT, "azimuth": azimuth, "elevation": elevation})["direction"]
    got = to_azimuth_elevation(direction)
    assert got[1] == pytest.approx(elevation, abs=1e-6)
    assert math.cos(math.radians(got[0] - azimuth)) == pytest.approx(1.0)
