"""What DeepDiff says differs, against a comparison that anyone can follow."""

from __future__ import annotations

import copy
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from known import being
from samelight.drift.structure import (
    ABSENT,
    CHANGED,
    EXTRA,
    Difference,
    Ways,
    differences,
    differences_of_pairs,
    unequal_columns,
    unequal_leaves,
)
from samelight.sheets.canonical import WHOLE, Sections
from samelight.sheets.values import Colour, Curve, Level
from samelight.sheets.vocabulary import COMPARED_SECTIONS
from strategies import values

LIGHT: dict[str, Any] = {"level": Level(2.0), "colour": Colour(0.2, 0.47), "position": (1.0, 2.0, 3.0)}

groups = st.dictionaries(
    st.sampled_from(["level", "cone", "a.b", "__private", 'q"]', "7"]), values, max_size=4
)
sections = st.dictionaries(
    st.sampled_from(["lights", "environments", "render", "surfaces", "camera"]),
    st.dictionaries(st.sampled_from([WHOLE, "sun", "rim", "__tmp", "root['x']", "0"]), groups, max_size=4),
    max_size=4,
)


def plainly(master: Sections, shot: Sections) -> set[tuple[str, str, str | None, str]]:
    """The same by hand: nested loops, and equality of type and value."""
    found: set[tuple[str, str, str | None, str]] = set()
    for section in COMPARED_SECTIONS:
        if section not in master and section not in ("lights", "environments"):
            continue
        ours, theirs = master.get(section, {}), shot.get(section, {})
        for group in {*ours, *theirs}:
            if group != WHOLE and group not in theirs:
                found.add((section, group, None, ABSENT))
            elif group != WHOLE and group not in ours:
                found.add((section, group, None, EXTRA))
            else:
                a, b = ours.get(group, {}), theirs.get(group, {})
                for leaf in {*a, *b}:
                    if leaf not in b:
                        found.add((section, group, leaf, ABSENT))
                    elif leaf not in a:
                        found.add((section, group, leaf, EXTRA))
                    elif type(a[leaf]) is not type(b[leaf]) or a[leaf] != b[leaf]:
                        found.add((section, group, leaf, CHANGED))
    return found


def as_set(found: list[Difference]) -> set[tuple[str, str, str | None, str]]:
    listed = [(d.section, d.group, d.leaf, d.how) for d in found]
    assert len(listed) == len(set(listed)), "a place is named once"
    return set(listed)


@given(sections, sections)
def test_deepdiff_agrees_with_plain_loops(master: Sections, shot: Sections) -> None:
    assert as_set(differences(master, shot)) == plainly(master, shot)


@given(sections, st.data())
def test_deepdiff_agrees_on_trees_that_are_nearly_equal(master: Sections, data: st.DataObject) -> None:
    shot = copy.deepcopy(master)
    for leaves in [being(dict, group) for section in shot.values() for group in section.values()]:
        for leaf in list(leaves):
            match data.draw(st.sampled_from(["keep", "keep", "keep", "change", "drop", "add"])):
                case "change":
                    leaves[leaf] = data.draw(values)
                case "drop":
                    del leaves[leaf]
                case "add":
                    leaves[f"{leaf}_more"] = data.draw(values)
    assert as_set(differences(master, shot)) == plainly(master, shot)


@given(sections)
def test_a_copy_differs_in_nothing(master: Sections) -> None:
    assert differences(master, copy.deepcopy(master)) == []


@given(sections, sections)
def test_swapped_sides_swap_absent_and_extra(a: Sections, b: Sections) -> None:
    shared = a.keys() & b.keys()
    a, b = {name: a[name] for name in shared}, {name: b[name] for name in shared}
    other = {CHANGED: CHANGED, ABSENT: EXTRA, EXTRA: ABSENT}
    there = as_set(differences(a, b))
    assert {(s, g, leaf, other[how]) for s, g, leaf, how in there} == as_set(differences(b, a))


@given(sections, st.lists(sections, max_size=5))
def test_many_shots_at_once_are_each_as_if_alone(master: Sections, shots: list[Sections]) -> None:
    assert differences_of_pairs([(master, shot) for shot in shots]) == [
        differences(master, shot) for shot in shots
    ]


@given(st.lists(values, min_size=3, max_size=3), st.data())
def test_parameter_by_parameter_is_as_group_by_group(group_holds: list[Any], data: st.DataObject) -> None:
    held = st.sampled_from([*group_holds, 1.0, True, 0.0]) | values
    many = data.draw(st.lists(st.lists(held, min_size=3, max_size=3), min_size=1, max_size=4))
    group, *others = (dict(zip("abc", one, strict=True)) for one in (group_holds, *many))
    found = [
        (place, name, own, value)
        for name, own, unequal, held in unequal_columns(group, others, Ways())
        for place, value in zip(unequal, held, strict=True)
    ]
    assert sorted(found, key=lambda one: one[0]) == [
        (place, name, own, value)
        for place, other in enumerate(others)
        for name, own, value in unequal_leaves("lights", group, other)
    ]


def test_the_order_is_the_masters_then_what_only_the_shot_has() -> None:
    master: Sections = {
        "lights": {"sun": dict(LIGHT), "rim": dict(LIGHT)},
        "render": {"gi": {"samples": 8.0}},
    }
    shot: Sections = {
        "render": {"gi": {"samples": 16.0, "on": True}},
        "lights": {"kick": dict(LIGHT), "rim": {"position": (0.0, 0.0, 0.0), "level": Level(1.0)}},
    }
    assert [(d.group, d.leaf, d.how) for d in differences(master, shot)] == [
        ("sun", None, ABSENT),
        ("rim", "level", CHANGED),
        ("rim", "colour", ABSENT),
        ("rim", "position", CHANGED),
        ("kick", None, EXTRA),
        ("gi", "samples", CHANGED),
        ("gi", "on", EXTRA),
    ]


def test_six_of_twenty_lights() -> None:
    """By default DeepDiff would call this one change of the whole section, and fourteen lights would be lost."""
    master: Sections = {"lights": {f"light_{number:02d}": dict(LIGHT) for number in range(20)}}
    shot: Sections = {"lights": {f"light_{number:02d}": dict(LIGHT) for number in range(6)}}
    being(dict, shot["lights"])["light_00"] = {**LIGHT, "level": Level(1.0)}
    found = differences(master, shot)
    assert [d.group for d in found if d.how == ABSENT and d.leaf is None] == [
        f"light_{n:02d}" for n in range(6, 20)
    ]
    assert Difference("lights", "light_00", "level", CHANGED) in found
    assert len(found) == 15


def test_a_light_with_every_key_renamed() -> None:
    master: Sections = {"lights": {"sun": {"level": Level(1.0), "cone": 30.0}}}
    shot: Sections = {"lights": {"sun": {"levels": Level(1.0), "cones": 30.0}}}
    assert as_set(differences(master, shot)) == {
        ("lights", "sun", "level", ABSENT),
        ("lights", "sun", "cone", ABSENT),
        ("lights", "sun", "levels", EXTRA),
        ("lights", "sun", "cones", EXTRA),
    }


def test_a_missing_section_leaves_its_groups_absent() -> None:
    master: Sections = {"surfaces": {"nets": {"assigned_to": frozenset({"/set/nets"})}, "water": {}}}
    assert as_set(differences(master, {})) == {
        ("surfaces", "nets", None, ABSENT),
        ("surfaces", "water", None, ABSENT),
    }
    assert differences({}, master) == []


def test_a_sky_that_only_the_shot_has_is_extra_and_passes_of_its_own_are_none() -> None:
    shot: Sections = {"environments": {"sky": {"level": Level(1.0)}}, "passes": {"fog": {"frames": "held"}}}
    assert differences({"lights": {}}, shot) == [Difference("environments", "sky", None, EXTRA)]


def test_a_sections_own_parameters_are_no_group() -> None:
    master: Sections = {"render": {WHOLE: {"quality": "final"}}}
    assert as_set(differences(master, {})) == {("render", WHOLE, "quality", ABSENT)}
    assert as_set(differences({"render": {}}, master)) == {("render", WHOLE, "quality", EXTRA)}


def test_cost_is_compared_where_both_state_it() -> None:
    master: Sections = {"cost": {WHOLE: {"test_frame": 1100.0, "resolution": (1920.0, 804.0)}}}
    assert differences(master, {}) == []
    assert differences(master, {"cost": {WHOLE: {"resolution": (1920.0, 804.0)}}}) == []
    timed: Sections = {"cost": {WHOLE: {"test_frame": 3310.0, "passes": 3.0}}}
    assert differences(master, timed) == [Difference("cost", WHOLE, "test_frame", CHANGED)]


def test_what_python_calls_equal_and_is_not() -> None:
    for a, b in ((1.0, True), (0.0, False), ((1.0, 2.0), frozenset({"1", "2"})), (Level(1.0), 1.0)):
        master: Sections = {"render": {"gi": {"on": a}}}
        shot: Sections = {"render": {"gi": {"on": b}}}
        assert differences(master, shot) == [Difference("render", "gi", "on", CHANGED)]


def test_a_curve_of_ones_and_noughts_is_none_of_on_and_off() -> None:
    on_off = Curve(((1.0, True), (5.0, False)), "held")
    numbers = Curve(((1.0, 1.0), (5.0, 0.0)), "held")
    assert on_off == numbers  # to Python
    for master, shot, found in ((on_off, numbers, 1), (numbers, numbers, 0), (on_off, on_off, 0)):
        ours, theirs = ({"lights": {"lamp": {"visible": side}}} for side in (master, shot))
        assert len(differences(ours, theirs)) == found


def test_values_are_leaves() -> None:
    """No vector is aligned, no set matched and no curve entered: each differs as a whole, once."""
    for a, b in (
        ((0.2, 0.4, 0.6), (0.6, 0.2, 0.4)),
        (frozenset({"camera", "indirect"}), frozenset({"camera"})),
        ("a text\nof two lines", "a text\nof two other lines"),
        (Curve(((1.0, 2.0), (5.0, 3.0))), Curve(((1.0, 2.0), (5.0, 4.0)))),
    ):
        found = differences({"lights": {"sun": {"x": a}}}, {"lights": {"sun": {"x": b}}})
        assert found == [Difference("lights", "sun", "x", CHANGED)]
