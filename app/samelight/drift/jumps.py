"""A jump at a cut: neighbours that are not inside their tolerance of each other."""

from __future__ import annotations

from samelight.drift.metrics import measure, severity
from samelight.drift.rows import Entry, Row

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
