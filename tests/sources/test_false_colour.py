"""Stops in colours."""

from __future__ import annotations

import numpy as np
import pytest

from samelight.sources.pictures.false_colour import FURTHEST, MIDDLE_GREY, stops_apart, stops_from_grey
from samelight.sources.pictures.pictures import Half


def greys(*stops: float) -> Half:
    level = MIDDLE_GREY * 2.0 ** np.array(stops)
    return np.repeat(level[None, :, None], 3, axis=2).astype(np.float16)


def test_a_step_is_a_stop() -> None:
    (row,) = stops_from_grey(greys(*range(-8, 9))).tolist()
    assert len({tuple(one) for one in row}) == 2 * FURTHEST + 1
    assert row[:3] == [row[0]] * 3 and row[-3:] == [row[-1]] * 3  # further off there is no other colour
    red, green, blue = row[8]
    assert red == green == blue
    assert stops_from_grey(greys(-2.0), 2.0).tolist() == [[row[8]]]
    # The colours of two pixels within one step are one.
    assert stops_from_grey(greys(0.4, -0.4, 0.6))[0].tolist() == [row[8], row[8], row[9]]


def test_how_far_two_pictures_are_apart() -> None:
    one, other = greys(0.0, 1.0, -3.0, 2.0), greys(0.0, 0.5, -3.0, 3.0)
    one[0, 2] = other[0, 2] = 0.0
    same, brighter, dark, darker = stops_apart(one, other)[0].tolist()
    assert same == dark == stops_from_grey(greys(0.0))[0, 0].tolist()
    assert brighter == stops_from_grey(greys(1.0))[0, 0].tolist()
    assert darker == stops_from_grey(greys(-2.0))[0, 0].tolist()
    with pytest.raises(ValueError, match="other shapes"):
        stops_apart(one, greys(0.0))


def test_what_is_no_light_is_no_colour() -> None:
    odd = np.array([[[0, 0, 0], [-1, -1, -1], [np.nan, 1, 1], [np.inf, 1, 1]]], dtype=np.float16)
    found = stops_from_grey(odd)[0].tolist()
    assert found[:3] == [[0, 0, 0]] * 3 and found[3] == stops_from_grey(greys(8.0))[0, 0].tolist()
