import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays
from numpy.typing import NDArray

from samelight.light import directions
from samelight.light.key import KeySide, key_of, key_side

tables = arrays.arrays(
    np.float64, st.tuples(st.integers(1, 6), st.integers(1, 5)), elements=st.floats(0, 1e6)
)


@given(tables, st.floats(1e-3, 1e3))
def test_a_common_unit_changes_no_key(table: NDArray[Any], scale: float) -> None:
    table = np.where(table < 1e-9, 0, table)
    assert (key_of(table).light == key_of(table * scale).light).all()


@given(tables)
def test_the_key_is_the_brightest(table: NDArray[Any]) -> None:
    assert key_of(table).level == pytest.approx(table.max(axis=1))


def test_unlit_and_unknown() -> None:
    found = key_of([[0.0, 0.0], [math.nan, 2.0], [4.0, 0.0], [1.0, 1.0]])
    assert found.light.tolist() == [-1, 1, 0, 0]
    assert found.level.tolist() == [0.0, 2.0, 4.0, 1.0]
    assert key_of(np.zeros((3, 0))).light.tolist() == [-1, -1, -1]
    assert key_of([8, 1, 1]).light.tolist() == [0]
    with pytest.raises(ValueError, match="0 or more"):
        key_of([[-1.0]])


CAMERA = directions.NORTH  # the camera looks north from the south, so the mark sees it in the south
TOWARDS_CAMERA = [(0.0, 0.3, 1.0)]


@pytest.mark.parametrize(
    ("azimuth", "elevation", "name", "angle"),
    [
        (180, 10, "front", 0),
        (90, 10, "right", 90),
        (270, 45, "left", -90),
        (0, 30, "back", 180),
        (180 - 22, 0, "front", 22),
        (180 - 23, 0, "right", 23),
        (180 + 23, 0, "left", -23),
        (180 + 157, 0, "left", -157),
        (180 + 158, 0, "back", -158),
        (180 - 22.5, 0, "front", 22.5),
        (180 + 157.5, 0, "left", -157.5),
        (90, 80.1, "top", 90),
        (90, -80.1, "under", 90),
    ],
)
def test_sides_as_the_camera_sees_them(azimuth: float, elevation: float, name: str, angle: float) -> None:
    light = [directions.from_azimuth_elevation(azimuth, elevation)]
    found = key_side(light, TOWARDS_CAMERA)
    assert found.name == [name]
    assert found.angle[0] == pytest.approx(angle)
    assert found.height[0] == pytest.approx(elevation)


@given(st.floats(0, 360), st.floats(-70, 70), st.floats(0, 360), st.floats(0, 360))
def test_turning_light_and_camera_together_changes_nothing(
    azimuth: float, elevation: float, camera: float, turn: float
) -> None:
    def side(by: float) -> KeySide:
        light = [directions.from_azimuth_elevation(azimuth + by, elevation)]
        seen = [tuple(-part for part in directions.from_azimuth_elevation(camera + by, 10))]
        return key_side(light, seen)

    before, after = side(0.0), side(turn)
    assert abs(math.remainder(before.angle[0] - after.angle[0], 360)) < 1e-6
    assert before.height == pytest.approx(after.height)


@given(st.floats(1, 179), st.floats(-70, 70))
def test_a_mirrored_light_is_on_the_other_side(off: float, elevation: float) -> None:
    one = key_side([directions.from_azimuth_elevation(180 - off, elevation)], TOWARDS_CAMERA)
    other = key_side([directions.from_azimuth_elevation(180 + off, elevation)], TOWARDS_CAMERA)
    assert one.angle[0] == pytest.approx(-other.angle[0])
    assert {one.name[0], other.name[0]} in ({"left", "right"}, {"front"}, {"back"})


def test_no_side_without_a_level_camera() -> None:
    found = key_side([(1.0, 0.0, 0.0), (0.0, -1.0, 0.0)], [(0.0, 1.0, 0.0)])
    assert found.name == ["", "top"]
    assert np.isnan(found.angle).all()
    assert key_side([(math.nan, 0, 0)], [(0, 0, 1)]).name == [""]


@pytest.mark.parametrize("off", [0.0, 1e-15, -1e-15, 1e-12, -1e-12])
def test_a_key_straight_behind_is_at_180_whatever_its_last_digit(off: float) -> None:
    side = key_side([(off, 0.0, 1.0)], [(0.0, 0.0, 1.0)])
    assert (side.name, side.angle.tolist()) == (["back"], [180.0])
