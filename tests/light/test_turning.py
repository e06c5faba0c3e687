"""From directions back to rotations, and from chromaticities back to RGB."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from samelight.light.colour import SPACES, chromaticity
from samelight.light.directions import EULER_ORDERS, angle_between, from_euler, normalised, to_y_up
from samelight.light.primaries import rgb_of
from samelight.light.turning import from_y_up, to_euler, turn_onto

angles = st.floats(-180, 180)
vectors = st.tuples(*[st.floats(-10, 10)] * 3).filter(lambda vector: sum(x * x for x in vector) > 1e-3)


@given(st.tuples(angles, angles, angles), st.sampled_from(EULER_ORDERS))
def test_angles_give_the_rotation_they_came_from(turned: tuple[float, ...], order: str) -> None:
    rotation = from_euler(turned, order)
    assert np.allclose(from_euler(to_euler(rotation, order), order), rotation, atol=1e-7)


@pytest.mark.parametrize("order", EULER_ORDERS)
@pytest.mark.parametrize("middle", [90.0, -90.0])
def test_where_two_axes_fall_together(order: str, middle: float) -> None:
    turned = [20.0, 35.0, 50.0]
    turned["XYZ".index(order[1])] = middle
    rotation = from_euler(turned, order)
    found = to_euler(rotation, order)
    assert np.allclose(from_euler(found, order), rotation, atol=1e-9)
    assert found["XYZ".index(order[0])] == 0.0


@given(vectors, vectors)
def test_the_smallest_turn(start: tuple[float, ...], end: tuple[float, ...]) -> None:
    turn = turn_onto(start, end)
    assert angle_between((turn @ start).tolist(), end) < 1e-5
    assert np.allclose(turn @ turn.T, np.eye(3), atol=1e-9)
    # The angle of a rotation, from its trace, is no more than that between the two.
    angle = np.degrees(np.arccos(np.clip((np.trace(turn) - 1) / 2, -1, 1)))
    assert angle == pytest.approx(angle_between(start, end), abs=1e-4)


@pytest.mark.parametrize("start", [(1, 0, 0), (0, 1, 0), (0, 0, -1), (1, 2, 3)])
def test_half_a_turn(start: tuple[float, ...]) -> None:
    turn = turn_onto(start, tuple(-x for x in start))
    assert np.allclose(turn @ start, [-x for x in start])
    assert np.linalg.det(turn) == pytest.approx(1.0)


@given(vectors, st.sampled_from("YZ"))
def test_axes_there_and_back(vector: tuple[float, ...], up: str) -> None:
    assert to_y_up(from_y_up(vector, up), up) == pytest.approx(vector)


def test_what_is_no_axis_and_no_order() -> None:
    with pytest.raises(ValueError, match="up axis"):
        from_y_up((1, 2, 3), "X")
    with pytest.raises(ValueError, match="rotation order"):
        to_euler(np.eye(3), "XXX")
    with pytest.raises(ValueError, match="points nowhere"):
        turn_onto((0, 0, 0), normalised((1, 0, 0)))


@given(st.tuples(*[st.floats(0.01, 1)] * 3), st.sampled_from(sorted(SPACES)))
def test_the_rgb_of_a_chromaticity(rgb: tuple[float, float, float], space: str) -> None:
    uv = chromaticity(rgb, space)
    assert uv is not None
    found = rgb_of(uv, space)
    assert found == pytest.approx([channel / max(rgb) for channel in rgb], rel=1e-6, abs=1e-9)


def test_a_chromaticity_outside_the_gamut() -> None:
    green = chromaticity((0, 1, 0), "rec2020")
    assert green is not None
    assert min(rgb_of(green, "rec709")) < 0
    with pytest.raises(ValueError, match="no light has a v' of 0"):
        rgb_of((0.2, 0.0))
