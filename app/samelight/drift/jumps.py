"""A jump at a cut: neighbours that are not inside their tolerance of each other."""

from __future__ import annotations

from functools import cache

import numpy as np

from samelight.drift.cells import Grade
from samelight.drift.metrics import measure, severity
from samelight.drift.rows import Entry, Row
from samelight.drift.table import Table

_SLACK = 1e-9
"""Two shots at opposite ends of half a tolerance are exactly one apart, but for the last digits."""


def jump_between(row: Row, before: Entry | None, after: Entry | None) -> tuple[float, float] | None:
    """Severity and drift from one shot's value to the next one's; None where that is within the row's tolerance.

    Nothing is asked of where the two stand against the master: that each is inside its tolerance is the caller's to see.
    """
    if before is None or after is None or before.value is None or after.value is None:
        return None
    drift = measure(row.kind, before.value, after.value).drift
    heavy = severity(row.kind, drift, row.tolerance.at_most)
    return (heavy, drift) if heavy > 1.0 + _SLACK else None


def jumps_of(table: Table, row: int) -> list[int]:
    """The columns after which a row jumps at the cut: neighbours in the cut that are each within their tolerance of
    what they are held against, and outside it of each other."""
    what, codes, grades = table.rows[row], table.codes[row], table.grade[row]
    inside = (grades >= Grade.SAME) & (grades <= Grade.WITHIN)
    heavy = np.where(inside, table.severity[row], 0.0)
    # No two can be further apart than the sum of their distances from the master.
    near = np.flatnonzero(inside[:-1] & inside[1:] & (heavy[:-1] + heavy[1:] > 1.0))

    @cache
    def jump(before: int, after: int) -> bool:
        return jump_between(what, table.pool[before], table.pool[after]) is not None

    cuts = zip(near.tolist(), codes[near].tolist(), codes[near + 1].tolist(), strict=True)
    return [column for column, before, after in cuts if jump(before, after)]
