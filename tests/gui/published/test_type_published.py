"""The size of what a room reads, against what standards ask for."""

from __future__ import annotations

import math

import pytest

from samelight.gui.review.type_size import ANGLE, ROOM, capital_mm


@pytest.mark.parametrize(("metres", "minutes"), [(0.5, 16), (0.7, 20), (3.0, 20), (3.0, 22), (10.0, 24)])
def test_a_height_seen_under_an_angle(metres: float, minutes: float) -> None:
    # NUREG-0700 Rev. 2 (2002), 1.3.1-4: height = 6.283 D (MA) / 21600, which takes the arc for its chord.
    assert capital_mm(metres, minutes) == pytest.approx(6.283 * 1000 * metres * minutes / 21600, rel=1e-4)


def test_capitals_are_within_what_is_preferred() -> None:
    # ISO 9241-3:1992 and NUREG-0700 Rev. 2, 1.3.1-4: at least 16 minutes of arc, 20 to 22 preferred for reading.
    assert 20 <= ANGLE <= 22
    seen = 2 * math.degrees(math.atan2(capital_mm(ROOM) / 2, ROOM * 1000)) * 60
    assert seen == pytest.approx(ANGLE)
