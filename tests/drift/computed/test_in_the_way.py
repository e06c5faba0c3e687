"""What arrives at a mark past what stands in the way, as sheets state it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from drift.computed.scenes import FACE, Scene, point, shot
from samelight.drift.cells import Grade
from samelight.drift.computed.derived_explanations import derived_formula
from samelight.drift.derived_names import derived_kind, derived_rule
from samelight.drift.policy import default_policy
from samelight.findings.finding import Evidence
from samelight.findings.registry import find_all
from samelight.sheets.errors import SheetError
from samelight.sheets.sheet import sheet_from_document
from samelight.sheets.trees import parse_document
from samelight.sheets.values import Level

LAMPS = {"key": point(8, 0, 0, 4), "side": point(2, 2, 0, 2)}


def seeing(sees: dict[str, Any] | None = None, **more: Any) -> dict[str, Any]:
    return shot(LAMPS, marks={"face": {**FACE, **({"sees": sees} if sees is not None else {}), **more}})


def scene(key: dict[str, Any], a: dict[str, Any]) -> Scene:
    return Scene({"lights": LAMPS}, "KEY", KEY=key, A=a)


def test_half_of_a_light_is_a_stop_and_its_level_is_the_masters() -> None:
    at = scene(seeing({"key": 1}), seeing({"key": 0.5}))
    assert (at.cell("marks.face.lit.key").master, at.cell("marks.face.lit.key").value) == (
        Level(0.5),
        Level(0.25),
    )
    assert at.cell("marks.face.lit.key").drift == -1.0
    assert at.cell("marks.face.level.key").grade is Grade.SAME
    assert at.cell("marks.face.lit").grade is Grade.DRIFT
    assert not at.has("marks.face.lit.side")  # seen whole in both


def test_the_subject_is_lit_by_what_arrives() -> None:
    level = scene(seeing({"key": 1}), seeing({"key": 0})).cell("subject.face.level")
    assert level.master is not None and level.value is not None
    assert isinstance(level.master, Level) and isinstance(level.value, Level)
    assert level.master.value - level.value.value == pytest.approx(0.5)


def test_where_one_shot_alone_says_it_nothing_is_graded() -> None:
    at = scene(seeing(), seeing({"key": 0.5}))
    assert at.cell("marks.face.lit").grade is Grade.NONE
    assert "alone says" in at.cell("marks.face.lit").remark
    assert at.cell("subject.face.level").grade is Grade.SAME


def test_without_a_word_of_it_there_are_no_rows() -> None:
    assert not scene(seeing(), seeing()).has("marks.face.lit")


def test_a_share_that_changes_is_met_at_its_keys() -> None:
    keys = {"keys": [[1, 1.0], [9, 0.25]]}
    moving = {**seeing({"key": keys}), "frames": [1, 9]}
    cell = scene(seeing({"key": 1}), moving).cell("marks.face.lit.key")
    assert cell.drift == -2.0
    assert "largest at frame 9" in cell.remark


def test_the_finding_names_what_took_the_light() -> None:
    mast = {"hidden_by": {"key": "/set/mast"}}
    at = scene(seeing({"key": 1}), seeing({"key": 0.536}, **mast))
    evidence = Evidence(at.table, at.sheets, at.master, {1: at.master}, default_policy(), {}, 24.0, "KEY")
    drawn = find_all(evidence)
    assert not drawn.failures
    (one,) = [found for found in drawn.findings if found.finding == "in-the-way"]
    assert one.says.startswith("The mast stands between the key and the face in A: 0.9 stops less")
    assert ("A", "marks.face.lit") in one.explained


def test_what_is_out_of_the_way_now_is_named_by_the_key_shot() -> None:
    at = scene(seeing({"key": 0.25}, hidden_by={"key": "/set/mast"}), seeing({"key": 1}))
    evidence = Evidence(at.table, at.sheets, at.master, {1: at.master}, default_policy(), {}, 24.0, "KEY")
    (one,) = [found for found in find_all(evidence).findings if found.finding == "in-the-way"]
    assert "is out of the way in A" in one.says


def test_the_rows_say_how_they_came_about() -> None:
    at = scene(seeing({"key": 1}), seeing({"key": 0.5}))
    for leaf in ("lit", "lit.key"):
        cell = at.cell(f"marks.face.{leaf}")
        said = derived_formula(cell, at.master, at.sheets["A"], at.key)
        assert any(line.startswith("shot: ") and "key 0.5 × 0.5" in line for line in said)
        assert derived_rule(cell.parameter)[0].startswith("What really arrives")
        assert derived_kind("marks.*.lit.*") == cell.kind


@pytest.mark.parametrize(
    ("mark", "expected"),
    [
        ("sees: {sun: 1.2}", "sees.sun"),
        ("sees: 0.4", "lights by name"),
        ("sees: {sun: dark}", "sees.sun"),
        ("hidden_by: {sun: 3}", "text"),
        ("seen: {sun: 1}", "sees"),
    ],
)
def test_what_a_mark_cannot_say_is_a_fault(mark: str, expected: str) -> None:
    text = f"samelight: 2\nshot: A\nmarks:\n  face:\n    position: [0, 0, 0]\n    {mark}\nlights: {{}}\n"
    with pytest.raises(SheetError) as caught:
        sheet_from_document(parse_document(Path("A.v001.yaml"), text))
    assert expected in str(caught.value)
