"""Rays that see no environment, and the two copies that are as good as one."""

from __future__ import annotations

import copy
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from findings.drafts import FEW, Draft, draft, only

KINDS = ("camera", "indirect", "reflection")


def sky(made: Draft, shot: str) -> dict[str, Any]:
    """The sky of a shot, as typed."""
    typed: dict[str, Any] = made.shots[shot]["environments"]["dawn_sky"]
    return typed


def test_gi_with_a_limited_range_and_no_sky_is_dark() -> None:
    made = draft(4)
    sky(made, "S_020")["seen_by"] = ["camera", "reflection"]
    findings = made.findings()
    assert [finding.finding for finding in findings] == ["gi-gap"]
    assert findings[0].explained == (("S_020", "environments.dawn_sky.seen_by"),)
    assert "after 3.5 m" in findings[0].says


@pytest.mark.parametrize("change", [{"visible": False}, {"intensity": 0}, {"seen_by": ["camera"]}])
def test_a_sky_that_is_off_leaves_both_gaps(change: dict[str, Any]) -> None:
    made = draft(3)
    sky(made, "S_020").update(change)
    assert {finding.finding for finding in made.findings()} == {"gi-gap", "reflection-gap"}


def test_no_environment_at_all() -> None:
    made = draft(3)
    del made.shots["S_020"]["environments"]
    found = {finding.finding: finding for finding in made.findings()}
    assert found.keys() == {"gi-gap", "reflection-gap"}
    assert found["gi-gap"].parameters[0] == "environments.dawn_sky"


def test_the_sky_to_be_seen_stands_in_the_middle_of_its_sentence() -> None:
    made = draft(3)
    for sheet in (made.master, *made.shots.values()):
        sheet["environments"] = {"dusk": dict(sheet["environments"]["dawn_sky"])}
    made.shots["S_020"]["environments"]["dusk"]["seen_by"] = ["camera"]
    assert {finding.do for finding in made.findings()} == {
        "Let these rays see the dusk, or add a copy that only they see.",
        "Let reflection rays see the dusk, or add a copy that only they see.",
    }


def test_without_a_limited_range_nothing_goes_dark() -> None:
    made = draft(3)
    for tree in (made.master, *made.shots.values()):
        del tree["render"]["gi"]["range"]
    sky(made, "S_020")["seen_by"] = ["camera", "reflection"]
    assert made.findings("gi-gap") == []


def test_a_master_with_the_gap_sets_the_measure() -> None:
    made = draft(3)
    for tree in (made.master, *made.shots.values()):
        tree["environments"]["dawn_sky"]["seen_by"] = ["camera"]
    assert made.findings() == []
    sky(made, "S_020")["rotation"] = 70
    assert made.findings("gi-gap") == []


def test_a_range_that_was_set_where_no_sky_is_seen() -> None:
    made = draft(3)
    for tree in (made.master, *made.shots.values()):
        tree["environments"]["dawn_sky"]["seen_by"] = ["camera", "reflection"]
        del tree["render"]["gi"]["range"]
    made.shots["S_020"]["render"]["gi"]["range"] = 3.5
    assert only(made.findings(), "gi-gap").explained == (("S_020", "render.gi.range"),)


@given(st.sets(st.sampled_from(KINDS)))
def test_gaps_follow_from_what_is_seen(seen: set[str]) -> None:
    made = draft(2)
    sky(made, "S_020")["seen_by"] = sorted(seen)
    names = {finding.finding for finding in made.findings()}
    assert ("gi-gap" in names) == ("indirect" not in seen)
    assert ("reflection-gap" in names) == ("reflection" not in seen)


@FEW
@given(st.lists(st.sampled_from(["a", "b"]), min_size=3, max_size=3), st.floats(0.1, 0.9))
def test_copies_that_add_up_are_sound(places: list[str], share: float) -> None:
    if len(set(places)) == 1:
        return
    made = draft(3)
    whole = copy.deepcopy(sky(made, "S_020"))
    seen = {name: [kind for kind, place in zip(KINDS, places, strict=True) if place == name] for name in "ab"}
    made.shots["S_020"]["environments"] = {f"sky_{name}": {**whole, "seen_by": seen[name]} for name in "ab"}
    findings = made.findings()
    assert [finding.finding for finding in findings] == ["equal-copies"]
    assert len(findings[0].cells) == 3
    # Two that every ray sees, and that share the level between them, are sound as well; double the level is not.
    halves = {
        "sky_a": {**whole, "intensity": whole["intensity"] * share},
        "sky_b": {**whole, "intensity": whole["intensity"] * (1 - share)},
    }
    made.shots["S_020"]["environments"] = halves
    assert {finding.finding for finding in made.findings()} == {"equal-copies"}
    halves["sky_b"]["intensity"] = whole["intensity"]
    assert made.findings("equal-copies") == []


@pytest.mark.parametrize(
    "change", [{"rotation": 70}, {"texture": "maps/noon.exr"}, {"temperature": "3200 K"}, {"intensity": 0.5}]
)
def test_a_copy_that_looks_otherwise_is_not_sound(change: dict[str, Any]) -> None:
    made = draft(3)
    skies = made.shots["S_020"]["environments"]
    skies["copy"] = {**copy.deepcopy(skies["dawn_sky"]), "seen_by": ["indirect"], **change}
    skies["dawn_sky"]["seen_by"] = ["camera", "reflection"]
    assert made.findings("equal-copies") == []
    # Of one map, rotation and colour they do not add up; of another they are no copies.
    assert made.findings("unequal-copies" if "intensity" in change else "unexplained")


def test_a_sky_under_another_name_is_renamed_not_copied() -> None:
    made = draft(3)
    skies = made.shots["S_020"]["environments"]
    skies["sky"] = skies.pop("dawn_sky")
    assert [finding.finding for finding in made.findings()] == ["renamed"]
