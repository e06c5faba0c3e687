"""What was read once and is looked up is what reading it plainly gives, faults with their places included."""

from __future__ import annotations

import copy
import math
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from samelight.sheets import canonical as sections
from samelight.sheets import leaves, memo
from samelight.sheets.canonical import canonical
from samelight.sheets.conventions import Conventions
from samelight.sheets.errors import Faults, SheetError
from samelight.sheets.folding import FOLDED_AWAY
from samelight.sheets.memo import AtFaultError, Memo, as_bytes
from samelight.sheets.parameters import OF_SECTION
from samelight.sheets.quantities import LARGEST_NUMBER, Reader
from samelight.sheets.sheet import sheet_from_document
from samelight.sheets.trees import Document, parse_document
from samelight.sheets.units import ANGLE, LENGTH, times
from samelight.sheets.values import in_figures
from samelight.sheets.vocabulary import KINDS as ALL_KINDS
from samelight.sheets.writing import json_text, yaml_text
from sheets.sheet_help import JSON, YAML, faults_of, light_of, sheet_of
from sheets.test_sheet_fuzz import SHEETS
from thoroughness import examples

KINDS = ((), (("lights.*.samples", "length"), ("*.mood", "colour"), ("render.*", "text")))
CONVENTIONS = (Conventions(), Conventions(0.01, level="lx", up_axis="Z"))

LIGHT_SHADOW_COLOR = [0, 0, 0]
LIGHT = {
    "type": "rect",
    "azimuth": 131,
    "elevation": 24.0,
    "position": [1, 2.5, -0.0],
    "intensity": 3.2,
    "exposure": 0,
    "color": [1, 0.9, 0.8],
    "temperature": 4300,
    "normalize": False,
    "width": 2.0,
    "height": "35 cm",
    "samples": 64,
    "light_links": ["/set/quay", "/set/boat"],
    "shadow": {"enable": True, "color": LIGHT_SHADOW_COLOR, "distance": -1},
    "mood": 1,
}
DRIFTED = {
    "type": ("distant", "spot", "sphere", "", 3, None),
    "azimuth": (131.0, "2.2 rad", True, math.nan, None, {"keys": [[1, 0], [9, 90]]}),
    "elevation": (24, 91, "24", -0.0),
    "position": ([1.0, 2.5, 0.0], [True, 2, 3], [1, 2], ["1 m", 2, 3], [1e200, 0, 0]),
    "intensity": (3, 3.2000000000000002, 1e308, -1, "800 lx", "x", math.inf, {"keys": [[1, 1], [5, 2]]}),
    "exposure": (0.0, False, 2000, "0.5 st", None),
    "color": ([1.0, 0.9, 0.8], [0, 0, 0], [-1, 0, 0], [1, 0.9], [math.nan, 1, 1]),
    "temperature": (4300.0, "4300 K", 0, None),
    "normalize": (True, 1, "true"),
    "width": (2, -2.0, 0.0, -0.0, "2 m", 1e99),
    "height": (0.35, "14 in", "a"),
    "samples": (64.0, True, "64", -1),
    "light_links": (["/set/boat", "/set/quay"], "*", [], [None], [1, "1"]),
    "shadow": ({"enable": 1}, {"color": [1, 1, 1], "keys": 1}, {}, 3, {"interpolation": "held"}),
    "mood": (1.0, True, "1", [1, 2, 3], {"keys": [[1, 0]]}, {"a": {"b": 1}}, -0.0, 0.0),
    "cone": (30, 200),
    "target": ([0, 0, 0], [1, 2.5, 0]),
    "sun": ({"latitude": 59.9, "longitude": 10.7, "date_time": "2026-03-02T06:40:00+01:00"}, {"latitud": 1}),
    "shadow.enable": (True, 0),
    "texture": ("a.exr",),
    "sha256": ("0A", 5),
    "resolution": (1920, [1920, 804]),
}
drifts = st.dictionaries(st.sampled_from(sorted(DRIFTED)), st.integers(0, 9), max_size=3)


def drifted(by: dict[str, int]) -> dict[str, Any]:
    light: dict[str, Any] = copy.deepcopy(LIGHT)
    return light | {name: DRIFTED[name][number % len(DRIFTED[name])] for name, number in by.items()}


@contextmanager
def read_plainly() -> Iterator[None]:
    """Nothing is looked up, and every value is read by the reader of its sheet."""

    def plainly(self: Memo[Any], typed: Any, read: Any, place: Any, *given: Any) -> Any:
        return self.plain(typed, read, place, *given)

    def never(self: Memo[Any], conventions: Conventions) -> Any:
        raise AtFaultError

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Memo, "__call__", plainly)
        patch.setattr(Memo, "under", never)
        patch.setattr(sections, "_laid_out", lambda *groups: None)
        yield


def outcome(tree: Any, way: int = 0) -> object:
    """What a tree is read as: its sections to the last bit, or its faults."""
    document = Document(YAML, tree, Faults(YAML, lambda place: (len(place), 1)))
    try:
        return repr(
            sheet_from_document(document, given=CONVENTIONS[way % 2], kinds=KINDS[way // 2 % 2]).sections
        )
    except SheetError as error:
        return error.faults


def text_outcome(text: str, path: Path) -> object:
    try:
        return repr(sheet_from_document(parse_document(path, text)).sections)
    except SheetError as error:
        return error.faults


@settings(max_examples=examples(400))
@given(
    st.lists(drifts, min_size=1, max_size=4), st.integers(0, 3), st.sampled_from(("lights", "environments"))
)
def test_lights_that_drift(films: list[dict[str, int]], way: int, section: str) -> None:
    trees = [{"samelight": 2, section: {"key": drifted(by), "rim": drifted({})}} for by in films]
    found = [outcome(tree, way) for tree in (*trees, *trees)]
    with read_plainly():
        assert found == [outcome(tree, way) for tree in trees] * 2


@settings(max_examples=examples(300))
@given(SHEETS)
def test_whatever_stands_in_a_sheet(tree: dict[str, Any]) -> None:
    texts = [(yaml_text(tree), YAML), (json_text(tree), JSON)]
    found = [text_outcome(*text) for text in (*texts, *texts)]
    with read_plainly():
        assert found == [text_outcome(*text) for text in texts] * 2


def test_the_plain_way_is_another() -> None:
    """The properties above hold of a reader that never looks anything up, too; this one does."""
    text = yaml_text({"samelight": 2, "lights": {"key": LIGHT}})
    assert sheet_of(text).sections["lights"]["key"] is sheet_of(text).sections["lights"]["key"]
    with read_plainly():
        assert sheet_of(text).sections["lights"]["key"] is not sheet_of(text).sections["lights"]["key"]


def test_equal_values_of_unequal_groups_are_one_object() -> None:
    one, other = light_of(LIGHT), light_of({**LIGHT, "mood": 2})
    for leaf in ("direction", "position", "level", "colour", "light_links", "shadow.color_level", "height"):
        assert one[leaf] is other[leaf]
    assert one["mood"] != other["mood"]


def test_of_a_group_like_one_before_only_what_differs_is_read(monkeypatch: pytest.MonkeyPatch) -> None:
    def light(**drifted: Any) -> dict[str, Any]:
        return {"lights": {"like one before": {**LIGHT, "unlike": 0.5, **drifted}}}

    read = sheet_reader(1.0)
    first = canonical(light(), read)["lights"]["like one before"]
    looked_at: list[str] = []
    sound = leaves.read_sound

    def counted(value: Any, leaf: Any, *more: Any) -> Any:
        looked_at.append(leaf.name)
        return sound(value, leaf, *more)

    def whole(*of: Any) -> None:
        raise AssertionError

    monkeypatch.setattr(leaves, "read_sound", counted)
    monkeypatch.setattr(sections, "flatten", whole)
    shadow = {"enable": True, "color": LIGHT_SHADOW_COLOR, "distance": -2}
    second = canonical(light(unlike=0.75, samples=128, shadow=shadow), read)["lights"]["like one before"]
    assert sorted(looked_at) == ["samples", "shadow.distance", "unlike"]
    assert {name for name, value in second.items() if value is not first[name]} == set(looked_at)
    assert list(second) == list(first)


@pytest.mark.parametrize(
    ("a", "b"),
    [
        (1, 1.0),
        (1, True),
        (0.0, -0.0),
        (0, False),
        ("1", 1),
        ([1], [1.0]),
        ({"a": 1, "b": 2}, {"b": 2, "a": 1}),
    ],
)
def test_what_only_looks_equal_has_another_key(a: Any, b: Any) -> None:
    assert as_bytes(a) != as_bytes(b)
    assert as_bytes(copy.deepcopy(a)) == as_bytes(a)


def test_a_fault_is_told_in_each_sheet_at_its_place() -> None:
    lines = []
    for above in range(3):
        text = "samelight: 2\n" + "# a remark\n" * above + "lights:\n  sun: {intensity: -1}\n"
        (fault,) = faults_of(text)
        lines.append(fault.line)
        assert fault.expected == "an intensity of 0 or more"
    assert lines == [3, 4, 5]


def test_no_more_is_remembered_than_there_is_room_for(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(memo, "_MOST", 3)
    monkeypatch.setattr(memo, "_MOST_CONVENTIONS", 2)
    reading: Memo[tuple[Any, ...]] = Memo(lambda typed, read, place: (typed, read.conventions.length))
    readers = [sheet_reader(float(length)) for length in range(1, 6)]
    for _ in range(2):
        for read in readers:
            for typed in range(10):
                assert reading(typed, read, ()) == (typed, read.conventions.length)
                assert len(reading.under(read.conventions)) <= 3
                assert len(reading.met) <= 2


@pytest.mark.parametrize("kind", [None, *ALL_KINDS])
@given(
    st.one_of(
        st.floats(allow_nan=False, allow_infinity=False),
        st.sampled_from(
            [0.0, -0.0, -1.0, 0.1 + 0.2, 2 / 3, 1e100, -1e100, 1.1e100, -1.1e100, 90.0, 90.5, 1e5]
        ),
    ),
    st.sampled_from([1.0, 0.01]),
    st.booleans(),
)
def test_a_number_that_stands_for_itself_is_as_it_is_read(
    kind: str | None, number: float, length: float, in_pixels: bool
) -> None:
    fixed = {
        name: parameter
        for name, parameter in OF_SECTION["lights"].items()
        if parameter.kind == kind and name not in FOLDED_AWAY["lights"]
    }
    group = "resolution" if in_pixels else "key"
    for name in [*fixed, "mood", "width2"]:
        kinds = () if name in fixed or kind is None else ((f"lights.{group}.{name}", kind),)
        faults = [Faults(YAML, lambda place: None) for _ in range(2)]
        plainly, together = (Reader(Conventions(length), noted) for noted in faults)
        if name in fixed:
            read = plainly.known(number, fixed[name], ())
        else:
            read = plainly.value(number, None if kind == "length" and in_pixels else kind, ())
        lights = canonical({"lights": {group: {name: number}}}, together, kinds)["lights"]
        assert bool(len(faults[0])) == bool(len(faults[1])) == (read is None)
        if read is not None:
            assert repr(lights[group][name]) == repr(in_figures(read))


@given(
    st.one_of(st.integers(-(10**101), 10**101), st.floats(allow_nan=False), st.booleans()),
    st.sampled_from([1.0, 0.01]),
    st.sampled_from([None, LENGTH, ANGLE]),
)
def test_a_bare_number_is_as_any_number(typed: Any, length: float, dimension: str | None) -> None:
    noted = Faults(YAML, lambda place: None)
    read = Reader(Conventions(length), noted)
    one, three = read.number(typed, dimension, ()), read.numbers([typed, 1, 2.5], 3, dimension, ())
    if isinstance(typed, bool):
        plain: list[float] = []
    else:
        scale = length if dimension == LENGTH else 1.0
        plain = [float(number) if scale == 1.0 else times(number, scale) for number in (typed, 1, 2.5)]
    if not plain or not abs(plain[0]) <= LARGEST_NUMBER:
        assert (one, three, len(noted)) == (None, None, 2)
    else:
        assert (repr(one), repr(three), len(noted)) == (repr(plain[0]), repr(tuple(plain)), 0)


def sheet_reader(length: float) -> Reader:
    return Reader(Conventions(length), Faults(YAML, lambda place: None))
