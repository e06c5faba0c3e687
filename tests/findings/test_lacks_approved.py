"""A shot without the change that was approved for the shots around it."""

from __future__ import annotations

from typing import Any

import pytest

from findings.drafts import Draft, draft
from samelight.decisions.decision import Verb
from samelight.drift.cells import Grade
from samelight.findings.finding import Finding
from samelight.findings.lacks_approved import LONGEST, NAME
from samelight.sheets.values import Level

NIGHT = {"level": 0.1, "texture": "maps/night.exr"}


def at_night(sheet: dict[str, Any]) -> None:
    sheet["environments"]["dawn_sky"].update(intensity=0.1, texture="maps/night.exr")
    sheet["environments"]["dawn_sky"].pop("sha256", None)


def night(*columns: int, approved: tuple[int, ...] | None = None, count: int = 8) -> Draft:
    """A sequence in which these shots play at night, approved in these (None: in all of them)."""
    made = draft(count)
    shots = list(made.shots)
    for column in columns:
        at_night(made.shots[shots[column]])
        for leaf in ("level", "texture") if approved is None or column in approved else ():
            made.decisions.append((shots[column], f"environments.dawn_sky.{leaf}", Verb.INTEND, "lead", True))
    return made


def told(made: Draft) -> list[Finding]:
    return made.findings(NAME)


def test_a_night_scene_in_which_one_shot_has_the_day_sky() -> None:
    found = told(night(1, 2, 4, 5))
    assert [finding.shots for finding in found] == [("S_040",)]
    (finding,) = found
    assert finding.parameters == ("environments.dawn_sky.level", "environments.dawn_sky.texture")
    assert finding.says == (
        "S_040 lacks what lead intended in S_030 and S_050: dawn_sky's level and dawn_sky's texture are the master's."
    )
    assert "asked for in dailies" in finding.known
    (case,) = finding.cases
    assert (case.shot, case.parameter, case.level) == ("S_040", "findings.lacks-approved", Grade.DRIFT)
    assert dict(case.value.values)["environments.dawn_sky.level"] == Level(0.8)
    assert case.master is not None
    assert dict(case.master.values)["environments.dawn_sky.level"] == Level(0.1)


@pytest.mark.parametrize(
    "columns",
    [(1, 2, 3, 4), (1,), (1, 2), (0, 1, 6, 7), (1, 5)],
    ids=["whole scene", "alone", "two neighbours", "two scenes", "two of a few"],
)
def test_what_stands_around_nothing(columns: tuple[int, ...]) -> None:
    assert told(night(*columns)) == []


def test_one_approved_shot_on_one_side_only() -> None:
    assert told(night(1, 2, 4, 5, approved=(1, 2))) == []


def test_neighbours_with_different_approved_values() -> None:
    made = night(2, 4)
    made.shots["S_050"]["environments"]["dawn_sky"].update(intensity=0.2, texture="maps/dusk.exr")
    assert told(made) == []


def test_a_shot_of_which_it_was_said_that_it_differs() -> None:
    made = night(1, 2, 4, 5)
    made.shots["S_040"]["environments"]["dawn_sky"]["intensity"] = 0.4
    made.decisions.append(("S_040", "environments.dawn_sky.level", Verb.INTEND, "lead", True))
    assert [finding.parameters for finding in told(made)] == [("environments.dawn_sky.texture",)]


def test_a_shot_that_has_the_change_and_waits_for_its_approval_lacks_nothing() -> None:
    made = night(1, 2, 3, 4, 5, approved=(1, 2, 4, 5))
    assert told(made) == []


def test_beside_one_that_waits_another_is_told() -> None:
    assert [finding.shots for finding in told(night(1, 2, 4, 5, approved=(1, 2, 5)))] == [("S_040",)]


def test_another_value_is_a_cell_of_its_own_and_told_with_it() -> None:
    made = night(1, 2, 4, 5)
    made.shots["S_040"]["environments"]["dawn_sky"]["intensity"] = 0.4
    (finding,) = told(made)
    assert "dawn_sky's level is another and dawn_sky's texture is the master's" in finding.says
    assert finding.explained == (("S_040", "environments.dawn_sky.level"),)
    (case,) = finding.cases
    assert [name for name, _ in case.value.values] == ["environments.dawn_sky.texture"]


def test_a_light_that_all_around_have() -> None:
    made = draft(6)
    for shot in ("S_010", "S_020", "S_040", "S_050"):
        made.shots[shot]["lights"]["moon"] = {
            "type": "distant",
            "azimuth": 20,
            "elevation": 50,
            "intensity": 0.2,
        }
        made.decisions.append((shot, "lights.moon", Verb.INTEND, "lead", True))
    (finding,) = told(made)
    assert finding.shots == ("S_030",)
    assert finding.says.endswith("the moon is not there.")


def test_more_shots_than_a_few_are_a_scene_of_their_own() -> None:
    around = 4
    for between in range(1, LONGEST + 2):
        columns = [*range(around), *range(around + between, 2 * around + between)]
        found = told(night(*columns, count=2 * around + between + 1))
        assert len(found) == (between if between <= LONGEST else 0)


def test_a_change_in_fewer_shots_than_lack_it_is_theirs_alone() -> None:
    assert told(night(1, 4)) == [] and told(night(1, 3)) != []


def test_a_shot_whose_approval_has_lapsed_since_it_went_back_to_the_master() -> None:
    made = night(1, 2, 4, 5)
    made.decisions.append(("S_040", "environments.dawn_sky.level", Verb.INTEND, "lead", False))
    made.decisions.append(("S_040", "environments.dawn_sky.texture", Verb.INTEND, "lead", False))
    (finding,) = told(made)
    assert finding.shots == ("S_040",)
    assert finding.parameters == ("environments.dawn_sky.level", "environments.dawn_sky.texture")


def test_beside_a_shot_that_was_sent_back_another_is_told() -> None:
    made = night(1, 2, 5, 6)
    made.shots["S_040"]["environments"]["dawn_sky"]["intensity"] = 0.4
    made.decisions.append(("S_040", "environments.dawn_sky.level", Verb.RETURN, "lead", True))
    found = {finding.shots[0]: finding.parameters for finding in told(made)}
    assert found["S_050"] == ("environments.dawn_sky.level", "environments.dawn_sky.texture")
    assert "environments.dawn_sky.level" not in found.get("S_040", ())
