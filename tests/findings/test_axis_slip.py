"""Directions, places and rotations in other axes."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from findings.drafts import FEW, draft, only

V = list[float]
SLIPS: dict[str, Callable[[V], V]] = {
    "Y and Z swapped": lambda v: [v[0], v[2], v[1]],
    "mirrored in X": lambda v: [-v[0], v[1], v[2]],
    "mirrored in Y": lambda v: [v[0], -v[1], v[2]],
    "mirrored in Z": lambda v: [v[0], v[1], -v[2]],
    "opposite": lambda v: [-v[0], -v[1], -v[2]],
    "half round": lambda v: [-v[0], v[1], -v[2]],
    "a quarter": lambda v: [-v[2], v[1], v[0]],
}


def signed(low: float, high: float) -> st.SearchStrategy[float]:
    """A number of a size between the two, of either sign."""
    return st.builds(lambda size, sign: size * sign, st.floats(low, high), st.sampled_from([-1, 1]))


# Components far enough apart that a swap or a mirror moves the vector by more than any tolerance.
unit = st.tuples(signed(0.2, 0.35), signed(0.5, 0.65), signed(0.8, 1.0)).flatmap(st.permutations).map(tuple)


@pytest.mark.parametrize("says", list(SLIPS))
def test_a_direction_in_other_axes(says: str) -> None:
    made = draft(3)
    light = made.shots["S_020"]["lights"]["rim"]
    light["direction"] = SLIPS[says](light["direction"])
    findings = made.findings()
    assert [finding.finding for finding in findings] == ["axis-slip"]
    assert says in findings[0].says
    assert findings[0].cells == ((made.evidence().table.row("lights.rim.direction"), 1),)


@FEW
@given(unit, st.sampled_from(list(SLIPS)))
def test_any_direction_is_recognised_as_typed_with_four_digits(vector: tuple[float, ...], slip: str) -> None:
    made = draft(2)
    for tree in (made.master, *made.shots.values()):
        tree["lights"]["rim"]["direction"] = list(vector)
    slipped = SLIPS[slip](list(vector))
    made.shots["S_020"]["lights"]["rim"]["direction"] = [round(x, 4) for x in slipped]
    assert only(made.findings(), "axis-slip").shots == ("S_020",)


@FEW
@given(unit, st.floats(3.0, 40.0), st.floats(0.0, 360.0))
def test_a_nudge_is_no_slip(vector: tuple[float, ...], degrees: float, around: float) -> None:
    made = draft(2)
    for tree in (made.master, *made.shots.values()):
        tree["lights"]["rim"]["direction"] = list(vector)
    nudged = _nudged(vector, degrees, around)
    # A nudge may fall on what a slip makes; that is no near miss but a hit.
    for slip in SLIPS.values():
        assume(_apart(slip(list(vector)), nudged) > 0.5)
    assume(_apart([vector[0], vector[2], -vector[1]], nudged) > 0.5)
    assume(_apart([vector[0], -vector[2], vector[1]], nudged) > 0.5)
    assume(_apart([vector[2], vector[1], -vector[0]], nudged) > 0.5)
    made.shots["S_020"]["lights"]["rim"]["direction"] = nudged
    assert made.findings("axis-slip") == []


def test_place_and_direction_together_are_one_finding() -> None:
    made = draft(3)
    light = made.shots["S_020"]["lights"]["window_fill"]
    for leaf in ("position", "direction"):
        light[leaf] = SLIPS["Y and Z swapped"](light[leaf])
    findings = made.findings()
    assert [finding.finding for finding in findings] == ["axis-slip"]
    assert len(findings[0].cells) == 2


def test_a_sky_turned_the_other_way() -> None:
    made = draft(3)
    made.shots["S_020"]["environments"]["dawn_sky"]["rotation"] = -40
    assert "turned the other way" in only(made.findings(), "axis-slip").says
    made.shots["S_020"]["environments"]["dawn_sky"]["rotation"] = -38
    assert made.findings("axis-slip") == []


def _nudged(vector: tuple[float, ...], degrees: float, around: float) -> V:
    size = math.hypot(*vector)
    d = [x / size for x in vector]
    flat = math.hypot(d[0], d[2])
    a = [-d[2] / flat, 0.0, d[0] / flat]
    b = [d[1] * a[2] - d[2] * a[1], d[2] * a[0] - d[0] * a[2], d[0] * a[1] - d[1] * a[0]]
    turn, tilt = math.radians(around), math.radians(degrees)
    return [
        math.cos(tilt) * x + math.sin(tilt) * (math.cos(turn) * p + math.sin(turn) * q)
        for x, p, q in zip(d, a, b, strict=True)
    ]


def _apart(a: V, b: V) -> float:
    cosine = sum(x * y for x, y in zip(a, b, strict=True)) / (math.hypot(*a) * math.hypot(*b))
    return math.degrees(math.acos(max(-1.0, min(1.0, cosine))))


@pytest.mark.parametrize(("rotation", "said"), [(130, "90°"), (310, "90°"), (220, "180°"), (131, "")])
def test_a_sky_map_that_is_off_by_a_quarter_or_half_a_turn(rotation: float, said: str) -> None:
    made = draft(3)
    made.shots["S_020"]["environments"]["dawn_sky"]["rotation"] = rotation
    found = made.findings("axis-slip")
    assert [said in finding.says for finding in found] == ([True] if said else [])


def test_a_place_that_slipped_is_told_of_its_axes_and_not_of_compass_points() -> None:
    made = draft(3)
    x, y, z = made.master["lights"]["rim"]["position"]
    made.shots["S_020"]["lights"]["rim"]["position"] = [-x, y, z]
    says = only(made.findings(), "axis-slip").says
    assert "X counted the other way" in says
    assert "east" not in says


def test_what_is_rolled_or_tilted_with_a_rig_in_other_axes_is_of_that_finding() -> None:
    made = draft(4)
    for tree in (made.master, *made.shots.values()):
        tree["lights"]["bounce"]["roll"] = 0
        tree["environments"]["dawn_sky"]["tilt"] = 0
    shot = made.shots["S_020"]
    for light in shot["lights"].values():
        for name in ("position", "direction", "target"):
            if name in light:
                light[name] = [light[name][0], light[name][2], light[name][1]]
    shot["lights"]["bounce"]["roll"] = -80
    shot["environments"]["dawn_sky"]["tilt"] = -90
    finding = only(made.findings(), "axis-slip")
    assert {"lights.bounce.roll", "environments.dawn_sky.tilt"} <= set(finding.parameters)
