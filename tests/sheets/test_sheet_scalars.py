"""A plain scalar as a person means it: the traps of YAML 1.1, one by one."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from samelight.sheets.scalars import WORDS, finite, integer, scalar


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("64", 64),
        ("010", 10),
        ("-7", -7),
        ("+3", 3),
        ("1_000", 1000),
        ("-12_345_678", -12345678),
        ("1_000.5", 1000.5),
        ("64.0", 64.0),
        ("3.", 3.0),
        (".5", 0.5),
        ("-.5", -0.5),
        ("1e3", 1000.0),
        ("1e-5", 1e-5),
        ("1E+5", 1e5),
        ("0x1F", 31),
        ("-0x1f", -31),
        ("0o17", 15),
        ("0b101", 5),
    ],
)
def test_numbers(text: str, value: float) -> None:
    read = scalar(text)
    assert read == value
    assert type(read) is type(value)


@pytest.mark.parametrize(
    "text",
    [
        "12:30",
        "1:30:00",
        "2026-09-14",
        "1_00",
        "010_020",
        "_1",
        "1__000",
        "0x",
        "0xG",
        "0b2",
        "08:15",
        "1e",
        "e5",
        ".",
        "+",
        "-",
        "..",
        "1.2.3",
        "v003",
        "3.5 m",
        "yEs",
        "y",
        "n",
        "Y",
        "nulll",
        "~x",
        "information",
        "nano",
        "İnf",
        "٣",
        "½",
    ],
)
def test_text(text: str) -> None:
    assert scalar(text) == text


@pytest.mark.parametrize(("text", "value"), list(WORDS.items()))
def test_words_that_stand_for_a_value(text: str, value: bool | None) -> None:
    assert scalar(text) is value


@pytest.mark.parametrize("word", ["yes", "Yes", "YES", "on", "On", "ON", "true", "True", "TRUE"])
def test_yes_is_true(word: str) -> None:
    assert scalar(word) is True


@pytest.mark.parametrize(
    "text",
    [
        ".nan",
        "nan",
        "NaN",
        "-.NAN",
        ".inf",
        "-.inf",
        "+.Inf",
        "inf",
        "Infinity",
        "-Infinity",
        "1e400",
        "-1e999",
        "9" * 400,
        "9" * 100_000,
        "-" + "9" * 400,
        "9" * 400 + ".5",
        "0x" + "f" * 300,
    ],
)
def test_what_is_not_finite_is_refused(text: str) -> None:
    with pytest.raises(ValueError):  # noqa: PT011 - it says the number, or what Python says of it
        scalar(text)


def test_many_digits_that_say_little() -> None:
    assert scalar("0" * 100_000 + "7") == 7
    assert scalar("-" + "0" * 5000 + "7") == -7
    assert scalar("0." + "0" * 5000 + "1") == 0.0
    assert scalar("0" * 5000) == 0
    assert integer("9" * 308) == int("9" * 308)


@given(st.integers(-(10**300), 10**300))
def test_every_whole_number_comes_back(number: int) -> None:
    assert scalar(str(number)) == number


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_every_finite_number_comes_back(number: float) -> None:
    read = scalar(repr(number))
    assert read == number
    assert math.copysign(1, read) == math.copysign(1, number)


@given(st.text(min_size=1))
def test_any_text_gives_a_finite_value_or_a_value_error(text: str) -> None:
    try:
        value = scalar(text)
    except ValueError:
        return
    assert value is None or isinstance(value, str | bool) or math.isfinite(value)


def test_a_decimal_number_is_finite_or_refused() -> None:
    assert finite("2.5") == 2.5
    with pytest.raises(ValueError):  # noqa: PT011 - it says the number, or what Python says of it
        finite("1e999")
