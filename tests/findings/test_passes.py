"""Passes of one frame, and passes that hide things."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from findings.drafts import Draft, Tree, draft, only
from samelight.drift.cells import Grade

FLICKER = {"keys": [[1001, 0.3], [1040, 0.31], [1096, 0.29]], "interpolation": "linear"}


def move_camera(tree: Tree) -> None:
    tree["camera"]["moves"] = True


def key_camera(tree: Tree) -> None:
    tree["camera"]["position"] = {
        "keys": [[1001, [4.1, 1.7, 9]], [1096, [3.9, 1.7, 8]]],
        "interpolation": "linear",
    }


def flicker_lamp(tree: Tree) -> None:
    tree["lights"]["lamp"]["intensity"] = FLICKER


def turn_sky(tree: Tree) -> None:
    tree["environments"]["dawn_sky"]["rotation"] = {
        "keys": [[1001, 40], [1096, 40.3]],
        "interpolation": "linear",
    }


def add_flickering_light(tree: Tree) -> None:
    tree["lights"]["torch"] = {**tree["lights"]["lamp"], "intensity": FLICKER}


MOVES = [move_camera, key_camera, flicker_lamp, turn_sky, add_flickering_light]


@pytest.mark.parametrize("move", MOVES)
def test_one_frame_cannot_stand_for_what_moves(move: Any) -> None:
    made = draft(4)
    move(made.shots["S_020"])
    finding = only(made.findings(), "one-frame")
    assert finding.shots == ("S_020",)
    assert "background pass is one frame in S_020, but" in finding.says
    assert "passes.background.frames" in finding.parameters


@pytest.mark.parametrize(
    ("moves", "level", "names"),
    [
        ([move_camera], Grade.BREAK, {"camera.moves"}),
        ([key_camera], Grade.BREAK, {"camera.moves"}),
        ([flicker_lamp], Grade.DRIFT, {"lights.lamp.level"}),
        ([turn_sky], Grade.DRIFT, {"environments.dawn_sky.rotation"}),
        ([move_camera, flicker_lamp], Grade.BREAK, {"camera.moves", "lights.lamp.level"}),
    ],
)
def test_it_is_a_case_bound_to_what_moves(moves: list[Any], level: Grade, names: set[str]) -> None:
    """Under a camera that moves it is wrong for certain, under a light that is animated only likely."""
    made = draft(4)
    for move in moves:
        move(made.shots["S_020"])
    (case,) = only(made.findings(), "one-frame").cases
    assert (case.shot, case.parameter, case.level) == ("S_020", "findings.one-frame.background", level)
    assert {name for name, _ in case.value.values} == names | {"passes.background.frames"}


@pytest.mark.parametrize("move", MOVES)
def test_all_frames_are_right_there(move: Any) -> None:
    made = draft(4)
    move(made.shots["S_020"])
    made.shots["S_020"]["passes"]["background"]["frames"] = "all"
    names = {finding.finding for finding in made.findings()}
    assert "one-frame" not in names
    assert "held-frame" in names


@pytest.mark.parametrize("move", MOVES)
def test_what_moves_in_the_master_too_is_no_news(move: Any) -> None:
    made = draft(3)
    made.master["camera"] = {"position": [4.1, 1.7, 9.0], "direction": [-0.4, -0.05, -0.91]}
    for tree in (made.master, *made.shots.values()):
        move(tree)
    assert made.findings() == []


def test_a_master_that_renders_all_for_what_moves_and_a_shot_that_does_not() -> None:
    made = draft(3)
    for tree in (made.master, *made.shots.values()):
        flicker_lamp(tree)
        tree["passes"]["background"]["frames"] = "all"
    made.shots["S_020"]["passes"]["background"]["frames"] = "held"
    finding = only(made.findings(), "one-frame")
    assert finding.explained == (("S_020", "passes.background.frames"),)


@pytest.mark.parametrize("frames", ["held", 1, "1", 1001, [1001], [1001, 1001]])
def test_every_way_to_say_one_frame(frames: object) -> None:
    made = draft(3)
    for tree in (made.master, *made.shots.values()):
        tree["passes"]["background"]["frames"] = frames
    move_camera(made.shots["S_020"])
    assert only(made.findings(), "one-frame").shots == ("S_020",)


@pytest.mark.parametrize("frames", ["all", 24, [1001, 1010], "every third"])
def test_more_frames_than_one(frames: object) -> None:
    made = draft(3)
    for tree in (made.master, *made.shots.values()):
        tree["passes"]["background"]["frames"] = frames
    move_camera(made.shots["S_020"])
    assert made.findings("one-frame") == []


def test_still_things_need_no_more() -> None:
    made = draft(3)
    made.shots["S_020"]["passes"]["background"]["frames"] = "all"
    assert [finding.finding for finding in made.findings()] == ["unexplained"]


def test_a_shot_of_one_frame_is_one_frame() -> None:
    made = draft(3)
    move_camera(made.shots["S_020"])
    made.shots["S_020"]["frames"] = [1001, 1001]
    assert made.findings() == []


@given(st.lists(st.booleans(), min_size=4, max_size=4))
def test_each_shot_that_moves_is_named_and_no_other(moving: list[bool]) -> None:
    made = draft(4)
    for tree, moves in zip(made.shots.values(), moving, strict=True):
        tree["camera"]["moves"] = moves
    found = {shot for finding in made.findings() for shot in finding.shots}
    assert found == {shot for shot, moves in zip(made.shots, moving, strict=True) if moves}


def hiding(made: Draft, shots: list[str], hides: list[str]) -> Draft:
    """The sequence with the background pass hiding these things in these shots."""
    for shot in shots:
        made.shots[shot]["passes"]["background"]["hides"] = hides
    return made


def test_a_pass_that_hides_more_or_less_in_some_shots() -> None:
    findings = hiding(draft(6), ["S_020", "S_040"], ["crew", "nets"]).findings()
    assert [finding.finding for finding in findings] == ["pass-hides"]
    assert findings[0].shots == ("S_020", "S_040")
    assert "hides nets, which the master's does not" in findings[0].says
    assert "does not hide crew" in hiding(draft(6), ["S_030"], []).findings()[0].says


def test_in_every_shot_alike_it_is_the_master_that_is_out_of_date() -> None:
    made = draft(6)
    findings = hiding(made, list(made.shots), ["crew", "nets"]).findings()
    assert [finding.finding for finding in findings] == ["master-apart"]
    assert findings[0].says == "All 6 shots agree on the hides of the background pass; master 3 does not."


@given(st.sets(st.sampled_from(["crew", "nets", "boat"])))
def test_hides_exactly_when_the_members_differ(hides: set[str]) -> None:
    made = hiding(draft(3), ["S_020"], sorted(hides))
    assert bool(made.findings("pass-hides")) == (hides != {"crew"})


def test_an_animated_light_of_the_master_under_another_name_moves_no_more_than_that() -> None:
    made = draft(4)
    for tree in (made.master, *made.shots.values()):
        flicker_lamp(tree)
        tree.setdefault("frames", [1001, 1096])
    lights = made.shots["S_020"]["lights"]
    lights["lamp_2"] = lights.pop("lamp")
    assert [one.finding for one in made.findings()] == ["renamed"]
