"""The colours of glowing bodies and of daylight: the Planckian locus, the CIE daylight locus, and the way
back.

Chromaticities are CIE 1976 u'v' of the 1931 2-degree observer unless a name says xy.
"""

import math
from collections.abc import Callable

import numpy as np

UV = tuple[float, float]

STEP = 0.0011
"""Radius in u'v' of a one-step circle, one just noticeable difference: CIE TN 001:2014."""

COLDEST_KELVIN = 1000.0
HOTTEST_KELVIN = 25000.0
FURTHEST_DUV = 0.05

# The Planckian locus as two Chebyshev series over mired 10..1250, fitted at 400 nodes to sums of Planck's law
# (c2 = 1.438776877e-2 m K, exact in the SI of 2019) over the CIE 1931 2-degree colour-matching functions at 1
# nm, 360..830 nm. Largest distance from those sums: 2.1e-6 in u', 3.6e-6 in v'. The fit is repeated by
# tests/published/data/make_colour_values.py.
_COOL_MIRED, _WARM_MIRED = 10.0, 1250.0
_U_SERIES = (
    *(0.34001693, 0.1695026, -0.00320465, -0.00925957, 0.00351677, -0.00083248, 3.128e-05, 0.00012295),
    *(-9.777e-05, 5.195e-05, -2.181e-05, 6.38e-06, 2.7e-07, -2.26e-06, 2.11e-06),
)
_V_SERIES = (
    *(0.50314104, 0.04957393, -0.0411547, 0.01609094, -0.00215541, -0.00177842, 0.001693, -0.00088612),
    *(0.00033228, -7.742e-05, -1.149e-05, 3.052e-05, -2.57e-05, 1.578e-05, -7.46e-06),
)


def mired(kelvin: float) -> float:
    """The reciprocal colour temperature 1e6 / K, in reciprocal megakelvin (MK⁻¹). Raises ValueError at or
    below 0 K.

    >>> mired(5000)
    200.0
    """
    if not (math.isfinite(kelvin) and kelvin > 0.0):
        raise ValueError(f"a colour temperature is above 0 K, found {kelvin:g}")
    return 1e6 / kelvin


def planckian_uv(kelvin: float) -> UV:
    """u'v' of a black body. Range 800..100000 K, ValueError outside; within 5e-6 of Planck's law summed at 1
    nm.

    >>> [round(number, 4) for number in planckian_uv(4000)]
    [0.2251, 0.5016]
    """
    reciprocal = mired(kelvin)
    if not _COOL_MIRED <= reciprocal <= _WARM_MIRED:
        raise ValueError(f"the Planckian locus is known here from 800 to 100000 K, found {kelvin:g}")
    return _at_mired(reciprocal)


def _at_mired(reciprocal: float) -> UV:
    place = (2.0 * reciprocal - _COOL_MIRED - _WARM_MIRED) / (_WARM_MIRED - _COOL_MIRED)
    return _chebyshev(_U_SERIES, place), _chebyshev(_V_SERIES, place)


def _chebyshev(series: tuple[float, ...], place: float) -> float:
    """Clenshaw's sum of a Chebyshev series at -1..1."""
    last, before = 0.0, 0.0
    for coefficient in reversed(series[1:]):
        last, before = 2.0 * place * last - before + coefficient, last
    return place * last - before + series[0]


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


# The locus every 2 mired, in CIE 1960 u, v = u', 2/3 v', in which Duv and correlated temperature are defined.
_TABLE_MIRED = np.arange(_COOL_MIRED, _WARM_MIRED + 1.0, 2.0)
_TABLE = np.array([_at_mired(float(reciprocal)) for reciprocal in _TABLE_MIRED]) * (1.0, 2.0 / 3.0)
_GOLDEN = (math.sqrt(5.0) - 1.0) / 2.0


def cct_duv(u: float, v: float) -> tuple[float, float] | None:
    """Correlated colour temperature (K) and signed Duv (above the locus, so greener, is positive) of a u'v'.

    None where the two mean nothing: further than 0.05 from the locus, or outside 1000..25000 K.
    The nearest point of the locus in CIE 1960 uv (CIE 015:2018; sign of Duv as ANSI C78.377) is found in
    a table of it every 2 mired and refined by golden section to 1e-4 mired.

    >>> result = cct_duv(*xy_to_uv(0.3127, 0.3290))  # D65
    >>> round(result[0]), round(result[1], 4)
    (6504, 0.0032)
    """
    if not (math.isfinite(u) and math.isfinite(v)):
        return None
    flat_v = v * 2.0 / 3.0
    offsets = _TABLE - (u, flat_v)
    nearest = int((offsets * offsets).sum(axis=1).argmin())

    def squared_distance(reciprocal: float) -> float:
        at_u, at_v = _at_mired(reciprocal)
        return (u - at_u) ** 2 + (flat_v - at_v * 2.0 / 3.0) ** 2

    low = float(_TABLE_MIRED[max(nearest - 1, 0)])
    high = float(_TABLE_MIRED[min(nearest + 1, len(_TABLE_MIRED) - 1)])
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
