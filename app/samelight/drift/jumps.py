"""A jump at a cut: neighbours that are not inside their tolerance of each other."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

import numpy as np
from numpy.typing import NDArray

from samelight.drift.cells import Grade
from samelight.drift.metrics import SCALES, measure, severity
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
    of_both = row.of(before.value, max(before.away, after.away))
    heavy = severity(row.kind, drift, of_both.tolerance.at_most)
    return (heavy, drift) if heavy > 1.0 + _SLACK else None


def could_jump(
    rows: Sequence[Row], heavy: NDArray[np.float64], drift: NDArray[np.float64]
) -> NDArray[np.bool_]:
    """Which neighbours in the cut could be outside their tolerance of each other, shape (rows, shots - 1).

    `heavy` and `drift` (of the shape (rows, shots)) say how far each is from what both are compared with, as entries
    of a table do; both inside their tolerance. No jump is left out.
    """
    percent = np.array([SCALES[row.kind].unit == "%" for row in rows], dtype=np.bool_)[:, None]
    signed = np.array([SCALES[row.kind].signed for row in rows], dtype=np.bool_)[:, None]
    before, after = drift[:, :-1], drift[:, 1:]
    with np.errstate(invalid="ignore"):
        # A percentage is of the first of the two, which may be less than what it is compared with.
        share = np.where(percent, np.nan_to_num(1.0 - np.abs(before) / 100.0), 1.0)
        opposite = np.sign(before) != np.sign(after)
    # No two can be further apart than the sum of their distances, and on one side of the master no further than the
    # larger of them.
    far = heavy[:, :-1] + heavy[:, 1:] > share
    found: NDArray[np.bool_] = far & (opposite | ~signed | percent)
    return found


def jumps_of(table: Table, row: int) -> list[int]:
    """The columns after which a row jumps at the cut: neighbours in the cut that are each within their tolerance of
    what they are compared with, and outside it of each other. Where set-ups meet, nothing is to be alike."""
    if table.parts:
        return _jumps_of_parts(table, row)
    what, codes, grades = table.rows[row], table.codes[row], table.grade[row]
    inside = (grades >= Grade.SAME) & (grades <= Grade.WITHIN)
    heavy = np.where(inside, table.severity[row], 0.0)
    far = could_jump([what], heavy[None], table.drift[row][None])[0]
    near = np.flatnonzero(inside[:-1] & inside[1:] & far)

    @cache
    def jump(before: int, after: int) -> bool:
        return jump_between(what, table.pool[before], table.pool[after]) is not None

    cuts = zip(near.tolist(), codes[near].tolist(), codes[near + 1].tolist(), strict=True)
    return [column for column, before, after in cuts if jump(before, after)]


def _jumps_of_parts(table: Table, row: int) -> list[int]:
    """The columns after which a row jumps inside a part, where its two shots stand beside each other in the whole."""
    found = []
    for part in table.parts:
        own, columns = part.table.row(table.rows[row].parameter), part.columns.tolist()
        inside = [] if own is None else jumps_of(part.table, own)
        found += [columns[at] for at in inside if columns[at + 1] == columns[at] + 1]
    return sorted(found)
