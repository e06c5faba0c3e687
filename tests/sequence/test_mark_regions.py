"""Where marks are in the frames of their shots, for those who draw them."""

from __future__ import annotations

from pathlib import Path

import pytest

from measured_sequence import measure, publish, sequence, shoot, tree
from samelight.sequence.mark_regions import mark_regions
from samelight.sequence.session import open_session

SIZE = 240, 135


def test_marks_are_where_the_camera_has_them_and_as_far_off_as_was_measured(tmp_path: Path) -> None:
    folder = sequence(tmp_path / "quay", {"A": tree(), "B": tree(0.4), "C": tree(9.0)})
    (plain,) = mark_regions(open_session(folder), "B", SIZE)
    middle = (plain.left + plain.right) / 2.0, (plain.top + plain.bottom) / 2.0
    # 0.4 m of the 1.8 m that 50 mm on 36 mm take in at 2.5 m.
    assert middle == pytest.approx((0.5 + 0.4 / 1.8, 0.5))
    assert (plain.mark, plain.is_round, plain.severity, plain.says) == ("face", True, 0.0, "face")
    assert mark_regions(open_session(folder), "C", SIZE) == []  # outside of the frame

    shoot(folder, "B", tree(0.4), times=0.5)
    measure(folder, "A", "B")
    session = open_session(folder)
    (off,) = mark_regions(session, "B", SIZE)
    edges = (off.left, off.top, off.right, off.bottom)
    assert edges == pytest.approx((plain.left, plain.top, plain.right, plain.bottom))
    assert off.severity == pytest.approx(4.0, abs=0.4)  # a stop of a tolerance of a quarter
    assert off.says.startswith("face: ") and "unexplained" in off.says
    assert mark_regions(session, "A", SIZE)[0].severity == 0.0

    publish(folder, "B", tree(0.2))  # measured by another sheet: the camera says where it is
    (moved,) = mark_regions(open_session(folder), "B", SIZE)
    assert moved.left < off.left


def test_a_rectangle_stays_one_and_what_is_not_known_is_not_drawn(tmp_path: Path, harbour: Path) -> None:
    stated = tree()
    stated["marks"]["face"]["in_frame"] = [0.25, 0.5, 0.5, 0.75]
    session = open_session(sequence(tmp_path / "quay", {"A": stated}))
    (box,) = mark_regions(session, "A", SIZE)
    assert (box.left, box.top, box.right, box.bottom, box.is_round) == (0.25, 0.5, 0.5, 0.75, False)
    assert mark_regions(session, "A", (0, 0)) == []
    assert mark_regions(session, "no such shot", SIZE) == []
    assert mark_regions(open_session(harbour), "HB_010", SIZE) == []  # its camera has no lens
