"""Short names: unique, and the same whatever the order."""

from itertools import permutations

from hypothesis import given
from hypothesis import strategies as st

from samelight.sources.naming import short_names

PARTS = st.sampled_from(["a", "b", "a_b", "a_b_2"])
PATHS = st.lists(
    st.lists(PARTS, min_size=1, max_size=4).map(lambda parts: "/" + "/".join(parts)), unique=True
)


def test_as_many_parts_as_it_takes():
    assert short_names(["/rig/left/lamp/bulb", "/rig/right/lamp/bulb", "/sun"]) == {
        "/rig/left/lamp/bulb": "left_lamp_bulb",
        "/rig/right/lamp/bulb": "right_lamp_bulb",
        "/sun": "sun",
    }


def test_a_root_light_among_others_of_its_name():
    assert short_names(["/key", "/rig/key"]) == {"/key": "key", "/rig/key": "rig_key"}


def test_paths_that_read_alike_are_numbered():
    assert short_names(["/a_b/c", "/a/b_c", "/c", "/b_c"]) == {
        "/a/b_c": "a_b_c",
        "/a_b/c": "a_b_c_2",
        "/b_c": "b_c",
        "/c": "c",
    }


@given(PATHS)
def test_names_are_unique(paths):
    names = short_names(paths)
    assert set(names) == set(paths)
    assert len(set(names.values())) == len(paths)


@given(st.permutations(["/a/b/c", "/a_b/c", "/b/c", "/c", "/a/b_c"]))
def test_order_does_not_matter(paths):
    assert short_names(paths) == short_names(sorted(paths))


def test_every_order_of_three():
    paths = ["/x/key", "/y/key", "/key"]
    assert len({tuple(sorted(short_names(order).items())) for order in permutations(paths)}) == 1
