"""Short names: unique, and the same whatever the order."""

from itertools import permutations
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from samelight.sheets.sheet import sheet_from_document
from samelight.sheets.trees import parse_document
from samelight.sheets.writing import yaml_text
from samelight.sources.naming import short_names

PARTS = st.sampled_from(["a", "b", "a_b", "a_b_2"])
PATHS = st.lists(
    st.lists(PARTS, min_size=1, max_size=4).map(lambda parts: "/" + "/".join(parts)), unique=True
)


def test_as_many_parts_as_it_takes() -> None:
    assert short_names(["/rig/left/lamp/bulb", "/rig/right/lamp/bulb", "/sun"]) == {
        "/rig/left/lamp/bulb": "left_lamp_bulb",
        "/rig/right/lamp/bulb": "right_lamp_bulb",
        "/sun": "sun",
    }


def test_a_root_light_among_others_of_its_name() -> None:
    assert short_names(["/key", "/rig/key"]) == {"/key": "key", "/rig/key": "rig_key"}


def test_paths_that_read_alike_are_numbered() -> None:
    assert short_names(["/a_b/c", "/a/b_c", "/c", "/b_c"]) == {
        "/a/b_c": "a_b_c",
        "/a_b/c": "a_b_c_2",
        "/b_c": "b_c",
        "/c": "c",
    }


@given(PATHS)
def test_names_are_unique(paths: list[str]) -> None:
    names = short_names(paths)
    assert set(names) == set(paths)
    assert len(set(names.values())) == len(paths)


@given(st.permutations(["/a/b/c", "/a_b/c", "/b/c", "/c", "/a/b_c"]))
def test_order_does_not_matter(paths: list[str]) -> None:
    assert short_names(paths) == short_names(sorted(paths))


def test_every_order_of_three() -> None:
    paths = ["/x/key", "/y/key", "/key"]
    assert len({tuple(sorted(short_names(order).items())) for order in permutations(paths)}) == 1


@pytest.mark.parametrize(
    ("path", "name"),
    [
        ("/set/Light.001", "Light_001"),
        ("/set/ 5 ", "_5"),
        ('/set/it\'s a "lamp"', "its a lamp"),
        ("/set/two\nlines", "two_lines"),
        ("/set/...", "___"),
        ("/set/'", "_"),
    ],
)
def test_what_cannot_stand_in_a_sheet_is_left_out(path: str, name: str) -> None:
    assert short_names([path]) == {path: name}


def test_names_that_read_alike_without_what_cannot_stand_are_told_apart() -> None:
    names = short_names(["/set/sun.direction", "/set/sun_direction", "/set/sun"])
    assert sorted(names.values()) == sorted(set(names.values()))
    assert names["/set/sun"] == "sun"
    assert not any("." in name for name in names.values())


@given(
    st.lists(
        st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=6), min_size=1, max_size=6
    )
)
def test_every_name_is_one_that_a_sheet_takes(ends: list[str]) -> None:
    names = list(short_names([f"/a/{end}" for end in ends]).values())
    tree = {"samelight": 2, "lights": {name: {"type": "spot"} for name in names}}
    assert set(
        sheet_from_document(parse_document(Path("a.yaml"), yaml_text(tree))).sections["lights"]
    ) == set(names)
