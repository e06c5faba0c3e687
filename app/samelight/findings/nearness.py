"""How near two values of a parameter are to each other, over its tolerance."""

from __future__ import annotations

from samelight.drift.metrics import measure, severity
from samelight.drift.rows import Row
from samelight.sheets.values import Value

SAME_SHARE = 0.1
"""Share of the tolerance by which two values may differ and still count as one value: rounding of what was typed."""


def same(row: Row, a: Value | None, b: Value | None) -> bool:
    """Whether two values of a parameter are one value but for rounding (see `SAME_SHARE`)."""
    return nearness(row, a, b) <= SAME_SHARE


def nearness(row: Row, a: Value | None, b: Value | None) -> float:
    """How far two values of a parameter are apart, over its tolerance; infinite where one is missing."""
    if a is None or b is None:
        return 0.0 if a is b else float("inf")
    return severity(row.kind, measure(row.kind, a, b).drift, row.of(a).tolerance.at_most)
