"""When and where each sequence of a production plays, as production.yaml states it.

story:
  latitude: 59.91           # north positive, degrees; longitude east positive
  longitude: 10.75
  times:
    harbour: 2026-03-02T08:40:00+01:00
    mole/night: {date_time: 2026-03-02T21:10:00+01:00, longitude: 10.8}
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import MAXYEAR, MINYEAR, datetime
from typing import Any

from samelight.sheets.errors import Faults, Found, Place, nearest_name

_PLACE = {"latitude": (-90.0, 90.0), "longitude": (-180.0, 360.0), "elevation_m": (-1000.0, 11000.0)}
_KEYS = frozenset({*_PLACE, "times", "notes"})
WHEN = "a date and time with its zone, such as 2026-03-02T06:40:00+01:00"


@dataclass(frozen=True, slots=True)
class Moment:
    """A place on the earth (degrees, north and east positive; metres above the sea) and a time with its zone."""

    latitude: float
    longitude: float
    when: datetime
    elevation_m: float = 0.0

    @property
    def text(self) -> str:
        """The time as people read it."""
        return self.when.strftime("%Y-%m-%d %H:%M")


Story = Mapping[str, Moment]
"""Moments by SEQUENCE, or by SEQUENCE/SETUP."""


def time_of(stated: object) -> datetime | None:
    """A time with its zone; None for what is none, and in the first and the last year that there are, where another zone has none."""
    if not isinstance(stated, str):
        return None
    try:
        when = datetime.fromisoformat(stated.strip())
    except ValueError:
        return None
    is_one = when.tzinfo is not None and MINYEAR < when.year < MAXYEAR
    return when if is_one else None


def moment_of(stated: Mapping[str, Any]) -> Moment | None:
    """The moment that a group with latitude, longitude, date_time and perhaps elevation_m states; None for what states none."""
    when = time_of(stated.get("date_time"))
    numbers = [stated.get(name, 0.0 if name == "elevation_m" else None) for name in _PLACE]
    if when is None or not all(map(_is_number, numbers)):
        return None
    latitude, longitude, elevation = map(float, numbers)
    return Moment(latitude, longitude, when, elevation)


def read_story(stated: Any, sequences: Collection[str], faults: Faults) -> dict[str, Moment]:
    """The moments under `story`, of sequences that the production has."""
    if stated is None:
        return {}
    if not isinstance(stated, dict):
        faults.add(("story",), "latitude, longitude and times", stated)
        return {}
    for key in stated:
        if key not in _KEYS:
            faults.unknown_key(("story", key), "a key of a story", _KEYS)
    place = _place(stated, ("story",), faults)
    times = stated.get("times")
    if not isinstance(times, dict) or not times:
        faults.add(("story", "times"), "sequences, and for each its date and time", times)
        return {}
    found: dict[str, Moment] = {}
    for name, one in times.items():
        at: Place = ("story", "times", name)
        sequence = str(name).partition("/")[0]
        if sequence not in sequences:
            faults.add(
                at, "a sequence, or SEQUENCE/SETUP", Found(sequence), nearest_name(sequence, sequences)
            )
            continue
        own = one if isinstance(one, dict) else {"date_time": one}
        for key in own:
            if key not in _PLACE and key != "date_time":
                faults.unknown_key((*at, key), "a key of a moment", {*_PLACE, "date_time"})
        whole = {**place, **_place(own, at, faults)}
        when = time_of(own.get("date_time"))
        if when is None:
            faults.add((*at, "date_time") if own is one else at, WHEN, own.get("date_time"))
        elif not {"latitude", "longitude"} <= whole.keys():
            faults.add(at, "a latitude and a longitude, here or under story", Found("none"))
        else:
            found[str(name)] = Moment(
                whole["latitude"], whole["longitude"], when, whole.get("elevation_m", 0.0)
            )
    return found


def _place(stated: Mapping[str, Any], at: Place, faults: Faults) -> dict[str, float]:
    found = {}
    for name, (least, most) in _PLACE.items():
        value = stated.get(name)
        if value is None:
            continue
        if not _is_number(value) or not least <= value <= most:
            faults.add((*at, name), f"a number from {least:g} to {most:g}", value)
        else:
            found[name] = float(value)
    return found


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)
