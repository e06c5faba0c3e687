"""Quantities written with a unit: "350 cm", "4300 K", "0.5 st", "800 lx", "18m20s".

A general units library is not used: to those, `st` is a stone, `18m20s` has no reading and `cm` may stand for
a product of prefixes; the trade needs these two dozen spellings and no algebra.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import lru_cache

LENGTH, ANGLE, TEMPERATURE, STOPS, FRACTION, DURATION = (
    "length",
    "angle",
    "temperature",
    "stops",
    "fraction",
    "duration",
)
LIGHT = "light"

METRES: dict[str, float] = {
    "m": 1.0,
    "cm": 0.01,
    "mm": 0.001,
    "dm": 0.1,
    "km": 1000.0,
    "in": 0.0254,
    "inch": 0.0254,
    '"': 0.0254,
    "ft": 0.3048,
    "foot": 0.3048,
    "feet": 0.3048,
    "'": 0.3048,
    "yd": 0.9144,
}
"""Metres in one unit of length (the international inch, foot and yard are exact)."""

LIGHT_UNITS: dict[str, str] = {
    "lx": "lx",
    "lux": "lx",
    "lm": "lm",
    "lumen": "lm",
    "cd": "cd",
    "candela": "cd",
    "nit": "nit",
    "nits": "nit",
    "cd/m2": "nit",
    "cd/m²": "nit",
    "relative": "relative",
}
"""Spellings of photometric units, and the one used inside."""

FACTORS: dict[str, tuple[str, float]] = {
    **{name: (LENGTH, factor) for name, factor in METRES.items()},
    **dict.fromkeys(("deg", "°", "degree", "degrees"), (ANGLE, 1.0)),
    **dict.fromkeys(("rad", "radian", "radians"), (ANGLE, math.degrees(1.0))),
    **dict.fromkeys(("K", "kelvin"), (TEMPERATURE, 1.0)),
    **dict.fromkeys(("st", "stop", "stops", "ev", "EV"), (STOPS, 1.0)),
    **dict.fromkeys(("%", "pp"), (FRACTION, 0.01)),
    **dict.fromkeys(("s", "sec", "seconds"), (DURATION, 1.0)),
    **dict.fromkeys(("min", "minutes"), (DURATION, 60.0)),
    **dict.fromkeys(("h", "hour", "hours"), (DURATION, 3600.0)),
}
"""Spellings of the other units: their dimension, and how many of its canonical unit one of them is."""

MIRED: tuple[str, ...] = ("mired", "MK⁻¹")
"""Spellings of the unit of reciprocal temperatures."""

NUMBER = r"[-+]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][-+]?[0-9]+)?"
"""A decimal number, as an expression that other languages read too."""

CLOCK = r"(?:([0-9]+)\s*h\s*)?(?:([0-9]+)\s*m(?:in)?\s*)?(?:([0-9]+(?:\.[0-9]+)?)\s*s\s*)?"
"""A duration in hours, minutes and seconds, such as 18m20s; it may be empty."""

_LONGEST = 64
_QUANTITY = re.compile(rf"\s*({NUMBER})\s*([^\s0-9][^\s]*)\s*\Z")
_WITH_COMMA = re.compile(r"\s*([-+]?[0-9]+),([0-9]+)\s*([^\s0-9,][^\s]*)?\s*\Z")
_CLOCK = re.compile(rf"\s*{CLOCK}\Z")


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number in the canonical unit of its dimension: m, °, K, stops, 0..1, s, or a photometric unit."""

    value: float
    dimension: str
    unit: str


@lru_cache(maxsize=65536)
def parse_quantity(text: str) -> Quantity | None:
    """The quantity a text stands for, or None when it is no number with a known unit.

    Units are converted in decimal, so that equal quantities in other units are equal numbers.

    >>> parse_quantity("350 cm")
    Quantity(value=3.5, dimension='length', unit='cm')
    >>> parse_quantity("12 in").value == parse_quantity("1 ft").value == 0.3048
    True
    >>> parse_quantity("18m20s").value
    1100.0
    >>> parse_quantity("lantern") is None
    True
    """
    if len(text) > _LONGEST:
        return None
    match = _QUANTITY.match(text)
    if match:
        number, unit = match[1], match[2]
        if unit in FACTORS:
            dimension, factor = FACTORS[unit]
            # No decimal is the factor of a radian.
            value = float(number) * factor if dimension == ANGLE else times(number, factor)
            return _finite(value, dimension, unit)
        if unit in MIRED and float(number) > 0.0:
            return _finite(1e6 / float(number), TEMPERATURE, unit)
        if unit in LIGHT_UNITS:
            return _finite(float(number), LIGHT, LIGHT_UNITS[unit])
    parts = _clock_parts(text)
    return _finite(_seconds(parts), DURATION, "s") if len(parts) > 1 else None


def with_point(text: str) -> str | None:
    """A number or quantity that was written with a decimal comma, with a point; None for any other text.

    >>> with_point("-3,5 m"), with_point("0,5"), with_point("3.5 m"), with_point("1,2,3"), with_point("path, two")
    ('-3.5 m', '0.5', None, None, None)
    """
    match = _WITH_COMMA.match(text) if len(text) <= _LONGEST else None
    if match is None:
        return None
    number, unit = f"{match[1]}.{match[2]}", match[3]
    return number if not unit else f"{number} {unit}" if parse_quantity(f"{number} {unit}") else None


def _finite(value: float, dimension: str, unit: str) -> Quantity | None:
    return Quantity(value, dimension, unit) if math.isfinite(value) else None


def parse_duration(text: str) -> float | None:
    """Seconds, where it is known that a duration is meant: here `18m` is minutes, not metres.

    >>> parse_duration("18m"), parse_duration("18m20s"), parse_duration("90 s"), parse_duration("18")
    (1080.0, 1100.0, 90.0, None)
    """
    if len(text) > _LONGEST:
        return None
    parts = _clock_parts(text)
    if parts:
        return _seconds(parts)
    quantity = parse_quantity(text)
    return quantity.value if quantity is not None and quantity.dimension == DURATION else None


def _clock_parts(text: str) -> dict[float, float]:
    """How many of each unit of seconds a text such as 1h05m counts."""
    match = _CLOCK.match(text)
    stated = zip((3600.0, 60.0, 1.0), match.groups() if match else (), strict=False)
    return {unit: float(part) for unit, part in stated if part is not None}


def _seconds(parts: dict[float, float]) -> float:
    return math.fsum(unit * count for unit, count in parts.items())


def times(number: str | float, factor: float) -> float:
    """A number times a unit's factor, in decimal: 0.7 cm is 0.007 m and no neighbour of it.

    The result is infinite where it is beyond a double.

    >>> times("0.7", 0.01), 0.7 * 0.01
    (0.007, 0.006999999999999999)
    """
    value = float(number)
    if factor == 1.0 or value == 0.0 or not math.isfinite(value):
        return value * factor
    from fractions import Fraction  # few sheets have units of their own

    try:
        return float(Fraction(str(number)) * Fraction(str(factor)))
    except OverflowError:
        return math.copysign(math.inf, value)


def clock_text(seconds: float) -> str:
    """A duration as people write it.

    >>> clock_text(1100), clock_text(59.5), clock_text(7265)
    ('18m20s', '59.5s', '2h01m05s')
    """
    if seconds < 60:
        return f"{seconds:g}s"
    minutes, rest = divmod(round(seconds), 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours}h{minutes:02d}m{rest:02d}s" if hours else f"{minutes}m{rest:02d}s"
