"""Where the sun stands, from place, date and time.

The algorithm is the NREL Solar Position Algorithm (Reda and Andreas 2004, doi:10.1016/j.solener.2003.12.003),
as the package `sunposition` implements it.

For planning pictures only. It does not replace a site survey: terrain, buildings, weather and the local
horizon are not in it, and a compass shows magnetic north, not true north. Where people work by it (rigging,
glare, heat, eye safety), local codes and licensed practice come first.
"""

import math
from datetime import datetime

# TT - UT in the 2020s, seconds; ten seconds of error move the sun by 0.0001 degrees.
DELTA_T = 69.2
# The refraction at sunrise and sunset, degrees, that the algorithm's authors use.
HORIZON_REFRACTION = 0.5667


def sun_direction(
    latitude: float,
    longitude: float,
    when: datetime,
    *,
    elevation_m: float = 0.0,
    pressure: float | None = None,
    temperature: float = 15.0,
    refraction: float = HORIZON_REFRACTION,
    delta_t: float = DELTA_T,
) -> tuple[float, float]:
    """Azimuth (0..360, clockwise from true north) and apparent elevation (-90..90) of the sun's centre, in
    degrees.

    `latitude` -90..90 (north positive) and `longitude` -180..360 (east positive) in degrees; `when` with its
    time zone; `elevation_m` above sea level in metres; `pressure` in millibar (None: of the standard
    atmosphere at that elevation; 0: no refraction, the geometric place); `temperature` in degrees Celsius.
    The sun's centre is lifted by refraction only while it stands above -(0.2667 + refraction) degrees, so
    that the elevation jumps by about half a degree there.

    Errors: 0.0003 degrees by the algorithm from the year -2000 to 6000; refraction near the horizon differs
    from day to day by tenths of a degree; a clock one minute wrong is up to a quarter of a degree. At the
    poles azimuth has little meaning. Raises ValueError for a time without a zone or a place outside the
    ranges.

    >>> from datetime import UTC
    >>> azimuth, elevation = sun_direction(0.0, 0.0, datetime(2024, 3, 20, 12, 0, tzinfo=UTC))
    >>> elevation > 87  # nearly overhead, at noon on the equator at the equinox
    True
    """
    if when.tzinfo is None or when.utcoffset() is None:
        raise ValueError(f"the time {when.isoformat()} has no time zone; write for instance +09:00 after it")
    if not -90.0 <= latitude <= 90.0:
        raise ValueError(f"a latitude lies between -90 and 90 degrees, found {latitude:g}")
    if not -180.0 <= longitude <= 360.0:
        raise ValueError(f"a longitude lies between -180 and 360 degrees, found {longitude:g}")
    air = standard_pressure(elevation_m) if pressure is None else pressure
    if not (math.isfinite(air) and air >= 0.0 and math.isfinite(temperature) and temperature > -273.0):
        raise ValueError(f"found an air pressure of {air:g} mbar at {temperature:g} °C")

    # Here and not above: only a sheet that asks for the sun needs the package.
    import sunposition

    azimuth, zenith = sunposition.observed_sunposition(
        when, latitude, longitude, elevation_m, temperature, air, refraction, delta_t, jit=False
    )
    # The package takes its sines from NumPy: a millionth of the algorithm's own error is left of what they differ by.
    return round(float(azimuth), 9) % 360.0, round(90.0 - float(zenith), 9)


def standard_pressure(elevation_m: float) -> float:
    """The air pressure (millibar) of the ICAO standard atmosphere at an elevation of -1000..11000 m,
    ValueError outside.

    >>> round(standard_pressure(0), 2), round(standard_pressure(1000), 1)
    (1013.25, 898.7)
    """
    if not -1000.0 <= elevation_m <= 11000.0:
        raise ValueError(f"an elevation lies between -1000 and 11000 m, found {elevation_m:g}")
    return 1013.25 * math.pow(1.0 - 0.0065 * elevation_m / 288.15, 5.2559)
