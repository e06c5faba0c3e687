"""Render time out of the family."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from findings.drafts import FEW, draft, only
from samelight.findings.render_cost import robust_scores


def test_three_times_the_family() -> None:
    made = draft(8)
    for number, tree in enumerate(made.shots.values()):
        tree["cost"]["test_frame"] = 1080 + 10 * number
    made.shots["S_050"]["cost"]["test_frame"] = 3310
    findings = made.findings()
    assert [finding.finding for finding in findings] == ["render-time"]
    assert findings[0].says == (
        "The test frame of S_050 took 55m10s: 2.96 times the family's 18m40s. Nothing in the lighting explains it."
    )


def test_what_may_explain_it_is_named() -> None:
    made = draft(8)
    made.shots["S_050"]["cost"]["test_frame"] = 3310
    made.shots["S_050"]["render"]["gi"]["samples"] = 768
    assert "The GI samples may explain it." in only(made.findings(), "render-time").says


def test_a_larger_picture_takes_longer_by_right() -> None:
    made = draft(8)
    made.shots["S_050"]["cost"].update(test_frame=4400, resolution=[3840, 1608])
    assert made.findings() == []
    made.shots["S_050"]["cost"].update(test_frame=4400, resolution=[1920, 804])
    assert only(made.findings(), "render-time").shots == ("S_050",)


def test_far_too_quick_is_out_of_the_family_too() -> None:
    made = draft(8)
    made.shots["S_050"]["cost"]["test_frame"] = 200
    assert "missing" in only(made.findings(), "render-time").do


def test_four_shots_are_no_family() -> None:
    made = draft(4)
    made.shots["S_020"]["cost"]["test_frame"] = 9000
    assert made.findings() == []


@FEW
@given(st.lists(st.floats(900, 1300), min_size=8, max_size=8))
def test_the_usual_scatter_is_no_finding(seconds: list[float]) -> None:
    made = draft(8)
    for tree, time in zip(made.shots.values(), seconds, strict=True):
        tree["cost"]["test_frame"] = time
    assert made.findings() == []


@given(st.lists(st.floats(1.0, 1e5), min_size=1, max_size=30), st.floats(0.1, 10.0))
def test_scores_do_not_depend_on_the_unit_of_time(times: list[float], factor: float) -> None:
    _, sigma, scores = robust_scores(np.array(times))
    _, scaled_sigma, scaled = robust_scores(factor * np.array(times))
    assert scaled_sigma == pytest.approx(factor * sigma)
    assert scaled == pytest.approx(scores, abs=1e-6)


def test_no_times_have_no_scores() -> None:
    with pytest.raises(ValueError, match="no times"):
        robust_scores(np.array([]))
