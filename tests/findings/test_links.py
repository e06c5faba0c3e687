"""Links that point at nothing."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from findings.drafts import draft, only
from samelight.findings.finding import Sureness


def test_a_link_that_nothing_else_knows() -> None:
    made = draft(4)
    made.shots["S_020"]["surfaces"]["nets"]["assigned_to"] = ["/set/nets_old"]
    findings = made.findings()
    assert [finding.finding for finding in findings] == ["links"]
    assert findings[0].sureness is Sureness.LIKELY
    assert "−/set/nets and +/set/nets_old; nothing else is linked to /set/nets_old" in findings[0].says


def test_lost_members() -> None:
    made = draft(4)
    made.shots["S_020"]["lights"]["bounce"]["light_links"] = ["/set/boat"]
    finding = only(made.findings(), "links")
    assert finding.sureness is Sureness.POSSIBLE
    assert finding.known == "Members were lost."


def test_what_a_capture_says_is_missing() -> None:
    made = draft(4)
    made.shots["S_020"]["lights"]["lamp"]["missing_links"] = ["/set/gone"]
    finding = only(made.findings(), "links")
    assert finding.sureness is Sureness.CERTAIN
    assert "point at nothing in S_020: /set/gone" in finding.says


@pytest.mark.parametrize(
    ("light", "links"),
    [("rim", ["/char/boatman", "/set/nets"]), ("lamp", ["/set/boat"]), ("rim", ["/char/boatman"])],
)
def test_known_things_may_be_lit(light: str, links: list[str]) -> None:
    made = draft(4)
    made.shots["S_020"]["lights"][light]["light_links"] = links
    assert made.findings("links") == []


def test_a_new_thing_that_several_shots_know_is_there() -> None:
    made = draft(4)
    for shot in ("S_020", "S_030"):
        made.shots[shot]["lights"]["rim"]["light_links"] = ["/char/boatman", "/char/dog"]
    assert made.findings("links") == []
    assert only(made.findings(), "one-cause").shots == ("S_020", "S_030")


@given(st.sets(st.sampled_from(["/set/boat", "/set/nets", "/char/boatman"])), st.booleans())
def test_links_drift_exactly_when_members_are_lost_or_unknown(kept: set[str], unknown: bool) -> None:
    made = draft(2)
    links = sorted(kept) + (["/set/nobody"] if unknown else [])
    made.shots["S_020"]["lights"]["bounce"]["light_links"] = links
    assert bool(made.findings("links")) == (unknown or len(kept) < 3)
