"""The sun by place, date and time, in place of an azimuth and an elevation.

A light may say `sun: {latitude: 59.91, longitude: 10.75, date_time: 2026-03-02T06:40:00+01:00, elevation_m: 12}`, with
latitude north and longitude east positive, in degrees, and the time with its zone; the elevation above sea level may be
left out. It then shines from where the sun stands (see `samelight.light.sun`), the azimuth counted from the sheet's
north. An animated `date_time` holds from key to key.

For planning pictures only. It does not replace a site survey: terrain, buildings, weather and the local horizon are not
in it. Where people work by it, local codes and licensed practice come first.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from functools import lru_cache
from typing import Any

from samelight.light.directions import Vector, from_azimuth_elevation
from samelight.light.sun import sun_direction
from samelight.sheets.errors import Found, Place
from samelight.sheets.parameters import SUN
from samelight.sheets.quantities import Reader
from samelight.sheets.story import WHEN, time_of

_NEEDED = ("sun.latitude", "sun.longitude", "sun.date_time")


def sun_of(flat: Mapping[str, Any], read: Reader, place: Place) -> Vector | None:
    """Where the sun shines to, as a unit vector, Y-up; None where the light names no sun, or after a fault."""
    if SUN.keys().isdisjoint(flat):
        return None
    faults = len(read.faults)
    for name in flat:
        if name.startswith("sun.") and name not in SUN:
            word = name.removeprefix("sun.")
            known = [one.removeprefix("sun.") for one in SUN]
            read.faults.unknown_key((*place, "sun", word), "a key of a sun", known)
    values = {name: read.known(flat.get(name), SUN[name], _place(place, name)) for name in SUN}
    missing = [name.removeprefix("sun.") for name in _NEEDED if flat.get(name) is None]
    if missing:
        read.faults.add((*place, "sun"), "latitude, longitude and date_time", Found(f"no {missing[0]}"))
    when = _time(values["sun.date_time"], read, _place(place, "sun.date_time"))
    if len(read.faults) > faults or when is None:
        return None
    latitude, longitude, elevation = (
        value if isinstance(value := values[f"sun.{name}"], float) else 0.0
        for name in ("latitude", "longitude", "elevation_m")
    )
    return from_azimuth_elevation(*_sun(latitude, longitude, when, elevation), read.conventions.north)


def _place(place: Place, name: str) -> Place:
    return (*place, *name.split("."))


def _time(stated: object, read: Reader, place: Place) -> datetime | None:
    if not isinstance(stated, str):
        return None
    when = time_of(stated)
    if when is None:
        has_none = time_of(f"{stated.strip()}+00:00") is not None
        read.faults.add(place, WHEN, Found(f"{stated}, which has no zone") if has_none else stated)
    return when


@lru_cache(maxsize=4096)
def _sun(latitude: float, longitude: float, when: datetime, elevation: float) -> tuple[float, float]:
    """Azimuth and elevation; a sequence states the same sun in every shot."""
    return sun_direction(latitude, longitude, when, elevation_m=elevation)
