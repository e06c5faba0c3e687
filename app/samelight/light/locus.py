"""The colours of glowing bodies and of daylight: the Planckian locus, the CIE daylight locus, and the way
back.

Chromaticities are CIE 1976 u'v' of the 1931 2-degree observer unless a name says xy.
"""

import math
from collections.abc import Callable
from functools import cache, lru_cache
from itertools import count

from samelight.light.observer import EVERY, FIRST, OBSERVER

UV = tuple[float, float]

STEP = 0.0011
"""Radius in u'v' of a one-step circle, one just noticeable difference: CIE TN 001:2014."""

DIGITS = 1e-5
"""In u'v': what the tables of the observer leave open, a hundredth of a step. Chromaticities that are nearer are one."""

COLDEST_KELVIN = 1000.0
HOTTEST_KELVIN = 25000.0
FURTHEST_DUV = 0.05

_C2 = 1.438776877e-2
"""The second radiation constant, m K: exact in the SI of 2019."""
_WAVES = tuple(
    (_C2 / (nm * 1e-9), *(part * math.pow(555.0 / nm, 5.0) for part in seen))
    for nm, seen in zip(count(FIRST, EVERY), OBSERVER, strict=False)
)
"""Of each wavelength: c2 over it (K), and the observer's x, y, z over its fifth power."""
_COLDEST = 60.0
"""Kelvin. What is colder glows in the last of the visible red alone, and its exponents would pass every number."""


def mired(kelvin: float) -> float:
    """The reciprocal colour temperature 1e6 / K, in reciprocal megakelvin (MK⁻¹). Raises ValueError at or
    below 0 K.

    >>> mired(5000)
    200.0
    """
    if not (math.isfinite(kelvin) and kelvin > 0.0):
        raise ValueError(f"a colour temperature is above 0 K, found {kelvin:g}")
    return 1e6 / kelvin


@lru_cache(maxsize=65536)
def planckian_uv(kelvin: float) -> UV:
    """u'v' of a black body at any temperature above 0 K: Planck's law summed over the CIE 1931 observer at 5 nm.

    Within 1e-5 of sums at 1 nm from 500 K up, a hundredth of a step, and within 6e-5 below. Raises ValueError at or
    below 0 K.

    >>> [round(number, 4) for number in planckian_uv(4000)]
    [0.2251, 0.5016]
    """
    return _at_mired(mired(kelvin))


def _at_mired(reciprocal: float) -> UV:
    per_kelvin = min(max(reciprocal, 1e-6) / 1e6, 1.0 / _COLDEST)
    x = y = z = 0.0
    for over_wave, seen_x, seen_y, seen_z in _WAVES:
        glow = 1.0 / math.expm1(over_wave * per_kelvin)
        x += glow * seen_x
        y += glow * seen_y
        z += glow * seen_z
    scale = x + 15.0 * y + 3.0 * z
    return 4.0 * x / scale, 9.0 * y / scale


def daylight_xy(kelvin: float) -> tuple[float, float]:
    """CIE 1931 x, y of the CIE D series at a correlated colour temperature of 4000..25000 K, ValueError
    outside.

    CIE 015:2018 (Judd, MacAdam and Wyszecki 1964). Note that D65 lies at 6504 K, since c2 was revised.

    >>> [round(number, 4) for number in daylight_xy(6504)]
    [0.3127, 0.3291]
    """
    if not 4000.0 <= kelvin <= HOTTEST_KELVIN:
        raise ValueError(f"the CIE daylight locus runs from 4000 to 25000 K, found {kelvin:g}")
    if kelvin <= 7000.0:
        terms = (0.244063, 0.09911e3, 2.9678e6, -4.6070e9)
    else:
        terms = (0.237040, 0.24748e3, 1.9018e6, -2.0064e9)
    x = terms[0] + terms[1] / kelvin + terms[2] / kelvin**2 + terms[3] / kelvin**3
    return x, -3.000 * x * x + 2.870 * x - 0.275


def xy_to_uv(x: float, y: float) -> UV:
    """CIE 1931 x, y to CIE 1976 u'v' (CIE 015:2018).

    >>> [round(number, 4) for number in xy_to_uv(0.3127, 0.3290)]
    [0.1978, 0.4683]
    """
    scale = -2.0 * x + 12.0 * y + 3.0
    return 4.0 * x / scale, 9.0 * y / scale


def uv_to_xy(u: float, v: float) -> tuple[float, float]:
    """CIE 1976 u'v' to CIE 1931 x, y; undoes `xy_to_uv`.

    >>> [round(number, 4) for number in uv_to_xy(*xy_to_uv(0.3127, 0.3290))]
    [0.3127, 0.329]
    """
    scale = 6.0 * u - 16.0 * v + 12.0
    return 9.0 * u / scale, 4.0 * v / scale


def steps(uv_a: UV, uv_b: UV) -> float:
    """The distance of two u'v' in steps of 0.0011 (CIE TN 001:2014); symmetric, 0 or more.

    >>> round(steps((0.2, 0.5), (0.2, 0.5022)), 6)
    2.0
    """
    return math.hypot(uv_b[0] - uv_a[0], uv_b[1] - uv_a[1]) / STEP


@cache
def _table() -> list[tuple[float, float, float]]:
    """The locus every 10 mired, from 10 to 1250: mired, and CIE 1960 u, v = u', 2/3 v', in which Duv and correlated
    temperature are defined."""
    places = [(10.0 * step, _at_mired(10.0 * step)) for step in range(1, 126)]
    return [(place, u, v * 2.0 / 3.0) for place, (u, v) in places]


_GOLDEN = (math.sqrt(5.0) - 1.0) / 2.0


@lru_cache(maxsize=4096)
def cct_duv(u: float, v: float) -> tuple[float, float] | None:
    """Correlated colour temperature (K) and signed Duv (above the locus, so greener, is positive) of a u'v'.

    None where the two mean nothing: further than 0.05 from the locus, or outside 1000..25000 K.
    The nearest point of the locus in CIE 1960 uv (CIE 015:2018; sign of Duv as ANSI C78.377) is found in
    a table of it every 10 mired and refined by golden section to 1e-4 mired.

    >>> result = cct_duv(*xy_to_uv(0.3127, 0.3290))  # D65
    >>> round(result[0]), round(result[1], 4)
    (6504, 0.0032)
    """
    if not (math.isfinite(u) and math.isfinite(v)):
        return None
    flat_v = v * 2.0 / 3.0
    table = _table()
    apart = [(u - at_u) ** 2 + (flat_v - at_v) ** 2 for _, at_u, at_v in table]
    nearest = apart.index(min(apart))

    def squared_distance(reciprocal: float) -> float:
        at_u, at_v = _at_mired(reciprocal)
        return (u - at_u) ** 2 + (flat_v - at_v * 2.0 / 3.0) ** 2

    low, high = table[max(nearest - 1, 0)][0], table[min(nearest + 1, len(table) - 1)][0]
    reciprocal = _lowest(squared_distance, low, high)
    kelvin, distance = 1e6 / reciprocal, math.sqrt(squared_distance(reciprocal))
    # A thousandth of a mired of grace: the ends of the range belong to it.
    if (
        not mired(HOTTEST_KELVIN) - 1e-3 <= reciprocal <= mired(COLDEST_KELVIN) + 1e-3
        or distance > FURTHEST_DUV
    ):
        return None
    ahead, behind = _at_mired(reciprocal + 0.01), _at_mired(reciprocal - 0.01)
    at = _at_mired(reciprocal)
    side = (ahead[0] - behind[0]) * (v - at[1]) - (ahead[1] - behind[1]) * (u - at[0])
    return kelvin, math.copysign(distance, side)


def _lowest(curve: Callable[[float], float], low: float, high: float) -> float:
    """The place of the minimum of a curve with one dip between `low` and `high`, by golden section, to
    1e-4."""
    left, right = high - _GOLDEN * (high - low), low + _GOLDEN * (high - low)
    at_left, at_right = curve(left), curve(right)
    while high - low > 1e-4:
        if at_left < at_right:
            high, right, at_right = right, left, at_left
            left = high - _GOLDEN * (high - low)
            at_left = curve(left)
        else:
            low, left, at_left = left, right, at_right
            right = low + _GOLDEN * (high - low)
            at_right = curve(right)
    return (low + high) / 2.0
