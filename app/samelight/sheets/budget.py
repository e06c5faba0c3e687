"""The render budget of a production, as production.yaml states it: how many machine hours there are on which day.

budget:
  from: 2026-12-01
  hours_a_day: {2026-12-01: 120, 2027-01-07: 240}   # from that day on; or one number
  days_off: [sat, sun, 2026-12-25]
  until: {harbour: 2026-12-20}                      # when a sequence has to be there; or one day for all
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from samelight.sheets.errors import Faults, Place, nearest_name

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")

MOST_HOURS = 1e7
"""Machine hours of a day: of more than 400,000 machines."""

_KEYS = frozenset({"from", "hours_a_day", "days_off", "until", "notes"})
_DAY = "a date such as 2026-12-01"
_LATEST = date(9900, 1, 1)
"""On which a budget may begin: what it renders is told for years after it."""


@dataclass(frozen=True, slots=True)
class Budget:
    """Machine hours by day: `hours` hold from their day on, in order; `until` is by sequence the last day on which it may be
    rendered."""

    start: date
    hours: tuple[tuple[date, float], ...]
    days_off: frozenset[date | int] = frozenset()
    until: Mapping[str, date] = field(default_factory=dict)

    def on(self, day: date) -> float:
        """Machine hours that there are on a day.

        >>> Budget(date(2026, 12, 1), ((date(2026, 12, 1), 8.0),), frozenset({6})).on(date(2026, 12, 6))
        0.0
        """
        if day < self.start or day in self.days_off or day.weekday() in self.days_off:
            return 0.0
        return next((hours for start, hours in reversed(self.hours) if start <= day), 0.0)


def read_budget(stated: Any, sequences: Collection[str], faults: Faults) -> Budget | None:
    """The budget under `budget`; None where none is stated, or after a fault."""
    if stated is None:
        return None
    place: Place = ("budget",)
    if not isinstance(stated, dict):
        faults.add(place, "from and hours_a_day", stated)
        return None
    for key in stated:
        if key not in _KEYS:
            faults.unknown_key((*place, key), "a key of a budget", _KEYS)
    start = _day(stated.get("from"), (*place, "from"), faults)
    if start is not None and start > _LATEST:
        faults.add((*place, "from"), _DAY, stated["from"])
    if start is None or start > _LATEST:
        return None
    hours = _hours(stated.get("hours_a_day"), start, (*place, "hours_a_day"), faults)
    until = _until(stated.get("until"), sequences, (*place, "until"), faults)
    return Budget(start, hours, _days_off(stated.get("days_off"), (*place, "days_off"), faults), until)


def _day(stated: Any, place: Place, faults: Faults) -> date | None:
    try:
        return date.fromisoformat(stated.strip())
    except (AttributeError, ValueError):
        faults.add(place, _DAY, stated)
        return None


def _hours(stated: Any, start: date, place: Place, faults: Faults) -> tuple[tuple[date, float], ...]:
    by_day = stated if isinstance(stated, dict) else {start.isoformat(): stated}
    found = []
    for name, amount in by_day.items():
        at = (*place, name) if isinstance(stated, dict) else place
        day = _day(name, at, faults)
        if (
            isinstance(amount, bool)
            or not isinstance(amount, int | float)
            or not math.isfinite(amount)
            or not 0 <= amount <= MOST_HOURS
        ):
            faults.add(at, f"machine hours of a day, 0 to {MOST_HOURS:,.0f}", amount)
        elif day is not None:
            found.append((day, float(amount)))
    return tuple(sorted(found))


def _days_off(stated: Any, place: Place, faults: Faults) -> frozenset[date | int]:
    listed = [] if stated is None else stated if isinstance(stated, list) else [stated]
    found: set[date | int] = set()
    for index, one in enumerate(listed):
        word = one.strip().lower()[:3] if isinstance(one, str) else ""
        if word in WEEKDAYS:
            found.add(WEEKDAYS.index(word))
            continue
        day = _day(one, (*place, index) if listed is stated else place, faults)
        if day is not None:
            found.add(day)
    return frozenset(found)


def _until(stated: Any, sequences: Collection[str], place: Place, faults: Faults) -> dict[str, date]:
    if stated is None:
        return {}
    if not isinstance(stated, dict):
        day = _day(stated, place, faults)
        return {} if day is None else dict.fromkeys(sequences, day)
    found = {}
    for name, one in stated.items():
        if str(name) not in sequences:
            faults.add(
                (*place, name), "a sequence of the production", name, nearest_name(str(name), sequences)
            )
            continue
        day = _day(one, (*place, name), faults)
        if day is not None:
            found[str(name)] = day
    return found
