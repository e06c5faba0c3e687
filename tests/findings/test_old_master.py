"""Shots that stand on another master."""

from __future__ import annotations

import copy

from hypothesis import given
from hypothesis import strategies as st

from findings.drafts import FEW, Draft, Tree, draft, master_tree, only
from samelight.findings.finding import Sureness

CHANGED = 5


def older() -> Tree:
    """The master before: five parameters differ."""
    tree = master_tree()
    tree["version"] = 2
    tree["lights"]["bounce"]["exposure"] = 0.15
    tree["lights"]["quay_spot"]["temperature"] = "2500 K"
    tree["environments"]["dawn_sky"]["rotation"] = 34
    tree["environments"]["dawn_sky"]["intensity"] = 0.7
    tree["render"]["volume"]["samples"] = 64
    return tree


def made_with(*shots: str) -> Draft:
    """A sequence in which these shots hold the older master's values."""
    made = draft(6)
    made.older[2] = older()
    for shot in shots:
        for section in ("lights", "environments", "render"):
            made.shots[shot][section] = copy.deepcopy(made.older[2][section])
        made.shots[shot]["master"] = 2
    return made


def test_a_shot_on_the_master_before_is_behind() -> None:
    findings = made_with("S_030").findings()
    assert [finding.finding for finding in findings] == ["old-master"]
    finding = findings[0]
    assert finding.shots == ("S_030",)
    assert len(finding.cells) == CHANGED
    assert finding.sureness is Sureness.CERTAIN
    assert "still stands on master 2" in finding.says


def test_several_shots_make_one_finding() -> None:
    finding = only(made_with("S_020", "S_030", "S_040").findings(), "old-master")
    assert finding.shots == ("S_020", "S_030", "S_040")
    assert finding.says.startswith("S_020 to S_040 still stand on master 2")


def test_without_the_sheets_word_it_is_likely_and_no_more() -> None:
    made = made_with("S_030")
    made.shots["S_030"]["master"] = 3
    finding = only(made.findings(), "old-master")
    assert finding.sureness is Sureness.LIKELY
    assert finding.known == "The sheet names master 3, not 2, so it may be a coincidence."


def test_a_sheet_that_only_says_so_is_not_behind() -> None:
    made = made_with()
    made.shots["S_030"]["master"] = 2
    assert made.findings() == []


def test_two_of_five_are_half_adopted_where_the_sheet_says_so_and_where_no_chance_makes_them_equal() -> None:
    made = made_with()
    for light in ("bounce", "quay_spot"):
        made.shots["S_030"]["lights"][light] = copy.deepcopy(made.older[2]["lights"][light])
    for master in (2, 3):
        made.shots["S_030"]["master"] = master
        assert {finding.finding for finding in made.findings()} == {"old-master"}
        finding = only(made.findings(), "old-master")
        assert finding.guessed.startswith("The rest is as in master 3: half of it was adopted.")


def test_one_value_of_an_older_master_is_a_chance_unless_the_sheet_says_so() -> None:
    made = made_with()
    made.shots["S_030"]["lights"]["bounce"] = copy.deepcopy(made.older[2]["lights"]["bounce"])
    assert {finding.finding for finding in made.findings()} == {"unexplained"}
    made.shots["S_030"]["master"] = 2
    assert {finding.finding for finding in made.findings()} == {"old-master"}


@FEW
@given(st.sets(st.integers(0, CHANGED - 1)))
def test_behind_while_any_of_five_is_as_before_and_the_sheet_says_so(kept: set[int]) -> None:
    made = made_with("S_020")
    mine, theirs = made.shots["S_020"], made.master
    for place in kept:  # brought up to date by hand
        if place == 0:
            mine["lights"]["bounce"] = copy.deepcopy(theirs["lights"]["bounce"])
        elif place == 1:
            mine["lights"]["quay_spot"] = copy.deepcopy(theirs["lights"]["quay_spot"])
        elif place == 2:
            mine["environments"]["dawn_sky"]["rotation"] = 40
        elif place == 3:
            mine["environments"]["dawn_sky"]["intensity"] = 0.8
        else:
            mine["render"]["volume"]["samples"] = 96
    found = made.findings("old-master")
    assert bool(found) == (CHANGED - len(kept) >= 1)
    if found:
        assert len(found[0].cells) == CHANGED - len(kept)


def test_the_master_that_fits_best_is_named() -> None:
    made = made_with("S_030")
    first = older()
    first["version"] = 1
    first["lights"]["rim"]["exposure"] = -1
    first["lights"]["bounce"]["exposure"] = -0.5
    made.older[1] = first
    assert "master 2" in only(made.findings(), "old-master").says
    made.shots["S_030"]["lights"] = copy.deepcopy(first["lights"])
    assert "master 1" in only(made.findings(), "old-master").says


def test_a_shot_ahead_of_a_pinned_master_is_told_as_such() -> None:
    made = made_with()
    newer = older()
    newer["version"] = 4
    made.older = {4: newer}
    for section in ("lights", "environments", "render"):
        made.shots["S_030"][section] = copy.deepcopy(newer[section])
    assert "already stands on master 4" in only(made.findings(), "old-master").says


def test_a_dropped_light_counts_as_a_change() -> None:
    made = made_with()
    made.older[2]["lights"]["kick"] = copy.deepcopy(made.master["lights"]["lamp"])
    shot = made.shots["S_030"]
    for section in ("lights", "environments", "render"):
        shot[section] = copy.deepcopy(made.older[2][section])
    finding = only(made.findings(), "old-master")
    assert "lights.kick" in finding.parameters
    assert "all 6 parameters in which masters 2 and 3 differ are as in master 2" in finding.says


def test_what_is_half_adopted_is_told_apart_from_what_is_behind() -> None:
    """Three of the five parameters are no more than the shot that holds all of them has, and yet another thing to mend."""
    made = made_with("S_020", "S_030")
    half = made.shots["S_050"]
    half["lights"]["bounce"]["exposure"] = 0.15
    half["lights"]["quay_spot"]["temperature"] = "2500 K"
    half["environments"]["dawn_sky"]["rotation"] = 34
    assert {one.shots: "half of it was adopted" in one.guessed for one in made.findings("old-master")} == {
        ("S_020", "S_030"): False,
        ("S_050",): True,
    }
