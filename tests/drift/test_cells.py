"""Cells and entries compare by what they hold, also where that is no number."""

import math

from samelight.drift.cells import ComparedCell, Grade
from samelight.drift.rows import Entry


def test_what_is_no_number_equals_itself() -> None:
    first, second = (Entry("a", "b", math.nan, math.inf, Grade.DRIFT) for _ in range(2))
    assert first == second and hash(first) == hash(second)
    assert first != Entry("a", "b", 1.0, math.inf, Grade.DRIFT)
    cells = [
        ComparedCell("S", "lights.key", "text", "text", "a", "b", math.nan, "", 0.0, Grade.DRIFT)
        for _ in range(2)
    ]
    assert cells[0] == cells[1] and len(set(cells)) == 1
    entry: object = first
    assert cells[0] != entry
