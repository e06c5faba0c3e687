"""What findings say."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from samelight.findings.words import shots_text, stands
from samelight.light.directions import from_azimuth_elevation

SHOTS = [f"S_{10 * number:03d}" for number in range(1, 31)]


@pytest.mark.parametrize(
    ("columns", "text"),
    [
        ([3], "S_040"),
        ([3, 4], "S_040 and S_050"),
        ([3, 4, 5], "S_040 to S_060"),
        ([0, 2, 4, 6, 8, 10], "S_010, S_030, S_050, S_070 and 2 more"),
        ([0, 1, 2, 10, 20, 21, 22], "S_010 to S_030, S_110 and S_210 to S_230"),
        (list(range(30)), "all 30 shots"),
        ([], ""),
    ],
)
def test_shots_are_named_compactly(columns: list[int], text: str) -> None:
    assert shots_text(columns, SHOTS) == text


@given(st.sets(st.integers(0, 29), min_size=1))
def test_every_shot_is_counted(columns: set[int]) -> None:
    text = shots_text(sorted(columns), SHOTS)
    if "all" in text:
        assert len(columns) == 30
        return
    count = 0
    for part in text.replace(" and ", ", ").split(", "):
        if part.endswith(" more"):
            count += int(part.split()[0])
        elif " to " in part:
            first, last = (SHOTS.index(name) for name in part.split(" to "))
            count += last - first + 1
        else:
            count += 1
    assert count == len(columns)


@pytest.mark.parametrize(
    ("before", "after", "text"),
    [
        ((131, 24), (143, 24), "11° further south"),
        ((131, 24), (119, 24), "11° further east"),
        ((350, 10), (5, 10), "14.8° further east"),
        ((181, 10), (170, 10), "10.8° further east"),
        ((131, 24), (131, 36), "12° higher"),
        ((131, 24), (136, 19), "6.8° off, further south and lower"),
        ((131, 24), (311, 24), "132° away"),
    ],
)
def test_where_a_sun_went(before: tuple[float, float], after: tuple[float, float], text: str) -> None:
    assert stands(from_azimuth_elevation(*before), from_azimuth_elevation(*after)) == text
