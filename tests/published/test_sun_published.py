"""The sun's place against the worked example of the algorithm's authors and against the almanac."""

from datetime import UTC, datetime, timedelta, timezone

import pytest

from samelight.light import directions, sun

MOUNTAIN = timezone(timedelta(hours=-7))
GOLDEN = {"elevation_m": 1830.14, "pressure": 820.0, "temperature": 11.0, "delta_t": 67.0}


def test_the_worked_example() -> None:
    """Reda and Andreas 2004, Solar Energy 76:577, appendix: 17 October 2003, 12:30:30 local time (TZ -7),
    39.742476 N, 105.1786 W, 1830.14 m, 820 mbar, 11 °C, delta T 67 s: zenith 50.11162, azimuth 194.34024
    degrees. The same figures with more digits: pvlib, tests/test_spa.py."""
    when = datetime(2003, 10, 17, 12, 30, 30, tzinfo=MOUNTAIN)
    azimuth, elevation = sun.sun_direction(39.742476, -105.1786, when, **GOLDEN)
    assert azimuth == pytest.approx(194.340241, abs=1e-5)
    assert 90 - elevation == pytest.approx(50.11162, abs=1e-5)


def test_the_worked_example_without_air() -> None:
    """The same case before refraction: elevation 39.872046 degrees (pvlib, tests/test_spa.py, e0)."""
    when = datetime(2003, 10, 17, 12, 30, 30, tzinfo=MOUNTAIN)
    _, elevation = sun.sun_direction(39.742476, -105.1786, when, **{**GOLDEN, "pressure": 0.0})
    assert elevation == pytest.approx(39.872046, abs=1e-5)


def test_the_same_place_a_year_later() -> None:
    """pvlib's copy of the C example runs in 2004: zenith 50.39141, azimuth 194.31196 degrees; a different
    case that is easily taken for the paper's."""
    when = datetime(2004, 10, 17, 12, 30, 30, tzinfo=MOUNTAIN)
    azimuth, elevation = sun.sun_direction(39.742476, -105.1786, when, **GOLDEN)
    assert azimuth == pytest.approx(194.31196, abs=2e-3)
    assert 90 - elevation == pytest.approx(50.39141, abs=2e-3)


@pytest.mark.parametrize(
    ("when", "latitude"),
    [
        (datetime(2025, 6, 21, 2, 42, tzinfo=UTC), 23.44),
        (datetime(2025, 12, 21, 15, 3, tzinfo=UTC), -23.44),
        (datetime(2025, 3, 20, 9, 1, tzinfo=UTC), 0.0),
    ],
)
def test_solstices_and_equinox(when: datetime, latitude: float) -> None:
    """The sun stands over the tropics at the solstices and over the equator at the equinox; moments of 2025
    from the almanac (from memory, to the minute), obliquity 23.44 degrees. Straight overhead is found along
    the parallel."""
    highest = max(
        sun.sun_direction(latitude, longitude, when, pressure=0.0)[1] for longitude in range(-180, 180)
    )
    assert highest > 89.4


def test_declination_of_the_june_solstice() -> None:
    """At the pole the elevation is the declination: 23.436 degrees at the June solstice of 2025 (obliquity of
    date)."""
    _, elevation = sun.sun_direction(90.0, 0.0, datetime(2025, 6, 21, 2, 42, tzinfo=UTC), pressure=0.0)
    assert elevation == pytest.approx(23.436, abs=0.004)


def test_azimuth_is_the_sheets_azimuth() -> None:
    """East is +X: a rising sun on the equator at the equinox shines towards -X."""
    azimuth, elevation = sun.sun_direction(0.0, 0.0, datetime(2025, 3, 20, 6, 30, tzinfo=UTC))
    x, y, z = directions.from_azimuth_elevation(azimuth, elevation)
    assert x < -0.98 and y < 0 and abs(z) < 0.02
