"""The drift table of sheets small enough to check by eye."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from known import about
from samelight.drift.cells import GRADES, ComparedCell, Grade
from samelight.drift.policy import Lock, Policy, Tolerance
from samelight.drift.table import Entry, ExtraRow, Table, build_table
from samelight.sheets.canonical import WHOLE, Sections
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Amount, Colour, Curve, Level
from strategies import values

TENTH = Policy(
    tolerances=(
        Tolerance(0.1, "", "level", ""),
        Tolerance(2.0, "", "direction", ""),
        Tolerance(2.0, "", "lights.*.samples", ""),
        Tolerance(0.5, "", "lights.<distant>.direction", ""),
    ),
    locks=(Lock("lights.<distant>.direction", "One sun", ""), Lock("lights.<distant>", "One sun", "")),
)
SUN: dict[str, Any] = {"type": "distant", "direction": (1.0, 0.0, 0.0), "level": Level(3.2), "samples": 64.0}
RIM: dict[str, Any] = {"type": "disk", "level": Level(1.0), "light_links": frozenset({"*"})}


def sheet(shot: str, sections: Sections) -> Sheet:
    return Sheet(Path(f"{shot}.yaml"), shot, 1, None, None, {}, sections)


def table(
    master: Sections | None, shots: dict[str, Sections | None], policy: Policy = TENTH, **more: Any
) -> Table:
    sheets = {shot: sheet(shot, held) for shot, held in shots.items() if held is not None}
    return build_table(list(shots), sheets, None if master is None else sheet("", master), policy, **more)


def cell(made: Table, shot: str, parameter: str) -> ComparedCell:
    row, column = made.row(parameter), made.column(shot)
    assert row is not None and column is not None
    return made.cell(row, column)


def entry(made: Table, shot: str, parameter: str) -> Entry | None:
    row, column = made.row(parameter), made.column(shot)
    assert row is not None and column is not None
    return made.entry(row, column)


def test_rows_stand_in_the_masters_order_then_what_only_shots_have() -> None:
    master: Sections = {
        "cost": {WHOLE: {"test_frame": 60.0}},
        "render": {WHOLE: {"quality": "final"}, "gi": {"samples": 192.0}},
        "lights": {"sun": dict(SUN), "rim": dict(RIM)},
    }
    first: Sections = {
        "lights": {"rim": {**RIM, "radius": 0.3}, "kick": {"level": Level(1.0)}, "sun": dict(SUN)}
    }
    second: Sections = {
        "lights": {"glint": {"cone": 3.0}},
        "cost": {WHOLE: {"other": 1.0}},
        "passes": {"fog": {}},
    }
    made = table(master, {"A": first, "B": second})
    assert [row.parameter for row in made.rows] == [
        "lights.sun",
        "lights.sun.type",
        "lights.sun.direction",
        "lights.sun.level",
        "lights.sun.samples",
        "lights.rim",
        "lights.rim.type",
        "lights.rim.level",
        "lights.rim.light_links",
        "lights.rim.radius",
        "lights.kick",
        "lights.kick.level",
        "lights.glint",
        "lights.glint.cone",
        "render.quality",
        "render.gi",
        "render.gi.samples",
        "cost.test_frame",
    ]
    assert [row.group_name for row in made.rows[:2]] == ["lights.sun", "lights.sun"]
    assert {row.light_type for row in made.rows if row.group == "sun"} == {"sun"}
    assert {row.light_type for row in made.rows if row.section != "lights"} == {""}
    assert [made.row(row.parameter) for row in made.rows] == list(range(len(made.rows)))
    assert (made.shots, made.column("B"), made.column("C"), made.row("nothing")) == (
        ("A", "B"),
        1,
        None,
        None,
    )


def test_the_four_grades() -> None:
    shots: dict[str, Sections | None] = {
        "same": {"lights": {"sun": dict(SUN), "rim": {**RIM, "level": Level(1.0)}}},
        "within": {"lights": {"sun": dict(SUN), "rim": {**RIM, "level": Level(2**0.05)}}},
        "drift": {"lights": {"sun": dict(SUN), "rim": {**RIM, "level": Level(2.0)}}},
        "break": {"lights": {"sun": {**SUN, "direction": (0.0, 0.0, -1.0)}, "rim": dict(RIM)}},
    }
    made = table({"lights": {"sun": dict(SUN), "rim": dict(RIM)}}, shots)
    for shot, drift in (("same", 0.0), ("within", 0.05), ("drift", 1.0)):
        found = cell(made, shot, "lights.rim.level")
        assert found.grade is GRADES[shot]
        assert found.drift == pytest.approx(drift)
        assert (found.unit, found.tolerance, found.kind) == ("stops", 0.1, "level")
        assert found.drifts == (shot == "drift")
    broken = cell(made, "break", "lights.sun.direction")
    assert (broken.grade, broken.drift, broken.tolerance) == (Grade.BREAK, about(90.0), 0.5)
    assert made.severity[made.row("lights.sun.direction"), 3] == pytest.approx(180.0)
    assert made.counts() == {"same": 33, "within": 1, "drift": 1, "break": 1}
    assert made.counts(["within", "drift"]) == {"same": 16, "within": 1, "drift": 1, "break": 0}
    assert [(found.shot, found.parameter) for found in made.cells()] == [
        ("break", "lights.sun.direction"),
        ("within", "lights.rim.level"),
        ("drift", "lights.rim.level"),
    ]
    assert len(list(made.cells(Grade.NONE))) == 36


def test_a_lock_holds_only_outside_the_tolerance() -> None:
    near = (math.cos(math.radians(0.4)), 0.0, math.sin(math.radians(0.4)))
    made = table({"lights": {"sun": dict(SUN)}}, {"A": {"lights": {"sun": {**SUN, "direction": near}}}})
    assert cell(made, "A", "lights.sun.direction").grade is Grade.WITHIN


def test_tolerances_of_counts_are_factors() -> None:
    shots: dict[str, Sections | None] = {
        str(samples): {"lights": {"sun": {**SUN, "samples": samples}}} for samples in (32.0, 128.0, 31.0, 0.0)
    }
    made = table({"lights": {"sun": dict(SUN)}}, shots)
    grades = [cell(made, shot, "lights.sun.samples").grade for shot in shots]
    assert grades == [Grade.WITHIN, Grade.WITHIN, Grade.DRIFT, Grade.DRIFT]


def test_a_light_that_is_absent_counts_once() -> None:
    made = table({"lights": {"sun": dict(SUN), "rim": dict(RIM)}}, {"A": {"lights": {"rim": dict(RIM)}}})
    gone = cell(made, "A", "lights.sun")
    assert (gone.grade, gone.remark, gone.master, gone.value) == (Grade.BREAK, "absent", "present", None)
    assert math.isnan(gone.drift)
    assert made.severity[0, 0] == math.inf
    level = cell(made, "A", "lights.sun.level")
    assert (level.grade, level.master, level.value) == (Grade.NONE, Level(3.2), None)
    assert made.counts() == {"same": 4, "within": 0, "drift": 0, "break": 1}


def test_a_light_that_is_extra_counts_once_and_only_where_it_is() -> None:
    shots: dict[str, Sections | None] = {
        "A": {"lights": {"rim": dict(RIM), "kick": {"level": Level(2.0)}}},
        "B": {"lights": {"rim": dict(RIM)}},
    }
    made = table({"lights": {"rim": dict(RIM)}}, shots)
    there = cell(made, "A", "lights.kick")
    assert (there.grade, there.remark, there.master, there.value) == (Grade.DRIFT, "extra", None, "present")
    level = cell(made, "A", "lights.kick.level")
    assert (level.grade, level.master, level.value) == (Grade.NONE, None, Level(2.0))
    assert entry(made, "B", "lights.kick") is None
    assert entry(made, "B", "lights.kick.level") is None
    assert made.counts() == {"same": 8, "within": 0, "drift": 1, "break": 0}


def test_a_parameter_that_is_absent_or_extra() -> None:
    shots: dict[str, Sections | None] = {
        "A": {"lights": {"rim": {"type": "disk", "level": Level(1.0), "radius": 0.3}}},
        "B": {"lights": {"rim": dict(RIM)}},
    }
    made = table({"lights": {"rim": dict(RIM)}}, shots)
    links = cell(made, "A", "lights.rim.light_links")
    assert (links.grade, links.remark, links.master, links.value) == (
        Grade.DRIFT,
        "absent",
        frozenset({"*"}),
        None,
    )
    radius = cell(made, "A", "lights.rim.radius")
    assert (radius.grade, radius.remark, radius.kind) == (Grade.DRIFT, "extra", "length")
    assert entry(made, "B", "lights.rim.radius") is None
    assert cell(made, "B", "lights.rim.radius").grade is Grade.NONE


def test_a_shot_without_a_sheet_has_an_empty_column() -> None:
    made = table({"lights": {"rim": dict(RIM)}}, {"A": {"lights": {"rim": dict(RIM)}}, "B": None})
    assert [made.entry(row, 1) for row in range(len(made.rows))] == [None] * 4
    assert made.grade[:, 1].tolist() == [0] * 4
    assert np.isnan(made.drift[:, 1]).all()
    assert made.counts(["B"]) == {"same": 0, "within": 0, "drift": 0, "break": 0}


def test_where_cells_are_of_those_that_are_there() -> None:
    rim: Sections = {"lights": {"rim": dict(RIM)}}
    made = table(rim, {"A": rim, "B": rim})
    row = made.row("lights.rim.level")
    names = [("B", "lights.rim.level"), ("A", "lights.gone"), ("C", "lights.rim.level"), ("A", "lights.rim")]
    assert made.places(names) == [(row, 1), (made.row("lights.rim"), 0)]
    assert made.places([]) == []


def test_without_a_master_there_is_nothing_to_compare() -> None:
    made = table(None, {"A": {"lights": {"rim": dict(RIM)}}})
    assert (made.shots, made.rows, made.codes.shape, made.grade.shape) == (("A",), (), (0, 1), (0, 1))
    assert list(made.cells()) == []


def test_an_empty_cut() -> None:
    made = table({"lights": {"rim": dict(RIM)}}, {})
    assert made.grade.shape == (4, 0)
    assert made.counts() == {"same": 0, "within": 0, "drift": 0, "break": 0}


def test_cost_only_where_both_state_it() -> None:
    master: Sections = {"cost": {WHOLE: {"test_frame": 100.0, "resolution": (1920.0, 804.0)}}}
    shots: dict[str, Sections | None] = {
        "A": {"cost": {WHOLE: {"test_frame": 120.0, "passes": 3.0}}},
        "B": {},
        "C": {"cost": {WHOLE: {"resolution": (1920.0, 804.0)}}},
    }
    made = table(master, shots)
    assert [row.parameter for row in made.rows] == ["cost.test_frame", "cost.resolution"]
    timed = cell(made, "A", "cost.test_frame")
    assert (timed.grade, timed.drift, timed.unit) == (Grade.DRIFT, about(20.0), "%")
    for shot, parameter in (("A", "cost.resolution"), ("B", "cost.test_frame"), ("C", "cost.test_frame")):
        assert cell(made, shot, parameter).grade is Grade.NONE
        assert cell(made, shot, parameter).value is None
    assert cell(made, "C", "cost.resolution").grade is Grade.SAME
    assert made.counts() == {"same": 1, "within": 0, "drift": 1, "break": 0}


def test_animated_cells_are_curves_of_something() -> None:
    curve = Curve(((1001.0, Level(1.0)), (1009.0, Level(2.0))))
    made = table({"lights": {"rim": dict(RIM)}}, {"A": {"lights": {"rim": {**RIM, "level": curve}}}})
    found = cell(made, "A", "lights.rim.level")
    assert (found.kind, found.value_kind, found.unit) == ("curve", "level", "stops")
    assert (found.drift, found.remark) == (1.0, "largest at frame 1009")


def test_a_value_of_another_type() -> None:
    made = table({"render": {"gi": {"samples": 1.0}}}, {"A": {"render": {"gi": {"samples": True}}}})
    found = cell(made, "A", "render.gi.samples")
    assert (found.grade, found.remark) == (Grade.DRIFT, "type changed")
    assert not math.isfinite(found.drift)


def test_the_kind_of_a_row() -> None:
    render: dict[str, Any] = {
        "mood": "blue",
        "gloom": 0.2,
        "haze": Amount(3.0, "length"),
        "swell": Curve(((1.0, Colour(0.2, 0.4)), (2.0, Colour(0.2, 0.5)))),
        "rays": "many",
        "on": True,
    }
    shot: Sections = {"render": {"gi": {**render, "lilt": Amount(2.0, "angle")}}}
    policy = Policy(kinds=(("render.*.gloom", "fraction"),))
    made = table({"render": {"gi": dict(render)}}, {"A": shot}, policy)
    assert {row.leaf: row.kind for row in made.rows} == {
        "": "presence",
        "mood": "text",
        "gloom": "fraction",
        "haze": "length",
        "swell": "colour",
        "rays": "count",
        "on": "switch",
        "lilt": "angle",
    }


def test_the_type_of_a_light_that_only_a_shot_has() -> None:
    made = table({"lights": {}}, {"A": {"lights": {"moon": dict(SUN)}}})
    # What the master does not have is extra, and breaks no lock.
    assert made.rows[0].light_type == "distant"
    assert cell(made, "A", "lights.moon").grade is Grade.DRIFT


def test_rows_that_are_computed() -> None:
    extra = ExtraRow(
        "marks.face.level.rim",
        "marks",
        "face",
        "level.rim",
        "level",
        {
            "A": (Level(8.0), Level(16.0)),
            "B": (Level(8.0), Level(8.0)),
            "C": (Level(8.0), None),
            "D": (None, Level(8.0)),
            "E": (None, None),
            "F": (Level(4.0), Level(8.0)),
        },
    )
    held: Sections = {"lights": {"rim": dict(RIM)}}
    shots: dict[str, Sections | None] = dict.fromkeys("ABCDEFG", held)
    made = table(held, shots, Policy(locks=(Lock("marks.*.level.*", "", ""),)), derived=[extra])
    row = made.rows[-1]
    assert (row.parameter, row.kind, row.group_name) == ("marks.face.level.rim", "level", "marks.face")
    cells = {shot: cell(made, shot, row.parameter) for shot in shots}
    assert [cells[shot].drift for shot in "ABF"] == [1.0, 0.0, 1.0]
    assert [cells[shot].grade.word for shot in "ABCDEFG"] == [
        "break",
        "same",
        "break",
        "break",
        "",
        "break",
        "",
    ]
    assert [cells[shot].remark for shot in "CD"] == ["absent", "extra"]
    assert cells["F"].master == Level(4.0)


@given(
    st.dictionaries(st.sampled_from("abc"), st.dictionaries(st.sampled_from("xyz"), values)),
    st.lists(
        st.dictionaries(st.sampled_from("abcd"), st.dictionaries(st.sampled_from("xyzw"), values)), max_size=4
    ),
)
def test_arrays_and_entries_say_the_same(master: dict[str, Any], shots: list[dict[str, Any]]) -> None:
    made = table({"lights": master}, {f"S{n}": {"lights": held} for n, held in enumerate(shots)})
    for row in range(len(made.rows)):
        for column, found in enumerate(made.line(row)):
            numbers = made.drift[row, column], made.severity[row, column], made.grade[row, column]
            expected = (
                (math.nan, 0.0, Grade.NONE) if found is None else (found.drift, found.severity, found.grade)
            )
            assert str(numbers[0]) == str(np.float64(expected[0]))
            assert numbers[1:] == expected[1:]
            held = shots[column].get(made.rows[row].group)
            what = made.rows[row]
            if what.leaf:
                assert (found.value if found else None) == (held or {}).get(what.leaf)
            else:
                assert (found.value if found else None) == ("present" if held is not None else None)


def test_a_sky_that_only_one_shot_has_where_the_master_speaks_of_none() -> None:
    master: Sections = {"lights": {"sun": dict(SUN)}}
    lit: Sections = {"lights": {"sun": dict(SUN)}, "environments": {"sky": {"level": Level(1.0)}}}
    made = table(master, {"A": {"lights": {"sun": dict(SUN)}}, "B": lit})
    assert cell(made, "B", "environments.sky").grade is Grade.DRIFT
    assert entry(made, "A", "environments.sky") is None
    assert made.counts()["drift"] == 1


def test_a_setting_of_a_sections_own_that_a_shot_has_alone() -> None:
    master: Sections = {"render": {"gi": {"samples": 192.0}}}
    shot: Sections = {"render": {"gi": {"samples": 192.0}, WHOLE: {"quality": "draft"}}}
    made = table(master, {"A": shot, "B": {"render": {"gi": {"samples": 192.0}}}})
    assert (cell(made, "A", "render.quality").grade, cell(made, "A", "render.quality").master) == (
        Grade.DRIFT,
        None,
    )
    assert made.counts()["drift"] == 1


def test_one_value_in_a_shot_that_is_a_group_in_the_master_and_the_other_way_round() -> None:
    group: Sections = {"render": {"gi": {"samples": 192.0}}}
    value: Sections = {"render": {WHOLE: {"gi": True}}}
    for master, shot in ((group, value), (value, group)):
        made = table(master, {"A": shot, "B": master})
        names = [row.parameter for row in made.rows]
        assert len(set(names)) == len(names)
        for name in ("render.gi", 'render."gi"'):
            assert cell(made, "A", name).grade is Grade.DRIFT
            assert cell(made, "B", name).grade in (Grade.SAME, Grade.NONE)
