"""All lights of a rig at once: warmer or cooler by one shift, or turned while a mark stays."""

from __future__ import annotations

import math
from typing import Any

import pytest

from findings.drafts import Draft, Tree, draft, only
from samelight.findings.finding import Concern

SHIFT = 40.0


def warmer(lights: dict[str, Tree], *but: str) -> None:
    """All temperatures by one shift, rounded as people type them."""
    for name, light in lights.items():
        if "temperature" in light and name not in but:
            kelvin = float(str(light["temperature"]).removesuffix(" K"))
            light["temperature"] = f"{round(1e6 / (1e6 / kelvin + SHIFT), -1):g} K"


def test_a_rig_that_is_warmer_by_one_shift_is_one_finding() -> None:
    made = draft(4)
    for shot in ("S_020", "S_030"):
        warmer(made.shots[shot]["lights"])
    (finding,) = made.findings()
    assert finding.finding == "whole-rig"
    assert finding.says == (
        "The whole rig is about 40 mired warmer in S_020 and S_030: every light that has a temperature, all by the same."
    )


@pytest.mark.parametrize("but", [("sun",), ("lamp", "rim")])
def test_lights_that_stay_make_no_rig(but: tuple[str, ...]) -> None:
    made = draft(4)
    warmer(made.shots["S_020"]["lights"], *but)
    assert made.findings("whole-rig") == []


def turned(made: Draft, degrees: float, shot: str) -> dict[str, Any]:
    """The lights of a shot turned about the vertical through the origin; its tree."""
    a = math.radians(degrees)
    tree: dict[str, Any] = made.shots[shot]

    def turn(v: list[float]) -> list[float]:
        return [v[0] * math.cos(a) - v[2] * math.sin(a), v[1], v[0] * math.sin(a) + v[2] * math.cos(a)]

    for light in tree["lights"].values():
        light.update(
            {name: turn(light[name]) for name in ("position", "target", "direction") if name in light}
        )
    tree["lights"]["sun"]["azimuth"] += degrees
    tree["environments"]["dawn_sky"]["rotation"] += degrees
    return tree


@pytest.mark.parametrize("goes_along", [False, True])
def test_a_mark_near_the_axis_that_a_rig_turned_about_goes_along_only_if_it_turns(goes_along: bool) -> None:
    made = draft(4)
    made.derived = None
    for tree in (made.master, *made.shots.values()):
        tree["key_shot"] = "S_010"
        tree.setdefault("marks", {})["face"] = {"position": [0, 1.6, 0], "normal": [0, 0, 1]}
    tree = turned(made, 30, "S_020")
    if goes_along:
        a = math.radians(30)
        tree["marks"]["face"]["normal"] = [-math.sin(a), 0, math.cos(a)]
    finding = only(made.findings(), "moved-together")
    assert ("the picture is the same" in finding.says) is goes_along
    assert (finding.concern is Concern.SOUND) is goes_along


def two_lights() -> Draft:
    """A rig of a sun, a sky and two lights that stand somewhere."""
    made = draft(4)
    for tree in (made.master, *made.shots.values()):
        tree["lights"] = {name: tree["lights"][name] for name in ("sun", "quay_spot", "lamp")}
    return made


def shifted(light: Tree, by: tuple[float, float, float]) -> None:
    for name in ("position", "target"):
        if name in light:
            light[name] = [a + b for a, b in zip(light[name], by, strict=True)]


def test_two_lights_that_went_one_way_are_a_rig_and_a_mark_that_stands_still_stays_behind() -> None:
    made = two_lights()
    made.derived = None
    for tree in (made.master, *made.shots.values()):
        tree["key_shot"] = "S_010"
    for name in ("quay_spot", "lamp"):
        shifted(made.shots["S_020"]["lights"][name], (1.0, 0.0, -2.0))
    finding = only(made.findings(), "moved-together")
    assert "is moved by 2.24 m as one in S_020; the face stayed behind" in finding.says
    assert finding.concern is Concern.PICTURE


def test_two_lights_that_went_different_ways_are_none() -> None:
    made = two_lights()
    shifted(made.shots["S_020"]["lights"]["quay_spot"], (1.0, 0.0, -2.0))
    shifted(made.shots["S_020"]["lights"]["lamp"], (0.0, 0.0, -2.0))
    assert made.findings("moved-together") == []


def test_one_light_that_went_among_suns_is_no_rig() -> None:
    made = draft(4)
    for tree in (made.master, *made.shots.values()):
        sun, spot = tree["lights"]["sun"], tree["lights"]["quay_spot"]
        suns = {f"sun_{place}": {**sun, "azimuth": 20 * place} for place in range(5)}
        tree["lights"] = {"quay_spot": spot, **suns}
    made.shots["S_020"]["lights"]["quay_spot"]["position"] = [3, 2.4, 2]
    assert made.findings("moved-together") == []


def test_a_mark_that_stands_still_does_not_go_along_by_a_few_centimetres() -> None:
    made = draft(4)
    made.derived = None
    for tree in (made.master, *made.shots.values()):
        tree["key_shot"] = "S_010"
    for light in made.shots["S_020"]["lights"].values():
        shifted(light, (0.07, 0.0, 0.0))
    finding = only(made.findings(), "moved-together")
    assert finding.says == "The whole rig is moved by 0.07 m as one in S_020; the face stayed behind."
    assert finding.concern is Concern.PICTURE
