"""A mark against the same mark of the key shot, each under its own lights."""

from __future__ import annotations

import math
from typing import Any

import pytest

from drift.computed.scenes import FACE, Scene, matching_faces, point, sheet, shot
from known import about, being
from samelight.drift.cells import Grade
from samelight.drift.computed.derived import derived_rows
from samelight.drift.computed.derived_explanations import derived_formula
from samelight.drift.derived_names import SUBJECT_KINDS, derived_kind, derived_rule
from samelight.drift.follows import following
from samelight.drift.policy import default_policy
from samelight.light.colour import planckian_uv
from samelight.sheets.values import Bearing, Colour, Level

LAMP = {"lamp": point(8, 0, 0, 4)}
"""Four metres in front of the face: 0.5."""


def face(z: float = 0.0, normal: tuple[float, float, float] = (0, 0, 1)) -> dict[str, Any]:
    return {"face": {"position": [0, 0, z], "normal": list(normal)}}


def scene(key: dict[str, Any], a: dict[str, Any], master: dict[str, Any] | None = None) -> Scene:
    return Scene(master or {"lights": key["lights"]}, "KEY", matching_faces(), KEY=key, A=a)


def test_a_walk_under_lights_that_hold() -> None:
    """From 4 m to 2 m: four times the light, two stops, and no drift from the master."""
    walked = scene(shot(LAMP), shot(LAMP, marks=face(2)))
    level = walked.cell("subject.face.level")
    assert (level.master, level.value) == (Level(0.5), Level(2.0))
    assert (level.drift, level.grade) == (2.0, Grade.DRIFT)
    assert walked.cell("marks.face.level").grade is Grade.SAME
    assert walked.cell("subject.face.level", "KEY").grade is Grade.SAME


def test_staging_alone_is_quiet_until_a_sequence_asks_for_faces_that_match() -> None:
    """A face that walked and turned by half a right angle, under lights that hold, with the program's own tolerances."""
    turned = shot(LAMP, marks=face(1.2, (math.sin(math.radians(45)), 0, math.cos(math.radians(45)))))
    quiet = Scene({"lights": LAMP}, "KEY", KEY=shot(LAMP), A=turned)
    for leaf in ("level", "key_angle"):
        cell = quiet.cell(f"subject.face.{leaf}")
        assert cell.drift is not None
        assert (abs(cell.drift) > 0.4, cell.grade) == (True, Grade.SAME)
    asked = scene(shot(LAMP), turned)
    assert asked.cell("subject.face.key_angle").grade is Grade.DRIFT


def test_it_is_quiet_inside_the_tolerance_and_keeps_its_figure() -> None:
    """From 4 m to 3.6 m: 2 log2(4 / 3.6) = 0.30 stops."""
    level = scene(shot(LAMP), shot(LAMP, marks=face(0.4))).cell("subject.face.level")
    assert level.drift == pytest.approx(0.304, abs=5e-4)
    assert level.grade is Grade.SAME


def test_it_is_decided_on_by_itself_whatever_else_drifts() -> None:
    brighter = {"lamp": point(16, 0, 0, 4)}
    table = scene(shot(LAMP), shot(brighter)).table
    row, other, column = table.row("subject.face.level"), table.row("marks.face.level"), table.column("A")
    assert row is not None and other is not None and column is not None
    follows = following(table)
    assert follows.case[row, column]
    assert not follows.mask[row, column]
    assert table.grade[other, column] >= Grade.DRIFT


def test_two_lights_mix_by_what_they_give() -> None:
    """One to one of u'v' 0.25, 0.5 and 0.2, 0.5, whose X + 15 Y + 3 Z are alike for a Y: halfway."""
    colours = [(0.25, 0.5), (0.2, 0.5)]
    lights = {f"l{i}": point(8, x, 0, 4) for i, x in enumerate((-1.0, 1.0))}
    walked = scene(shot(lights), shot(lights))
    for one in (walked.sheets["KEY"], walked.sheets["A"]):
        for name, uv in zip(lights, colours, strict=True):
            being(dict, one.sections["lights"][name])["colour"] = Colour(*uv)
    rows = derived_rows(("A",), walked.sheets, walked.master, walked.key)
    mixed = next(row for row in rows if row.parameter == "subject.face.colour").pairs["A"][1]
    assert isinstance(mixed, Colour)
    assert (mixed.u, mixed.v) == pytest.approx((0.225, 0.5))


def test_a_colour_is_named_as_a_filter() -> None:
    warm = {"lamp": {**LAMP["lamp"], "temperature": 4200}}
    cell = scene(shot({"lamp": {**LAMP["lamp"], "temperature": 5600}}), shot(warm), {"lights": warm}).cell(
        "subject.face.colour"
    )
    u, v = planckian_uv(4200)
    assert isinstance(cell.value, Colour)
    assert (cell.value.u, cell.value.v) == pytest.approx((u, v), abs=1e-9)
    assert "about a quarter CTO" in cell.remark


def test_the_side_is_the_faces_own() -> None:
    """A face turned by 90 degrees has the lamp in front of it on its side; the camera makes no difference."""
    turned = shot(LAMP, marks=face(0, (math.sin(math.radians(60)), 0, 0.5)), camera={"position": [5, 0, 0]})
    cell = scene(shot(LAMP), turned).cell("subject.face.key_angle")
    assert (cell.master, cell.value) == (Bearing(0.0, 0.0), Bearing(about(-60), 0.0))
    assert cell.grade is Grade.DRIFT
    assert "left for front" in cell.remark


def test_cheeks() -> None:
    """Cheeks 60 degrees to the sides: a distant light of 4 from 30 degrees to the right gives them 4 cos 30 and 4 cos 90."""
    sun = {"type": "distant", "intensity": 4, "direction": [-0.5, 0, -math.sqrt(0.75)], "angle": 0}
    sky = {"sky": {"intensity": 1 / math.pi}}
    lit = shot({"sun": sun}, environments=sky)
    front = shot({"sun": {**sun, "direction": [0, 0, -1]}}, environments=sky)
    cell = scene(front, lit, {"lights": {"sun": sun}, "environments": sky}).cell("subject.face.contrast")
    assert cell.master == Level(about(1.0))
    assert cell.value == Level(about(4 * math.cos(math.radians(30)) + 1))


def test_key_to_fill() -> None:
    lights = {"key": point(8, 0, 0, 4), "fill": point(2, 0, 0, 4)}
    cell = scene(shot(lights), shot({**lights, "fill": point(1, 0, 0, 4)})).cell("subject.face.key_to_fill")
    assert (cell.master, cell.value, cell.drift) == (Level(4.0), Level(8.0), 1.0)


@pytest.mark.parametrize(
    ("marks", "leaf", "why"),
    [
        ({"face": {"position": [0, 0, 0]}}, "key_angle", "normal"),
        ({"face": {"position": [0, 0, 0], "normal": [0, 1, 0]}}, "contrast", "no sides"),
    ],
)
def test_what_faces_nowhere_has_no_sides(marks: dict[str, Any], leaf: str, why: str) -> None:
    cell = scene(shot(LAMP), shot(LAMP, marks=marks)).cell(f"subject.face.{leaf}")
    assert cell.grade is Grade.NONE
    assert why in cell.remark


def test_without_a_key_shot_or_its_mark_there_are_no_rows() -> None:
    assert not Scene({"lights": LAMP}, A=shot(LAMP)).has("subject.face.level")
    assert not scene(shot(LAMP, marks={}), shot(LAMP)).has("subject.face.level")


def test_another_shot_in_the_masters_place_brings_its_own_mark() -> None:
    sheets = {"A": sheet("A", shot(LAMP)), "B": sheet("B", shot(LAMP, marks=face(3)))}
    rows = derived_rows(("A",), sheets, sheets["B"], None)
    (level,) = [row for row in rows if row.parameter == "subject.face.level"]
    assert level.pairs["A"] == (Level(8.0), Level(0.5))


def test_a_light_of_the_key_shot_alone_counts_there() -> None:
    extra = {**LAMP, "rim": point(8, 0, 0, 4)}
    cell = scene(shot(extra), shot(LAMP), {"lights": LAMP}).cell("subject.face.level")
    assert (cell.master, cell.value) == (Level(1.0), Level(0.5))


def test_a_level_that_one_shot_alone_knows_is_not_compared() -> None:
    odd = {"lamp": {"type": "mesh", "intensity": 8, "position": [0, 0, 4]}}
    cell = scene(shot(LAMP), shot(odd), {"lights": odd}).cell("subject.face.level")
    assert cell.grade is Grade.NONE
    assert "one of the two" in cell.remark


def test_a_moving_subject_is_told_at_its_worst_frame_and_the_key_shot_is_itself() -> None:
    keys = {"keys": [[1, [0, 0, 0]], [11, [0, 0, 2]]]}
    moving = {"face": {**FACE, "position": keys}}
    walked = scene(shot(LAMP, marks=moving, frames=[1, 11]), shot(LAMP, marks=moving, frames=[1, 11]))
    cell = walked.cell("subject.face.level")
    assert cell.drift == 2.0
    assert "largest at frame 11" in cell.remark
    assert walked.cell("subject.face.level", "KEY").drift == 0.0


def test_every_row_says_how_it_came_about() -> None:
    lights = {"key": point(8, 1, 0, 4), "fill": point(2, -1, 0, 4)}
    walked = scene(shot(lights), shot(lights, marks=face(2)))
    for leaf in SUBJECT_KINDS:
        cell = walked.cell(f"subject.face.{leaf}")
        said = derived_formula(cell, walked.master, walked.sheets["A"], walked.key)
        assert any(line.startswith("shot: ") for line in said)
        assert any(line.startswith("face in KEY: ") for line in said)
        assert derived_rule(cell.parameter)
        assert derived_kind(f"subject.*.{leaf}") == SUBJECT_KINDS[leaf]
        assert default_policy().tolerance(cell.parameter, cell.kind).why
