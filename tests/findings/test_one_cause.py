"""One value in many shots, and what is left over."""

from __future__ import annotations

import random

from hypothesis import given
from hypothesis import strategies as st

from findings.drafts import FEW, draft, only
from samelight.findings.finding import Action, Sureness
from samelight.light.directions import from_azimuth_elevation


def test_one_value_in_neighbouring_shots() -> None:
    made = draft(8)
    for shot in ("S_030", "S_040", "S_050"):
        made.shots[shot]["lights"]["rim"]["exposure"] = -0.35
    findings = made.findings()
    assert [finding.finding for finding in findings] == ["one-cause"]
    finding = findings[0]
    assert finding.says == (
        "The rim is 0.35 stops darker in S_030 to S_050, the same in all three: one publish, not three nudges."
    )
    assert finding.sureness is Sureness.LIKELY
    assert finding.worst_text == "−0.35 st (lights.rim.level, S_030)"
    assert finding.actions == (Action.RETURN, Action.INTEND, Action.SHOW)


def test_two_shots_far_apart_are_possible_and_no_more() -> None:
    made = draft(8)
    for shot in ("S_020", "S_070"):
        made.shots[shot]["lights"]["rim"]["exposure"] = -0.35
    assert only(made.findings(), "one-cause").sureness is Sureness.POSSIBLE


def test_coarse_values_of_two_shots_far_apart_may_be_chance() -> None:
    made = draft(8)
    for shot in ("S_020", "S_070"):
        made.shots[shot]["lights"]["rim"]["samples"] = 20
    assert made.findings("one-cause") == []
    made.shots["S_030"]["lights"]["rim"]["samples"] = 20
    assert only(made.findings(), "one-cause").shots == ("S_020", "S_030", "S_070")


def test_other_spellings_of_one_value_are_one_value() -> None:
    made = draft(6)
    made.shots["S_020"]["lights"]["rim"].update(temperature="4300 K")
    made.shots["S_030"]["lights"]["rim"].update(temperature="232.558 mired")
    sun = [round(x, 4) for x in from_azimuth_elevation(143, 24)]
    for shot in ("S_040", "S_050"):
        light = made.shots[shot]["lights"]["sun"]
        del light["azimuth"], light["elevation"]
        light["direction"] = sun
    made.shots["S_060"]["lights"]["sun"]["azimuth"] = 143
    assert {finding.shots for finding in made.findings("one-cause")} == {
        ("S_020", "S_030"),
        ("S_040", "S_050", "S_060"),
    }


def test_parameters_that_drift_in_the_same_shots_are_one_finding() -> None:
    made = draft(6)
    for shot in ("S_020", "S_030"):
        made.shots[shot]["lights"]["rim"].update(exposure=-0.35, samples=20)
        made.shots[shot]["lights"]["lamp"]["intensity"] = 0.4
    finding = only(made.findings(), "one-cause")
    assert len(finding.parameters) == 3
    assert len(finding.cells) == 6


@FEW
@given(st.integers(0, 2**16))
def test_values_drawn_at_random_have_no_common_cause(seed: int) -> None:
    dice = random.Random(seed)
    made = draft(8)
    nudges = [0.3, 0.45, 0.6, 0.75, 0.9, 1.05, 1.2, 1.35]
    dice.shuffle(nudges)
    for tree, stops in zip(made.shots.values(), nudges, strict=True):
        tree["lights"]["rim"]["exposure"] = dice.choice((-1, 1)) * (stops + dice.uniform(-0.03, 0.03))
    assert made.findings("one-cause") == []
    assert {shot for one in made.findings("unexplained") for shot in one.shots} == set(made.shots)


def test_what_is_left_is_listed_by_light() -> None:
    made = draft(6)
    made.shots["S_020"]["lights"]["rim"].update(exposure=-0.35, temperature="4300 K")
    made.shots["S_050"]["lights"]["rim"]["position"] = [0, 2.6, -1.6]
    made.shots["S_050"]["lights"]["lamp"]["intensity"] = 0.5
    found = made.findings()
    assert {finding.finding for finding in found} == {"unexplained"}
    # The two drifts of the rim have nothing in common but the light.
    assert [set(finding.parameters) for finding in found if finding.shots == ("S_020",)] == [
        {"lights.rim.level", "lights.rim.colour"}
    ]
    assert {finding.parameters for finding in found if finding.shots == ("S_050",)} == {
        ("lights.rim.position",),
        ("lights.lamp.level",),
    }


@given(st.floats(-0.099, 0.099))
def test_what_is_inside_the_tolerance_is_not_listed(stops: float) -> None:
    made = draft(3)
    made.shots["S_020"]["lights"]["rim"]["exposure"] = stops
    assert made.findings() == []
