"""Quantities written with a unit: "350 cm", "4300 K", "0.5 st", "800 lx", "18m20s".

A general units library is not used: to those, `st` is a stone, `18m20s` has no reading and `cm` may stand for
a product of prefixes; the trade needs these two dozen spellings and no algebra.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

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

_FACTORS: dict[str, tuple[str, float]] = {
    **{name: (LENGTH, factor) for name, factor in METRES.items()},
    **dict.fromkeys(("deg", "°", "degree", "degrees"), (ANGLE, 1.0)),
    **dict.fromkeys(("rad", "radian", "radians"), (ANGLE, math.degrees(1.0))),
    **dict.fromkeys(("K", "kelvin"), (TEMPERATURE, 1.0)),
    **dict.fromkeys(("st", "stop", "stops", "ev", "EV"), (STOPS, 1.0)),
    "%": (FRACTION, 0.01),
    "pp": (FRACTION, 0.01),
    **dict.fromkeys(("s", "sec"), (DURATION, 1.0)),
    "min": (DURATION, 60.0),
    **dict.fromkeys(("h", "hours"), (DURATION, 3600.0)),
}
_MIRED = ("mired", "MK⁻¹")
_NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"
_QUANTITY = re.compile(rf"\s*({_NUMBER})\s*([^\s\d][^\s]*)\s*\Z")
_CLOCK = re.compile(r"\s*(?:(\d+)h)?\s*(?:(\d+)m(?:in)?)?\s*(?:(\d+(?:\.\d+)?)s)?\s*\Z")


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number in the canonical unit of its dimension: m, °, K, stops, 0..1, s, or a photometric unit."""

    value: float
    dimension: str
    unit: str


def parse_quantity(text: str) -> Quantity | None:
    """The quantity a text stands for, or None when it is no number with a known unit.

    >>> parse_quantity("350 cm")
    Quantity(value=3.5, dimension='length', unit='cm')
    >>> parse_quantity("18m20s").value
    1100.0
    >>> parse_quantity("lantern") is None
    True
    """
    match = _QUANTITY.match(text)
    if match:
        number, unit = float(match[1]), match[2]
        if not math.isfinite(number):
            return None
        if unit in _FACTORS:
            dimension, factor = _FACTORS[unit]
            # Division keeps 350 cm exactly 3.5 m; 350 * 0.01 happens to, 0.7 * 0.01 does not.
            value = number / round(1 / factor) if factor in (0.1, 0.01, 0.001) else number * factor
            return Quantity(value, dimension, unit)
        if unit in _MIRED and number > 0:
            return Quantity(1e6 / number, TEMPERATURE, unit)
        if unit in LIGHT_UNITS:
            return Quantity(number, LIGHT, LIGHT_UNITS[unit])
    clock = _CLOCK.match(text)
    if clock and any(clock.groups()) and sum(part is not None for part in clock.groups()) > 1:
        hours, minutes, seconds = (float(part or 0) for part in clock.groups())
        return Quantity(hours * 3600 + minutes * 60 + seconds, DURATION, "s")
    return None


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
