"""Lights that were turned about a mark with the camera."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from findings.drafts import FEW, Draft, draft
from samelight.findings.finding import Finding
from samelight.findings.registry import find_all

FACE = (0.3, 1.62, 0.1)
CAMERA = {"position": [4.1, 1.7, 9.0], "direction": [-0.4, -0.05, -0.91], "moves": False}


def about(place: list[float], degrees: float, centre: tuple[float, ...] = (0.0, 0.0, 0.0)) -> list[float]:
    """A place turned about the vertical through a centre, anticlockwise as seen from above."""
    turn, (x, y, z) = math.radians(degrees), (a - b for a, b in zip(place, centre, strict=True))
    turned = x * math.cos(turn) + z * math.sin(turn), y, z * math.cos(turn) - x * math.sin(turn)
    return [a + b for a, b in zip(turned, centre, strict=True)]


def turned(camera: float, light: float, names: tuple[str, ...] = ("rim",), aims: bool = True) -> Draft:
    """A sequence whose third shot has its camera turned by so many degrees, and some lights about the face by others."""
    made = draft(4)
    shot = made.shots["S_030"]
    shot["camera"] = {**CAMERA, "direction": about([-0.4, -0.05, -0.91], camera)}
    for name in names:
        group = shot["lights"][name]
        group["position"] = about(group["position"], light, FACE)
        if aims:
            group["direction"] = about(group["direction"], light)
    return made


def of(made: Draft) -> list[Finding]:
    found = find_all(replace(made.evidence(), key_shot="S_010")).findings
    return [one for one in found if one.finding == "goes-with-camera"]


def test_a_light_that_turns_with_the_camera_is_told() -> None:
    (found,) = of(turned(-35, -35))
    assert found.says.startswith(
        "The rim goes with the camera in S_030: turned 35° with it since the key shot."
    )
    assert found.shots == ("S_030",)
    assert {name.rpartition(".")[2] for name in found.parameters} >= {"position", "direction"}


def test_several_are_one_finding() -> None:
    (found,) = of(turned(50, 50, ("rim", "window_fill")))
    assert found.says.startswith("window_fill and the rim go with the camera in S_030: turned 50° with it")
    assert {name.split(".")[1] for name in found.parameters} >= {"rim", "window_fill"}
    assert found.guessed.startswith(
        "They were turned to keep the picture of the key shot, or are parented to the camera."
    )
    assert found.do == "Say that it is meant, or set them as the master has them."


@pytest.mark.parametrize(
    ("camera", "light", "aims"),
    [(4, 4, True), (35, -35, True), (35, 30, True), (35, 35, False), (0, 35, True)],
)
def test_a_light_that_turns_otherwise_is_not(camera: float, light: float, aims: bool) -> None:
    made = turned(camera, light, aims=aims)
    if not aims:
        made.shots["S_030"]["lights"]["rim"]["direction"] = [0, -1, 0]
    assert of(made) == []


@pytest.mark.parametrize("leaf", ["position", "direction"])
def test_a_light_of_which_only_half_turns_does_not_stand_to_the_camera_as_it_did(leaf: str) -> None:
    made = turned(35, 35)
    made.shots["S_030"]["lights"]["rim"][leaf] = made.master["lights"]["rim"][leaf]
    assert of(made) == []


def test_a_camera_that_looks_down_has_no_heading() -> None:
    made = turned(35, 35)
    made.shots["S_030"]["camera"]["direction"] = [0.01, -1, 0]
    assert of(made) == []


@FEW
@given(st.integers(-179, 179).filter(lambda degrees: abs(degrees) != 5))
def test_by_any_angle(degrees: int) -> None:
    assert bool(of(turned(degrees, degrees))) == (abs(degrees) > 5)
