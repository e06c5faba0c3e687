"""The reader that goes piece by piece against the one that takes all events: equal, or no answer."""

import random
import re
from collections.abc import Callable
from pathlib import Path

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from growth_help import ABOUT_LINEAR, growth
from samelight.sheets.building import build
from samelight.sheets.errors import Faults, SheetError
from samelight.sheets.events import yaml_events
from samelight.sheets.fast_yaml import read_anew, read_pieces
from samelight.sheets.resources import sample_sequence
from thoroughness import examples

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


def by_events(text: str) -> str:
    """The tree of text that is sound; an error's or a fault's word for text that is not."""
    faults = Faults(Path("quay.yaml"), lambda place: None)
    try:
        tree = build(yaml_events(text), faults)
        faults.raise_if_any()
    except (yaml.YAMLError, UnicodeEncodeError, SheetError) as error:
        return f"{type(error).__name__}: {error}"
    return repr(tree)


def check(text: str) -> None:
    tree = read_pieces(text)
    assert tree is None or repr(tree) == by_events(text)


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.name)
def test_every_sample(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    check(text)
    if ".v" in path.name:
        assert read_pieces(text) is not None, "a plain sheet should be read the short way"


@settings(max_examples=examples(500))
@given(
    st.lists(st.sampled_from(TOKENS), max_size=25).map("".join),
    st.sampled_from(["", "a: ", "# c\na: ", "a:\n  b: "]),
)
def test_random_tokens(text: str, start: str) -> None:
    check(start + text)


@settings(max_examples=examples(500))
@given(st.sampled_from(SAMPLES), st.randoms(use_true_random=False), st.integers(1, 3))
def test_samples_with_tokens_changed(path: Path, dice: random.Random, times: int) -> None:
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
def test_what_is_at_fault_is_left_to_the_events(text: str) -> None:
    assert read_pieces(text) is None


def _inside(item: str) -> Callable[[int], str]:
    """A sheet's setting of so many items in one line, each with a name."""
    return lambda count: ", ".join(item.format(f"key_{number}") for number in range(count))


MANY = {
    "mappings nested three deep": lambda count: (
        f"render:\n  gi: {{a: {{b: {{{_inside('{}: 1')(count)}}}}}}}\n"
    ),
    "null": lambda count: f"render: {{gi: {{{_inside('{}: null')(count)}}}}}\n",
    "null behind words": lambda count: f"render: {{gi: {{{_inside('{}: some')(count)}, z: null}}}}\n",
    "empty lists": lambda count: f"render: {{gi: {{{_inside('{}: []')(count)}, z: [[]]}}}}\n",
    "lists of lists": lambda count: f"render: {{a: {{b: [{_inside('[{}]')(count)}]}}}}\n",
    "numbers": lambda count: f"render: {{a: [{_inside('1234.5678e-12')(count)}, ~]}}\n",
    "brackets that stay open": lambda count: f"render: {{{_inside('{}: [')(count)}}}\n",
    "braces that stay open": lambda count: f"render: {{{_inside('{}: {{')(count)}}}\n",
    "a quote that stays open": lambda count: (
        f"render: {{{_inside(chr(39) + '{}' + chr(39))(count)}, z: 'a}}\n"
    ),
    "depth 50": lambda count: f"render: {'{a: ' * 50}{{{_inside('{}: b')(count)}}}{'}' * 50}\n",
    "lines": lambda count: "render:\n" + "".join(f"  k{n}: {{a: {{b: {{c: ~}}}}}}\n" for n in range(count)),
}


@pytest.mark.parametrize("text", MANY.values(), ids=MANY)
def test_very_many_keys_take_no_more_than_their_number(text: Callable[[int], str]) -> None:
    check(text(200))
    assert growth(lambda count: read_anew(text(count)), 250) < ABOUT_LINEAR


@pytest.mark.parametrize("value", ["{a: {b: {%s}}}", "{%s, z: null}", "{%s, z: [[]]}", "[%s, ~]"])
def test_text_that_does_not_match_is_given_up_at_once(value: str) -> None:
    """A pattern that tries it in two ways a word would not come to an end with forty."""
    words = ", ".join(f"key_{number}: some" if value[0] == "{" else "some" for number in range(40))
    check(f"render: {value % words}\n")
