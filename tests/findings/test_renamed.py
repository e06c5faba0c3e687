"""Groups under another name."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from findings.drafts import draft, only


@pytest.mark.parametrize(
    ("section", "old", "new"),
    [("lights", "lamp", "lamp1"), ("surfaces", "nets", "nets_b"), ("environments", "dawn_sky", "sky")],
)
def test_one_absent_and_one_extra_with_its_values_are_one_thing(section: str, old: str, new: str) -> None:
    made = draft(4)
    for shot in ("S_020", "S_030"):
        groups = made.shots[shot][section]
        groups[new] = groups.pop(old)
    findings = made.findings()
    assert [finding.finding for finding in findings] == ["renamed"]
    assert findings[0].shots == ("S_020", "S_030")
    assert set(findings[0].parameters) == {f"{section}.{old}", f"{section}.{new}"}
    assert f"is called {new}" in findings[0].says


def test_what_differs_beside_the_name_is_said() -> None:
    made = draft(4)
    lights = made.shots["S_020"]["lights"]
    lights["lamp1"] = {**lights.pop("lamp"), "samples": 24}
    assert "all but samples" in only(made.findings(), "renamed").says


@given(st.floats(0.06, 3.0), st.sampled_from([0, 1, 2]))
def test_a_light_that_stands_elsewhere_is_another_light(metres: float, axis: int) -> None:
    made = draft(4)
    lights = made.shots["S_020"]["lights"]
    lights["lamp1"] = lights.pop("lamp")
    lights["lamp1"]["position"] = [
        x + (metres if number == axis else 0) for number, x in enumerate(lights["lamp1"]["position"])
    ]
    assert made.findings("renamed") == []


def test_an_extra_light_alone_is_not_renamed() -> None:
    made = draft(4)
    lights = made.shots["S_020"]["lights"]
    lights["lamp1"] = dict(lights["lamp"])
    assert made.findings("renamed") == []


@pytest.mark.parametrize("out", [{"visible": False}, {"intensity": 0}])
def test_a_light_that_was_put_out_and_made_again_beside_is_one_thing(out: dict[str, Any]) -> None:
    made = draft(4)
    lights = made.shots["S_020"]["lights"]
    lights["lamp_here"] = {**lights["lamp"], "intensity": 0.4}
    lights["lamp"].update(out)
    (finding,) = made.findings()
    assert finding.finding == "renamed"
    assert "is off in S_020, and lamp_here stands in its place; all but level is the master's" in finding.says


def test_one_that_is_off_beside_another_light_is_off() -> None:
    made = draft(4)
    lights = made.shots["S_020"]["lights"]
    lights["other"] = {**lights["rim"], "position": [4, 4, 4]}
    lights["lamp"]["visible"] = False
    assert made.findings("renamed") == []


def test_each_of_two_names_finds_its_own() -> None:
    made = draft(4)
    lights = made.shots["S_020"]["lights"]
    for name in ("lamp", "rim"):
        lights[{"lamp": "bulb", "rim": "edge"}[name]] = lights.pop(name)
    said = sorted(finding.says for finding in made.findings("renamed"))
    assert len(said) == 2
    assert "lamp is called bulb" in said[0]
    assert "rim is called edge" in said[1]
