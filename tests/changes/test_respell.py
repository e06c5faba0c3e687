"""Parameters put back in a sheet's own spelling: whatever is typed reads as the reference, and nothing else moves."""

from __future__ import annotations

import copy
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from known import being
from samelight.changes.respell.put_back import REMOVED, Respelt, put_back
from samelight.drift.cells import Grade
from samelight.drift.metrics import measure, severity
from samelight.drift.policy import default_policy
from samelight.drift.table import build_table
from samelight.sequence.session import open_session
from samelight.sheets.sheet import Sheet, sheet_from_document
from samelight.sheets.trees import parse_document
from samelight.sheets.vocabulary import COMPARED_SECTIONS, kind_by_name
from samelight.sheets.writing import yaml_text
from thoroughness import examples

Tree = dict[str, Any]


def sheet(tree: Tree) -> Sheet:
    whole = {"samelight": 2, **tree}
    return sheet_from_document(parse_document(Path("HB_010.v001.yaml"), yaml_text(whole)), shot="HB_010")


def light(**typed: Any) -> Tree:
    return {"lights": {"key": typed}}


def typed_after(shot: Tree, master: Tree, *leaves: str, section: str = "lights", group: str = "key") -> Any:
    found = put_back(sheet(shot), sheet(master), [(section, group, leaf) for leaf in leaves])
    assert not found.left
    return found.tree[section].get(group)


SPOT = {"type": "spot", "position": [1, 2, 3], "target": [0, 1, 0]}


@pytest.mark.parametrize(
    ("own", "shot", "wanted"),
    [
        ({}, {"azimuth": 143, "elevation": 24}, {"azimuth": 131, "elevation": 24}),
        ({}, {"azimuth": "143 deg", "elevation": "24 deg"}, {"azimuth": "131 deg", "elevation": "24 deg"}),
        ({"north": [1, 0, 0]}, {"azimuth": 53, "elevation": 24}, {"azimuth": 41, "elevation": 24}),
        ({}, {"rotation": [-24, 37, 0]}, {"rotation": [-24, 49, 0]}),
        (
            {"up_axis": "Z", "north": [0, 1, 0]},
            {"azimuth": 143, "elevation": 24},
            {"azimuth": 131, "elevation": 24},
        ),
    ],
)
def test_a_direction_in_the_words_of_the_shot(own: Tree, shot: Tree, wanted: Tree) -> None:
    master = light(type="distant", azimuth=131, elevation=24)
    found = typed_after({**own, **light(type="distant", **shot)}, master, "direction")
    assert found == {"type": "distant", **wanted}


def test_a_vector_keeps_being_one() -> None:
    master = light(type="distant", azimuth=90, elevation=0)
    found = typed_after(light(type="distant", direction=[0, -1, 0]), master, "direction")
    assert found == {"type": "distant", "direction": [-1, 0, 0]}


def test_a_matrix_keeps_its_scale_and_its_place() -> None:
    matrix = [[2, 0, 0, 0], [0, 2, 0, 0], [0, 0, 2, 0], [5, 6, 7, 1]]
    found = typed_after(
        light(type="spot", matrix=matrix),
        light(type="spot", position=[5, 6, 7], direction=[1, 0, 0]),
        "direction",
    )
    assert found["matrix"][3] == [5, 6, 7, 1]
    assert [abs(number) for row in found["matrix"][:3] for number in row[:3]].count(2) == 3
    assert found["matrix"][2][:3] == [-2, 0, 0]


def test_lengths_in_the_unit_of_the_sheet() -> None:
    master = light(**SPOT, radius=0.35)
    shot = {
        "units": {"length": "cm"},
        **light(type="spot", position=[100, 200, 300], target=[0, 100, 0], radius=40),
    }
    assert typed_after(shot, master, "radius")["radius"] == 35
    assert typed_after(light(**SPOT, radius="400 mm"), master, "radius")["radius"] == "350 mm"
    assert typed_after(light(**SPOT, radius="1 ft"), master, "radius")["radius"] == "1.14829396325 ft"


def test_a_place_in_the_axes_and_the_unit_of_the_sheet() -> None:
    shot = {"units": {"length": "cm"}, "up_axis": "Z", **light(type="point", position=[0, 0, 0])}
    assert typed_after(shot, light(type="point", position=[1, 2, 3]), "position")["position"] == [
        100,
        -300,
        200,
    ]


def test_what_aims_at_a_target_keeps_its_aim_when_only_its_place_is_put_back() -> None:
    shot = light(type="spot", position=[1, 2, 4], target=[0, 1, 1])
    found = put_back(sheet(shot), sheet(light(**SPOT)), [("lights", "key", "position")])
    assert not found.left
    after = sheet_from_document(
        parse_document(Path("HB_010.v001.yaml"), yaml_text(found.tree)), shot="HB_010"
    )
    assert after.value("lights", "key", "position") == (1.0, 2.0, 3.0)
    before = being(tuple, sheet(shot).value("lights", "key", "direction"))
    now = being(tuple, after.value("lights", "key", "direction"))
    assert measure("direction", before, now).drift < 1e-5
    assert {edit.name for edit in found.edits} == {"position", "target"}


def test_both_put_back_need_no_more_than_the_place_where_the_target_holds() -> None:
    shot = light(type="spot", position=[1, 2, 4], target=[0, 1, 0])
    found = put_back(
        sheet(shot), sheet(light(**SPOT)), [("lights", "key", leaf) for leaf in ("position", "direction")]
    )
    assert [(edit.name, edit.value, edit.was) for edit in found.edits] == [("position", [1, 2, 3], [1, 2, 4])]


@pytest.mark.parametrize(
    ("shot", "name", "wanted"),
    [
        ({"intensity": 2.0, "exposure": 1}, "intensity", 1.2),
        ({"intensity": 2.4, "exposure": 1}, "exposure", 0),
        ({"intensity": 3.0, "exposure": "1 st"}, "intensity", 1.2),
        ({"intensity": 2.4, "exposure": 1.1}, "exposure", 0),
        ({"intensity": 2.4, "exposure": 0.3}, "exposure", 0),
        ({"intensity": 1.0, "color": [0.5, 0.5, 0.5]}, "intensity", 4.8),
        ({"intensity": 0.0}, "intensity", 2.4),
    ],
)
def test_a_level_beside_what_the_shot_has(shot: Tree, name: str, wanted: float) -> None:
    found = typed_after(light(type="point", **shot), light(type="point", intensity=2.4), "level")
    others = {key: value for key, value in shot.items() if key != name}
    assert found == {"type": "point", **others, name: wanted} or found == {
        "type": "point",
        "intensity": wanted,
        **{key: value for key, value in shot.items() if key != "intensity"},
    }


def test_a_level_in_a_unit_keeps_it() -> None:
    found = typed_after(
        light(type="point", intensity="400 cd"), light(type="point", intensity="800 cd"), "level"
    )
    assert found == {"type": "point", "intensity": "800 cd"}


def test_the_area_of_a_light_that_is_not_normalised_counts() -> None:
    shot = light(type="rect", width=4, height=1.5, intensity=0.25, normalize=False)
    master = light(type="rect", width=4, height=1.5, intensity=3, normalize=True)
    assert typed_after(shot, master, "level")["intensity"] == 0.5


@pytest.mark.parametrize(("shot", "wanted"), [("4770 K", "5000 K"), (4770, 5000), ("210 mired", "200 mired")])
def test_a_temperature_as_the_shot_writes_it(shot: Any, wanted: Any) -> None:
    found = typed_after(
        light(type="point", temperature=shot), light(type="point", temperature=5000), "colour"
    )
    assert found == {"type": "point", "temperature": wanted}


def test_a_colour_alone_leaves_the_level() -> None:
    shot = light(type="point", color=[1.0, 0.5, 0.25], intensity=2)
    found = put_back(
        sheet(shot), sheet(light(type="point", color=[1, 1, 1], intensity=5)), [("lights", "key", "colour")]
    )
    after = sheet(found.tree)
    assert after.value("lights", "key", "colour") == sheet(light(type="point")).value(
        "lights", "key", "colour"
    )
    before, now = (side.value("lights", "key", "level") for side in (sheet(shot), after))
    assert before is not None and now is not None
    assert abs(measure("level", before, now).drift) < 1e-9


def test_a_colour_of_another_working_space() -> None:
    master = {"working_space": "acescg", **light(type="point", color=[1.0, 0.5, 0.25])}
    found = put_back(
        sheet(light(type="point", color=[1, 1, 1])), sheet(master), [("lights", "key", "colour")]
    )
    assert not found.left
    a, b = (side.value("lights", "key", "colour") for side in (sheet(master), sheet(found.tree)))
    assert a is not None and b is not None
    assert measure("colour", a, b).drift < 1e-6


def test_an_animated_value_is_held_still_again() -> None:
    shot = light(type="point", intensity={"keys": [[1001, 1.0], [1010, 2.0]]})
    assert typed_after(shot, light(type="point", intensity=2.4), "level") == {
        "type": "point",
        "intensity": 2.4,
    }


def test_an_animation_of_the_master_comes_along() -> None:
    keys = {"keys": [[1001, 1.0], [1010, 2.0]], "interpolation": "linear"}
    found = typed_after(light(type="point", intensity=1), light(type="point", intensity=keys), "level")
    assert found["intensity"] == keys


def test_members_keep_their_order() -> None:
    shot = light(type="point", seen_by=["volume", "indirect", "camera"])
    master = light(type="point", seen_by=["camera", "diffuse", "volume"])
    assert typed_after(shot, master, "seen_by")["seen_by"] == ["volume", "camera", "diffuse"]


def test_nested_names_are_set_where_they_stand() -> None:
    shot = light(type="point", shadow={"enable": False, "distance": 3})
    master = light(type="point", shadow={"enable": True, "distance": 3})
    assert typed_after(shot, master, "shadow.enable")["shadow"] == {"enable": True, "distance": 3}


def test_what_the_master_does_not_have_is_taken_out() -> None:
    found = put_back(
        sheet(light(type="point", mood="grim")), sheet(light(type="point")), [("lights", "key", "mood")]
    )
    assert found.tree["lights"]["key"] == {"type": "point"}
    assert [(edit.name, edit.value) for edit in found.edits] == [("mood", REMOVED)]


def test_whole_groups_come_and_go() -> None:
    master = {"lights": {"key": dict(SPOT), "rim": {"type": "point", "position": [1, 2, 3], "intensity": 2}}}
    shot = {"units": {"length": "cm"}, "lights": {"key": dict(SPOT), "old": {"type": "point"}}}
    found = put_back(sheet(shot), sheet(master), [("lights", "rim", ""), ("lights", "old", "")])
    assert not found.left
    assert list(found.tree["lights"]) == ["key", "rim"]
    # Typed in metres, it would stand a hundred times nearer in a sheet of centimetres.
    assert found.tree["lights"]["rim"]["position"] == [100, 200, 300]


def test_an_environments_turn() -> None:
    shot = {"environments": {"sky": {"rotation": 34, "intensity": 0.7}}}
    master = {"environments": {"sky": {"rotation": 40, "intensity": 0.8}}}
    found = typed_after(shot, master, "rotation", "level", section="environments", group="sky")
    assert found == {"rotation": 40, "intensity": 0.8}


def test_a_texture_comes_with_its_hash() -> None:
    shot = {"environments": {"sky": {"texture": "b.exr", "sha256": "b" * 64}}}
    master = {"environments": {"sky": {"texture": "a.exr", "sha256": "a" * 64}}}
    found = typed_after(shot, master, "texture", section="environments", group="sky")
    assert found == {"texture": "a.exr", "sha256": "a" * 64}


def test_a_sections_own_parameters() -> None:
    shot, master = {"render": {"quality": "draft", "gi": {"samples": 8}}}, {"render": {"quality": "final"}}
    found = put_back(sheet(shot), sheet(master), [("render", "", "quality")])
    assert found.tree["render"] == {"quality": "final", "gi": {"samples": 8}}


def test_the_sheet_itself_is_not_touched() -> None:
    shot = sheet(light(type="point", shadow={"enable": False}, intensity=1))
    before = copy.deepcopy(dict(shot.typed))
    put_back(
        shot, sheet(light(type="point", shadow={"enable": True}, intensity=2)), [("lights", "key", "level")]
    )
    assert shot.typed == before


def test_every_cell_of_the_harbour(harbour: Path) -> None:
    session = open_session(harbour)
    assert session.contents.master is not None
    mended: dict[str, Sheet] = {}
    for column, shot in enumerate(session.contents.shots):
        rows = [
            row
            for index, row in enumerate(session.table.rows)
            if session.table.grade[index, column] > Grade.SAME
        ]
        leaves = [(row.section, row.group, row.leaf) for row in rows if row.section in COMPARED_SECTIONS]
        found = put_back(
            session.contents.sheets[shot], session.contents.master, leaves, session.contents.policy.kinds
        )
        assert not found.left, shot
        mended[shot] = sheet_from_document(
            parse_document(Path("sheet.yaml"), yaml_text(found.tree)),
            shot=shot,
            version=session.contents.sheets[shot].version,
            given=session.contents.sequence.conventions,
            kinds=session.contents.policy.kinds,
        )
    counts = build_table(
        session.contents.shots, mended, session.contents.master, session.contents.policy
    ).counts()
    assert (counts["within"], counts["drift"], counts["break"]) == (0, 0, 0)


numbers = st.floats(0.1, 50).map(lambda number: round(number, 3))
angles = st.floats(-170, 170).map(lambda angle: round(angle, 2))
places = st.lists(st.floats(-20, 20).map(lambda number: round(number, 3)), min_size=3, max_size=3)
vectors = places.filter(lambda vector: sum(x * x for x in vector) > 0.1)
aims = st.one_of(
    st.fixed_dictionaries({"azimuth": angles, "elevation": st.floats(-80, 80).map(lambda a: round(a, 2))}),
    st.fixed_dictionaries({"direction": vectors}),
    st.fixed_dictionaries(
        {
            "rotation": st.lists(angles, min_size=3, max_size=3),
            "rotation_order": st.sampled_from(["XYZ", "XZY", "YXZ", "YZX", "ZXY", "ZYX"]),
        }
    ),
)
colours: st.SearchStrategy[dict[str, Any]] = st.one_of(
    st.just({}),
    st.fixed_dictionaries({"temperature": st.integers(1500, 15000)}),
    st.fixed_dictionaries({"temperature": st.integers(1500, 15000).map(lambda kelvin: f"{kelvin} K")}),
    st.fixed_dictionaries(
        {"color": st.lists(st.floats(0.1, 1).map(lambda c: round(c, 3)), min_size=3, max_size=3)}
    ),
)
levels = st.fixed_dictionaries(
    {"intensity": numbers}, optional={"exposure": st.floats(-4, 4).map(lambda stops: round(stops, 2))}
)
conventions = st.fixed_dictionaries(
    {},
    optional={
        "units": st.sampled_from([{"length": "cm"}, {"length": "m"}, {"length": "ft"}]),
        "up_axis": st.sampled_from(["Y", "Z"]),
    },
)


@st.composite
def lights(draw: st.DrawFn) -> Tree:
    shape = draw(st.sampled_from(["spot", "rect", "disk", "distant"]))
    typed: Tree = {"type": shape, **draw(aims), **draw(colours), **draw(levels)}
    if shape != "distant":
        typed["position"] = draw(places)
    if shape in ("rect", "disk"):
        typed["normalize"] = draw(st.booleans())
        typed.update(
            {"radius": draw(numbers)}
            if shape == "disk"
            else {"width": draw(numbers), "height": draw(numbers)}
        )
    return {**draw(conventions), "lights": {"key": typed}}


@settings(max_examples=examples(150))
@given(shot=lights(), master=lights(), data=st.data())
def test_whatever_is_put_back_reads_as_the_reference_and_the_rest_as_before(
    shot: Tree, master: Tree, data: st.DataObject
) -> None:
    # One shape for both: a light that changes its shape changes what its level counts.
    mine, theirs = sheet(shot), sheet(master)
    assert mine.sections["lights"]["key"]["type"]
    if shot["lights"]["key"]["type"] != master["lights"]["key"]["type"]:
        master["lights"]["key"] = {**shot["lights"]["key"], "intensity": 7}
        theirs = sheet(master)
    leaves = sorted({*mine.sections["lights"]["key"], *theirs.sections["lights"]["key"]})
    chosen = data.draw(st.lists(st.sampled_from(leaves), min_size=1, unique=True))
    found = put_back(mine, theirs, [("lights", "key", leaf) for leaf in chosen])
    after = sheet(found.tree)
    _same_but_for(found, mine, theirs, after, chosen, leaves)


def _same_but_for(
    found: Respelt, mine: Sheet, theirs: Sheet, after: Sheet, chosen: list[str], leaves: list[str]
) -> None:
    assert not found.left
    for leaf in leaves:
        wanted = (theirs if leaf in chosen else mine).value("lights", "key", leaf)
        now = after.value("lights", "key", leaf)
        if wanted is None or now is None:
            assert now is wanted, leaf
            continue
        kind = kind_by_name(leaf)
        assert kind is not None
        assert severity(kind, measure(kind, wanted, now).drift, 1.0) == 0.0, (leaf, wanted, now)


def test_nothing_is_typed_twice_over(harbour: Path) -> None:
    """Put back once, a sheet is left alone the second time."""
    session = open_session(harbour)
    assert session.contents.master is not None
    shot = session.contents.sheets["HB_150"]
    leaves = [("lights", "bounce", "level"), ("environments", "dawn_sky", "rotation")]
    once = put_back(shot, session.contents.master, leaves)
    again = put_back(
        sheet_from_document(parse_document(Path("HB_150.v001.yaml"), yaml_text(once.tree)), shot="HB_150"),
        session.contents.master,
        leaves,
    )
    assert len(once.edits) == 2 and not again.edits
    assert default_policy().tolerance("lights.bounce.level", "level").at_most > 0


@pytest.mark.parametrize("emission", [{"intensity": 1e-320}, {"intensity": 1e-300, "exposure": -40}])
def test_what_no_number_reaches_leaves_the_other_parameters(emission: Tree) -> None:
    """Between the shot's level and the master's lie more stops than a number can say."""
    master = light(type="point", position=[1, 2, 3], intensity=1e30, exposure=50)
    shot = light(type="point", position=[1, 2, 4], **emission)
    found = put_back(sheet(shot), sheet(master), [("lights", "key", "level"), ("lights", "key", "position")])
    assert found.tree["lights"]["key"]["position"] == [1, 2, 3]
