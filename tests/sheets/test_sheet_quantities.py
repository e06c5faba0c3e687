import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from samelight.sheets.conventions import Conventions
from samelight.sheets.parameters import LIGHT, Parameter
from samelight.sheets.quantities import LARGEST_NUMBER, kind_of_value
from samelight.sheets.values import Amount, Colour, FileRef, Level
from samelight.sheets.vocabulary import KINDS
from sheets.sheet_help import reader

PLACE = ("render", "x")
PLAIN = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=3),
    max_leaves=8,
)
KINDS_AND_NONE = st.sampled_from([None, *KINDS])


class TestUnknownParameters:
    """Whatever is typed is kept, in the terms that its value suggests."""

    @pytest.mark.parametrize(
        ("typed", "kind", "value"),
        [
            (64, None, 64.0),
            (64, "count", 64.0),
            (True, None, True),
            (True, "count", True),
            ("moody", None, "moody"),
            ("64", "count", "64"),
            ("3.5 m", None, Amount(3.5, "length")),
            ("3.5 m", "length", 3.5),
            ("3.5 m", "angle", Amount(3.5, "length")),
            ("4300 K", "temperature", 4300.0),
            ("20 %", "fraction", 0.2),
            ("20 %", None, Amount(0.2, "fraction")),
            ("0.5 st", None, Amount(0.5, "stops")),
            ("1 st", "level", Level(2.0)),
            ("5000 st", "level", Amount(5000.0, "stops")),
            ("800 lx", None, Level(800.0, "illuminance")),
            ("80 nits", "level", Level(80.0, "luminance")),
            ("-80 nits", None, Amount(-80.0, "light")),
            (0.8, "level", Level(0.8)),
            (-0.8, "level", -0.8),
            ("18m", "duration", 1080.0),
            ("18m", None, Amount(18.0, "length")),
            ("soon", "duration", "soon"),
            ([1, 0, 0], "colour", Colour(0.4507042253521127, 0.5228873239436621)),
            ([0, 0, 0], "colour", None),
            ([1, 0], "colour", (1.0, 0.0)),
            ([0, 0, -2], "direction", (0.0, 0.0, -1.0)),
            ([1, "200 cm", 0], "position", (1.0, 2.0, 0.0)),
            ([1, 2], None, (1.0, 2.0)),
            (["b", "a", "b"], None, frozenset({"a", "b"})),
            ([], None, "[]"),
            ([1, "a"], None, '[1, "a"]'),
            ([1, True], None, "[1, true]"),
            ([[1, 2], [3, 4]], None, "[[1, 2], [3, 4]]"),
            ("all", "choice", "all"),
            (1, "choice", "1"),
            (1.0, "choice", "1"),
            (1.5, "choice", "1.5"),
            (True, "choice", "true"),
            (123456789, "text", "123456789"),
            (["one", "two"], "choice", frozenset({"one", "two"})),
            ("maps/dawn.exr", "file", FileRef("maps/dawn.exr")),
            (3, "file", 3.0),
            ("camera", "set", frozenset({"camera"})),
            (["camera", 64, 64.0, True], "set", frozenset({"camera", "64", "true"})),
            ([], "set", frozenset()),
            (3, "set", 3.0),
            (None, "set", None),
            (-1, "length", -1.0),
        ],
    )
    def test_are_read_so(self, typed: Any, kind: str | None, value: Any) -> None:
        read = reader()
        got = read.value(typed, kind, PLACE)
        if isinstance(value, Colour):
            assert isinstance(got, Colour)
            assert (got.u, got.v) == pytest.approx((value.u, value.v), abs=1e-6)
        else:
            assert got == value
            assert type(got) is type(value)
        read.faults.raise_if_any()

    @given(PLAIN, KINDS_AND_NONE)
    def test_of_any_form_give_a_value_or_a_fault(self, typed: object, kind: str | None) -> None:
        read = reader(Conventions(0.01, level="lx", up_axis="Z"))
        value = read.value(typed, kind, PLACE)
        if value is not None:
            hash(value)
            assert kind_of_value(value)
        numbers = [value] if isinstance(value, float) else value if isinstance(value, tuple) else []
        assert all(math.isfinite(number) for number in numbers)

    def test_bare_lengths_count_in_the_sheets_unit(self) -> None:
        assert reader(Conventions(0.01)).value(350, "length", PLACE) == 3.5
        assert reader(Conventions(0.01)).value("350 cm", "length", PLACE) == 3.5
        assert reader(Conventions(0.01)).value(-1, "length", PLACE) == -1.0

    def test_bare_levels_count_in_the_sheets_unit(self) -> None:
        assert reader(Conventions(level="lx")).value(800, "level", PLACE) == Level(800.0, "illuminance")


class TestKnownParameters:
    @pytest.mark.parametrize(
        ("name", "typed", "value"),
        [
            ("radius", "4 cm", 0.04),
            ("radius", 0, 0.0),
            ("cone", "32 deg", 32.0),
            ("cone", 180, 180.0),
            ("softness", "20 %", 0.2),
            ("samples", 64, 64.0),
            ("diffuse", 1, Level(1.0)),
            ("visible", False, False),
            ("seen_by", "camera", frozenset({"camera"})),
            ("light_links", ["b", "a"], frozenset({"a", "b"})),
            ("type", "spot", "spot"),
            ("ies", "a.ies", FileRef("a.ies")),
            ("focus_tint", [0, 0, 0], None),
            ("shadow.distance", -1, -1.0),
            ("temperature", "250 mired", 4000.0),
            ("radius", None, None),
        ],
    )
    def test_are_read_so(self, name: str, typed: Any, value: Any) -> None:
        read = reader()
        assert read.known(typed, LIGHT[name], PLACE) == value
        read.faults.raise_if_any()

    def test_a_length_without_end_does_not_scale(self) -> None:
        read = reader(Conventions(0.01))
        assert read.known(-1, LIGHT["shadow.distance"], PLACE) == -1.0
        assert read.known(350, LIGHT["shadow.distance"], PLACE) == 3.5

    @given(PLAIN, st.sampled_from(sorted(LIGHT)))
    def test_of_any_form_give_a_value_or_a_fault(self, typed: object, name: str) -> None:
        read = reader()
        value = read.known(typed, LIGHT[name], PLACE)
        assert value is not None or typed is None or len(read.faults) or LIGHT[name].kind == "colour"

    @given(st.floats(-1e3, 1e3), st.floats(-1e3, 1e3), st.floats(-1e3, 1e3))
    def test_a_range_holds_at_both_ends(self, a: float, b: float, number: float) -> None:
        least, most = sorted((a, b))
        read = reader()
        value = read.known(number, Parameter("number", "x", least, most), PLACE)
        assert (value == number) is (least <= number <= most)
        assert len(read.faults) == (value is None)


class TestNumbers:
    def test_the_largest(self) -> None:
        read = reader()
        assert read.number(LARGEST_NUMBER, None, PLACE) == 1e100
        assert read.number(-LARGEST_NUMBER, None, PLACE) == -1e100
        assert read.number(1.01e100, None, PLACE) is None
        assert len(read.faults) == 1

    def test_a_switch_is_no_number(self) -> None:
        assert reader().number(True, None, PLACE) is None

    @pytest.mark.parametrize(
        "value", [[1, 2], [1, 2, 3, 4], "123", {"a": 1}, None, 3, [1, 2, "x"], [1, 2, True]]
    )
    def test_a_vector_has_three_numbers(self, value: Any) -> None:
        read = reader()
        assert read.numbers(value, 3, None, PLACE) is None
        assert len(read.faults) == 1

    def test_positions_and_directions_come_y_up(self) -> None:
        read = reader(Conventions(0.01, up_axis="Z"))
        assert read.position([100, 200, 300], PLACE) == (1.0, 3.0, -2.0)
        assert read.direction([0, 0, -5], PLACE) == (0.0, -1.0, 0.0)

    def test_a_very_short_vector_points_somewhere(self) -> None:
        assert reader().direction([0, -1e-300, 0], PLACE) == (0.0, -1.0, 0.0)


@pytest.mark.parametrize(
    ("value", "kind"),
    [
        (True, "switch"),
        (1.0, "number"),
        ((1.0, 2.0), "number"),
        (frozenset({"a"}), "set"),
        (Level(1.0), "level"),
        (Colour(0.2, 0.4), "colour"),
        (FileRef("a"), "file"),
        (Amount(1.0, "length"), "length"),
        (Amount(1.0, "stops"), "number"),
        ("a", "text"),
    ],
)
def test_the_kind_of_a_value(value: Any, kind: str) -> None:
    assert kind_of_value(value) == kind
