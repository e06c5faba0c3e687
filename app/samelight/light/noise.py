"""What arithmetic leaves in the last digits: numbers that differ by no more are one, and order decides between them.

Values, ties and verdicts are the same on every machine because nothing hangs on less than this.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import numpy as np
import numpy.typing as npt

Numbers = npt.ArrayLike

NOISE = 1e-9
"""Relative: what is further apart differs."""

SINGLE = 2e-7
"""Relative: what three roundings to 32 bits leave (6e-8 each). Programs keep transforms in 32 bits, and a place or an axis
goes through one or two of them on its way into a file. It counts of a place's distance from the origin, of a metre at least.
Sizes are scaled by the same transforms, and a level hangs on two of them."""

DIGITS = 12
"""Significant digits of a figure that is shown, kept or handed on."""

SORTED_BY = 9
"""Significant digits of a number that decides an order: those that noise leaves alone."""


def figure(number: float, digits: int = DIGITS) -> float:
    """A number to so many significant digits.

    >>> figure(0.1 + 0.2), figure(-2 / 3)
    (0.3, -0.666666666667)
    """
    return float(_SHORT % number if digits == DIGITS else f"{number:.{digits}g}")


def figure_of_typed(number: float) -> float:
    """`figure` of a number that has fewer digits already, as nearly all that people type: the same, and sooner.

    What is the double next to a whole number of ten-thousandths, of so many digits at most, is its own figure.

    >>> figure_of_typed(3.2525), figure_of_typed(1 / 3)
    (3.2525, 0.333333333333)
    """
    if -1e8 < number < 1e8 and round(number * 1e4) / 1e4 == number:
        return number
    return figure(number)


def figures(numbers: Numbers) -> npt.NDArray[np.float64]:
    """`figure` of each number of an array.

    A number becomes a whole one of so many digits, and that is divided by the same power of ten: both are exact, so that the
    quotient is the double next to the decimal, as it is read from text. Where scaling may have rounded to another digit, and
    where the power of ten is no double, the number goes through text.

    >>> figures([0.1 + 0.2, -2 / 3]).tolist()
    [0.3, -0.666666666667]
    """
    given = np.asarray(numbers, dtype=np.float64)
    size = np.abs(given)
    place = np.searchsorted(_DECADES, size, side="right")
    is_sure = (place > 0) & (place < len(_DECADES))
    power = _POWERS[np.where(is_sure, place, 1)]
    with np.errstate(all="ignore"):
        scaled = size * power
        whole = np.rint(scaled)
        is_sure &= (np.abs(scaled - whole) < _SURELY) & (whole >= 10.0 ** (DIGITS - 1))
        found: npt.NDArray[np.float64] = np.copysign(whole / power, given)
    for index in np.flatnonzero(~is_sure).tolist():
        found[index] = figure(float(given[index]))
    return found


_EXACT = 22
"""The largest power of ten that is a double."""

_DECADES = np.array([float(f"1e{decade}") for decade in range(DIGITS - 1 - _EXACT, DIGITS + 1)])
_POWERS = np.array([0.0, *(float(f"1e{power}") for power in range(_EXACT, -1, -1)), 0.0])
"""By which a number that is as large as the first of the decades, the second and so on becomes one of so many whole digits."""

_SURELY = 0.5 - 1e-3
"""So far from a whole number the nearest one is the nearest also to the number that was not rounded: a product of this size
is off by 1e-4."""

_SHORT = f"%.{DIGITS}g"
"""Every number of a film goes through it; `format` takes more than twice the time."""


def same_place(a: Sequence[float], b: Sequence[float]) -> bool:
    """Whether two places (metres) or unit vectors of one length differ by no more than transforms of 32 bits leave.

    >>> same_place((0.15, 2.4, 2.0), (0.150000009, 2.4, 2.0)), same_place((0.15, 2.4, 2.0), (0.15, 2.4, 2.00001))
    (True, False)
    """
    return math.dist(a, b) <= SINGLE * max(1.0, math.hypot(*a), math.hypot(*b))


def reaches(numbers: Numbers, limits: Numbers) -> npt.NDArray[np.bool_]:
    """Whether numbers are at their limits or above, or short of them by no more than noise; NaN is not. They broadcast.

    >>> reaches([79.99999999999999, 80.0, 79.9], 80.0).tolist()
    [True, True, False]
    """
    at = np.asarray(limits, dtype=np.float64)
    reached: npt.NDArray[np.bool_] = np.asarray(numbers) >= at * np.where(at > 0.0, 1.0 - NOISE, 1.0 + NOISE)
    return reached


def first_largest(numbers: Iterable[float]) -> int:
    """The place of the largest of some numbers, the first of those that equal it but for noise; NaN is the smallest.

    Raises ValueError where there are none.

    >>> first_largest([1.0, 3.0, 3.0000000000000004])
    1
    """
    known = [-math.inf if math.isnan(number) else number for number in numbers]
    limit = max(known)
    limit *= 1.0 - NOISE if limit > 0.0 else 1.0 + NOISE
    return next(place for place, number in enumerate(known) if number >= limit)


def first_largest_of_rows(table: Numbers) -> npt.NDArray[np.intp]:
    """`first_largest` of each row of an array (n, k), shape (n,)."""
    known = np.asarray(table, dtype=np.float64)
    sized = np.where(np.isnan(known), -np.inf, known)
    return np.asarray(reaches(sized, sized.max(axis=1, keepdims=True)).argmax(axis=1))
