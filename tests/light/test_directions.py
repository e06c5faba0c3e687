import math
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from samelight.light import directions

number = st.floats(-1e3, 1e3, allow_nan=False)
vector = st.tuples(number, number, number).filter(lambda v: math.hypot(*v) > 1e-3)
angle = st.floats(-720, 720, allow_nan=False)
angles = st.tuples(angle, angle, angle)
order = st.sampled_from(directions.EULER_ORDERS)


def close(a: NDArray[Any] | tuple[float, ...], b: Any, tolerance: float = 1e-9) -> bool:
    return np.allclose(a, b, rtol=0, atol=tolerance)


@pytest.mark.parametrize(
    ("azimuth", "elevation", "shines_to"),
    [
        (0, 0, (0, 0, 1)),
        (90, 0, (-1, 0, 0)),
        (180, 0, (0, 0, -1)),
        (270, 0, (1, 0, 0)),
        (123, 90, (0, -1, 0)),
        (0, -90, (0, 1, 0)),
        (90, 45, (-math.sqrt(0.5), -math.sqrt(0.5), 0)),
    ],
)
def test_azimuth_says_where_the_light_comes_from(
    azimuth: int, elevation: int, shines_to: tuple[float, ...]
) -> None:
    assert close(directions.from_azimuth_elevation(azimuth, elevation), shines_to)


def test_another_north_turns_the_compass() -> None:
    # North along +X makes east +Z, seen from above clockwise.
    assert close(directions.from_azimuth_elevation(0, 0, north=(1, 0, 0)), (-1, 0, 0))
    assert close(directions.from_azimuth_elevation(90, 0, north=(1, 0, 0)), (0, 0, -1))
    assert close(
        directions.from_azimuth_elevation(90, 10, north=(3, 5, 0)),
        directions.from_azimuth_elevation(90, 10, (1, 0, 0)),
    )


@given(st.floats(0, 359.999), st.floats(-89.9, 89.9), vector)
def test_azimuth_and_elevation_come_back(
    azimuth: float, elevation: float, north: tuple[float, float, float]
) -> None:
    assume(math.hypot(north[0], north[2]) > 1e-2)
    found = directions.to_azimuth_elevation(
        directions.from_azimuth_elevation(azimuth, elevation, north), north
    )
    assert abs(directions.turn_between(found[0], azimuth)) < 1e-6
    assert abs(found[1] - elevation) < 1e-9
    assert 0 <= found[0] < 360


@given(vector)
def test_a_direction_comes_back(direction: tuple[float, float, float]) -> None:
    unit = directions.normalised(direction)
    back = directions.from_azimuth_elevation(*directions.to_azimuth_elevation(direction))
    assert directions.angle_between(unit, back) < 1e-6


def test_overhead_the_azimuth_is_zero_by_convention() -> None:
    assert directions.to_azimuth_elevation((0, -2, 0)) == (0.0, 90.0)
    assert directions.to_azimuth_elevation((0, 2, 0)) == (0.0, -90.0)
    # Just west of north must not be reported as 360.
    azimuth, _ = directions.to_azimuth_elevation((1e-18, 0, 1))
    assert 0 <= azimuth < 360


@pytest.mark.parametrize(
    ("azimuth", "elevation"), [(0, 90.0001), (0, -91), (math.nan, 0), (0, math.nan), (math.inf, 0)]
)
def test_an_impossible_azimuth_or_elevation_is_refused(azimuth: float, elevation: float) -> None:
    with pytest.raises(ValueError, match=r"azimuth|elevation"):
        directions.from_azimuth_elevation(azimuth, elevation)


def test_a_vertical_north_is_refused() -> None:
    with pytest.raises(ValueError, match="north"):
        directions.to_azimuth_elevation((1, 0, 0), north=(0, 1, 0))


@pytest.mark.parametrize("bad", [(0, 0, 0), (math.nan, 0, 1), (1, math.inf, 0), (1, 2), (1, 2, 3, 4)])
def test_a_vector_that_points_nowhere_is_refused(bad: tuple[float, ...]) -> None:
    with pytest.raises(ValueError, match=r"points nowhere|a direction has"):
        directions.normalised(bad)


def test_numbers_whose_sum_is_none_point_somewhere() -> None:
    assert directions.normalised((1.7e308, 1.7e308, 0.0)) == directions.normalised((1.0, 1.0, 0.0))


@given(vector, st.sampled_from([1e-300, 1e-30, 1e30, 1e300]))
def test_length_does_not_matter(direction: tuple[float, ...], scale: float) -> None:
    scaled = tuple(component * scale for component in direction)
    assert directions.angle_between(direction, scaled) < 1e-9


@given(angles, order)
def test_euler_orders_agree_with_scipy(turned: tuple[float, ...], named: str) -> None:
    # scipy: lower-case letters are extrinsic, applied in the order written.
    by_name = dict(zip("XYZ", turned, strict=True))
    expected = Rotation.from_euler(named.lower(), [by_name[axis] for axis in named], degrees=True).as_matrix()
    assert close(directions.from_euler(turned, named), expected)
    assert close(directions.direction_from_euler(turned, named), expected @ (0, 0, -1))
    assert close(directions.across_from_euler(turned, named), expected @ (1, 0, 0))


@given(angles, order, vector)
def test_usd_rotates_in_the_same_order(
    turned: tuple[float, ...], named: str, position: tuple[float, ...]
) -> None:
    from pxr import Gf, Usd, UsdGeom

    stage = Usd.Stage.CreateInMemory()
    prim = UsdGeom.Xform.Define(stage, "/light")
    prim.AddTranslateOp().Set(Gf.Vec3d(*position))
    getattr(prim, f"AddRotate{named}Op")(UsdGeom.XformOp.PrecisionDouble).Set(Gf.Vec3d(*turned))
    prim.AddScaleOp().Set(Gf.Vec3f(2, 3, 0.5))
    matrix = prim.ComputeLocalToWorldTransform(Usd.TimeCode.Default())
    expected = matrix.TransformDir(Gf.Vec3d(0, 0, -1)).GetNormalized()
    assert close(directions.direction_from_euler(turned, named), expected, 1e-6)
    rows = [list(row) for row in matrix]
    assert close(directions.direction_from_matrix(rows), expected)
    assert close(directions.across_from_matrix(rows), matrix.TransformDir(Gf.Vec3d(1, 0, 0)).GetNormalized())
    assert close(directions.position_from_matrix(rows), position)


def test_an_unknown_order_names_the_known_ones() -> None:
    with pytest.raises(ValueError, match="XYZ, XZY, YXZ, YZX, ZXY, ZYX"):
        directions.from_euler((0, 0, 0), "XYX")
    with pytest.raises(ValueError, match="three finite"):
        directions.from_euler((0, math.nan, 0))


def test_flat_and_nested_matrices_are_one() -> None:
    flat = [float(number) for number in range(1, 17)]
    rows = [flat[0:4], flat[4:8], flat[8:12], flat[12:16]]
    assert directions.direction_from_matrix(flat) == directions.direction_from_matrix(rows)
    assert directions.position_from_matrix(flat) == (13.0, 14.0, 15.0)


def test_a_mirrored_axis_counts() -> None:
    mirrored = np.diag([1.0, 1.0, -2.0, 1.0])
    assert directions.direction_from_matrix(mirrored.tolist()) == (0.0, 0.0, 1.0)
    sideways = np.diag([-3.0, 1.0, 1.0, 1.0])
    assert directions.direction_from_matrix(sideways.tolist()) == (0.0, 0.0, -1.0)


@pytest.mark.parametrize(
    "matrix",
    [
        [1.0] * 15,
        [[1, 0, 0], [0, 1, 0], [0, 0, 1]],
        [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1],
        [0.0] * 16,
        [math.nan] * 16,
        [["a"] * 4] * 4,
        [[1, 2, 3, 4], [1, 2]],
    ],
)
def test_a_wrong_matrix_is_refused(matrix: list[Any]) -> None:
    with pytest.raises(ValueError, match="matrix"):
        directions.direction_from_matrix(matrix)


def test_a_target_on_the_light_is_refused() -> None:
    with pytest.raises(ValueError, match="no direction"):
        directions.direction_from_target((1, 2, 3), (1, 2, 3))


@given(vector)
def test_z_up_is_a_rotation(direction: tuple[float, ...]) -> None:
    turned = directions.to_y_up(direction, "Z")
    assert math.isclose(math.hypot(*turned), math.hypot(*direction))
    assert directions.to_y_up((0, 0, 1), "Z") == (0, 1, 0)
    assert directions.to_y_up(direction, "Y") == pytest.approx(direction)
    with pytest.raises(ValueError, match="Y or Z"):
        directions.to_y_up(direction, "X")


@given(vector, vector, angles)
def test_turning_the_whole_scene_changes_no_angle(
    a: tuple[float, ...], b: tuple[float, ...], turned: tuple[float, ...]
) -> None:
    rotation = directions.from_euler(turned)
    before = directions.angle_between(a, b)
    after = directions.angle_between(tuple(rotation @ a), tuple(rotation @ b))
    assert abs(before - after) < 1e-6
    assert directions.angle_between(b, a) == before
    assert 0 <= before <= 180


@pytest.mark.parametrize("tiny", [1e-3, 1e-6, 1e-9, 1e-12])
def test_tiny_angles_keep_their_digits(tiny: float) -> None:
    radians = math.radians(tiny)
    turned = (math.cos(radians), math.sin(radians), 0.0)
    assert directions.angle_between((1, 0, 0), turned) == pytest.approx(tiny, rel=1e-6)
    assert 180 - directions.angle_between((-1, 0, 0), turned) == pytest.approx(tiny, rel=1e-6, abs=6e-14)


def test_arrays_of_directions() -> None:
    many = np.array([(1, 0, 0), (0, 2, 0), (-1, 0, 0), (0, 0, 0)], dtype=float)
    found = directions.angles_between(many, (1, 0, 0))
    assert close(found[:3], (0, 90, 180))
    assert math.isnan(found[3])
    assert directions.angles_between(many[:2], many[:2]).shape == (2,)


@given(st.floats(-1e4, 1e4), st.floats(-1e4, 1e4))
def test_turns_are_short_and_signed(a: float, b: float) -> None:
    turn = directions.turn_between(a, b)
    assert -180 < turn <= 180
    assert abs(math.remainder(a + turn - b, 360)) < 1e-6
    back = directions.turn_between(b, a)
    assert turn == -back or turn == back == 180


@pytest.mark.parametrize("off", [0.0, 1e-13, -1e-13, 5e-12])
def test_half_a_turn_has_one_sign_however_its_last_digit_fell(off: float) -> None:
    assert directions.turn_between(10.0, 190.0 + off) == directions.turn_between(10.0, -170.0 + off) == 180.0
    assert directions.turn_between(10.0, 190.01) == pytest.approx(-179.99)


@pytest.mark.parametrize("off", [0.0, 1e-12, -1e-12, 1e-8, -1e-8])
def test_between_opposites_that_transforms_rounded_a_level_light_swings_round_the_horizon(off: float) -> None:
    half_way = directions.slerp((1, 0, 0), (-1, off, 2 * off), 0.5)
    assert half_way == pytest.approx(directions.slerp((1, 0, 0), (-1, 0, 0), 0.5), abs=1e-6)


@pytest.mark.parametrize("length", [1e-300, 1e-9, 1.0, 1e9, 1e300])
def test_angles_are_blind_to_lengths_also_close_to_half_a_turn(length: float) -> None:
    apart = 180 - 1e-7
    there = (length * math.cos(math.radians(apart)), length * math.sin(math.radians(apart)), 0.0)
    assert directions.angle_between((2.0, 0, 0), there) == pytest.approx(apart, abs=1e-9)


@given(vector, vector, st.floats(0, 1))
def test_slerp_stays_on_the_way(a: tuple[float, ...], b: tuple[float, ...], share: float) -> None:
    whole = directions.angle_between(a, b)
    assume(whole < 179.9)
    between = directions.slerp(a, b, share)
    assert math.isclose(math.hypot(*between), 1.0)
    assert abs(directions.angle_between(a, between) - share * whole) < 1e-5
    assert abs(directions.angle_between(between, b) - (1 - share) * whole) < 1e-5


def test_slerp_between_opposite_directions_swings_level() -> None:
    half = directions.slerp((1, 0, 0), (-1, 0, 0), 0.5)
    assert close((half[1], abs(half[2])), (0, 1))
    assert directions.angle_between(directions.slerp((0, 1, 0), (0, -1, 0), 0.5), (0, 1, 0)) == pytest.approx(
        90
    )
    assert directions.slerp((1, 0, 0), (1, 0, 0), 0.3) == (1.0, 0.0, 0.0)
    with pytest.raises(ValueError, match="share"):
        directions.slerp((1, 0, 0), (0, 1, 0), math.nan)
