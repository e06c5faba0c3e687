import json
import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from known import being
from samelight.light.directions import angle_between, normalised
from samelight.sheets.trees import parse_document
from samelight.sheets.values import (
    Amount,
    Bearing,
    Colour,
    Curve,
    FileRef,
    Level,
    Value,
    alike,
    blend,
    decoded,
    encoded,
    strictly_equal,
)
from samelight.sheets.writing import json_text, yaml_text

FINITE = st.floats(allow_nan=False, allow_infinity=False)
MODEST = st.floats(-1e6, 1e6)
TEXT = st.text(st.characters(exclude_categories=["Cs"]))
STATIC = (
    FINITE
    | st.booleans()
    | TEXT
    | st.lists(FINITE, max_size=4).map(tuple)
    | st.frozensets(TEXT, max_size=4)
    | st.builds(Level, FINITE, TEXT)
    | st.builds(Colour, FINITE, FINITE)
    | st.builds(FileRef, TEXT, TEXT)
    | st.builds(Amount, FINITE, TEXT)
)
FRAMES = st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=5, unique=True).map(sorted)


@st.composite
def curves(draw: st.DrawFn, values: st.SearchStrategy[Any] = STATIC) -> Curve:
    frames = draw(FRAMES)
    return Curve(tuple((frame, draw(values)) for frame in frames), draw(st.sampled_from(["linear", "held"])))


VALUES = STATIC | curves()
UNIT = st.tuples(MODEST, MODEST, MODEST).filter(lambda v: max(map(abs, v)) > 1e-3).map(normalised)


class TestEncoding:
    @given(VALUES | st.none())
    def test_comes_back(self, value: Any) -> None:
        assert strictly_equal(decoded(encoded(value)), value)

    @given(VALUES)
    def test_comes_back_through_a_yaml_file(self, value: Any) -> None:
        text = yaml_text({"value": encoded(value)})
        document = parse_document(Path("decision.yaml"), text)
        document.faults.raise_if_any()
        assert strictly_equal(decoded(document.data["value"]), value)

    @given(VALUES)
    def test_comes_back_through_a_json_file(self, value: Any) -> None:
        document = parse_document(Path("decision.json"), json_text({"value": encoded(value)}))
        document.faults.raise_if_any()
        assert strictly_equal(decoded(document.data["value"]), value)

    @given(VALUES)
    def test_is_plain_data(self, value: Any) -> None:
        json.dumps(encoded(value))

    def test_the_order_of_a_set_does_not_matter(self) -> None:
        assert encoded(frozenset({"b", "a"})) == {"set": ["a", "b"]}

    def test_a_file_without_a_hash_is_a_path(self) -> None:
        assert encoded(FileRef("a.exr")) == {"path": "a.exr"}

    @pytest.mark.parametrize(
        "data",
        [
            {},
            {"level": 1},
            {"level": "x", "quantity": "relative"},
            {"level": None, "quantity": "relative"},
            {"u": [1], "v": 2},
            {"amount": 10**400, "dimension": "length"},
            {"set": "abc"},
            {"set": 3},
            {"keys": [], "interpolation": "linear"},
            {"keys": 3, "interpolation": "linear"},
            {"keys": [[1]], "interpolation": "linear"},
            {"keys": [[1, 2, 3]], "interpolation": "linear"},
            {"keys": [["x", 2]], "interpolation": "linear"},
            {"keys": [[1, None]], "interpolation": "linear"},
            {"keys": [[1, 2.0], [1, 3.0]], "interpolation": "linear"},
            {"keys": [[2, 2.0], [1, 3.0]], "interpolation": "linear"},
            {"keys": [[1, 2.0]], "interpolation": "wavy"},
            {"keys": [[1, {"keys": [[1, 2.0]], "interpolation": "held"}]], "interpolation": "linear"},
            {1: 2},
            ["a"],
            [[1]],
            [None],
            10**400,
            object(),
            b"x",
        ],
        ids=lambda data: type(data).__name__,
    )
    def test_what_is_none_is_a_value_error(self, data: Any) -> None:
        with pytest.raises(ValueError):  # noqa: PT011 - whichever rule it breaks first says so
            decoded(data)

    @given(
        st.recursive(
            st.none() | st.booleans() | st.integers() | FINITE | st.text(),
            lambda inner: (
                st.lists(inner, max_size=4)
                | st.dictionaries(
                    st.sampled_from(
                        ["keys", "interpolation", "level", "quantity", "u", "v", "path", "set", "sha256"]
                    )
                    | st.text(),
                    inner,
                    max_size=3,
                )
            ),
        )
    )
    def test_any_data_is_a_value_or_a_value_error(self, data: object) -> None:
        try:
            value = decoded(data)
        except ValueError:
            return
        assert strictly_equal(decoded(encoded(value)), value)


class TestEquality:
    @pytest.mark.parametrize(
        ("a", "b"),
        [(1.0, True), (1.0, 1), (0.0, False), ("1", 1.0), ((1.0,), [1.0]), (Level(1.0), 1.0), (None, 0.0)],
    )
    def test_strictly_takes_types_into_account(self, a: Any, b: Any) -> None:
        assert not strictly_equal(a, b)
        assert not alike(a, b)

    @given(VALUES)
    def test_everything_equals_itself(self, value: Any) -> None:
        assert strictly_equal(value, value)
        assert alike(value, value)

    @given(VALUES, VALUES)
    def test_what_is_strictly_equal_is_alike_and_both_are_symmetric(self, a: Any, b: Any) -> None:
        assert alike(a, b) or not strictly_equal(a, b)
        assert alike(a, b) is alike(b, a)
        assert strictly_equal(a, b) is strictly_equal(b, a)

    @given(
        st.floats(1e-3, 1e6),
        st.sampled_from([Level, lambda x: (x, 1.0), lambda x: Curve(((1.0, x), (2.0, 0.5)))]),
    )
    def test_the_last_digits_do_not_count_when_alike(
        self, number: float, make: Callable[[float], Value]
    ) -> None:
        near, far = number * (1 + 1e-12), number * (1 + 1e-6)
        assert alike(make(number), make(near))
        assert not alike(make(number), make(far))

    @given(st.floats(1e-90, 1e90))
    def test_a_small_level_is_as_exact_as_a_large_one(self, number: float) -> None:
        assert not alike(Level(number), Level(number * 1.000001))

    def test_noise_about_zero_does_not_count_when_alike(self) -> None:
        assert alike((1.0, 1e-17, 0.0), (1.0, 0.0, -0.0))

    def test_nothing_is_only_like_nothing(self) -> None:
        assert alike(None, None)
        assert not alike(None, "")


class TestBlending:
    @given(VALUES.filter(lambda v: not isinstance(v, Curve)), st.floats(0, 1))
    def test_between_equals_nothing_moves(self, value: Any, share: float) -> None:
        if (
            isinstance(value, tuple)
            and len(value) == 3
            and math.isclose(math.hypot(*value), 1.0, abs_tol=1e-8)
        ):
            assert blend(value, value, share) == pytest.approx(value)
        else:
            assert strictly_equal(blend(value, value, share), value)

    @given(STATIC, STATIC)
    def test_at_its_start_it_is_the_first(self, a: Any, b: Any) -> None:
        got = blend(a, b, 0.0)
        assert got == a or alike(got, a) or not isinstance(a, type(b))

    @pytest.mark.parametrize(
        ("a", "b", "half"),
        [
            (1.0, 3.0, 2.0),
            ((0.0, 2.0), (2.0, 4.0), (1.0, 3.0)),
            (Level(1.0), Level(3.0), Level(2.0)),
            (Level(1.0, "intensity"), Level(3.0), Level(1.0, "intensity")),
            (Colour(0.1, 0.4), Colour(0.3, 0.6), Colour(0.2, 0.5)),
            (Amount(1.0, "length"), Amount(3.0, "length"), Amount(2.0, "length")),
            (Amount(1.0, "length"), Amount(3.0, "angle"), Amount(1.0, "length")),
            ((1.0, 2.0), (1.0, 2.0, 3.0), (1.0, 2.0)),
            (True, False, True),
            (True, 3.0, True),
            ("a", "b", "a"),
            (frozenset("a"), frozenset("b"), frozenset("a")),
            (FileRef("a"), FileRef("b"), FileRef("a")),
            (1.0, "a", 1.0),
        ],
    )
    def test_half_way(self, a: Any, b: Any, half: Any) -> None:
        got = blend(a, b, 0.5)
        assert type(got) is type(half)
        if isinstance(half, Colour):
            assert isinstance(got, Colour)
            assert (got.u, got.v) == pytest.approx((half.u, half.v))
        else:
            assert got == half

    @given(UNIT, UNIT, st.floats(0, 1))
    def test_directions_go_along_the_great_circle(
        self, a: tuple[float, float, float], b: tuple[float, float, float], share: float
    ) -> None:
        got = being(tuple, blend(a, b, share))
        assert math.hypot(*got) == pytest.approx(1.0)
        assert angle_between(a, got) == pytest.approx(share * angle_between(a, b), abs=1e-4)


class TestCurves:
    LINE = Curve(((1.0, 0.0), (3.0, 4.0), (5.0, 4.0)))

    @pytest.mark.parametrize(
        ("frame", "value"),
        [(-9.0, 0.0), (1.0, 0.0), (2.0, 2.0), (3.0, 4.0), (4.0, 4.0), (5.0, 4.0), (99.0, 4.0)],
    )
    def test_blends_between_keys_and_holds_outside(self, frame: float, value: float) -> None:
        assert self.LINE.at(frame) == value

    @pytest.mark.parametrize(("frame", "value"), [(0.0, 0.0), (2.999, 0.0), (3.0, 4.0), (9.0, 4.0)])
    def test_holds(self, frame: float, value: float) -> None:
        assert Curve(self.LINE.keys, "held").at(frame) == value

    @given(curves())
    def test_gives_each_key_at_its_frame(self, curve: Curve) -> None:
        for frame, value in curve.keys:
            assert strictly_equal(curve.at(frame), value)

    @given(curves(MODEST), st.floats(-1e6, 1e6))
    def test_stays_within_its_keys(self, curve: Curve, frame: float) -> None:
        numbers = [being(float, value) for _, value in curve.keys]
        assert min(numbers) - 1e-6 <= being(float, curve.at(frame)) <= max(numbers) + 1e-6

    def test_knows_its_frames(self) -> None:
        assert self.LINE.frames() == [1.0, 3.0, 5.0]

    def test_can_be_a_key_of_a_dictionary(self) -> None:
        assert len({self.LINE, Curve(self.LINE.keys)}) == 1


def test_colours_a_hundredth_of_a_step_apart_are_one_to_a_decision() -> None:
    """What tables and sums of the observer leave open; a tenth of a step is a difference."""
    assert alike(Colour(0.25, 0.52), Colour(0.250006, 0.520006))
    assert not alike(Colour(0.25, 0.52), Colour(0.25011, 0.52))


def test_a_bearing_is_one_to_a_decision_where_both_its_angles_are() -> None:
    """And where only the angle about the vertical was kept, as before heights were, where that is."""
    bearing = Bearing(40.0, 30.0)
    assert decoded(json.loads(json.dumps(encoded(bearing)))) == bearing
    for other, same in (
        (Bearing(40.0 + 1e-7, 30.0), True),
        (Bearing(400.0, 30.0), True),
        (Bearing(40.0, 31.0), False),
        (Bearing(41.0, 30.0), False),
        (40.0, True),
        (41.0, False),
        ("40", False),
        (None, False),
    ):
        assert alike(other, bearing) is same, other
    assert not alike(bearing, 40.0)
