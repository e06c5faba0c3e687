import math
from decimal import Decimal

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from known import there
from samelight.sheets.units import (
    FACTORS,
    LIGHT_UNITS,
    METRES,
    MIRED,
    clock_text,
    parse_duration,
    parse_quantity,
    times,
)

DECIMALS = st.decimals(-9999, 9999, allow_nan=False, allow_infinity=False, places=4)


@pytest.mark.parametrize(
    ("text", "value", "dimension"),
    [
        ("350 cm", 3.5, "length"),
        ("350cm", 3.5, "length"),
        ("3500 mm", 3.5, "length"),
        ("35 dm", 3.5, "length"),
        ("3.5 m", 3.5, "length"),
        ("0.0035 km", 3.5, "length"),
        ('12 "', 0.3048, "length"),
        ("12 in", 0.3048, "length"),
        ("1 ft", 0.3048, "length"),
        ("1'", 0.3048, "length"),
        ("3 feet", 0.9144, "length"),
        ("1 yd", 0.9144, "length"),
        ("-2 m", -2.0, "length"),
        ("+.5 m", 0.5, "length"),
        ("1e2 cm", 1.0, "length"),
        ("32 deg", 32.0, "angle"),
        ("32°", 32.0, "angle"),
        ("1 degree", 1.0, "angle"),
        ("3.141592653589793 rad", 180.0, "angle"),
        ("4300 K", 4300.0, "temperature"),
        ("4300kelvin", 4300.0, "temperature"),
        ("200 mired", 5000.0, "temperature"),
        ("200 MK⁻¹", 5000.0, "temperature"),
        ("0.5 st", 0.5, "stops"),
        ("-1 stop", -1.0, "stops"),
        ("2 EV", 2.0, "stops"),
        ("20 %", 0.2, "fraction"),
        ("2 pp", 0.02, "fraction"),
        ("90 s", 90.0, "duration"),
        ("3 min", 180.0, "duration"),
        ("1.5 h", 5400.0, "duration"),
        ("18m20s", 1100.0, "duration"),
        ("2h01m05s", 7265.0, "duration"),
        ("1 h 5 m", 3900.0, "duration"),
        ("1h 30s", 3630.0, "duration"),
        ("18m20.5s", 1100.5, "duration"),
        ("800 lx", 800.0, "light"),
        ("800 lux", 800.0, "light"),
        ("1.5e3 cd", 1500.0, "light"),
        ("80 nits", 80.0, "light"),
        ("80 cd/m2", 80.0, "light"),
        ("80 cd/m²", 80.0, "light"),
    ],
)
def test_quantities(text: str, value: float, dimension: str) -> None:
    quantity = parse_quantity(text)
    assert quantity is not None
    assert (quantity.value, quantity.dimension) == (value, dimension)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "lantern",
        "3.5",
        "m",
        "m 3",
        "3,5 m",
        "3 .5 m",
        "1 m 2",
        "1 m m",
        "1 lb",
        "4300 k",
        "5 M",
        "0 mired",
        "-100 mired",
        "1e400 m",
        "1e308 km",
        "-1e308 km",
        "nan m",
        "inf m",
        "0x10 m",
        "٣ m",
        "-1h5m",
        "1h1h",
        "18:20",
        "5m1h",
        "1" * 70 + " m",
        "9" * 100_000,
        "1 " * 50_000 + "m",
    ],
)
def test_what_is_no_quantity(text: str) -> None:
    assert parse_quantity(text) is None


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("18m", 1080.0),
        ("18 m", 1080.0),
        ("18m20s", 1100.0),
        ("2h", 7200.0),
        ("90s", 90.0),
        ("0s", 0.0),
        ("0.5 h", 1800.0),
        ("3 min", 180.0),
        ("18", None),
        ("", None),
        ("18 cm", None),
        ("-5 s", -5.0),
        ("18:20", None),
        ("9" * 100, None),
    ],
)
def test_durations_where_one_is_meant(text: str, seconds: float | None) -> None:
    assert parse_duration(text) == seconds


@given(DECIMALS, st.sampled_from(sorted(FACTORS)), st.sampled_from(["", " ", "  "]))
def test_every_unit_by_its_factor(number: Decimal, unit: str, gap: str) -> None:
    quantity = parse_quantity(f"{number}{gap}{unit}")
    dimension, factor = FACTORS[unit]
    assert quantity is not None
    assert quantity.dimension == dimension
    exact = float(number * Decimal(repr(factor)))
    assert (
        quantity.value == exact if dimension != "angle" else quantity.value == pytest.approx(exact, rel=1e-15)
    )


@given(DECIMALS)
def test_lengths_in_other_units_are_equal_numbers(metres: Decimal) -> None:
    in_metres = parse_quantity(f"{metres} m")
    assert in_metres is not None
    for unit, factor in METRES.items():
        number = metres / Decimal(repr(factor))
        if number * Decimal(repr(factor)) == metres and len(f"{number} {unit}") <= 64:
            assert there(parse_quantity(f"{number} {unit}")).value == in_metres.value == float(metres)


@given(st.decimals("0.001", 9999, places=3), st.sampled_from(MIRED))
def test_mireds_are_reciprocal(number: Decimal, unit: str) -> None:
    assert there(parse_quantity(f"{number} {unit}")).value == pytest.approx(1e6 / float(number), rel=1e-15)


@given(DECIMALS, st.sampled_from(sorted(LIGHT_UNITS)))
def test_light_keeps_its_number_and_gets_its_unit(number: Decimal, unit: str) -> None:
    quantity = there(parse_quantity(f"{number} {unit}"))
    assert (quantity.value, quantity.dimension, quantity.unit) == (float(number), "light", LIGHT_UNITS[unit])


@given(st.text(max_size=80))
def test_any_text_is_a_finite_quantity_or_none(text: str) -> None:
    quantity = parse_quantity(text)
    assert quantity is None or math.isfinite(quantity.value)
    seconds = parse_duration(text)
    assert seconds is None or math.isfinite(seconds)


@given(
    st.from_regex(
        r"[-+]?[0-9]{0,40}\.?[0-9]{0,20}(e[-+]?[0-9]{1,9})? ?(km|cm|deg|st|%|mired|lx|h|m)", fullmatch=True
    )
)
def test_any_number_with_a_unit_is_a_finite_quantity_or_none(text: str) -> None:
    quantity = parse_quantity(text)
    assert quantity is None or math.isfinite(quantity.value)


class TestTimes:
    @given(DECIMALS, st.sampled_from(list(METRES.values())))
    def test_is_exact_in_decimal(self, number: Decimal, factor: float) -> None:
        assert times(float(number), factor) == float(number * Decimal(repr(factor)))

    def test_beyond_a_double(self) -> None:
        assert times(1e308, 1000.0) == math.inf
        assert times("-1e308", 1000.0) == -math.inf
        assert times("1e-400", 1000.0) == 0.0
        assert times(5e-324, 0.001) == 0.0

    @given(st.floats(allow_nan=False, allow_infinity=False))
    def test_by_one_changes_nothing(self, number: float) -> None:
        assert times(number, 1.0) == number


class TestClock:
    @pytest.mark.parametrize(
        ("seconds", "text"),
        [
            (0, "0s"),
            (59.5, "59.5s"),
            (60, "1m00s"),
            (1100, "18m20s"),
            (3599.6, "1h00m00s"),
            (7265, "2h01m05s"),
        ],
    )
    def test_is_written_as_people_write_it(self, seconds: float, text: str) -> None:
        assert clock_text(seconds) == text

    @given(st.integers(0, 10**6))
    def test_is_read_back(self, seconds: int) -> None:
        assert parse_duration(clock_text(seconds)) == seconds

    @given(st.floats(0, 1e6))
    def test_is_read_back_to_the_second(self, seconds: float) -> None:
        assume(seconds >= 1e-3)
        assert parse_duration(clock_text(seconds)) == pytest.approx(seconds, abs=0.5)
