"""The colours of marks as one cloud: what lies apart, what is tolerated, and what is said of it."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pytest

from samelight.drift.grading import plain_entry
from samelight.drift.policy import Tolerance
from samelight.drift.rows import Entry, Row
from samelight.drift.table import Table
from samelight.light.colour import STEP
from samelight.reports.colour_cloud import Cloud, Of, cloud_of, clouds
from samelight.sheets.values import Colour
from samelight.sheets.vocabulary import COLOUR

KEY = Colour(0.25, 0.52)


def cloud(places: Mapping[str, tuple[float, float] | None], at_most: float = 10.0, **keys: str) -> Cloud:
    """Of shots that lie so many steps beside the key shot, which is A."""
    row = Row(
        "picture.face.colour", "picture", "face", "colour", COLOUR, Tolerance(at_most, "", "", ""), None
    )
    pool: list[Entry | None] = [None]
    for place in places.values():
        value = None if place is None else Colour(KEY.u + place[0] * STEP, KEY.v + place[1] * STEP)
        pool.append(None if value is None else plain_entry(row, KEY, value))
    codes = np.arange(1, len(pool), dtype=np.int32)[None]
    return cloud_of(Table.coded([*places], [row], pool, codes), Of.FRAMES, keys.values() or {"A"})


def test_the_key_shot_and_what_is_tolerated_about_it() -> None:
    found = cloud({"A": (0, 0), "B": (3, 4), "C": None}, 10.0)
    (ring,) = found.rings
    assert ring.mark == "face" and (ring.u, ring.v, ring.radius) == pytest.approx((KEY.u, KEY.v, 10.0 * STEP))
    assert [(one.shot, one.is_key, one.drifts) for one in found.points] == [
        ("A", True, False),
        ("B", False, False),
    ]
    assert "the key shot's" in found.points[0].says
    assert "5.0 steps from what it is compared with" in found.points[1].says
    assert found.marks == ("face",)
    assert found.says == "2 marks in 2 shots: none lies apart."


def test_what_is_beyond_tolerance_is_to_be_looked_at() -> None:
    found = cloud({"A": (0, 0), "B": (12, 0), "C": (0, 30)}, 10.0)
    assert [(one.drifts, one.is_named) for one in found.points] == [
        (False, False),
        (True, True),
        (True, True),
    ]
    assert found.points[2].severity == pytest.approx(3.0, rel=1e-3)
    assert found.says == "2 of 3 marks in 3 shots to look at: C face, B face."


def test_what_lies_apart_from_the_others_is_told_though_it_is_tolerated() -> None:
    near = {"A": (0, 0), "B": (1, 0), "C": (0, 1), "D": (-1, 0), "E": (0, -1)}
    found = cloud({**near, "F": (9, 0)}, 30.0)
    assert [one.shot for one in found.points if one.is_apart] == ["F"]
    assert "apart from the others" in found.points[-1].says and not found.points[-1].drifts
    # Not within three steps, however close the others lie; and not among four, which have no middle.
    assert not any(one.is_apart for one in cloud({**near, "F": (2.5, 0)}, 30.0).points)
    assert not any(one.is_apart for one in cloud({"A": (0, 0), "B": (0, 0), "C": (0, 0), "D": (9, 0)}).points)


def test_a_shot_of_the_same_colour_is_no_key_shot() -> None:
    found = cloud({"A": (0, 0), "B": (0, 0)})
    assert [one.is_key for one in found.points] == [True, False]
    assert "0.0 steps from" in found.points[1].says


def test_without_colours_there_is_no_cloud() -> None:
    empty = Table.coded(["A"], [], [None], np.zeros((0, 1), np.int32))
    assert clouds(empty, {"A"}) == {}
    assert cloud_of(empty, Of.SHEETS, {"A"}).says == ""
