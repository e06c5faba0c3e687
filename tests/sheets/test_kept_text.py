"""A file with some values changed keeps all else to the letter: comments, order, layout."""

from __future__ import annotations

import copy
import difflib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from samelight.sheets.kept_text import kept_text
from samelight.sheets.resources import sample_sequence
from samelight.sheets.trees import BYTE_ORDER_MARK, parse_document, read_text, read_to_keep

YAML = Path("A.v001.yaml")
TEXT = """\
# one light a shot
samelight: 2
shot: A   # the first
lights:
  # it stands for the sun
  sun: {type: distant, azimuth: 12 deg,  # by eye
        intensity: 3, seen_by: [camera, diffuse]}
  rim:
    type: disk
    seen_by:   # both
      - camera
      - diffuse
    intensity: 1

# what it costs
cost: {}
"""

Change = Callable[[dict[str, Any]], object]


def changed(text: str, change: Change, path: Path = YAML) -> list[str]:
    """The lines that a change takes away and adds."""
    tree = copy.deepcopy(parse_document(path, text).data)
    change(tree)
    made = kept_text(path, text, tree)
    assert made is not None and repr(parse_document(path, made).data) == repr(tree)
    lines = difflib.ndiff(text.splitlines(), made.splitlines())
    return [line for line in lines if line[:1] in "+-"]


@pytest.mark.parametrize(
    ("change", "lines"),
    [
        (lambda tree: None, []),
        (lambda tree: tree.update(version=2), ["+ version: 2"]),
        (
            lambda tree: tree["lights"]["sun"].update(azimuth=131),
            [
                "-   sun: {type: distant, azimuth: 12 deg,  # by eye",
                "+   sun: {type: distant, azimuth: 131,  # by eye",
            ],
        ),
        (
            lambda tree: tree["lights"]["sun"].pop("seen_by"),
            ["-         intensity: 3, seen_by: [camera, diffuse]}", "+         intensity: 3}"],
        ),
        (
            lambda tree: tree["lights"]["sun"].update(exposure=-1.5),
            [
                "-         intensity: 3, seen_by: [camera, diffuse]}",
                "+         intensity: 3, seen_by: [camera, diffuse], exposure: -1.5}",
            ],
        ),
        (
            lambda tree: tree["lights"]["rim"].update(seen_by=["camera"]),
            ["-     seen_by:   # both", "-       - camera", "-       - diffuse", "+     seen_by: [camera]"],
        ),
        (
            lambda tree: tree["lights"].update(kicker=tree["lights"].pop("rim")),
            ["-   rim:", "+   kicker:"],
        ),
        (lambda tree: tree["lights"]["rim"].pop("intensity"), ["-     intensity: 1"]),
        (lambda tree: tree["lights"]["rim"].update(radius="3 cm"), ["+     radius: 3 cm"]),
        (
            lambda tree: tree["lights"].update(fill={"type": "rect", "size": [1, 2]}),
            ["+   fill: {type: rect, size: [1, 2]}"],
        ),
        (lambda tree: tree.update(cost={"test_frame": "1m"}), ["- cost: {}", "+ cost: {test_frame: 1m}"]),
        (
            lambda tree: tree.update(passes={"crew": {"frames": "all"}}),
            ["+ passes:", "+   crew: {frames: all}"],
        ),
    ],
)
def test_only_what_changed_is_another_line(change: Change, lines: list[str]) -> None:
    found = changed(TEXT, change)
    assert sorted(line.rstrip() for line in found) == sorted(lines)


def test_json_keeps_its_layout_too() -> None:
    text = '{\n  "samelight": 2,\n  "lights": {"sun": {"azimuth": 1}}\n}\n'
    found = changed(text, lambda tree: tree["lights"]["sun"].update(azimuth=2, roll=3), Path("A.v001.json"))
    assert sorted(found, reverse=True) == [
        '-   "lights": {"sun": {"azimuth": 1}}',
        '+   "lights": {"sun": {"azimuth": 2, "roll": 3}}',
    ]


@pytest.mark.parametrize(
    "text",
    [
        "a: &one {b: 1}\nc: *one\n",
        "base: &b {x: 1}\na:\n  <<: *b\n  y: 2\n",
        "a: |\n  long\n  text\nb: 1\n",
        "",
    ],
)
def test_what_cannot_be_told_apart_is_laid_out_anew(text: str) -> None:
    assert kept_text(YAML, text, {"a": {"b": 2}, "z": 1}) is None


@given(st.data())
def test_any_change_of_a_sheet_comes_back_as_that_tree(data: st.DataObject) -> None:
    path = sample_sequence("harbour") / "shots/HB_070/HB_070.v001.yaml"
    text = read_text(path)
    tree: dict[str, Any] = copy.deepcopy(parse_document(path, text).data)
    values = st.one_of(
        st.integers(-9, 9), st.text("ab:#{, ]'\"\n-", max_size=5), st.just([1, "x"]), st.just({"k": 1.5})
    )
    for _ in range(data.draw(st.integers(1, 4))):
        section = data.draw(
            st.sampled_from(sorted(key for key, value in tree.items() if isinstance(value, dict) and value))
        )
        group = data.draw(st.sampled_from(sorted(tree[section])))
        at = tree[section][group] if isinstance(tree[section][group], dict) else tree[section]
        name = data.draw(st.sampled_from([*map(str, at), "new"]))
        if data.draw(st.booleans()) and len(at) > 1 and name in at:
            del at[name]
        else:
            at[name] = data.draw(values)
    made = kept_text(path, text, tree)
    assert made is not None
    assert parse_document(path, made).data == tree


@pytest.mark.parametrize("mark", ["", BYTE_ORDER_MARK])
@pytest.mark.parametrize("ends", ["\n", "\r\n"])
def test_a_byte_order_mark_and_the_ends_of_lines_stay(mark: str, ends: str, tmp_path: Path) -> None:
    path = tmp_path / YAML
    path.write_bytes((mark + TEXT.replace("\n", ends)).encode())
    text = read_to_keep(path)
    tree = copy.deepcopy(parse_document(path, text).data)
    tree["lights"]["sun"]["azimuth"], tree["lights"]["rim"]["seen_by"] = 131, ["camera"]
    tree["lights"]["fill"] = {"type": "rect"}
    made = kept_text(path, text, tree)
    plain = kept_text(path, TEXT, tree)
    assert made is not None and plain is not None
    assert made == mark + plain.replace("\n", ends)
    path.write_bytes(made.encode())
    assert parse_document(path, read_text(path)).data == tree


def test_ends_of_lines_of_two_kinds_stay_as_they_are() -> None:
    text = "a: 1\r\nb: 2\nc: 3\r\n"
    assert kept_text(YAML, text, {"a": 1, "b": 4, "c": 3}) == "a: 1\r\nb: 4\nc: 3\r\n"
