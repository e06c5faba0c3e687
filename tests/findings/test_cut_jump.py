"""Jumps at a cut, and levels that creep."""

from __future__ import annotations

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from findings.drafts import FEW, Draft, draft, only
from samelight.findings.slow_drift import trend

TOLERANCE = 0.1


def levels(made: Draft, *stops: float, light: str = "bounce") -> Draft:
    """The sequence with a light so many stops off the master's, shot by shot."""
    for tree, off in zip(made.shots.values(), stops, strict=False):
        tree["lights"][light]["exposure"] = made.master["lights"][light].get("exposure", 0) + off
    return made


def test_two_sides_of_the_master() -> None:
    findings = levels(draft(5), 0, 0.08, -0.07).findings()
    assert [finding.finding for finding in findings] == ["cut-jump"]
    assert findings[0].shots == ("S_020", "S_030")
    assert "jumps at the cut S_020 | S_030 by −0.15 stops" in findings[0].says
    assert findings[0].explained == (("S_020", "lights.bounce.level"), ("S_030", "lights.bounce.level"))


def test_with_a_shot_between_there_is_no_cut() -> None:
    assert levels(draft(5), 0.08, 0, -0.07).findings() == []


@FEW
@given(st.floats(-0.099, 0.099), st.floats(-0.099, 0.099))
def test_a_jump_is_more_than_the_tolerance(before: float, after: float) -> None:
    if abs(abs(before - after) - TOLERANCE) < 1e-6:
        return
    found = levels(draft(4), 0, before, after).findings("cut-jump")
    assert bool(found) == (abs(before - after) > TOLERANCE)


def test_vectors_are_measured_against_each_other() -> None:
    made = draft(4)
    place = made.master["lights"]["lamp"]["position"]
    made.shots["S_020"]["lights"]["lamp"]["position"] = [place[0] + 0.04, *place[1:]]
    made.shots["S_030"]["lights"]["lamp"]["position"] = [place[0] - 0.04, *place[1:]]
    assert only(made.findings(), "cut-jump").shots == ("S_020", "S_030")
    made.shots["S_030"]["lights"]["lamp"]["position"] = [place[0], place[1] + 0.02, place[2]]
    assert made.findings() == []


def test_a_percentage_is_of_the_shot_before() -> None:
    """The policy lets a width be 2 % off: these two are each less, and 2.03 % of the smaller one apart."""
    made = draft(4)
    wide = made.master["lights"]["bounce"]["width"]
    made.shots["S_020"]["lights"]["bounce"]["width"] = wide * 0.9805
    made.shots["S_030"]["lights"]["bounce"]["width"] = wide * 1.0004
    assert only(made.findings(), "cut-jump").shots == ("S_020", "S_030")
    made.shots["S_020"]["lights"]["bounce"]["width"] = wide * 0.99
    assert made.findings() == []


def test_a_level_that_creeps() -> None:
    findings = levels(draft(10), 0, 0.04, 0.08, 0.12, 0.15, 0.2, 0.24, 0.28).findings()
    assert [finding.finding for finding in findings] == ["slow-drift"]
    assert findings[0].shots == tuple(f"S_0{n}0" for n in range(2, 9))
    assert "gets brighter by 0.28 stops from S_020 to S_080" in findings[0].says


@pytest.mark.parametrize(
    "stops",
    [
        (0, 0.02, 0.04, 0.06, 0.07, 0.08, 0.09),  # never leaves the tolerance
        (0, 0, 0, 0.6, 0.6, 0.6, 0.6, 0.6),  # one step
        (0, 0.05, 0.1, 0.15, 0.2),  # too short
        (0.3, -0.2, 0.25, -0.1, 0.3, -0.3, 0.2),  # up and down
    ],
)
def test_what_does_not_creep(stops: tuple[float, ...]) -> None:
    assert levels(draft(8), *stops).findings("slow-drift") == []


@FEW
@given(st.integers(6, 12), st.floats(0.03, 0.08), st.sampled_from([-1, 1]), st.integers(0, 2**16))
def test_noise_hides_no_trend(count: int, step: float, way: int, seed: int) -> None:
    dice = random.Random(seed)
    stops = [way * step * n + dice.uniform(-0.008, 0.008) for n in range(1, count + 1)]
    finding = only(levels(draft(14), 0, *stops).findings(), "slow-drift")
    assert set(finding.shots) >= {f"S_{10 * n:03d}" for n in range(3, count + 1)}


@FEW
@given(st.integers(0, 2**16))
def test_noise_makes_no_trend(seed: int) -> None:
    dice = random.Random(seed)
    stops = [dice.uniform(-0.049, 0.049) for _ in range(14)]
    assert levels(draft(14), *stops).findings() == []


def test_trends_by_hand() -> None:
    slope, rank = trend([0.0, 0.1, 0.05, 0.2, 0.3])
    assert rank == pytest.approx(0.8)  # one of ten pairs runs the other way
    assert slope == pytest.approx(0.0708333, abs=1e-6)
    assert trend([1.0, 1.0, 1.0]) == (0.0, 0.0)
    assert trend([3.0]) == (0.0, 0.0)


def test_a_sequence_without_shots_has_no_jump_and_no_finder_fails() -> None:
    made = draft(2)
    made.shots.clear()
    drawn = made.drawn()
    assert (drawn.findings, drawn.failures) == ([], ())
