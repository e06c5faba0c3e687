"""The reader that goes piece by piece against the one that takes all events: equal, or no answer."""

import re
from pathlib import Path

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from samelight.resources import sample_sequence
from samelight.sheets.building import build
from samelight.sheets.errors import Faults, SheetError
from samelight.sheets.events import yaml_events
from samelight.sheets.pieces import read_pieces

SAMPLES = sorted(sample_sequence("harbour").glob("**/*.yaml")) + sorted(
    sample_sequence("first_steps").glob("**/*.yaml")
)
WORDS = """
    [ ] { } : " ' *a ! % @ ~ nan 1e308 1e999 -1 0 010 1_000 yes On null nUll tRue off y n [] {} True 3m é \\ # , it''s
    \\u0041 .5 5. +3 0x1F 12:30 2026-09-14 = a:b -0 1E-3 1e5 00 1.0.0 Infinity -- '' "" "\\n" a b lights sun 1
"""
TOKENS = (
    *WORDS.split(),
    *(
        ": ",
        "\n",
        "\n  ",
        "\n    ",
        "- ",
        "&a ",
        "<<: ",
        "!!set ",
        "\t",
        "\n---\n",
        "...\n",
        ">-\n",
        "|\n   ",
    ),
    *(
        "? ",
        ", ",
        "999 km",
        "3 m",
        "3  m",
        " #",
        "\0",
        "\x04",
        "\n#\x04\n",
        "\x85",
        "\u2028",
        "\ufeff",
        "\r\n",
    ),
    *("\r", " ", "\n# c\n", " # c\n", "a: 1\n", "a: {b: 1}\n", "é: 1\n"),
)


def by_events(text):
    """The tree of text that is sound; an error's or a fault's word for text that is not."""
    faults = Faults(Path("quay.yaml"), lambda place: None)
    try:
        tree = build(yaml_events(text), faults)
        faults.raise_if_any()
    except (yaml.YAMLError, UnicodeEncodeError, SheetError) as error:
        return f"{type(error).__name__}: {error}"
    return repr(tree)


def check(text):
    tree = read_pieces(text)
    assert tree is None or repr(tree) == by_events(text)


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.name)
def test_every_sample(path):
    text = path.read_text(encoding="utf-8")
    check(text)
    if ".v" in path.name:
        assert read_pieces(text) is not None, "a plain sheet should be read the short way"


@settings(max_examples=500)
@given(
    st.lists(st.sampled_from(TOKENS), max_size=25).map("".join),
    st.sampled_from(["", "a: ", "# c\na: ", "a:\n  b: "]),
)
def test_random_tokens(text, start):
    check(start + text)


@settings(max_examples=500)
@given(st.sampled_from(SAMPLES), st.randoms(use_true_random=False), st.integers(1, 3))
def test_samples_with_tokens_changed(path, dice, times):
    text = path.read_text(encoding="utf-8")
    for _ in range(times):
        word = dice.choice(list(re.finditer(r"[^\s,:\[\]{}\"]+|\n", text)))
        end = dice.choice([word.start(), word.end()])
        text = text[: word.start()] + dice.choice(TOKENS) + text[end:]
    check(text)


@pytest.mark.parametrize(
    "text",
    [
        "# a bell \x04\na: 1\n",
        "# one\u2028line\na: 1\n",
        "# one\x85line\na: 1\n",
        "a: 1\na: 2\n",
        "a: nan\n",
        "a: {b: 1, b: 2}\n",
        "a: {b: 1}}\n",
        "a: !!set {b}\n",
        "a: *b\n",
        "a:\n  b: 1\n c: 2\n",
        "a: 'b\nc: 1\n",
        "a: 1\n---\nb: 1\n",
        "a: 1\nb\n",
    ],
)
def test_what_is_at_fault_is_left_to_the_events(text):
    assert read_pieces(text) is None
