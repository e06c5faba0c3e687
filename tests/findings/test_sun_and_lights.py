"""Sun and sky apart, and too many lights."""

from __future__ import annotations

import copy

from hypothesis import given
from hypothesis import strategies as st

from findings.drafts import LIGHT_LIMIT, Draft, draft, only, sample_policy


def turned(sun: float, sky: float) -> Draft:
    """A sequence in which sun and sky of S_020 are turned by so many degrees."""
    made = draft(4)
    made.shots["S_020"]["lights"]["sun"]["azimuth"] += sun
    made.shots["S_020"]["environments"]["dawn_sky"]["rotation"] += sky
    return made


def test_the_sun_moved_and_the_sky_stayed() -> None:
    findings = turned(12, 0).findings()
    assert [finding.finding for finding in findings] == ["sun-sky"]
    assert findings[0].explained == (("S_020", "lights.sun.direction"),)
    assert "are turned 12° against each other" in findings[0].says
    assert "the sky turned and the sun stayed" in only(turned(0, -9).findings(), "sun-sky").says
    assert "both turned, and not alike" in only(turned(5, 20).findings(), "sun-sky").says


@given(st.floats(-60, 60), st.floats(-60, 60))
def test_apart_exactly_when_the_angle_between_them_changed(sun: float, sky: float) -> None:
    if abs(abs(sun - sky) - 0.5) < 0.2 or min(abs(sun), abs(sky)) < 0.7:
        return
    assert bool(turned(sun, sky).findings("sun-sky")) == (abs(sun - sky) > 0.5)


def test_a_sun_that_only_sank_is_not_apart() -> None:
    made = draft(4)
    made.shots["S_020"]["lights"]["sun"]["elevation"] = 14
    assert [finding.finding for finding in made.findings()] == ["unexplained"]
    assert made.findings()[0].says.startswith("The sun stands 10° lower in S_020")


def test_as_another_master_had_them_they_belong_together() -> None:
    made = turned(12, 4)
    older = copy.deepcopy(made.master)
    older["version"] = 2
    older["lights"]["sun"]["azimuth"] += 12
    older["environments"]["dawn_sky"]["rotation"] += 4
    made.older[2] = older
    assert [finding.finding for finding in made.findings()] == ["old-master"]


def test_in_several_shots_the_publish_is_found_and_the_sky_too() -> None:
    made = draft(6)
    for shot in ("S_020", "S_030", "S_040"):
        made.shots[shot]["lights"]["sun"]["azimuth"] = 143
    found = {finding.finding: finding for finding in made.findings()}
    assert found.keys() == {"one-cause", "sun-sky"}
    assert found["one-cause"].says == (
        "The sun stands 11° further south in S_020 to S_040, the same in all three: one publish, not three nudges."
    )
    assert found["sun-sky"].cells == ()
    assert found["sun-sky"].shots == ("S_020", "S_030", "S_040")


@given(st.integers(0, 5))
def test_more_lights_than_allowed(more: int) -> None:
    made = draft(3)
    lights = made.shots["S_020"]["lights"]
    for number in range(more):
        lights[f"kick_{number}"] = {"type": "sphere", "position": [number, 1, 0], "intensity": 1}
    found = made.findings("light-count")
    assert bool(found) == (6 + more > LIGHT_LIMIT)
    if found:
        assert found[0].shots == ("S_020",)
        assert f"has {6 + more} lights" in found[0].says
        assert len(found[0].cells) == more


def test_a_master_that_has_too_many_itself_sets_the_measure() -> None:
    made = draft(3)
    made.policy = sample_policy(lights=4)
    assert made.findings() == []
    made.shots["S_020"]["lights"]["kick"] = {"type": "sphere", "position": [0, 1, 0], "intensity": 1}
    assert only(made.findings(), "light-count").shots == ("S_020",)
