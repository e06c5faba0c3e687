import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from samelight.sheets.patterns import matches, may_match


@pytest.mark.parametrize(
    ("pattern", "parameter", "light_type", "does"),
    [
        ("lights.sun.level", "lights.sun.level", "", True),
        ("lights.sun.level", "lights.sun.levels", "", False),
        ("lights.*.level", "lights.sun.level", "", True),
        ("lights.*.level", "lights.sun.shadow.level", "", False),
        ("render.gi.*", "render.gi.range", "", True),
        ("render.gi.*", "render.gi.a.b", "", True),
        ("render.gi.*", "render.gi", "", False),
        ("*.samples", "lights.sun.samples", "", True),
        ("*.samples", "render.volume.samples", "", True),
        ("*samples", "lights.sun.volume_samples", "", True),
        ("*", "anything.at.all", "", True),
        ("lights.rim?.level", "lights.rim2.level", "", True),
        ("lights.rim?.level", "lights.rim.level", "", False),
        ("lights.rim?level", "lights.rim.level", "", False),
        ("lights.<distant>.level", "lights.sun.level", "distant", True),
        ("lights.<distant>.level", "lights.sun.level", "spot", False),
        ("lights.<distant>.level", "lights.sun.level", "", False),
        ("lights.<distant>", "lights.sun", "distant", True),
        ("lights.<distant>", "lights.sun.level", "distant", False),
        ("lights.<distant>.*", "lights.sun.shadow.enable", "distant", True),
        ("a+b", "a+b", "", True),
        ("a+b", "aab", "", False),
        ("a.b", "a-b", "", False),
        ("[a]", "a", "", False),
        ("", "", "", True),
        ("", "a", "", False),
        ("a\n*", "a\nb", "", True),
    ],
)
def test_patterns(pattern: str, parameter: str, light_type: str, does: bool) -> None:
    assert matches(pattern, parameter, light_type) is does


@given(st.text(max_size=20))
def test_any_name_without_wildcards_means_itself(name: str) -> None:
    plain = re.sub(r"[*?<>]", "", name)
    assert matches(plain, plain)


@given(st.text(st.sampled_from("ab.*?<>[]("), max_size=12), st.text(st.sampled_from("ab."), max_size=12))
def test_any_pattern_gives_an_answer(pattern: str, parameter: str) -> None:
    assert matches(pattern, parameter, "a") in (True, False)


@given(st.text(st.sampled_from("ab_"), min_size=1), st.text(st.sampled_from("ab_"), min_size=1))
def test_a_star_stands_for_one_name(light: str, leaf: str) -> None:
    assert matches(f"lights.*.{leaf}", f"lights.{light}.{leaf}")
    assert not matches(f"lights.*.{leaf}", f"lights.{light}.x.{leaf}")


def test_a_pattern_of_many_stars_is_quick_to_fail() -> None:
    assert not matches("x." + "*a" * 12 + ".b", "x." + "a" * 60)


def plainly(pattern: str, parameter: str, at_start: bool = True) -> bool:
    """The same by trying everything: a star in the middle is any part of one name, at an end any text."""
    if not pattern:
        return not parameter
    head, rest = pattern[0], pattern[1:]
    if head == "*":
        free = at_start or not rest
        sizes = [size for size in range(len(parameter) + 1) if free or "." not in parameter[:size]]
        return any(plainly(rest, parameter[size:], False) for size in sizes)
    fits = parameter[:1] not in ("", ".") if head == "?" else parameter[:1] == head
    return fits and plainly(rest, parameter[1:], False)


@given(st.text(st.sampled_from("ab.*?"), max_size=7), st.text(st.sampled_from("ab."), max_size=7))
def test_it_is_what_trying_everything_gives(pattern: str, parameter: str) -> None:
    assert matches(pattern, parameter) is plainly(pattern, parameter)


@given(
    st.lists(
        st.sampled_from(["*", "?", "<spot>", ".", "lights", "li", "level", "render", "a"]), max_size=5
    ).map("".join),
    st.sampled_from(["lights.a.level", "lights.li", "render.gi", "render.a", "level", "lights", "a.lights"]),
    st.sampled_from(["spot", ""]),
)
def test_what_matches_may_match(pattern: str, parameter: str, light_type: str) -> None:
    assert may_match(pattern, parameter.partition(".")[0]) or not matches(pattern, parameter, light_type)
