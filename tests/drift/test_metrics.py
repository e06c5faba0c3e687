"""Each kind's figure worked out by hand, and what must hold of all of them."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from samelight.drift.metrics import (
    FROM_ZERO,
    NOT_COMPARABLE,
    SCALES,
    TYPE_CHANGED,
    measure,
    same,
    severity,
)
from samelight.sheets import vocabulary as kinds
from samelight.sheets.values import Amount, Colour, Curve, FileRef, Level, Value, alike
from strategies import (
    amounts,
    colours,
    curves_of,
    files,
    finite,
    levels,
    positions,
    positive,
    sets,
    unit_vectors,
)

A, B = "a" * 64, "b" * 64


@pytest.mark.parametrize(
    ("kind", "master", "value", "drift"),
    [
        (kinds.DIRECTION, (1.0, 0.0, 0.0), (0.0, 0.0, -1.0), 90.0),
        (kinds.DIRECTION, (0.0, -1.0, 0.0), (0.0, 1.0, 0.0), 180.0),
        # Half a degree about the vertical, level light: sin and cos of 0.5 degrees.
        (kinds.DIRECTION, (1.0, 0.0, 0.0), (0.9999619230641713, 0.0, 0.008726535498373935), 0.5),
        (kinds.LEVEL, Level(3.2), Level(6.4), 1.0),
        (kinds.LEVEL, Level(8.0), Level(1.0), -3.0),
        (kinds.LEVEL, Level(100.0, "illuminance"), Level(25.0, "illuminance"), -2.0),
        # Eleven ten-thousandths in u' is one step; 3-4-5 in steps is five.
        (kinds.COLOUR, Colour(0.2, 0.47), Colour(0.2011, 0.47), 1.0),
        (kinds.COLOUR, Colour(0.2, 0.47), Colour(0.2033, 0.4744), 5.0),
        (kinds.TEMPERATURE, 5000.0, 4000.0, 50.0),
        (kinds.TEMPERATURE, 4000.0, 5000.0, -50.0),
        (kinds.TEMPERATURE, Amount(5000.0, "temperature"), Amount(4000.0, "temperature"), 50.0),
        (kinds.POSITION, (1.0, 2.0, 3.0), (1.0, 5.0, 7.0), 5.0),
        (kinds.LENGTH, 3.5, 350.0, 9900.0),
        (kinds.LENGTH, 2.0, 1.0, -50.0),
        (kinds.NUMBER, -4.0, -3.0, 25.0),
        (kinds.NUMBER, (3.0, 4.0), (3.0, 4.5), 10.0),
        (kinds.DURATION, 1100.0, 3310.0, 100.0 * 2210.0 / 1100.0),
        (kinds.ANGLE, 32.0, 30.0, -2.0),
        (kinds.ANGLE, 350.0, 10.0, 20.0),
        (kinds.ANGLE, 10.0, 350.0, -20.0),
        (kinds.COUNT, 96.0, 8.0, 1.0 / 12.0),
        (kinds.COUNT, 8.0, 96.0, 12.0),
        (kinds.FRACTION, 0.2, 0.25, 5.0),
        (kinds.SET, frozenset({"a", "b"}), frozenset({"b", "c", "d"}), 3.0),
        (kinds.SET, frozenset(), frozenset({"a"}), 1.0),
        (kinds.FILE, FileRef("maps/dawn.exr", A), FileRef("maps/dusk.exr", A), 0.0),
        (kinds.FILE, FileRef("maps/dawn.exr"), FileRef("maps/dawn.exr", A), 0.0),
    ],
)
def test_figures_worked_out_by_hand(kind: str, master: Any, value: Any, drift: float) -> None:
    assert measure(kind, master, value).drift == pytest.approx(drift, rel=1e-9, abs=1e-9)


def test_a_light_that_goes_out_or_on_has_no_stops() -> None:
    out = measure(kinds.LEVEL, Level(2.0), Level(0.0))
    assert (out.drift, out.remark) == (-math.inf, "dark in the shot")
    on = measure(kinds.LEVEL, Level(0.0), Level(2.0))
    assert (on.drift, on.remark) == (math.inf, "dark in the master")
    assert measure(kinds.LEVEL, Level(0.0), Level(0.0)).drift == 0.0
    assert severity(kinds.LEVEL, out.drift, 100.0) == math.inf


def test_zero_counts_and_zero_lengths() -> None:
    assert measure(kinds.COUNT, 0.0, 0.0).drift == 1.0
    assert measure(kinds.COUNT, 64.0, 0.0).drift == 0.0
    assert severity(kinds.COUNT, 0.0, 1000.0) == math.inf
    assert measure(kinds.COUNT, 0.0, 64.0).drift == math.inf
    assert measure(kinds.COUNT, 0.0, 64.0).remark == FROM_ZERO
    for kind in (kinds.LENGTH, kinds.NUMBER, kinds.DURATION):
        assert measure(kind, 0.0, 2.0) == measure(kind, 0.0, 3.0)
        assert measure(kind, 0.0, 2.0).drift == math.inf
        assert measure(kind, 0.0, -2.0).drift == -math.inf
        assert measure(kind, 2.0, 0.0).drift == -100.0
    assert measure(kinds.NUMBER, (0.0, 0.0), (0.0, 1.0)).remark == FROM_ZERO


@pytest.mark.parametrize("kind", [kind for kind in SCALES if kind != kinds.PRESENCE])
def test_one_and_true_are_not_the_same(kind: str) -> None:
    measured = measure(kind, 1.0, True)
    assert math.isnan(measured.drift)
    assert measured.remark == TYPE_CHANGED
    assert severity(kind, measured.drift, 1e9) == math.inf


@pytest.mark.parametrize(
    ("kind", "master", "value"),
    [
        (kinds.SWITCH, True, False),
        (kinds.CHOICE, "held", "all"),
        (kinds.TEXT, "mood", "moody"),
        (kinds.FILE, FileRef("a.exr", A), FileRef("a.exr", B)),
        (kinds.FILE, FileRef("a.exr", A), FileRef("b.exr")),
        (kinds.POSITION, (1.0, 2.0, 3.0), (1.0, 2.0)),
        (kinds.DIRECTION, (1.0, 0.0), (0.0, 1.0)),
        (kinds.DIRECTION, (1.0, 0.0, 0.0), (0.0, 0.0, 0.0)),
        (kinds.NUMBER, (1.0, 2.0), (1.0, 2.0, 3.0)),
        (kinds.COUNT, -1.0, 4.0),
        (kinds.TEMPERATURE, -5000.0, 5000.0),
        (kinds.TEMPERATURE, 5000.0, 0.0),
        (kinds.LENGTH, "auto", "manual"),
    ],
)
def test_what_has_no_figure_is_different_all_the_same(kind: str, master: Any, value: Any) -> None:
    measured = measure(kind, master, value)
    assert math.isnan(measured.drift)
    assert severity(kind, measured.drift, 1e9) == math.inf


def test_quantities_that_do_not_compare() -> None:
    measured = measure(kinds.LEVEL, Level(800.0, "illuminance"), Level(800.0))
    assert math.isnan(measured.drift)
    assert measured.remark == f"{NOT_COMPARABLE}: illuminance against relative"
    negative = measure(kinds.LEVEL, Level(1.0), Level(-1.0))
    assert math.isnan(negative.drift)
    assert NOT_COMPARABLE in negative.remark


@pytest.mark.parametrize("kind", [kinds.NUMBER, kinds.LENGTH, kinds.ANGLE, kinds.COUNT, kinds.FRACTION])
def test_the_same_number_in_another_dimension_is_another_value(kind: str) -> None:
    for master, value in (
        (Amount(32.0, "angle"), Amount(32.0, "temperature")),
        (32.0, Amount(32.0, "angle")),
        (Amount(3.5, "length"), 3.5),
    ):
        assert math.isnan(measure(kind, master, value).drift)


def test_files_are_held_by_their_content() -> None:
    moved = measure(kinds.FILE, FileRef("maps/dawn.exr", A), FileRef("old/dawn.exr", A))
    assert (moved.drift, moved.remark) == (0.0, "the same content under another path")
    assert measure(kinds.FILE, FileRef("maps/dawn.exr", A), FileRef("maps/dawn.exr", A)).remark == ""
    assert measure(kinds.FILE, FileRef("maps/dawn.exr", A), FileRef("maps/dawn.exr")).drift == 0.0
    assert math.isnan(measure(kinds.FILE, FileRef("maps/dawn.exr", A), FileRef("maps/dawn.exr", B)).drift)


# Between 0 and the smallest share of a sample anyone types there is nothing whose ratio means anything.
counts = st.one_of(st.just(0.0), st.floats(1e-6, 1e6))
pairs = st.one_of(
    st.tuples(st.just(kinds.DIRECTION), unit_vectors, unit_vectors),
    st.tuples(st.just(kinds.LEVEL), levels, levels),
    st.tuples(st.just(kinds.COLOUR), colours, colours),
    st.tuples(st.just(kinds.TEMPERATURE), st.floats(500, 50_000), st.floats(500, 50_000)),
    st.tuples(st.just(kinds.POSITION), positions, positions),
    st.tuples(st.just(kinds.LENGTH), positive, positive),
    st.tuples(st.just(kinds.NUMBER), finite, finite),
    st.tuples(st.just(kinds.NUMBER), amounts, amounts),
    st.tuples(st.just(kinds.DURATION), positive, positive),
    st.tuples(st.just(kinds.ANGLE), st.floats(-720, 720), st.floats(-720, 720)),
    st.tuples(st.just(kinds.COUNT), counts, counts),
    st.tuples(st.just(kinds.FRACTION), st.floats(0, 1), st.floats(0, 1)),
    st.tuples(st.just(kinds.SET), sets, sets),
    st.tuples(st.just(kinds.SWITCH), st.booleans(), st.booleans()),
    st.tuples(st.just(kinds.CHOICE), st.text(), st.text()),
    st.tuples(st.just(kinds.FILE), files, files),
)


@given(pairs)
def test_a_value_against_itself_is_neutral(pair: tuple[str, Any, Any]) -> None:
    kind, value, _ = pair
    measured = measure(kind, value, value)
    assert measured.drift == SCALES[kind].neutral
    assert measured.remark == ""
    assert severity(kind, measured.drift, 0.0) == 0.0


@given(pairs)
def test_swapping_the_two_sides(pair: tuple[str, Any, Any]) -> None:
    kind, a, b = pair
    there = measure(kind, a, b).drift
    back = measure(kind, b, a).drift
    if math.isnan(there):
        assert math.isnan(back)
    elif kind == kinds.COUNT and there not in (0.0, math.inf):
        assert there * back == pytest.approx(1.0)
    elif kind == kinds.COUNT:
        assert {there, back} == {0.0, math.inf}
    elif not SCALES[kind].signed:
        assert there == pytest.approx(back, abs=1e-9)
    elif kind in (kinds.LENGTH, kinds.NUMBER, kinds.DURATION):
        assert there * back <= 0.0  # a half is twice as far as the half of it: only the sign turns
    elif kind == kinds.ANGLE:
        assert (there == pytest.approx(-back, abs=1e-9)) or (abs(there) == abs(back) == pytest.approx(180.0))
    else:
        assert there == pytest.approx(-back, abs=1e-9)


@given(levels, levels, st.floats(1e-3, 1e3))
def test_stops_do_not_hang_on_the_scale(a: Level, b: Level, factor: float) -> None:
    there = measure(kinds.LEVEL, a, b).drift
    scaled = measure(
        kinds.LEVEL, Level(a.value * factor, a.quantity), Level(b.value * factor, b.quantity)
    ).drift
    if math.isfinite(there):
        assert scaled == pytest.approx(there, abs=1e-9)
    else:
        assert str(scaled) == str(there)


@given(positive, positive, st.floats(1e-3, 1e3))
def test_ratios_do_not_hang_on_the_unit(a: float, b: float, factor: float) -> None:
    for kind in (kinds.LENGTH, kinds.DURATION, kinds.NUMBER, kinds.COUNT):
        assert measure(kind, a * factor, b * factor).drift == pytest.approx(
            measure(kind, a, b).drift, rel=1e-9, abs=1e-9
        )


@given(unit_vectors, unit_vectors, unit_vectors)
def test_no_direction_is_further_than_by_way_of_another(a: Any, b: Any, c: Any) -> None:
    _no_short_cut(kinds.DIRECTION, a, b, c)


@given(colours, colours, colours)
def test_no_colour_is_further_than_by_way_of_another(a: Colour, b: Colour, c: Colour) -> None:
    _no_short_cut(kinds.COLOUR, a, b, c)


@given(positions, positions, positions)
def test_no_place_is_further_than_by_way_of_another(a: Any, b: Any, c: Any) -> None:
    _no_short_cut(kinds.POSITION, a, b, c)


def _no_short_cut(kind: str, a: Any, b: Any, c: Any) -> None:
    straight = measure(kind, a, c).drift
    around = measure(kind, a, b).drift + measure(kind, b, c).drift
    assert straight <= around + 1e-9 * max(1.0, around)


@given(
    st.sampled_from([kinds.LEVEL, kinds.TEMPERATURE]), st.lists(st.floats(600, 9000), min_size=3, max_size=3)
)
def test_what_is_a_difference_adds_up(kind: str, numbers: list[float]) -> None:
    a, b, c = (Level(number) if kind == kinds.LEVEL else number for number in numbers)
    whole = measure(kind, a, c).drift
    assert whole == pytest.approx(measure(kind, a, b).drift + measure(kind, b, c).drift, rel=1e-9, abs=1e-8)


def test_severity() -> None:
    assert severity(kinds.DIRECTION, 1.0, 2.0) == 0.5
    assert severity(kinds.DIRECTION, 1e-6, 0.0) == 0.0  # within the noise of vectors of few digits
    assert severity(kinds.POSITION, 0.001, 0.0) == math.inf
    assert severity(kinds.COUNT, 2.0, 4.0) == severity(kinds.COUNT, 0.5, 4.0) == pytest.approx(0.5)
    assert severity(kinds.COUNT, 1.0, 1.0) == 0.0
    assert severity(kinds.COUNT, 1.001, 1.0) == math.inf
    assert severity(kinds.LEVEL, math.nan, 1.0) == math.inf


@pytest.mark.parametrize("exposure", [0.05, 0.1, 0.15, 0.3])
def test_a_drift_of_just_the_tolerance_is_inside_it(exposure: float) -> None:
    """log2 of 2^0.1 comes out a hair above 0.1, and who typed 0.1 st means 0.1 st."""
    drift = measure(kinds.LEVEL, Level(3.2), Level(3.2 * 2.0**exposure)).drift
    assert severity(kinds.LEVEL, drift, exposure) <= 1.0
    assert severity(kinds.LEVEL, drift * 1.001, exposure) > 1.0


@given(st.floats(0.001, 1e3), st.floats(0.001, 1e3))
def test_severity_grows_with_the_drift(drift: float, tolerance: float) -> None:
    for kind in (kinds.LEVEL, kinds.DIRECTION, kinds.LENGTH):
        assert severity(kind, drift, tolerance) < severity(kind, 1.5 * drift, tolerance)
        assert severity(kind, -drift, tolerance) == severity(kind, drift, tolerance)


class TestCurves:
    """The largest deviation over the union of key frames."""

    def test_against_another_curve(self) -> None:
        master = Curve(((1001.0, Level(1.0)), (1021.0, Level(3.0))))
        # At 1011 the master has 2, this one 4: one stop up. At the ends they are equal.
        shot = Curve(((1001.0, Level(1.0)), (1011.0, Level(4.0)), (1021.0, Level(3.0))))
        measured = measure(kinds.LEVEL, master, shot)
        assert measured.drift == pytest.approx(1.0)
        assert measured.remark == "largest at frame 1011"
        assert measure(kinds.LEVEL, shot, master).drift == pytest.approx(-1.0)

    def test_against_a_constant(self) -> None:
        curve = Curve(((1.0, 30.0), (11.0, 32.0), (21.0, 27.0)))
        assert measure(kinds.ANGLE, 30.0, curve).drift == pytest.approx(-3.0)
        assert measure(kinds.ANGLE, curve, 30.0).drift == pytest.approx(3.0)

    def test_a_flicker_about_the_master(self) -> None:
        curve = Curve(((1.0, Level(1.0)), (2.0, Level(1.05)), (3.0, Level(0.94))))
        assert measure(kinds.LEVEL, Level(1.0), curve).drift == pytest.approx(math.log2(0.94))

    def test_counts_deviate_by_factor(self) -> None:
        curve = Curve(((1.0, 32.0), (2.0, 16.0), (3.0, 48.0)))
        assert measure(kinds.COUNT, 32.0, curve).drift == 0.5

    def test_a_light_that_goes_out_on_one_frame(self) -> None:
        curve = Curve(((1.0, Level(1.0)), (2.0, Level(0.0))))
        measured = measure(kinds.LEVEL, Level(1.0), curve)
        assert (measured.drift, measured.remark) == (-math.inf, "dark in the shot at frame 2")

    def test_texts_and_switches(self) -> None:
        curve = Curve(((1.0, True), (5.0, False)), "held")
        assert math.isnan(measure(kinds.SWITCH, True, curve).drift)
        assert measure(kinds.SWITCH, curve, Curve(((1.0, True), (5.0, False)), "held")).drift == 0.0

    def test_compared_with_linear_with_the_same_keys(self) -> None:
        """Equal on every key frame, but one jumps where the other goes gradually."""
        keys = ((1.0, 10.0), (11.0, 20.0))
        measured = measure(kinds.ANGLE, Curve(keys, "linear"), Curve(keys, "held"))
        assert measured.drift == pytest.approx(-10.0)
        assert measured.remark == "largest at frame 11"

    @given(curves_of(levels))
    def test_against_itself(self, curve: Curve) -> None:
        assert measure(kinds.LEVEL, curve, curve).drift == 0.0

    @given(curves_of(positions), curves_of(positions))
    def test_never_less_than_at_any_key(self, a: Curve, b: Curve) -> None:
        drift = measure(kinds.POSITION, a, b).drift
        for frame in {*a.frames(), *b.frames()}:
            assert measure(kinds.POSITION, a.at(frame), b.at(frame)).drift <= drift + 1e-9

    @given(curves_of(st.floats(1, 100)), curves_of(st.floats(1, 100)), st.floats(-100, 100))
    def test_never_less_than_between_the_keys(self, a: Curve, b: Curve, frame: float) -> None:
        """Of a difference of two straight lines the ends of every stretch are the extremes."""
        drift = abs(measure(kinds.FRACTION, a, b).drift)
        here = measure(kinds.FRACTION, a.at(frame), b.at(frame)).drift
        assert abs(here) <= drift + 1e-6


@given(unit_vectors)
def test_the_noise_of_short_vectors_counts_as_equal(vector: tuple[float, ...]) -> None:
    """A sheet with vectors of eight decimals is no drift."""
    rounded = tuple(round(number, 8) for number in vector)
    assume(any(rounded))
    assert severity(kinds.DIRECTION, measure(kinds.DIRECTION, vector, rounded).drift, 0.5) == 0.0


@pytest.mark.parametrize("size", [0.003, 0.4, 2.0, 30.0])
def test_a_size_that_a_transform_of_32_bits_scaled_is_the_same_as_is_the_level_that_hangs_on_it(
    size: float,
) -> None:
    scaled = size * (1.0 + 1.9e-7)
    pairs: list[tuple[str, Value, Value]] = [
        (kinds.LENGTH, size, scaled),
        (kinds.LEVEL, Level(3.0 * size**2), Level(3.0 * scaled**2)),
    ]
    for kind, one, other in pairs:
        assert same(kind, one, other) and same(kind, other, one) and alike(one, other)
    assert not same(kinds.LENGTH, size, size * 1.000001) and not alike(size, size * 1.000001)
    assert not same(kinds.LEVEL, Level(size), Level(size * 1.000001))
    assert not alike(Level(size), Level(size * 1.000001))


@pytest.mark.parametrize("size", [0.0, 1.0, 150.0, 1e5])
def test_a_place_is_as_exact_as_a_transform_of_32_bits_leaves_it(size: float) -> None:
    """A rounding to 32 bits is 6e-8 of the number; a micrometre beside it, and thrice that far out, is a move."""
    place = (size, 2.0, -1.0)
    rounded = (float(np.float32(size * 1.00000001)), 2.0 + 9e-9, -1.0)
    assert same("position", place, rounded)
    assert measure("position", place, rounded).drift == 0.0
    assert not same("position", place, (size + 1e-6 * max(size, 1.0), 2.0, -1.0))
