"""Which moment of a shot a computed row shows."""

import math
from typing import Any

import numpy as np

from samelight.drift.computed.derived_row import level_pairs, number_pairs
from samelight.drift.computed.moments import Moments
from samelight.sheets.values import Level

UP = math.nextafter(1.0, 2.0)


def moments(*counts: int) -> Moments:
    shot = np.repeat(np.arange(len(counts)), counts)
    first = np.cumsum(counts) - np.array(counts)
    no_sheets: tuple[Any, ...] = (None,) * len(shot)
    return Moments(no_sheets, no_sheets, tuple(map(float, range(len(shot)))), shot, first)


def test_of_moments_that_differ_by_noise_the_earliest_is_the_worst() -> None:
    of = moments(3, 2, 1)
    assert of.worst(np.array([0.5, 1.0, -UP, -UP, 1.0, 0.0])).tolist() == [1, 3, 5]
    assert of.worst(np.array([0.5, UP, -1.0, -1.0, UP, 0.0])).tolist() == [1, 3, 5]


def test_what_is_larger_by_more_than_noise_is_the_worst() -> None:
    assert moments(3).worst(np.array([1.0, 1.0 + 1e-6, 0.0])).tolist() == [1]


def test_deviations_of_nothing_but_noise_are_none() -> None:
    assert moments(3, 2).worst(np.array([0.0, 1e-15, -3e-14, math.nan, 1e-15])).tolist() == [0, 4]


def test_unknown_deviations_are_the_least() -> None:
    assert moments(2, 2).worst(np.array([math.nan, 0.0, math.nan, math.nan])).tolist() == [1, 2]
    assert moments(2).worst(np.array([3.0, -math.inf])).tolist() == [1]


def test_figures_that_differ_by_noise_are_one() -> None:
    quantities = (np.array(["relative"], dtype=object),) * 2
    (pair,) = level_pairs(np.array([1.0]), np.array([UP]), quantities)
    assert pair[0] is pair[1]
    assert pair[0] == Level(1.0)
    assert number_pairs(np.array([2 / 3]), np.array([math.nextafter(2 / 3, 0.0)])) == [(0.666666666667,) * 2]
