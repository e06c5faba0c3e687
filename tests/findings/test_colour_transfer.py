"""Colours typed after a transfer curve."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from findings.drafts import FEW, draft, only
from samelight.findings.colour_transfer import srgb_decoded, srgb_encoded

CURVES: dict[str, Callable[[float], float]] = {
    "decoded": srgb_decoded,
    "encoded": srgb_encoded,
    "2.2": lambda x: x**2.2,
    "1/2.2": lambda x: x ** (1 / 2.2),
}
channel = st.floats(0.15, 0.85)


@pytest.mark.parametrize("curve", list(CURVES))
@pytest.mark.parametrize("digits", [2, 3, 6])
def test_a_colour_through_a_curve(curve: str, digits: int) -> None:
    made = draft(3)
    light = made.shots["S_020"]["lights"]["bounce"]
    light["color"] = [round(CURVES[curve](x), digits) for x in light["color"]]
    findings = made.findings()
    assert [finding.finding for finding in findings] == ["colour-transfer"]
    assert set(findings[0].parameters) == {"lights.bounce.level", "lights.bounce.colour"}


@FEW
@given(st.tuples(channel, channel, channel), st.sampled_from(list(CURVES)))
def test_any_colour(color: tuple[float, float, float], curve: str) -> None:
    made = draft(2)
    for tree in (made.master, *made.shots.values()):
        tree["lights"]["bounce"]["color"] = list(color)
    made.shots["S_020"]["lights"]["bounce"]["color"] = [round(CURVES[curve](x), 4) for x in color]
    assert only(made.findings(), "colour-transfer").shots == ("S_020",)


@FEW
@given(st.tuples(channel, channel, channel), st.floats(0.02, 0.15), st.sampled_from([-1, 1]))
def test_one_channel_off_the_curve_is_no_slip(
    color: tuple[float, float, float], off: float, sign: int
) -> None:
    made = draft(2)
    for tree in (made.master, *made.shots.values()):
        tree["lights"]["bounce"]["color"] = list(color)
    slipped = [round(srgb_decoded(x), 4) for x in color]
    slipped[1] = max(0.0, slipped[1] + sign * off)
    if any(abs(slipped[1] - curve(color[1])) < 0.01 for curve in CURVES.values()):
        return
    made.shots["S_020"]["lights"]["bounce"]["color"] = slipped
    assert made.findings("colour-transfer") == []


def test_another_temperature_beside_it_leaves_nothing_to_compare() -> None:
    made = draft(2)
    light = made.shots["S_020"]["lights"]["bounce"]
    light["color"] = [srgb_decoded(x) for x in light["color"]]
    light["temperature"] = "3200 K"
    assert made.findings("colour-transfer") == []


def test_a_level_changed_as_well_stays_open() -> None:
    made = draft(2)
    light = made.shots["S_020"]["lights"]["bounce"]
    light["color"] = [srgb_decoded(x) for x in light["color"]]
    light["exposure"] = 1.5
    assert only(made.findings(), "colour-transfer").parameters == ("lights.bounce.colour",)
    assert only(made.findings(), "unexplained").parameters == ("lights.bounce.level",)


def test_a_sheet_that_states_another_working_space_is_told_once() -> None:
    made = draft(4)
    made.shots["S_020"]["working_space"] = "acescg"
    (finding,) = made.findings()
    assert finding.finding == "colour-transfer"
    assert finding.says == (
        "The bounce and window_fill have the numbers of the master in S_020, read in another space: "
        "the sheet states the working space acescg, and the master rec709."
    )


@pytest.mark.parametrize("units", [{"level": "lx"}, {"area": "cm"}])
def test_levels_in_another_unit_as_well_are_not_put_down_to_the_space(units: dict[str, str]) -> None:
    made = draft(2)
    made.shots["S_020"].update({"working_space": "acescg", "units": units})
    finding = only(made.findings(), "colour-transfer")
    assert finding.parameters == ("lights.bounce.colour", "lights.window_fill.colour")
