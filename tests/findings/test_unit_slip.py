"""Values typed in one unit and read in another."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from findings.drafts import FEW, draft, only


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        (350, "100 times the master's in S_020 (350 m for 3.5 m): centimetres typed where metres are read"),
        (3500, "millimetres typed where metres are read"),
        (11.48, "feet typed where metres are read"),
        (137.8, "inches typed where metres are read"),
        (0.035, "1/100 of the master's"),
    ],
)
def test_a_length_in_another_unit(typed: float, says: str) -> None:
    made = draft(3)
    made.shots["S_020"]["render"]["gi"]["range"] = typed
    findings = made.findings()
    assert [finding.finding for finding in findings] == ["unit-slip"]
    assert says in findings[0].says
    assert "3.5 m" in findings[0].do


@pytest.mark.parametrize(
    ("light", "leaf", "typed", "reason"),
    [
        ("quay_spot", "cone", round(math.radians(32), 4), "radians"),
        ("quay_spot", "softness", 20, "per cent"),
        ("quay_spot", "softness", 0.02, "decimal point"),
        ("rim", "intensity", 160, "decimal point"),
        ("lamp", "position", [90, 115, 60], "centimetres"),
    ],
)
def test_other_kinds(light: str, leaf: str, typed: Any, reason: str) -> None:
    made = draft(3)
    made.shots["S_020"]["lights"][light][leaf] = typed
    assert reason in only(made.findings(), "unit-slip").says


def test_a_light_that_is_aimed_at_a_target_takes_its_direction_along() -> None:
    made = draft(3)
    made.shots["S_020"]["lights"]["quay_spot"]["position"] = [120, 240, 200]
    findings = made.findings()
    assert [finding.finding for finding in findings] == ["unit-slip"]
    assert set(findings[0].parameters) == {"lights.quay_spot.position", "lights.quay_spot.direction"}


def test_a_whole_sheet_in_another_unit_is_one_finding() -> None:
    made = draft(3)
    lights = made.shots["S_020"]["lights"]
    lights["window_fill"].update(width=120, height=90, position=[-120, 190, 150])
    lights["rim"]["radius"] = 35
    made.shots["S_020"]["render"]["gi"]["range"] = 350
    finding = only(made.findings(), "unit-slip")
    assert len(finding.cells) == 5
    assert "units: {length: cm}" in finding.do


@given(st.floats(0.2, 8.0))
def test_a_factor_that_is_no_units_is_no_slip(factor: float) -> None:
    feet_and_inches = (0.3048, 3.28084, 0.3937, 2.54, 2.0, 0.5)  # and a diameter for a radius
    if any(abs(factor / unit - 1) < 0.006 for unit in feet_and_inches) or abs(factor - 1) < 0.03:
        return
    made = draft(2)
    made.shots["S_020"]["lights"]["rim"]["radius"] = round(0.35 * factor, 6)
    assert made.findings("unit-slip") == []


@FEW
@given(st.sampled_from([0.01, 0.1, 10.0, 100.0, 1000.0]), st.floats(0.002, 0.15))
def test_a_power_of_ten_must_be_met_exactly(factor: float, off: float) -> None:
    made = draft(2)
    shot = made.shots["S_020"]["lights"]["rim"]
    shot["radius"] = 0.35 * factor
    assert only(made.findings(), "unit-slip").shots == ("S_020",)
    shot["radius"] = 0.35 * factor * (1 + off)
    assert made.findings("unit-slip") == []


def test_samples_have_no_unit() -> None:
    made = draft(2)
    made.shots["S_020"]["lights"]["rim"]["samples"] = 240
    assert made.findings("unit-slip") == []


@pytest.mark.parametrize(("angle", "factor"), [(5.3, "10 times"), (0.053, "1/10 of")])
def test_a_decimal_point_in_the_size_of_the_sun(angle: float, factor: str) -> None:
    made = draft(2)
    made.shots["S_020"]["lights"]["sun"]["angle"] = angle
    assert f"The sun's angle is {factor} the master's in S_020" in only(made.findings(), "unit-slip").says
