"""Too few samples."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from findings.drafts import FEW, draft, only
from samelight.findings.finding import Concern


def test_below_half_is_low() -> None:
    made = draft(4)
    for shot in ("S_020", "S_030", "S_040"):
        made.shots[shot]["render"]["volume"]["samples"] = 24
    findings = made.findings()
    assert [finding.finding for finding in findings] == ["low-samples"]
    assert findings[0].concern is Concern.NOISE
    assert "24 for 96 in S_020 to S_040, noise ×2" in findings[0].says


@FEW
@given(st.integers(9, 200))
def test_low_exactly_below_half(samples: int) -> None:
    made = draft(2)
    made.shots["S_020"]["render"]["volume"]["samples"] = samples
    assert bool(made.findings("low-samples")) == (samples < 48)


def test_rays_count_and_bounces_do_not() -> None:
    made = draft(2)
    made.shots["S_020"]["surfaces"]["water"]["reflection_samples"] = 16
    assert only(made.findings(), "low-samples").parameters == ("surfaces.water.reflection_samples",)
    made = draft(2)
    for tree in (made.master, *made.shots.values()):
        tree["render"]["gi"]["bounces"] = 8
    made.shots["S_020"]["render"]["gi"]["bounces"] = 2
    assert made.findings("low-samples") == []
