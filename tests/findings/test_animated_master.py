"""A master that keys what its lights do is compared with each shot from that shot's own start, where no cell says it too."""

from __future__ import annotations

import copy
from collections.abc import Iterator
from typing import Any

import pytest

from findings.drafts import Draft, Tree, draft, master_tree, only
from samelight.findings import exchanged
from samelight.sheets.sheet import Sheet

FLICKER: list[list[float]] = [[1001, 2.4], [1004, 0.3], [1010, 1.1]]
FADE: list[list[float]] = [[1001, 4.0], [1030, 0.5]]


def keyed(keys: list[list[float]], later: int = 0) -> Tree:
    return {"keys": [[frame + later, value] for frame, value in keys], "interpolation": "linear"}


def flickering(starts: tuple[int, ...] = (1001, 2001, 3001)) -> Draft:
    """A setup with a lamp that flickers and a rim that fades, and shots that begin elsewhere and have both from there on."""
    tree = master_tree()
    tree["frames"] = [1001, 1096]
    tree["lights"]["lamp"]["intensity"] = keyed(FLICKER)
    tree["lights"]["rim"]["intensity"] = keyed(FADE)
    made = draft(len(starts), tree)
    for start, shot in zip(starts, made.shots.values(), strict=True):
        begin_at(shot, start)
    return made


def begin_at(shot: Tree, start: int) -> None:
    shot["frames"] = [start, start + 95]
    shot["lights"]["lamp"]["intensity"] = keyed(FLICKER, start - 1001)
    shot["lights"]["rim"]["intensity"] = keyed(FADE, start - 1001)


def test_shots_that_hold_the_master_have_nothing_to_say() -> None:
    assert flickering().findings() == []


def renamed(lights: Tree) -> None:
    lights["lamp1"] = lights.pop("lamp")


def copied(lights: Tree) -> None:
    """Of a light that stands in the shot as in the master, and one more, as the master has it, which was changed itself."""
    lights["lamp1"] = copy.deepcopy(lights["lamp"])
    lights["lamp"]["position"] = [9, 9, 9]


def swapped(lights: Tree) -> None:
    lights["lamp"], lights["rim"] = lights["rim"], lights["lamp"]


def intensities(lights: Tree) -> None:
    for leaf in ("intensity", "exposure"):
        lights["lamp"][leaf], lights["rim"][leaf] = lights["rim"].get(leaf, 0), lights["lamp"].get(leaf, 0)


@pytest.mark.parametrize(
    ("done", "finding"),
    [(renamed, "renamed"), (copied, "duplicate"), (swapped, "exchanged"), (intensities, "exchanged")],
)
def test_what_was_done_to_a_light_that_flickers_is_told(done: Any, finding: str) -> None:
    """In a shot that begins where the master does, and in one that begins later."""
    made = flickering()
    for name in ("S_010", "S_020"):
        done(made.shots[name]["lights"])
    assert only(made.findings(), finding).shots == ("S_010", "S_020")


def test_a_shot_on_an_older_master_that_flickers() -> None:
    made = flickering()
    older = copy.deepcopy(made.master)
    older["version"] = 2
    older["lights"]["lamp"]["intensity"] = keyed([[frame, value / 2] for frame, value in FLICKER])
    older["lights"]["sun"]["intensity"] = 1.6
    made.older[2] = older
    for start, name in ((1001, "S_010"), (2001, "S_020")):
        lights = made.shots[name]["lights"]
        lights["lamp"]["intensity"] = keyed([[frame, value / 2] for frame, value in FLICKER], start - 1001)
        lights["sun"]["intensity"] = 1.6
        made.shots[name]["master"] = 2
    found = only(made.findings(), "old-master")
    assert found.shots == ("S_010", "S_020") and "all 2 parameters" in found.says


def test_what_stands_still_is_looked_at_once_however_many_shots_begin_elsewhere(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Of each shot only what its own cells hold is asked for, and the lights that are animated."""
    looked: list[str] = []

    def counting(sheet: Sheet, section: str, name: str) -> Iterator[str]:
        looked.append(name)
        return asked(sheet, section, name)

    asked = exchanged.typed_intensity
    monkeypatch.setattr(exchanged, "typed_intensity", counting)

    def looks(shots: int) -> int:
        made = flickering(tuple(range(1001, 1001 + 10 * shots, 10)))
        for number in range(20):
            for tree in (made.master, *made.shots.values()):
                tree["lights"][f"bulb_{number}"] = copy.deepcopy(tree["lights"]["window_fill"])
        for shot in made.shots.values():
            shot["lights"]["sun"]["intensity"] = 2.9
        looked.clear()
        made.findings()
        return len(looked)

    few, many = looks(2), looks(8)
    assert many - few <= 6 * 4


@pytest.mark.parametrize(
    ("late", "says"),
    [
        (1, "The lamp's level runs 1 frame late in S_020: it was shifted, or baked with another first frame"),
        (
            -3,
            "The lamp's level runs 3 frames early in S_020: it was shifted, or baked with another first frame",
        ),
        (
            0.5,
            "The lamp's level runs 0.5 frames late in S_020: it was shifted, or baked with another first frame",
        ),
        (
            -1000,
            "The lamp's level runs 1000 frames early in S_020, at the frames of the master: "
            "the shot begins at another frame than the master, and the keys did not come along",
        ),
        (0, ""),
    ],
)
def test_what_flickers_late_is_told_by_how_many_frames(late: float, says: str) -> None:
    made = flickering()
    made.shots["S_020"]["lights"]["lamp"]["intensity"] = keyed(
        [[frame + late, value] for frame, value in FLICKER], 1000
    )
    found = made.findings()
    assert [(one.finding, one.says.rstrip(".")) for one in found] == ([("late-course", says)] if says else [])


@pytest.mark.parametrize(
    ("late", "known"),
    [
        (-3, "Its keys are the master's, each 3 frames earlier"),
        (-1000, "Its keys stand at the master's frames; the shot begins 1000 frames later"),
    ],
)
def test_what_is_known_of_late_keys_is_counted_as_they_stand(late: float, known: str) -> None:
    made = flickering()
    made.shots["S_020"]["lights"]["lamp"]["intensity"] = keyed(
        [[frame + late, value] for frame, value in FLICKER], 1000
    )
    assert [one.known for one in made.findings("late-course")] == [f"{known}."]


@pytest.mark.parametrize(
    "keys",
    [
        [[2002, 2.4], [2005, 0.3], [2011, 1.3]],
        [[2002, 2.4], [2005, 0.3], [2012, 1.1]],
        [[2002, 2.4], [2005, 0.3]],
    ],
)
def test_what_flickers_otherwise_is_not_late(keys: list[list[float]]) -> None:
    made = flickering()
    made.shots["S_020"]["lights"]["lamp"]["intensity"] = keyed(keys)
    assert made.findings("late-course") == []


def test_what_runs_late_in_several_shots_and_values_is_told_once_for_each_light() -> None:
    made = flickering()
    for start, shot in ((1001, "S_010"), (3001, "S_030")):
        lights = made.shots[shot]["lights"]
        lights["lamp"]["intensity"] = keyed(FLICKER, start - 1000)
        lights["rim"]["intensity"] = keyed(FADE, start - 1000)
    assert {one.says.partition(" in ")[0] for one in made.findings("late-course")} == {
        "The lamp's level runs 1 frame late",
        "The rim's level runs 1 frame late",
    }
    assert {one.shots for one in made.findings()} == {("S_010", "S_030")}


def test_two_values_that_run_late_are_told_in_the_plural() -> None:
    tree = master_tree()
    tree["frames"] = [1001, 1096]
    tree["lights"]["lamp"].update(intensity=keyed(FLICKER), specular=keyed(FADE))
    made = draft(3, tree)
    for shot in made.shots.values():
        begin_at(shot, 1001)
    for name in ("S_010", "S_020"):
        made.shots[name]["lights"]["lamp"].update(intensity=keyed(FLICKER, 2), specular=keyed(FADE, 2))
    found = only(made.findings(), "late-course")
    assert " run 2 frames late in S_010 and S_020: they were shifted, or baked" in found.says
    assert found.known == "Their keys are the master's, each 2 frames later."
    assert found.do == "Shift their keys by −2 frames."
