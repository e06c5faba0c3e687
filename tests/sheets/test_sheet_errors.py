import difflib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from samelight.sheets.errors import (
    MOST_COMPARED,
    MOST_FAULTS,
    Fault,
    Faults,
    Found,
    Place,
    SamelightError,
    SheetError,
    dotted,
    nearest_name,
    shown,
    shown_name,
)

FILE = Path("quay.yaml")
LINES: dict[Place, tuple[int, int]] = {("a",): (3, 1), ("b",): (2, 5), (): (1, 1)}


def faults(locate: Callable[[Place], tuple[int, int] | None] = LINES.get) -> Faults:
    return Faults(FILE, locate)


@pytest.mark.parametrize(
    ("fault", "says"),
    [
        (
            Fault("quay.yaml", "lights.sun", "a mapping", "3", 4, 7, "sum"),
            "quay.yaml:4:7: lights.sun: expected a mapping, found 3 (did you mean sum?)",
        ),
        (
            Fault("quay.yaml", "", "UTF-8 text", "NUL bytes", 2),
            "quay.yaml:2: expected UTF-8 text, found NUL bytes",
        ),
        (Fault("quay.yaml", "", "a file", "a folder"), "quay.yaml: expected a file, found a folder"),
    ],
)
def test_a_fault_says_where_what_was_expected_and_what_was_found(fault: Fault, says: str) -> None:
    assert str(fault) == says


def test_a_sheet_error_is_for_the_user_and_says_all_its_faults() -> None:
    error = SheetError([Fault("a", "", "x", "y"), Fault("a", "", "z", "w")])
    assert isinstance(error, SamelightError)
    assert str(error) == "a: expected x, found y\na: expected z, found w"


def test_faults_come_in_the_order_of_the_file() -> None:
    noted = faults()
    noted.add(("a",), "x", 1)
    noted.add(("b",), "y", 2)
    with pytest.raises(SheetError) as caught:
        noted.raise_if_any()
    assert [(fault.line, fault.column, fault.path) for fault in caught.value.faults] == [
        (2, 5, "b"),
        (3, 1, "a"),
    ]


def test_nothing_is_raised_without_faults() -> None:
    noted = faults()
    noted.raise_if_any()
    assert len(noted) == 0


def test_of_one_place_the_first_fault_is_noted() -> None:
    noted = faults()
    for found in (1, 2, 1):
        noted.add(("a",), "x", found)
    assert len(noted) == 1
    with pytest.raises(SheetError, match="found 1"):
        noted.raise_if_any()


def test_a_known_position_is_not_looked_up() -> None:
    noted = faults(locate=lambda place: pytest.fail("looked up"))
    noted.add(("a",), "x", 1, at=(9, 2))
    with pytest.raises(SheetError, match=r"quay\.yaml:9:2: a: expected x, found 1"):
        noted.raise_if_any()


def test_an_unknown_key_names_the_nearest() -> None:
    noted = faults()
    noted.unknown_key(("lighst",), "a key of a sheet", ["lights", "render"], at=(1, 1))
    with pytest.raises(SheetError) as caught:
        noted.raise_if_any()
    (fault,) = caught.value.faults
    assert (fault.found, fault.nearest) == ("the key lighst", "lights")


def test_stopping_says_what_was_noted_before() -> None:
    noted = faults()
    noted.add(("a",), "x", 1)
    with pytest.raises(SheetError) as caught:
        noted.stop("well-formed text", "none", (5, 1))
    assert [fault.line for fault in caught.value.faults] == [3, 5]


def test_a_file_of_nothing_but_faults_is_not_read_to_its_end() -> None:
    noted = faults(locate=lambda place: None)
    with pytest.raises(SheetError) as caught:  # noqa: PT012 - which of them is one too many is not said
        for number in range(10 * MOST_FAULTS):
            noted.add((f"k{number}",), "x", number)
    assert len(caught.value.faults) == MOST_FAULTS + 1
    assert caught.value.faults[-1].found == "more, so the rest was not read"


def test_words_of_its_own_are_not_quoted() -> None:
    noted = faults()
    noted.add(("a",), "x", Found("a folder"))
    noted.add(("b",), "x", "a folder")
    with pytest.raises(SheetError) as caught:
        noted.raise_if_any()
    assert [fault.found for fault in caught.value.faults] == ["'a folder'", "a folder"]


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (None, "nothing"),
        (True, "true"),
        (False, "false"),
        (3, "3"),
        (0.5, "0.5"),
        pytest.param(10**5000, "a very large number", id="very large"),
        ("lamp", "'lamp'"),
        ("", "an empty text"),
        ("a\nb\x1b", r"'a\nb\x1b'"),
        ([], "an empty list"),
        ([1, 2.5, None, True], "[1, 2.5, nothing, true]"),
        ([1, [2]], "a list of 2"),
        (list(range(7)), "a list of 7"),
        ({}, "an empty group"),
        ({"a": 1, "b": 2}, "a group of 2"),
    ],
)
def test_values_are_quoted_on_one_line(value: Any, text: str) -> None:
    assert shown(value) == text


@given(
    st.recursive(
        st.none() | st.booleans() | st.integers() | st.floats() | st.text(),
        lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner),
    )
)
def test_whatever_is_quoted_stays_short_and_printable(value: object) -> None:
    text = shown(value)
    assert 0 < len(text) <= 60
    assert text.isprintable()


@given(st.text())
def test_whatever_a_name_is_it_is_written_short_and_printable(name: str) -> None:
    text = shown_name(name)
    assert 0 < len(text) <= 62
    assert text.isprintable()


@given(st.lists(st.text() | st.integers(0, 99), max_size=4))
def test_a_place_is_printable(place: list[Any]) -> None:
    assert dotted(tuple(place)).isprintable()


def test_a_place_is_written_as_people_write_it() -> None:
    assert dotted(("lights", "sun", "color", 1)) == "lights.sun.color[1]"
    assert dotted(()) == ""
    assert dotted(("a\nb", 0)) == r"'a\nb'[0]"


@pytest.mark.parametrize(("name", "near"), [("lighst", "lights"), ("x", None), ("l" * 5000, None)])
def test_the_nearest_name(name: str, near: str | None) -> None:
    assert nearest_name(name, ["lights", "render"]) == near


def test_among_very_many_names_none_is_looked_for(monkeypatch: pytest.MonkeyPatch) -> None:
    looked: list[str] = []
    real = difflib.get_close_matches

    def look(word: str, *names: Any, **more: Any) -> list[str]:
        looked.append(word)
        return real(word, *names, **more)

    monkeypatch.setattr(difflib, "get_close_matches", look)
    names = [f"HB_{number:05d}" for number in range(2 * MOST_COMPARED)]
    assert nearest_name("HB_0001", names) is None and not looked
    assert nearest_name("HB_0001", names[:100]) is not None and looked
