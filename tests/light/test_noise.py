"""What decides between numbers that differ by nothing but the last digit."""

import math
from decimal import Decimal, localcontext

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.strategies import DataObject

from samelight.light import cylinder, elementary
from samelight.light.colour import luminance
from samelight.light.key import key_of
from samelight.light.noise import (
    NOISE,
    figure,
    figure_of_typed,
    first_largest,
    first_largest_of_rows,
    reaches,
)
from samelight.light.rows import image, inverse, product, projection

SIZES = st.floats(1e-6, 1e6)


@pytest.mark.parametrize("space", ["rec709", "acescg", "rec2020"])
def test_white_is_one_exactly(space: str) -> None:
    assert luminance((1, 1, 1), space) == 1.0
    assert luminance((0.5, 0.5, 0.5), space) == 0.5


@given(st.lists(SIZES, min_size=1, max_size=6), st.data())
def test_the_last_digit_moves_no_choice(numbers: list[float], data: DataObject) -> None:
    bent = [math.nextafter(number, data.draw(st.sampled_from([0.0, math.inf]))) for number in numbers]
    # Numbers that are neither clearly apart nor equal are left out.
    apart = [abs(a - b) > 3 * NOISE * a or a == b for a in numbers for b in numbers]
    if all(apart):
        assert first_largest(numbers) == first_largest(bent)
        assert first_largest(numbers) == numbers.index(max(numbers))


def test_the_largest_of_rows_with_nothing_known() -> None:
    table = np.array(
        [[math.nan, math.nan], [math.nan, 2.0], [math.inf, math.inf], [-math.inf, -3.0], [0.0, 0.0]]
    )
    assert first_largest_of_rows(table).tolist() == [0, 1, 0, 1, 0]
    with pytest.raises(ValueError, match="empty"):
        first_largest([])


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_a_figure_has_twelve_digits_and_stays_as_it_is(number: float) -> None:
    assert figure(figure(number)) == figure(number)
    assert figure(number) == pytest.approx(number, rel=1e-11)
    assert float(f"{figure(number):.12g}") == figure(number)


@given(
    st.one_of(
        st.floats(),
        st.integers(-(10**13), 10**13).map(lambda whole: whole / 1e4),
        st.integers(-(10**13), 10**13).map(lambda whole: math.nextafter(whole / 1e4, math.inf)),
        st.sampled_from([0.0, -0.0, 1e8, 99999999.9999, 99999999.99995, 0.00005, 2 / 3, 1e-300]),
    )
)
def test_the_figure_of_a_typed_number_is_its_figure(number: float) -> None:
    assert repr(figure_of_typed(number)) == repr(figure(number))


def test_limits_are_reached_but_for_noise() -> None:
    assert reaches([1.0, math.nextafter(1.0, 0.0), 1.0 - 1e-8, -1.0], 1.0).tolist() == [
        True,
        True,
        False,
        False,
    ]
    assert reaches(-2.0, math.nextafter(-2.0, 0.0))
    assert not reaches(math.nan, 0.0)
    assert reaches(0.0, 0.0)


def test_the_first_of_lights_that_differ_by_noise_is_the_key() -> None:
    upper = math.nextafter(3.0, 4.0)
    assert key_of([[3.0, upper], [upper, 3.0], [3.0, 3.1]]).light.tolist() == [0, 0, 1]


@pytest.mark.parametrize("name", ["sin", "cos", "arcsin", "arccos", "arctan", "log", "log2"])
def test_functions_of_arrays_are_those_of_the_c_library(name: str) -> None:
    plain = {"arcsin": math.asin, "arccos": math.acos, "arctan": math.atan}.get(name) or getattr(math, name)
    numbers = np.linspace(0.001, 1.0, 60).reshape(3, 20)
    found = getattr(elementary, name)(numbers)
    assert found.shape == (3, 20)
    assert found.tolist() == [[plain(number) for number in row] for row in numbers.tolist()]


def test_functions_of_two_arrays_broadcast() -> None:
    across = np.array([[1.0], [2.0]])
    assert elementary.arctan2(across, [3.0, 4.0]).tolist() == [
        [math.atan2(1, 3), math.atan2(1, 4)],
        [math.atan2(2, 3), math.atan2(2, 4)],
    ]
    assert elementary.power(2.0, [3.0, 0.5]).tolist() == [8.0, math.sqrt(2.0)]
    assert elementary.hypot(3.0, 4.0) == 5.0


def test_functions_are_undefined_where_they_are() -> None:
    assert np.isnan(elementary.arccos([2.0, math.nan])).all()
    assert np.isnan(elementary.sin(math.inf))
    assert elementary.power(1e300, 2.0) == math.inf
    assert elementary.log([0.0, math.inf]).tolist() == [-math.inf, math.inf]


@given(st.lists(st.integers(-9, 9), min_size=18, max_size=18))
def test_products_of_matrices_are_those_of_whole_numbers(numbers: list[int]) -> None:
    a, b = (np.array(part, dtype=np.float64).reshape(3, 3) for part in (numbers[:9], numbers[9:]))
    expected = [[sum(a[i, k] * b[k, j] for k in range(3)) for j in range(3)] for i in range(3)]
    assert product(a, b).tolist() == expected
    assert image(a, b[:, 0]).tolist() == [row[0] for row in expected]
    assert projection(a, b).tolist() == [
        sum(x * y for x, y in zip(*rows, strict=True)) for rows in zip(a, b, strict=True)
    ]
    volume = round(np.linalg.det(a))
    if volume:
        assert product(inverse(a), a) == pytest.approx(np.eye(3), abs=1e-12)


@pytest.mark.parametrize("points", cylinder.RULES)
def test_the_nodes_of_the_arc_are_the_zeros_of_the_legendre_polynomial(points: int) -> None:
    with localcontext() as context:
        context.prec = 40
        for node, weight in zip(*cylinder.RULES[points], strict=True):
            x = Decimal(node)
            for _ in range(2):
                before, now = Decimal(1), x
                for degree in range(2, points + 1):
                    before, now = now, ((2 * degree - 1) * x * now - (degree - 1) * before) / degree
                slope = points * (x * now - before) / (x * x - 1)
                x -= now / slope
            assert float(x) == node
            assert float(2 / ((1 - x * x) * slope * slope)) == pytest.approx(weight, rel=1e-14)
