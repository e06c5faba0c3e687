"""Values and drifts in words."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from samelight.drift.cells import ComparedCell, Grade
from samelight.drift.metrics import SCALES
from samelight.drift.words import drift_text, measured_text, members_text, number_text, value_text
from samelight.sheets.values import Amount, Colour, Curve, FileRef, Level
from strategies import values


@pytest.mark.parametrize(
    ("value", "kind", "text"),
    [
        (None, "level", "none"),
        (True, "switch", "on"),
        (False, "switch", "off"),
        (Level(3.2), "level", "3.2"),
        (Level(800.0, "illuminance"), "level", "800 lx"),
        (Level(1.5, "intensity"), "level", "1.5 cd"),
        (Colour(0.21143, 0.48471), "colour", "u′ 0.2114 v′ 0.4847"),
        (FileRef("maps/dawn.exr"), "file", "maps/dawn.exr"),
        (FileRef("maps/dawn.exr", "940f7aa1a5979c4f"), "file", "maps/dawn.exr (940f7aa1)"),
        (Amount(3.5, "length"), "number", "3.5 m"),
        (Amount(0.5, "stops"), "number", "0.5 st"),
        (Amount(0.25, "fraction"), "number", "0.25"),
        (3.5, "length", "3.5 m"),
        (-32.0, "angle", "−32°"),
        (4300.0, "temperature", "4300 K"),
        (1100.0, "duration", "18m20s"),
        (192.0, "count", "192"),
        (frozenset({"b", "a"}), "set", "a, b"),
        (frozenset(), "set", "nothing"),
        ((1.2, 2.4, -2.0), "position", "1.2, 2.4, −2 m"),
        ((1920.0, 804.0), "number", "1920, 804"),
        ((0.0, -1.0, 0.0), "direction", "az 0.0° el 90.0°"),
        ((0.0, 1.0, 0.0), "direction", "az 0.0° el −90.0°"),
        ((0.0, 0.0, 0.0), "direction", "0, 0, 0"),
        (Curve(((1.0, Level(1.0)), (2.0, Level(2.0)))), "level", "2 keys, 1 → 2"),
        ("all", "choice", "all"),
    ],
)
def test_values(value: Any, kind: str, text: str) -> None:
    assert value_text(value, kind) == text


def test_azimuth_counts_from_the_north_that_was_stated() -> None:
    west = (-1.0, 0.0, 0.0)  # a light from the east shines to the west
    assert value_text(west, "direction") == "az 90.0° el 0.0°"
    assert value_text(west, "direction", north=(1.0, 0.0, 0.0)) == "az 0.0° el 0.0°"


@given(values, st.sampled_from(sorted(SCALES)))
def test_any_value_has_words(value: Any, kind: str) -> None:
    assert isinstance(value_text(value, kind), str)


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.0, "0"),
        (-0.25, "−0.25"),
        (1 / 3, "0.3333"),
        (12345.6, "12346"),
        (9900.0, "9900"),
        (1e-7, "1e−07"),
        (1e20, "1e+20"),
        (math.inf, "∞"),
        (-math.inf, "−∞"),
        (math.nan, "?"),
    ],
)
def test_numbers(value: float, text: str) -> None:
    assert number_text(value) == text


@pytest.mark.parametrize(
    ("kind", "drift", "text"),
    [
        ("direction", 12.04, "12.0°"),
        ("direction", 4.52, "4.5°"),
        ("direction", 0.344, "0.34°"),
        ("direction", 123.4, "123°"),
        ("level", 0.5, "+0.50 st"),
        ("level", -0.35, "−0.35 st"),
        ("level", -0.0004, "<0.01 st"),
        ("level", 0.0, "0.00 st"),
        ("colour", 0.001, "<0.01 steps"),
        ("level", -math.inf, "−∞ st"),
        ("level", math.inf, "+∞ st"),
        ("colour", 9.44, "9.44 steps"),
        ("temperature", -29.6, "−29.6 MK⁻¹"),
        ("position", 0.547, "54.7 cm"),
        ("position", 0.0042, "4.2 mm"),
        ("position", 1.5, "1.50 m"),
        ("length", 9900.0, "+9900 %"),
        ("length", 1.667, "+1.67 %"),
        ("length", math.inf, "+∞ %"),
        ("angle", -6.0, "−6.00°"),
        ("count", 2 / 3, "×0.667"),
        ("count", 12.0, "×12"),
        ("count", math.inf, "×∞"),
        ("fraction", 5.0, "+5.00 pp"),
        ("set", 3.0, ""),
        ("switch", math.nan, ""),
        ("direction", math.nan, ""),
    ],
)
def test_drifts(kind: str, drift: float, text: str) -> None:
    assert measured_text(kind, drift) == text


def cell(
    master: Any, value: Any, base: str, drift: float = math.nan, remark: str = "", grade: Any = Grade.DRIFT
) -> ComparedCell:
    return ComparedCell("A", "x.y", base, base, master, value, drift, SCALES[base].unit, 1.0, grade, remark)


@pytest.mark.parametrize(
    ("what", "text"),
    [
        (cell(Level(1.0), Level(1.0), "level", 0.0, grade=Grade.SAME), ""),
        (cell(None, None, "level", grade=Grade.NONE), ""),
        (cell(Level(1.0), Level(2.0), "level", 1.0), "+1.00 st"),
        (cell(None, "present", "presence", remark="extra"), "extra"),
        (cell("present", None, "presence", remark="absent"), "absent"),
        (cell(None, Level(2.0), "level", remark="extra"), "extra"),
        (cell(frozenset({"a", "b"}), frozenset({"b", "c", "d"}), "set", 3.0), "+2 −1"),
        (cell("held", "all", "choice"), "all"),
        (cell("held", "every second frame", "choice"), "≠"),
        (cell(True, False, "switch"), "off"),
        (cell(1.0, True, "count", remark="type changed"), "type"),
        (cell(1.0, Curve(((1.0, True), (2.0, 1.0))), "count", remark="type changed at frame 1"), "type"),
        (cell(Level(1.0, "illuminance"), Level(1.0), "level", remark="not comparable: …"), "≠"),
        (cell(FileRef("a"), FileRef("b"), "file"), "≠"),
    ],
)  # fmt: skip
def test_a_cell_of_the_grid(what: ComparedCell, text: str) -> None:
    assert drift_text(what) == text


def test_sets() -> None:
    assert members_text(frozenset("ab"), frozenset("bc")) == "+1 −1"
    assert members_text(frozenset("a"), frozenset("abc")) == "+2"
    assert members_text(frozenset("a"), frozenset()) == "−1"
    assert members_text(frozenset("a"), frozenset("a")) == ""
