"""Reading piece by piece gives what reading as a whole gives, or nothing."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import example, given
from hypothesis import strategies as st

from samelight.decisions.decision import Decision, Verb, new_id, to_tree
from samelight.sheets import fast_yaml
from samelight.sheets.building import LARGEST_TREE, build
from samelight.sheets.errors import Faults, SheetError
from samelight.sheets.events import yaml_events
from samelight.sheets.fast_yaml import UnsureError, by_items, in_one_line, read_pieces
from samelight.sheets.resources import sample_sequence
from samelight.sheets.writing import yaml_text

SCALARS = (
    *(
        "yes",
        "No",
        "on",
        "OFF",
        "true",
        "True",
        "false",
        "null",
        "~",
        "",
        "Null",
        "nan",
        "NaN",
        ".nan",
        "inf",
    ),
    *("infinity", "-inf", "010", "1e3", "1e999", "1E+2", "12:30", "1_000", "0x1F", "0b1", "+3", "-0", "-0.0"),
    *(".5", "5.", "1.50", "123456789012345678901234567890", "0.1234567890123456789", "4300 K", "350 cm"),
    *(
        "0.5 st",
        "1 on",
        "3.5m",
        "a b",
        "a:b",
        "a: b",
        "/set/quay",
        "set/*",
        "*",
        "*a",
        "&a 1",
        "!!str 1",
        "-",
    ),
    *("2025-01-01T000118.000000Z-179f5fbc922f", "2025-01-01T000118.000000Z-179f5fbc922", "2025-01-01"),
    *("- 1", "true/x", "on-set", "no_sun", "'on'", '"yes"', "'it''s'", '"a\\nb"', "'a'b", "# none", "a # b"),
    *(
        "a,b",
        "[1, 2]",
        "[1,2]",
        "[-1,2.5, 3e1]",
        "[a,b]",
        "[1,]",
        "[1,a]",
        "[]",
        "{}",
        "{a: 1}",
        "{a: 1, a: 2}",
        "{'': 1}",
        "{<<: {a: 1}}",
        "{true: 1}",
    ),
    *("{a: [1, {b: c}], d: {e: f}}", "[1, 2", "{a: 1", "|", ">-", "é", "2026-11-25", "%x", "@x", "? a", "e5"),
    *("1e5", "{y: 1, n: 2}", "{a: true, b: 'true'}", "{a: 'true b', c: true}", '{"true": 1}', "{a: nan}"),
)
NAMES = ("sun", "key", "on", "010", "a b", "<<", "fill-2", "'q'", "é", "true")
LINES = (
    *(
        "lights:",
        "render:",
        "  sun: {type: distant, level: 1}",
        "  key: 1",
        "    a: 1",
        "   b: 2",
        "- 1",
        "  - 1",
    ),
    *(
        "# a remark",
        "  # another",
        "",
        " ",
        "---",
        "...",
        "%YAML 1.1",
        "notes: |",
        "  text",
        "notes: 'a",
        "b'",
    ),
    *(
        "\tx: 1",
        "x:\t1",
        "? y",
        ": z",
        "sun: {a: 1,",
        "b: 2}",
        "<<: {a: 1}",
        "  <<: {a: 1}",
        "lights: ",
        "x: >+",
    ),
    *("a: b\x85c: d", "a: b\u2028c: d", "\xa0a: b", "a: b\r", "  sun:", "shot: 010", "x: &a 1", "y: *a"),
)

scalars = st.sampled_from(SCALARS)
flow_entries = st.lists(st.tuples(st.sampled_from(NAMES), scalars), max_size=4).map(
    lambda pairs: "{" + ", ".join(f"{name}: {value}" for name, value in pairs) + "}"
)
values = scalars | flow_entries | st.lists(scalars, max_size=3).map(lambda items: f"[{', '.join(items)}]")
entries = st.builds(
    lambda indent, name, value: f"{indent}{name}: {value}",
    st.sampled_from(("", "  ", "  ", "    ")),
    st.sampled_from(NAMES),
    values,
)
texts = st.builds(
    lambda lines, end: "\n".join(lines) + end,
    st.lists(st.sampled_from(LINES) | entries, max_size=8),
    st.sampled_from(("", "\n", "\n\n")),
)


def whole(text: str) -> Any:
    """What the reader of whole files makes of a text; an error where it is at fault."""
    faults = Faults(Path("sheet.yaml"), lambda place: None)
    try:
        tree = build(yaml_events(text), faults)
        faults.raise_if_any()
    except (yaml.YAMLError, SheetError) as error:
        return error
    return tree


@given(texts)
@example("a: |+\n  x\n\n\nb: 1\n")
@example("a: |\n  x")
@example("lights:\n  a: 1\n\n  # b\n  b: >+\n    y\n\n\n")
@example("lights:\n    a: 1\n  b: 2\n")
@example("a: 'x\nb: y'\n")
@example("a: {b: 1,\nc: 2}\n")
@example("a: 1\r\nlights:\r\n  b: {c: 1}\r\n")
def test_in_pieces_is_as_a_whole(text: str) -> None:
    tree = read_pieces(text)
    if tree is not None:
        assert repr(tree) == repr(whole(text))  # with types, signs of nought and the order of keys


def test_a_plain_sheet_is_read_in_pieces() -> None:
    """The property above holds of a reader that takes nothing, too."""
    text = (
        "samelight: 2\nshot: A_010\nlights:\n  sun: {type: distant, azimuth: 131}\n  key:\n    type: rect\n"
    )
    tree = read_pieces(text)
    assert tree is not None
    assert repr(tree) == repr(whole(text))


@given(values)
def test_one_value_in_a_group(value: str) -> None:
    text = f"lights:\n  sun: {value}\n  key: {{level: {value}}}\nshot: {value}\n"
    tree = read_pieces(text)
    if tree is not None:
        assert repr(tree) == repr(whole(text))


leaves = (
    st.booleans()
    | st.integers(-(10**17), 10**17)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(st.characters(codec="utf-8"), max_size=8)
    | st.none()
)
trees = st.dictionaries(
    st.text("abno_ ", min_size=1, max_size=4),
    st.recursive(
        leaves,
        lambda deeper: (
            st.lists(deeper, max_size=3) | st.dictionaries(st.text("xyz", min_size=1), deeper, max_size=3)
        ),
        max_leaves=12,
    ),
    min_size=1,
    max_size=4,
)


@given(trees)
def test_what_is_written_is_read_alike(tree: dict[str, Any]) -> None:
    text = yaml_text(tree)
    read = read_pieces(text)
    if read is not None:
        assert repr(read) == repr(whole(text))


@pytest.mark.parametrize("value", [value for value in SCALARS if isinstance(whole(f"a: {value}"), Exception)])
def test_what_is_at_fault_is_left_to_the_other_reader(value: str) -> None:
    assert read_pieces(f"a: {value}\n") is None


ITEMS = (
    *(
        "type: rect",
        "azimuth: 22.92",
        "samples: 64",
        "samples: -0",
        "samples: 010",
        "mood: 1e5",
        "mood: -1.5E-3",
    ),
    *(
        "mood: yes",
        "mood: 12:30",
        "mood: 1_000",
        "mood: nan",
        "mood: 1e999",
        "visible: true",
        "visible: 'true'",
    ),
    *("height: 35 cm", "height: 35  cm", "links: []", "links: ['*']", "links: [/set/quay, '/a, b']"),
    *("color: [1, 0.9, 0.8]", "color: [1,0.9]", "color: [[1, 2], 3]", "color: [1, 2", "notes: 'a, b: c'"),
    *("notes: 'a'", 'notes: "b"', "notes: 'a]'", "'on': 1", "true: 1", "on: 1", "<<: 1", "'': 1", "0: 1"),
    *(
        "shadow: {enable: true, color: [0, 0, 0]}",
        "shadow: {}",
        "shadow: {a: {b: 1}}",
        "shadow: {a: 1, a: 2}",
    ),
    *("a", "", " a: 1", "a: 1 ", "a:1", "a: ", "a: é", "a: # b", "a: b # c", "a: *b", "a: &b 1", "a b: 1"),
    *("mood: 999999999999999", "mood: 9999999999999999", "mood: 0.12345678901234567"),
    *("mood: 0.123456789012345678", "height: 35,5", "a: !!str 1", "<<: {a: 1}", "'<<': 1"),
)
LIGHT = (
    "type: rect",
    "azimuth: 22.92",
    "color: [1, 0.9, 0.8]",
    "links: ['*']",
    "shadow: {a: 1}",
    "mood: yes",
)


def read_by(reader: Callable[[str], Any], text: str) -> str:
    try:
        return repr(reader(text))
    except UnsureError:
        return "unsure"


@given(st.lists(st.sampled_from(ITEMS), max_size=6), st.sampled_from((", ", ", ", ", ", ",", " ,", ",  ")))
def test_item_by_item_is_as_in_one(items: list[str], between: str) -> None:
    inside = between.join(items)
    found = read_by(by_items, inside)
    if found not in ("None", "unsure"):  # both leave it to another reader
        assert found == read_by(in_one_line, f"{{{inside}}}") == repr(whole(f"{{{inside}}}"))


def test_numbers_without_spaces_between_them_are_as_simple() -> None:
    assert in_one_line("[0,1.5,-2]") == [0, 1.5, -2]
    assert by_items("type: rect, target: [0,1.5,-2]") == {"type": "rect", "target": [0, 1.5, -2]}


def test_what_was_met_before_is_shared() -> None:
    """The properties above hold of a reader that takes no items, too; this one takes what a light is made of."""
    one, other = by_items(", ".join(LIGHT[:-1])), by_items(", ".join((*LIGHT[:-1], "changed: 1.25")))
    assert one is not None
    assert other is not None
    assert len(one) == len(LIGHT) - 1
    assert all(other[name] is value for name, value in one.items())
    assert other["changed"] == 1.25
    assert by_items(", ".join(LIGHT)) is None  # `yes` is for the other reader


def test_a_sheet_of_very_many_lights_is_read_in_pieces_and_no_tree_beyond_the_limit() -> None:
    lights = [f"  lamp_{number}: {{{', '.join(LIGHT[:-1])}}}" for number in range(2200)]
    text = "\n".join(["lights:", *lights, ""])
    read = read_pieces(text)
    assert len(text) > LARGEST_TREE // 2
    assert read is not None
    assert len(read["lights"]) == 2200
    assert repr(read["lights"]["lamp_2199"]) == repr(whole(f"{{{', '.join(LIGHT[:-1])}}}"))
    assert read_pieces("a: [" + "0, " * LARGEST_TREE + "0]") is None


def test_sheets_of_the_sample_are_read_in_pieces() -> None:
    files = sorted(sample_sequence("harbour").glob("shots/*/*.yaml"))
    assert files
    for path in files:
        text = path.read_text(encoding="utf-8")
        read = read_pieces(text)
        assert read is not None
        assert repr(read) == repr(whole(text))


def test_simple_lines_are_common() -> None:
    """JSON's reader takes what sheets are mostly made of."""
    text = yaml_text(
        {"lights": {"sun": {"type": "distant", "level": 1.5, "on": True, "light_links": ["/a", "*"]}}}
    )
    tree = read_pieces(text)
    assert json.loads(json.dumps(tree)) == {
        "lights": {"sun": {"type": "distant", "level": 1.5, "on": True, "light_links": ["/a", "*"]}}
    }


def test_what_programs_write_is_mostly_read_in_pieces() -> None:
    """The properties above hold of a reader that takes nothing, too; this one does not."""
    plain = [value for value in SCALARS if not isinstance(whole(f"a: {value}"), Exception)]
    read = [value for value in plain if read_pieces(f"lights:\n  sun: {{level: 1}}\n  key: {value}\n")]
    assert len(read) >= len(plain) // 2, sorted(set(plain) - set(read))


def test_of_a_ledger_only_the_lines_are_read_that_no_other_decision_has(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    read: list[str] = []

    def noting(value: str) -> Any:
        read.append(value)
        return in_one_line(value)

    monkeypatch.setattr(fast_yaml, "in_one_line", noting)
    monkeypatch.setattr(fast_yaml, "build", pytest.fail)  # through libyaml, of which a ledger needs none
    moment = datetime(2025, 9, 14, 8, 15, tzinfo=UTC)
    batch = new_id(moment)
    for number in range(20):
        decision = Decision(
            new_id(moment),
            Verb.RETURN,
            "A_010",
            f"lights.read_here_alone_{number}.level",
            1.0,
            2.0,
            "",
            "lead",
            moment,
            batch=batch,
        )
        saw = f"{new_id(moment)}:0123456789abcdef"
        text = yaml_text(to_tree(replace(decision, saw=(saw,))))
        read.clear()
        tree = read_pieces(text)
        assert read == [decision.id, f"['{saw}']", decision.parameter] or number == 0
        assert repr(tree) == repr(whole(text))
