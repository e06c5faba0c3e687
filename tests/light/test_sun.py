from datetime import UTC, datetime, timedelta, timezone
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from samelight.light import directions, sun

LATITUDE, LONGITUDE = 53.55, 9.99
MORNING = datetime(2025, 6, 21, 4, 0, tzinfo=UTC)


def test_morning_is_in_the_east_and_evening_in_the_west() -> None:
    morning, low = sun.sun_direction(LATITUDE, LONGITUDE, MORNING)
    evening, _ = sun.sun_direction(LATITUDE, LONGITUDE, MORNING + timedelta(hours=14))
    noon, high = sun.sun_direction(LATITUDE, LONGITUDE, MORNING + timedelta(hours=7, minutes=22))
    assert 45 < morning < 90 and 270 < evening < 315
    assert noon == pytest.approx(180, abs=1)
    assert high == pytest.approx(90 - LATITUDE + 23.44, abs=0.05) and high > low


def test_the_clock_does_not_matter_only_the_moment() -> None:
    other = MORNING.astimezone(timezone(timedelta(hours=9)))
    assert sun.sun_direction(LATITUDE, LONGITUDE, other) == sun.sun_direction(LATITUDE, LONGITUDE, MORNING)


@given(st.floats(-66, 66), st.floats(-180, 180), st.datetimes(datetime(1950, 1, 1), datetime(2100, 1, 1)))
def test_always_a_direction(latitude: float, longitude: float, when: datetime) -> None:
    azimuth, elevation = sun.sun_direction(latitude, longitude, when.replace(tzinfo=UTC))
    assert 0 <= azimuth < 360
    assert -90 <= elevation <= 90
    assert directions.from_azimuth_elevation(azimuth, elevation)


def test_refraction_lifts_a_low_sun_and_vanishes_without_air() -> None:
    sunrise = datetime(2025, 6, 21, 3, 0, tzinfo=UTC)
    _, seen = sun.sun_direction(LATITUDE, LONGITUDE, sunrise)
    _, geometric = sun.sun_direction(LATITUDE, LONGITUDE, sunrise, pressure=0)
    assert 0.2 < seen - geometric < 0.6
    _, mountain = sun.sun_direction(LATITUDE, LONGITUDE, sunrise, pressure=500)
    assert geometric < mountain < seen


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"when": datetime(2025, 6, 21, 4, 0)}, "no time zone"),
        ({"latitude": 91}, "latitude"),
        ({"longitude": 400}, "longitude"),
        ({"elevation_m": 20000}, "elevation"),
        ({"pressure": -1}, "pressure"),
        ({"temperature": -300}, "pressure"),
    ],
)
def test_a_wrong_place_or_time_is_refused(change: dict[str, Any], says: str) -> None:
    given_place: dict[str, Any] = {"latitude": LATITUDE, "longitude": LONGITUDE, "when": MORNING} | change
    with pytest.raises(ValueError, match=says):
        sun.sun_direction(**given_place)


def test_standard_atmosphere() -> None:
    assert sun.standard_pressure(5000) == pytest.approx(540.2, abs=0.2)
