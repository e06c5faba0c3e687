from __future__ import annotations

import copy
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from samelight.changes.respell.put_back import put_back
from samelight.drift.metrics import measure, severity
from samelight.sheets.quantities import kind_of_value
from samelight.sheets.sheet import Sheet, sheet_from_document
from samelight.sheets.trees import parse_document
from samelight.sheets.vocabulary import kind_by_name
from samelight.sheets.writing import yaml_text
from thoroughness import examples

LIGHT: dict[str, Any] = {
    "type": "rect",
    "position": [1, 2, 3],
    "azimuth": 40,
    "elevation": 30,
    "intensity": 2.0,
    "exposure": 1,
    "color": [1, 0.9, 0.8],
    "width": 2,
    "height": 1,
    "samples": 16,
}


def sheet(light: dict[str, Any] | None = None, **top: Any) -> Sheet:
    tree: dict[str, Any] = {"samelight": 2, "shot": "HB_010", **top}
    if light is not None:
        tree["lights"] = {"key": light}
    return sheet_from_document(parse_document(Path("HB_010.v001.yaml"), yaml_text(tree)), shot="HB_010")


def again(tree: dict[str, Any]) -> Sheet:
    """The tree as it comes back from a file."""
    return sheet_from_document(parse_document(Path("HB_010.v002.yaml"), yaml_text(tree)), shot="HB_010")


def reads_as(leaf: str, value: Any, expected: Any) -> bool:
    """Whether two values of a parameter are the same to the program."""
    kind = kind_by_name(leaf) or kind_of_value(expected)
    return severity(kind, measure(kind, expected, value).drift, 0.0) == 0.0


def key(of: Sheet) -> dict[str, Any]:
    return dict(of.sections["lights"]["key"])


def assert_put_back(shot: Sheet, master: Sheet, *leaves: str) -> dict[str, Any]:
    """Exactly the asked parameters become the master's; returns the light as it is typed then."""
    out = put_back(shot, master, [("lights", "key", leaf) for leaf in leaves])
    assert out.left == ()
    after = again(out.tree)
    for leaf, value in key(after).items():
        expected = key(master)[leaf] if leaf in leaves else key(shot)[leaf]
        assert reads_as(leaf, value, expected), leaf
    typed: dict[str, Any] = out.tree["lights"]["key"]
    return typed


def test_azimuth_and_elevation_stay_azimuth_and_elevation() -> None:
    typed = assert_put_back(sheet({**LIGHT, "azimuth": 52}), sheet(LIGHT), "direction")
    assert (typed["azimuth"], typed["elevation"]) == (40, 30)
    assert "direction" not in typed


def test_a_vector_stays_a_vector_and_a_target_a_target() -> None:
    bare = {name: value for name, value in LIGHT.items() if name not in ("azimuth", "elevation")}
    assert "direction" in assert_put_back(
        sheet({**bare, "direction": [0, -1, 0.2]}), sheet(LIGHT), "direction"
    )
    typed = assert_put_back(sheet({**bare, "target": [0, 0, 0]}), sheet(LIGHT), "direction")
    assert "target" in typed and "azimuth" not in typed


def test_a_rotation_stays_a_rotation() -> None:
    bare = {name: value for name, value in LIGHT.items() if name not in ("azimuth", "elevation")}
    typed = assert_put_back(sheet({**bare, "rotation": [-20, 15, 0]}), sheet(LIGHT), "direction")
    assert "rotation" in typed and "azimuth" not in typed


def test_a_sheet_in_centimetres_gets_centimetres() -> None:
    shot = sheet({**LIGHT, "position": [100, 200, 350], "width": 400, "height": 100}, units={"length": "cm"})
    typed = assert_put_back(shot, sheet(LIGHT), "position")
    assert typed["position"] == [100, 200, 300]
    typed = put_back(shot, sheet(LIGHT), [("lights", "key", "width")]).tree["lights"]["key"]
    assert typed["width"] == 200


def test_a_z_up_sheet_gets_z_up_numbers() -> None:
    shot = sheet({**LIGHT, "position": [1, -3, 2.5]}, up_axis="Z")
    assert assert_put_back(shot, sheet(LIGHT), "position")["position"] == [1, -3, 2]


def test_an_intensity_is_set_beside_the_exposure_that_is_there() -> None:
    typed = assert_put_back(sheet({**LIGHT, "intensity": 1.0, "exposure": 3}), sheet(LIGHT), "level")
    assert typed["exposure"] == 3
    assert typed["intensity"] == pytest.approx(0.5)


def test_a_colour_is_put_back_without_touching_the_level() -> None:
    assert_put_back(sheet({**LIGHT, "color": [0.5, 0.5, 0.9]}), sheet(LIGHT), "colour")


def test_a_level_is_put_back_without_touching_the_colour() -> None:
    assert_put_back(sheet({**LIGHT, "color": [0.5, 0.5, 0.9]}), sheet(LIGHT), "level")


def test_a_light_that_aims_at_a_target_keeps_its_aim_when_it_is_moved_back() -> None:
    bare = {name: value for name, value in LIGHT.items() if name not in ("azimuth", "elevation")}
    shot = sheet({**bare, "position": [1, 2, 5], "target": [0, 0, 0]})
    assert_put_back(shot, sheet({**bare, "target": [0, 0, 0]}), "position")


def test_an_absent_light_comes_back_and_an_extra_one_goes() -> None:
    out = put_back(sheet(), sheet(LIGHT), [("lights", "key", "")])
    assert key(again(out.tree)) == key(sheet(LIGHT))
    out = put_back(sheet(LIGHT), sheet(), [("lights", "key", "")])
    assert "key" not in out.tree.get("lights", {})


def test_an_absent_light_comes_back_in_the_shots_own_units() -> None:
    shot = sheet(None, units={"length": "cm"}, lights={})
    out = put_back(shot, sheet(LIGHT), [("lights", "key", "")])
    assert out.left == ()
    for leaf, value in key(again(out.tree)).items():
        assert reads_as(leaf, value, key(sheet(LIGHT))[leaf]), leaf


def test_what_changes_is_told_by_its_typed_name() -> None:
    out = put_back(
        sheet({**LIGHT, "azimuth": 52, "samples": 4}), sheet(LIGHT), [("lights", "key", "direction")]
    )
    told = [(edit.parameter, edit.name, edit.was, edit.value) for edit in out.edits]
    assert told == [("lights.key.direction", "azimuth", 52, 40)]


def test_a_level_of_another_quantity_is_put_back_as_the_master_has_it() -> None:
    shot = sheet({**LIGHT, "type": "point", "intensity": "800 lm"})
    master = sheet({**LIGHT, "type": "point"})
    out = put_back(shot, master, [("lights", "key", "level")])
    assert out.left == ()
    assert reads_as("level", key(again(out.tree))["level"], key(master)["level"])


MOVING = {"keys": [[1, [1, 0, 0]], [10, [2, 0, 0]]], "interpolation": "linear"}


@pytest.mark.parametrize(
    ("units", "light"),
    [
        ({"length": "cm"}, {"type": "point", "position": MOVING, "intensity": 2.0}),
        ({"level": "lx"}, {"type": "point", "position": [1, 0, 0], "intensity": 2.0}),
    ],
    ids=["a keyed place in metres", "a relative level"],
)
def test_a_light_that_cannot_be_written_in_a_sheet_is_not_put_there_at_all(
    units: dict[str, str], light: dict[str, Any]
) -> None:
    for shot in (sheet(units=units), sheet(units=units, lights={"fill": LIGHT})):
        out = put_back(shot, sheet(light), [("lights", "key", "")])
        assert (out.left, out.edits) == (("lights.key",), ())
        assert out.tree == shot.typed


def test_the_shots_own_tree_is_not_touched() -> None:
    shot = sheet({**LIGHT, "azimuth": 52})
    before = copy.deepcopy(shot.typed)
    put_back(shot, sheet(LIGHT), [("lights", "key", "direction"), ("lights", "key", "")])
    assert shot.typed == before


numbers = st.floats(-20, 20, allow_nan=False).map(lambda x: round(x, 3))


@settings(deadline=None, max_examples=examples(60))
@given(
    azimuth=st.floats(0, 359).map(lambda x: round(x, 2)),
    elevation=st.floats(-85, 85).map(lambda x: round(x, 2)),
    position=st.lists(numbers, min_size=3, max_size=3),
    intensity=st.floats(0.01, 100).map(lambda x: round(x, 4)),
    unit=st.sampled_from(["m", "cm", "in", "ft"]),
    up=st.sampled_from(["Y", "Z"]),
    spelling=st.sampled_from(["azimuth", "direction", "rotation"]),
)
def test_everything_of_a_light_can_be_put_back_in_any_convention(
    azimuth: float,
    elevation: float,
    position: list[float],
    intensity: float,
    unit: str,
    up: str,
    spelling: str,
) -> None:
    spellings: dict[str, dict[str, Any]] = {
        "azimuth": {"azimuth": 10, "elevation": 5},
        "direction": {"direction": [1, 2, 3]},
    }
    spelt = spellings.get(spelling, {"rotation": [10, 20, 30]})
    bare = {name: value for name, value in LIGHT.items() if name not in ("azimuth", "elevation")}
    shot = sheet({**bare, **spelt}, units={"length": unit}, up_axis=up)
    master = sheet(
        {**LIGHT, "azimuth": azimuth, "elevation": elevation, "position": position, "intensity": intensity}
    )
    leaves = [("lights", "key", leaf) for leaf in key(master)]
    out = put_back(shot, master, leaves)
    assert out.left == ()
    after = key(again(out.tree))
    for leaf, value in key(master).items():
        assert reads_as(leaf, after[leaf], value), leaf
