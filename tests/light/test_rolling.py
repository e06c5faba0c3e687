"""Rolls and whole orientations, there and back."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from samelight.light.directions import from_euler
from samelight.light.rolling import (
    Turned,
    across_at,
    axes_turned,
    roll_between,
    roll_of,
    turned_by,
)

ANGLE = st.floats(-179.0, 179.0)


@given(ANGLE, st.floats(-89.0, 89.0), ANGLE)
def test_a_roll_comes_back_from_the_axis_that_it_gives(azimuth: float, elevation: float, roll: float) -> None:
    x, y = math.radians(azimuth), math.radians(elevation)
    direction = np.array([[math.sin(x) * math.cos(y), math.sin(y), math.cos(x) * math.cos(y)]])
    across = across_at(direction, np.array([roll]))[0]
    assert roll_of(direction[0].tolist(), across.tolist()) == pytest.approx(roll, abs=1e-6)


@given(ANGLE, ANGLE, ANGLE)
def test_axes_of_an_environment_come_back_from_its_three_angles(x: float, y: float, z: float) -> None:
    """Any rotation is three angles, and they are that rotation: no turn of a dome goes unseen."""
    axes = from_euler((x, y, z)).T
    turned = turned_by(axes[0].tolist(), axes[1].tolist())
    assert axes_turned(turned) == pytest.approx(axes, abs=1e-5)
    assert math.hypot(turned.tilt, turned.roll) <= 180.0 + 1e-9


def test_a_dome_that_turns_about_its_own_pole_is_seen_whichever_way_the_pole_lies() -> None:
    axes = axes_turned(Turned(20.0, 60.0, 67.0))
    turn = math.radians(40.0)
    east = math.cos(turn) * axes[0] + math.sin(turn) * axes[2]
    assert turned_by(east.tolist(), axes[1].tolist()) == pytest.approx((60.0, 60.0, 67.0))


def test_a_pan_with_a_level_width_is_no_roll_and_neither_is_a_nudge_off_the_vertical() -> None:
    low, high = (0.6, -0.8, 0.0), (0.0, -0.8, 0.6)
    assert roll_between((0.0, low), (0.0, high)) == 0.0
    nudged = [(math.sin(a) * 1e-3, -1.0, math.cos(a) * 1e-3) for a in (0.3, 2.8)]
    x = (1.0, 0.0, 0.0)
    first, then = ((roll_of(one, x), one) for one in nudged)
    assert abs(then[0] - first[0]) > 90.0
    assert roll_between(first, then) == pytest.approx(0.0, abs=0.1)


@given(ANGLE, ANGLE)
def test_swapping_two_rolls_flips_the_sign(a: float, b: float) -> None:
    one, other = (a, (0.0, 0.0, -1.0)), (b, (0.0, -0.6, -0.8))
    there, back = roll_between(one, other), roll_between(other, one)
    assert there == pytest.approx(-back, abs=1e-9) or abs(there) == pytest.approx(180.0)


def test_half_a_turn_of_a_rectangle_is_none() -> None:
    north = (0.0, 0.0, -1.0)
    assert roll_between((0.0, north), (180.0, north), 180.0) == 0.0
    assert roll_between((0.0, north), (180.0, north)) == 180.0
