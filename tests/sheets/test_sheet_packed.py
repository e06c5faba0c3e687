"""Packed sheets come back as they were, with less said, and nothing read before it is asked for."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from samelight.sheets import packed as module
from samelight.sheets.conventions import Conventions
from samelight.sheets.errors import Faults, SheetError
from samelight.sheets.packed import packed, unpacked
from samelight.sheets.resources import sample_sequence
from samelight.sheets.sheet import Sheet, read_sheet, sheet_from_document
from samelight.sheets.trees import Document
from samelight.sheets.values import Value, decoded, encoded
from sheets.sheet_help import YAML
from sheets.test_sheet_fuzz import SHEETS
from sheets.test_sheet_memo import drifted, drifts
from thoroughness import examples


def read(tree: dict[str, Any]) -> Sheet | None:
    faults = Faults(YAML, lambda place: None)
    try:
        return sheet_from_document(Document(YAML, tree, faults), given=Conventions(0.01))
    except SheetError:
        return None


def as_said(sheet: Sheet) -> str:
    """All that a sheet holds, to the last bit and in its order, but for the order of sets."""
    values = [
        (section, name, leaf, type(value), encoded(value))
        for section, groups in sheet.sections.items()
        for name, group in groups.items()
        for leaf, value in group.items()
    ]
    names = [(section, list(groups)) for section, groups in sheet.sections.items()]
    return repr((sheet, dict(sheet.typed), names, values))


def there_and_back(sheets: list[Sheet]) -> list[Sheet]:
    return unpacked(json.loads(json.dumps(packed(sheets))), [sheet.path for sheet in sheets])


films = st.lists(
    SHEETS | st.lists(drifts, max_size=2).map(lambda by: {"samelight": 2, "lights": dict(enumerated(by))}),
    max_size=6,
)


def enumerated(by: list[dict[str, int]]) -> list[tuple[str, Any]]:
    return [(f"light_{number}", drifted(one)) for number, one in enumerate(by)]


@settings(max_examples=examples(200))
@given(films)
def test_what_is_packed_comes_back(trees: list[dict[str, Any]]) -> None:
    sheets = [sheet for tree in trees if (sheet := read(tree)) is not None]
    back = there_and_back(sheets)
    assert back == sheets
    assert [as_said(sheet) for sheet in back] == [as_said(sheet) for sheet in sheets]
    again = there_and_back(back)
    assert [as_said(sheet) for sheet in again] == [as_said(sheet) for sheet in sheets]
    # What is alike in two boxes is in the same order.
    assert json.dumps(packed(back)) == json.dumps(packed(sheets))


def test_sheets_of_the_sample() -> None:
    files = sorted(sample_sequence("harbour").glob("**/*.v*.yaml"))
    sheets = [read_sheet(path) for path in files]
    assert len(sheets) > 5
    assert [as_said(sheet) for sheet in there_and_back(sheets)] == [as_said(sheet) for sheet in sheets]


def test_what_is_alike_is_said_once() -> None:
    tree = {"samelight": 2, "lights": dict(enumerated([{}, {}]))}
    one, other = (sheet_from_document(Document(YAML, tree, no_faults())) for _ in range(2))
    assert json.dumps(packed([one])["canonical"]) == json.dumps(packed([one, other])["canonical"])
    first, second = there_and_back([one, other])
    assert first.sections["lights"]["light_0"] is second.sections["lights"]["light_1"]
    assert first.typed["lights"]["light_0"] is second.typed["lights"]["light_1"]


def test_types_that_only_look_equal_are_told_apart() -> None:
    values = [1, 1.0, True, -0.0, 0.0, 0, "1", [1], [1.0]]
    tree = {"samelight": 2, "render": {f"g{number}": {"mood": value} for number, value in enumerate(values)}}
    (back,) = there_and_back([sheet_from_document(Document(YAML, tree, no_faults()))])
    assert repr([group["mood"] for group in back.typed["render"].values()]) == repr(values)
    read_as = [back.sections["render"][f"g{number}"]["mood"] for number in range(len(values))]
    assert repr(read_as) == repr([1.0, 1.0, True, -0.0, 0.0, 0.0, "1", (1.0,), (1.0,)])


def test_nothing_is_read_before_it_is_asked_for(monkeypatch: pytest.MonkeyPatch) -> None:
    sheet = read({"samelight": 2, "lights": dict(enumerated([{}]))})
    assert sheet is not None
    data = json.loads(json.dumps(packed([sheet])))
    asked: list[Any] = []

    def asks(value: Any) -> Value | None:
        asked.append(value)
        return decoded(value)

    monkeypatch.setattr(module, "decoded", asks)
    (back,) = unpacked(data, [Path("other.yaml")])
    assert back.path == Path("other.yaml")
    assert list(back.typed["lights"]) == ["light_0"]
    assert asked == []
    assert back.sections["lights"]["light_0"]["samples"] == 64.0
    assert 64.0 in asked


@pytest.mark.parametrize("key", ["sheets", "conventions", "typed", "canonical"])
def test_other_data_is_refused(key: str) -> None:
    sheet = read({"samelight": 2, "lights": dict(enumerated([{}]))})
    assert sheet is not None
    good = json.loads(json.dumps(packed([sheet])))
    others: tuple[Any, ...] = (None, [], {}, [[]], 3, "a")
    for other in others:
        with pytest.raises((ValueError, KeyError, IndexError, TypeError)):
            list(map(as_said, unpacked({**good, key: other}, [YAML])))
    with pytest.raises(ValueError, match="zip"):
        unpacked(good, [YAML, YAML])


def test_a_tree_of_many_shapes() -> None:
    typed = {
        "samelight": 2,
        "notes": "a",
        "lights": {},
        "render": {"gi": {}, "on": None},
        "camera": {"moves": 0},
    }
    (back,) = there_and_back([replace(blank(), typed=typed)])
    assert dict(back.typed) == typed
    assert len(back.typed) == 5
    assert back.sections == {}


def blank() -> Sheet:
    return Sheet(YAML, "", 1, None, (1001, 1100), {}, {}, Conventions(north=(1.0, 0.0, 0.0)), ("one", "two"))


def no_faults() -> Faults:
    return Faults(YAML, lambda place: None)
