"""Settings at their defaults, and render settings that were never made again."""

from __future__ import annotations

import copy
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from findings.drafts import FEW, draft, only
from samelight.drift.policy import default_policy
from samelight.findings.finding import Sureness


def test_a_setting_back_at_its_default() -> None:
    made = draft(4)
    for shot in ("S_020", "S_030"):
        made.shots[shot]["render"]["volume"]["samples"] = 8
    findings = made.findings()
    assert [finding.finding for finding in findings] == ["at-default"]
    assert findings[0].shots == ("S_020", "S_030")
    assert "8 for 96, noise ×3.46" in findings[0].says


@FEW
@given(st.integers(1, 95).filter(lambda n: n != 8))
def test_another_low_value_is_no_default(samples: int) -> None:
    made = draft(2)
    made.shots["S_020"]["render"]["volume"]["samples"] = samples
    assert made.findings("at-default") == []


def test_a_setting_that_nobody_set() -> None:
    made = draft(3)
    del made.shots["S_020"]["render"]["volume"]["samples"]
    assert "not set, and so at the default" in only(made.findings(), "at-default").says


def test_without_a_policys_word_nothing_is_a_default() -> None:
    made = draft(3)
    made.policy = default_policy()
    made.shots["S_020"]["render"]["volume"]["samples"] = 8
    assert made.findings("at-default") == []
    assert made.findings("low-samples")


def test_a_default_is_read_as_the_sheets_are() -> None:
    made = draft(3)
    made.policy = replace(made.policy, defaults=(("render.volume.step", "100 cm"), ("lights.*.intensity", 1)))
    made.shots["S_010"]["render"]["volume"]["step"] = 1
    made.shots["S_020"]["lights"]["quay_spot"]["intensity"] = 1.0
    made.shots["S_030"]["lights"]["quay_spot"]["exposure"] = 1
    found = {shot for finding in made.findings("at-default") for shot in finding.shots}
    assert found == {"S_010", "S_020"}


def test_a_whole_group_that_is_absent_was_never_made_again() -> None:
    made = draft(4)
    for shot in ("S_020", "S_030"):
        del made.shots[shot]["render"]["gi"]
    findings = made.findings()
    assert [finding.finding for finding in findings] == ["settings-not-remade"]
    assert findings[0].shots == ("S_020", "S_030")
    assert "GI is absent" in findings[0].says


def test_no_render_settings_at_all() -> None:
    made = draft(3)
    del made.shots["S_020"]["render"]
    finding = only(made.findings(), "settings-not-remade")
    assert set(finding.parameters) == {"render.gi", "render.volume", "render.sampling"}


def test_a_group_all_at_defaults_was_never_made_again() -> None:
    made = draft(3)
    made.shots["S_020"]["render"]["gi"] = {"on": False, "range": 0, "bounces": 1, "samples": 16}
    finding = only(made.findings(), "settings-not-remade")
    assert "every value of GI is at its default" in finding.says
    assert len(finding.cells) == 4


@given(st.sampled_from(["range", "bounces", "samples"]))
def test_one_value_that_was_set_and_it_was_remade(leaf: str) -> None:
    made = draft(2)
    gi = {"on": False, "range": 0, "bounces": 1, "samples": 16}
    gi[leaf] = {"range": 5, "bounces": 2, "samples": 100}[leaf]
    made.shots["S_020"]["render"]["gi"] = gi
    assert made.findings("settings-not-remade") == []
    assert made.findings("at-default")


AT_FALLBACKS: list[tuple[str, dict[str, Any], str]] = [
    ("quay_spot", {"intensity": 1, "temperature": 6500}, "Quay_spot has intensity 1 and temperature 6500 K"),
    ("window_fill", {"intensity": 1.0, "exposure": 0}, "intensity 1 and exposure 0"),
    ("window_fill", {"color": [1, 1, 1]}, "a white colour"),
    ("rim", {"temperature": "6500 K"}, "temperature 6500 K"),
    ("lamp", {"position": [0, 0, 0]}, "its place at the origin"),
    ("quay_spot", {"target": None, "direction": [0, 0, -1]}, "its aim along −Z"),
    ("rim", {"intensity": 1}, ""),
    ("window_fill", {"exposure": 0, "intensity": 1.3}, ""),
    ("rim", {"temperature": "6400 K"}, ""),
    ("lamp", {"position": [0, 0, 0.01]}, ""),
    ("rim", {"color": [1, 1, 1], "temperature": "6000 K"}, ""),
]


@pytest.mark.parametrize(("light", "change", "says"), AT_FALLBACKS)
@pytest.mark.parametrize("defaults", [(), (("lights.*.samples", 4),)])
def test_a_light_that_has_what_one_has_that_states_nothing(
    light: str, change: dict[str, Any], says: str, defaults: tuple[tuple[str, Any], ...]
) -> None:
    made = draft(4)
    made.policy = replace(made.policy, defaults=defaults)
    for shot in ("S_020", "S_040"):
        made.shots[shot]["lights"][light].update(copy.deepcopy(change))
        for name in [name for name, value in change.items() if value is None]:
            del made.shots[shot]["lights"][light][name]
    found = made.findings("at-default")
    assert [one.shots for one in found] == ([("S_020", "S_040")] if says else [])
    assert all(says.lower() in one.says.lower() for one in found)
    assert all((one.sureness is Sureness.LIKELY) == (" and " in says) for one in found)


def test_what_the_policy_calls_a_default_is_told_once() -> None:
    made = draft(4)
    made.policy = replace(made.policy, defaults=(("lights.*.temperature", 6500), ("lights.*.intensity", 1)))
    made.shots["S_020"]["lights"]["quay_spot"].update(intensity=1, temperature=6500)
    found = made.findings()
    assert {one.finding for one in found} == {"at-default"}
    assert all(one.known == "The policy names this value as the default." for one in found)
