"""Whatever the bytes of a file are, reading it gives a sheet or a SheetError whose every fault can be shown."""

import random
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from samelight.sheets.conventions import Conventions
from samelight.sheets.errors import SheetError
from samelight.sheets.resources import sample_sequence
from samelight.sheets.sheet import Sheet, read_sheet, sheet_from_document
from samelight.sheets.trees import parse_document, read_document
from samelight.sheets.values import decoded, encoded, strictly_equal
from samelight.sheets.writing import json_text, yaml_text
from sheets.sheet_help import JSON, YAML
from thoroughness import examples

VALID = [
    sample_sequence("harbour") / "shots" / "HB_020" / "HB_020.v002.yaml",
    sample_sequence("harbour") / "shots" / "HB_030" / "HB_030.v001.yaml",
    sample_sequence("first_steps") / "shots" / "FS_030" / "FS_030.v001.json",
]
WORDS = """
    [ ] { } : " ' *a !!set ! % @ ` # | > \\ \\ud83d é 😀 ~ nan -.inf 1e999 1e308 -1 1e99 0 true 010 12:30 '' [] {} 18m20s
"""
TOKENS = (
    *WORDS.split(),
    *(": ", "\n", "- ", "&a ", "<<: ", "\t", "---\n", "...\n", "? ", ", ", "\0", "\ufeff", "\x85", "\r\n"),
    *(
        "999 km",
        "4300 K",
        "800 lx",
        "20 %",
        "[0, 0, 0]",
        str([0] * 16),
        "[[1, 2]]",
        "9" * 400,
        "0x" + "f" * 300,
    ),
    *(
        "{keys: [[1, 2], [9, 3]]}",
        "{keys: [[1, [0, 0, 1]], [9, [1, 0, 0]]], interpolation: held}",
        "{keys: []}",
    ),
    *("rotation: [1, 2, 3]", "rotation: {keys: [[1, 0], [90, 720]]}", f"matrix: {[0.0] * 16}", "up_axis: Z"),
)


def check(read: Callable[..., Sheet], *arguments: Any, **given_: Any) -> Sheet | None:
    """Reads, and checks whatever comes of it."""
    try:
        sheet = read(*arguments, **given_)
    except SheetError as error:
        assert error.faults
        for fault in error.faults:
            assert fault.expected
            assert fault.found
            assert (fault.expected + fault.found + fault.path).isprintable()
            assert fault.line is None or fault.line >= 1
        lines = [fault.line or 0 for fault in error.faults]
        # What ends the reading comes last, wherever it stands.
        assert lines[:-1] == sorted(lines[:-1])
        return None
    for groups in sheet.sections.values():
        for group in groups.values():
            for value in group.values():
                assert strictly_equal(decoded(encoded(value)), value)
    return sheet


def check_text(text: str, path: Path) -> Sheet | None:
    def read() -> Sheet:
        given_ = Conventions(0.01, level="lx", up_axis="Z")
        return sheet_from_document(parse_document(path, text), given=given_)

    return check(read)


@given(st.binary(max_size=400), st.sampled_from(["a.yaml", "a.json"]))
def test_random_bytes(tmp_path_factory: pytest.TempPathFactory, raw: bytes, name: str) -> None:
    path = tmp_path_factory.mktemp("any") / name
    path.write_bytes(raw)
    check(read_sheet, path)


@given(st.text(max_size=200), st.sampled_from([YAML, JSON]))
def test_random_text(text: str, path: Path) -> None:
    check_text(text, path)


@given(st.lists(st.sampled_from(TOKENS), max_size=30).map("".join), st.sampled_from([YAML, JSON]))
def test_random_tokens(text: str, path: Path) -> None:
    check_text(text, path)


@given(st.lists(st.sampled_from(TOKENS), max_size=12).map("".join))
def test_random_tokens_after_a_good_start(text: str) -> None:
    check_text("samelight: 2\nlights: {sun: {type: spot, " + text, YAML)
    check_text("samelight: 2\nlights:\n  sun:\n    type: spot\n    " + text, YAML)


@settings(max_examples=examples(300))
@given(st.sampled_from(VALID), st.randoms(use_true_random=False), st.integers(1, 6))
def test_valid_sheets_with_bytes_changed(
    tmp_path_factory: pytest.TempPathFactory, path: Path, dice: random.Random, times: int
) -> None:
    raw = bytearray(path.read_bytes())
    for _ in range(times):
        index = dice.randrange(len(raw))
        match dice.randrange(4):
            case 0:
                raw[index] ^= 1 << dice.randrange(8)
            case 1:
                raw[index] = dice.randrange(256)
            case 2:
                del raw[index : index + dice.randrange(1, 40)]
            case 3:
                raw[index:index] = bytes(dice.randrange(256) for _ in range(dice.randrange(1, 4)))
        if not raw:
            break
    changed = tmp_path_factory.mktemp("changed") / path.name
    changed.write_bytes(bytes(raw))
    check(read_sheet, changed)


@given(st.sampled_from(VALID), st.floats(0, 1))
def test_valid_sheets_that_break_off(
    tmp_path_factory: pytest.TempPathFactory, path: Path, share: float
) -> None:
    raw = path.read_bytes()
    cut = tmp_path_factory.mktemp("cut") / path.name
    cut.write_bytes(raw[: int(share * len(raw))])
    check(read_sheet, cut)


def _replaced(text: str, dice: random.Random) -> str:
    """A word or a number of the text by something else, or something else put in."""
    words = list(re.finditer(r"[^\s,:\[\]{}\"]+", text))
    word = dice.choice(words)
    token = dice.choice(TOKENS)
    if dice.random() < 0.5:
        return text[: word.start()] + token + text[word.end() :]
    return text[: word.start()] + token + text[word.start() :]


@settings(max_examples=examples(600))
@given(st.sampled_from(VALID), st.randoms(use_true_random=False), st.integers(1, 3))
def test_valid_sheets_with_tokens_changed(path: Path, dice: random.Random, times: int) -> None:
    text = path.read_text(encoding="utf-8")
    for _ in range(times):
        text = _replaced(text, dice)
    check_text(text, path)


LEAVES = (
    st.none()
    | st.booleans()
    | st.integers(-(10**30), 10**30)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(st.characters(exclude_categories=["Cs"]), max_size=10)
    | st.sampled_from(
        ["4300 K", "1e5 km", "800 lx", "20 %", "0.5 st", "held", "spot", "rect", "distant", "sphere", "XYZ"]
    )
    | st.lists(st.floats(-1e3, 1e3), min_size=3, max_size=3)
    | st.lists(st.floats(-1e200, 1e200), min_size=16, max_size=16)
)
PARAMETERS = """
    type position direction target azimuth elevation rotation rotation_order matrix color intensity exposure unit
    normalize temperature radius width cone softness angle texture sha256 seen_by light_links samples keys interpolation
    shadow mood sun moves normal frames test_frame range on hides date_time latitude longitude
"""
NAMES = st.sampled_from(PARAMETERS.split()) | st.text(
    st.characters(exclude_categories=["Cs"]), min_size=1, max_size=4
)
KEYED = st.builds(
    lambda keys, way: {"keys": keys, **way},
    st.lists(st.tuples(st.integers(-5, 400), LEAVES).map(list), max_size=4).map(
        lambda keys: sorted(keys, key=lambda key: key[0])
    ),
    st.sampled_from([{}, {"interpolation": "held"}, {"interpolation": "linear"}]),
)
GROUP = st.dictionaries(
    NAMES, LEAVES | KEYED | st.dictionaries(NAMES, LEAVES | KEYED, max_size=3), max_size=7
)
SECTION = st.dictionaries(st.sampled_from(["sun", "rim", "keys"]), GROUP | LEAVES, max_size=3)
SHEETS = st.fixed_dictionaries(
    {"samelight": st.just(1)},
    optional={
        **dict.fromkeys(("lights", "environments", "surfaces", "passes", "marks", "render"), SECTION),
        **dict.fromkeys(("camera", "cost"), GROUP),
        "units": st.fixed_dictionaries(
            {},
            optional={
                "length": st.sampled_from(["cm", "km", 1e9, 3]),
                "level": st.sampled_from(["lx", "cd", "x"]),
            },
        ),
        "up_axis": st.sampled_from(["Y", "Z", "x"]),
        "north": st.lists(st.floats(-1, 1), min_size=3, max_size=3),
        "working_space": st.sampled_from(["ACEScg", "rec2020", "x"]),
        "frames": LEAVES,
        "shot": LEAVES,
    },
)


@settings(max_examples=examples(400))
@given(SHEETS)
def test_random_trees(tree: dict[str, Any]) -> None:
    one = check_text(yaml_text(tree), YAML)
    other = check_text(json_text(tree), JSON)
    assert (one is None) is (other is None)
    if one is not None and other is not None:
        assert repr(one.sections) == repr(other.sections)


@pytest.mark.parametrize("path", VALID, ids=lambda path: path.name)
def test_the_valid_ones_are_valid(path: Path) -> None:
    assert check(read_sheet, path) is not None


@given(st.binary(max_size=200), st.sampled_from(["a.yaml", "a.json", "a.txt", "a"]))
def test_any_document(tmp_path_factory: pytest.TempPathFactory, raw: bytes, name: str) -> None:
    path: Path = tmp_path_factory.mktemp("any") / name
    path.write_bytes(raw)
    try:
        read_document(path).faults.raise_if_any()
    except SheetError as error:
        assert error.faults
