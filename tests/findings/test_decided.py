"""Decisions that lapsed, and decisions that contradict each other."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from findings.drafts import FEW, draft, only
from samelight.decisions.decision import Verb

LEVEL = "lights.rim.level"


@pytest.mark.parametrize("verb", [Verb.INTEND, Verb.RETURN])
def test_a_decision_on_another_value_has_lapsed(verb: Verb) -> None:
    made = draft(4)
    made.shots["S_020"]["lights"]["rim"]["exposure"] = 0.5
    made.decisions.append(("S_020", LEVEL, verb, "lead", False))
    finding = only(made.findings(), "lapsed")
    assert finding.shots == ("S_020",)
    assert finding.explained == (("S_020", LEVEL),)
    assert (
        "was marked as intended in S_020, and the shot's value changed since" in finding.says
        if verb is Verb.INTEND
        else "sent back" in finding.says
    )
    assert made.findings("unexplained") == []


@FEW
@given(st.floats(0.2, 2.0), st.sampled_from(["rim", "lamp", "bounce"]))
def test_what_is_meant_and_unchanged_is_not_reported_at_all(stops: float, light: str) -> None:
    made = draft(4)
    made.shots["S_020"]["lights"][light]["exposure"] = stops + 0.5
    made.decisions.append(("S_020", f"lights.{light}.level", Verb.INTEND, "lead", True))
    assert made.findings() == []


def test_what_was_sent_back_and_is_the_masters_again_waits_for_a_look_and_one_that_was_meant_for_nothing() -> (
    None
):
    made = draft(4)
    made.decisions.append(("S_010", LEVEL, Verb.INTEND, "lead", False))
    assert made.findings() == []
    made.decisions.append(("S_020", LEVEL, Verb.RETURN, "lead", False))
    finding = only(made.findings(), "mended")
    assert (finding.shots, finding.explained) == (("S_020",), (("S_020", LEVEL),))
    assert finding.says == "The rim's level was sent back in S_020 and is inside its tolerance now."
    assert finding.known == "The reason given was: asked for in dailies."
    assert [str(action) for action in finding.actions] == ["close", "return", "show"]


def test_two_who_did_not_see_each_other_contest_a_cell() -> None:
    made = draft(4)
    made.shots["S_030"]["lights"]["rim"]["exposure"] = -0.4
    made.decisions.append(("S_030", LEVEL, Verb.INTEND, "lead", True))
    made.decisions.append(("S_030", LEVEL, Verb.RETURN, "supervisor", True))
    finding = only(made.findings(), "contested")
    assert finding.shots == ("S_030",)
    assert finding.says.startswith("Two opinions on ")
    assert "lead says it is meant" in finding.says
    assert "supervisor says it goes back" in finding.says


def test_two_of_one_mind_contest_nothing() -> None:
    made = draft(4)
    made.shots["S_030"]["lights"]["rim"]["exposure"] = -0.4
    for who in ("lead", "supervisor"):
        made.decisions.append(("S_030", LEVEL, Verb.INTEND, who, True))
    assert made.findings() == []
