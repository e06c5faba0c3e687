"""What was measured in frames, in a check: rows beside those of marks and subjects, and what the sheets cannot explain."""

from __future__ import annotations

import math
import os
from pathlib import Path

import pytest

from measured_sequence import LIGHTS, SKY, measure, publish, sequence, shoot, shoot_layers, tree
from samelight.cli.main import main
from samelight.drift.cells import ComparedCell, Grade
from samelight.drift.computed.derived import key_sheet
from samelight.drift.computed.derived_explanations import derived_formula
from samelight.drift.derived_names import PICTURE_KINDS
from samelight.findings.finding import Finding
from samelight.sequence import keeping, store, stored_table
from samelight.sequence.session import Session, open_session
from samelight.sheets.values import Colour, Level

WALKED = tree(0.5)
"""The face half a metre nearer to the key."""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return sequence(tmp_path / "quay", {"A": tree(), "B": WALKED, "C": tree(-0.3), "D": tree()})


def cell(session: Session, parameter: str, shot: str) -> ComparedCell:
    row, column = session.table.row(parameter), session.table.column(shot)
    assert row is not None and column is not None
    return session.table.cell(row, column)


def drift(session: Session, parameter: str, shot: str) -> float:
    found = cell(session, parameter, shot).drift
    assert found is not None
    return found


def told(session: Session, name: str) -> list[Finding]:
    return [finding for finding in session.cases.findings if finding.finding == name]


def test_without_a_measurement_there_are_no_rows(folder: Path) -> None:
    assert not [row for row in open_session(folder).table.rows if row.section == "picture"]


def test_frames_that_are_as_their_sheets_say(folder: Path) -> None:
    measure(folder, "A", "B", "C")
    session = open_session(folder)
    names = [row.parameter for row in session.table.rows if row.section == "picture"]
    assert names == [f"picture.face.{leaf}" for leaf in ("level", "unexplained", "spread", "side", "colour")]
    # The walk is in the picture as it is in the sheets, and nothing is left over.
    walk = drift(session, "subject.face.level", "B")
    assert walk > 0.1
    assert drift(session, "picture.face.level", "B") == pytest.approx(walk, abs=0.15)
    for shot in "BC":
        off = cell(session, "picture.face.unexplained", shot)
        assert off.drift is not None and abs(off.drift) < 0.05
        assert off.grade is Grade.SAME
    assert not told(session, "unlike-sheet") and not told(session, "old-frame")
    key = cell(session, "picture.face.level", "A")
    assert key.master == key.value and key.grade is Grade.SAME
    assert isinstance(cell(session, "picture.face.colour", "B").value, Colour)
    assert cell(session, "picture.face.level", "D").grade is Grade.NONE  # it was not measured


@pytest.mark.parametrize(
    ("times", "says"),
    [
        (
            0.66,
            "The face in C is 0.6 stops darker than its sheet says: something stands in the way, or the material differs",
        ),
        (
            1.9,
            "The face in C is 0.9 stops brighter than its sheet says: light reaches it that the sheet lacks",
        ),
    ],
)
def test_what_a_sheet_cannot_explain_is_told(folder: Path, times: float, says: str) -> None:
    shoot(folder, "C", tree(-0.3), times=times)
    measure(folder, "A", "B", "C")
    session = open_session(folder)
    (finding,) = told(session, "unlike-sheet")
    assert finding.says.startswith(says)
    assert (
        "or the material differs" in finding.says and "older" not in finding.says
    )  # it says that it is of version 1
    assert finding.shots == ("C",) and "picture.face.unexplained" in finding.parameters
    assert "in the frames" in finding.known
    assert drift(session, "picture.face.unexplained", "C") == pytest.approx(math.log2(times), abs=0.06)
    assert session.cases.tally().undecided == 1  # a case of its own


def test_a_frame_that_does_not_say_what_it_was_rendered_from_may_be_an_older_one(folder: Path) -> None:
    shoot(folder, "C", tree(-0.3), times=0.66, version=None)
    os.utime(folder / "frames/C.exr", (4e9, 4e9))  # long after its sheet
    measure(folder, "A", "C")
    (finding,) = told(open_session(folder), "unlike-sheet")
    assert finding.says == (
        "The face in C is 0.6 stops darker than its sheet says: something stands in the way, the material differs, or the frame "
        "is older than version 1 of the sheet."
    )


def test_how_a_figure_came_about_is_said(folder: Path) -> None:
    measure(folder, "A", "B")
    session = open_session(folder)
    assert session.contents.master is not None
    says = {
        leaf: derived_formula(
            cell(session, f"picture.face.{leaf}", "B"),
            session.contents.master,
            session.contents.sheets["B"],
            key_sheet(session.contents.sequence.key_shot, session.contents.master, session.contents.sheets),
            session.contents.measured,
        )
        for leaf in PICTURE_KINDS
    }
    for leaf, words in (
        ("level", "in the mean"),
        ("spread", "twentieth"),
        ("side", "half brighter"),
        ("colour", "u'v'"),
    ):
        lines = [line for line in says[leaf] if "frames/" in line]
        assert [line.split(",")[0] for line in lines] == ["shot: frames/B.exr", "compared with: frames/A.exr"]
        assert all(words in line for line in lines)
    assert says["unexplained"][-1].startswith(
        "expected: as in the frame it is compared with, and as much as a ball under the lights of B ("
    )


def test_a_light_that_the_frame_lacks(folder: Path) -> None:
    dimmed = {**LIGHTS, "key": {**LIGHTS["key"], "exposure": -1.5}}
    shoot(folder, "D", tree(lights=dimmed))
    measure(folder, "A", "D")
    session = open_session(folder)
    assert drift(session, "picture.face.unexplained", "D") < -0.35
    # Its colour and its lit side go with the key.
    assert drift(session, "picture.face.side", "D") < -0.2
    assert drift(session, "picture.face.colour", "D") > 5.0
    assert [finding.shots for finding in told(session, "unlike-sheet")] == [("D",)]


def test_a_sheet_that_says_what_stands_in_the_way_explains_it(folder: Path) -> None:
    half = tree()
    half["marks"] = {"face": {**half["marks"]["face"], "sees": {"key": 0.5, "rim": 1, "sky": 1}}}
    publish(folder, "D", half)
    dimmed = {**LIGHTS, "key": {**LIGHTS["key"], "exposure": -1}}
    shoot(folder, "D", tree(lights=dimmed))
    measure(folder, "A", "D")
    assert abs(drift(open_session(folder), "picture.face.unexplained", "D")) < 0.05


def test_where_no_sheet_says_it_that_much_is_left_open(folder: Path) -> None:
    for shot, x in (("A", 0.0), ("C", -0.3)):
        bare = tree(x)
        del bare["marks"]["face"]["sees"]
        publish(folder, shot, bare)
    shoot(folder, "C", tree(-0.3), times=0.66)
    measure(folder, "A", "C")
    session = open_session(folder)
    found = cell(session, "picture.face.unexplained", "C")
    assert found.grade is Grade.NONE and "what stands in the light's way" in found.remark
    assert not told(session, "unlike-sheet")
    shoot(folder, "C", tree(-0.3), times=0.4)
    os.utime(folder / "frames/C.exr", (2e9, 2e9))  # the later of the two
    measure(folder, "C")
    (finding,) = told(open_session(folder), "unlike-sheet")
    assert "capture the scene" in finding.guessed


def test_frames_that_are_older_than_their_sheets_come_first(folder: Path) -> None:
    brighter = {**LIGHTS, "key": {**LIGHTS["key"], "exposure": 1}}
    measure(folder, "A")
    publish(folder, "B", tree(0.5, lights=brighter), 2)
    measure(folder, "B")  # by version 2, in a frame that says version 1
    session = open_session(folder)
    (finding,) = told(session, "old-frame")
    assert finding.says == "B: the frame was rendered from version 1 of the sheet, and not from version 2."
    off = cell(session, "picture.face.unexplained", "B")
    assert off.grade is Grade.NONE and "rendered from version 1" in off.remark
    assert isinstance(off.value, Level)  # shown, and not graded
    assert not told(session, "unlike-sheet")
    shoot(folder, "B", tree(0.5, lights=brighter), version=2)
    measure(folder, "B")
    session = open_session(folder)
    assert not told(session, "old-frame")
    assert abs(drift(session, "picture.face.unexplained", "B")) < 0.05


def test_an_old_frame_of_the_key_shot_leaves_nothing_to_hold_others_against(folder: Path) -> None:
    measure(folder, "A", "B")
    publish(folder, "A", tree(lights={**LIGHTS, "rim": {**LIGHTS["rim"], "intensity": 5}}), 2)
    session = open_session(folder)
    (finding,) = told(session, "old-frame")
    assert finding.shots == ("A",)
    assert cell(session, "picture.face.level", "B").remark.startswith(
        "of A: the frame was measured by version 1"
    )
    assert cell(session, "picture.face.level", "B").grade is Grade.NONE


def test_why_a_mark_was_not_looked_at(folder: Path) -> None:
    away = tree(5.0)
    publish(folder, "C", away)
    measure(folder, "A", "C")
    session = open_session(folder)
    found = cell(session, "picture.face.level", "C")
    assert (found.value, found.remark) == (None, "it is outside of the frame")
    # Nothing to be compared with.
    (folder / "measured" / next(p.name for p in (folder / "measured").iterdir() if p.name[0] == "A")).unlink()
    measure(folder, "B")
    remark = cell(open_session(folder), "picture.face.level", "B").remark
    assert remark == "nothing was measured of A, against which it would be held"


def test_a_measurement_that_comes_is_taken_in_while_the_sequence_is_open(folder: Path) -> None:
    measure(folder, "A", "B")
    session = open_session(folder)
    assert not session.reload()
    measure(folder, "C")
    assert session.reload()
    assert abs(drift(session, "picture.face.unexplained", "C")) < 0.05
    # A sheet that changes afterwards: the rows of its shot stand with those of the others.
    publish(folder, "C", tree(-0.3, environments={"sky": {**SKY["sky"], "intensity": 0.2}}))
    assert session.reload()
    assert "changed since" in cell(session, "picture.face.unexplained", "C").remark
    again = open_session(folder)
    for row in again.table.rows:
        assert [cell(again, row.parameter, shot) for shot in "ABCD"] == [
            cell(session, row.parameter, shot) for shot in "ABCD"
        ], row.parameter


def test_a_file_that_cannot_be_read_leaves_its_shot_without(folder: Path) -> None:
    measure(folder, "A", "B")
    bad = next(path for path in (folder / "measured").iterdir() if path.name.startswith("B"))
    bad.write_text("{")
    session = open_session(folder)
    assert any("What was measured of B cannot be read" in one.says for one in session.troubles)
    assert not session.whole
    assert cell(session, "picture.face.level", "A").grade is Grade.SAME


def test_what_was_kept_from_another_day_is_of_the_same_measurements(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for module in (keeping, store, stored_table):
        monkeypatch.setattr(module, "FEWEST", 2)  # as a film is kept
    measure(folder, "A", "B")
    known = open_session(folder)
    assert stored_table.load_tables(known.contents) != [None]
    again = open_session(folder)
    assert cell(again, "picture.face.unexplained", "B") == cell(known, "picture.face.unexplained", "B")
    assert drift(again, "picture.face.level", "B") == drift(known, "picture.face.level", "B")
    measure(folder, "C")
    later = open_session(folder)
    assert abs(drift(later, "picture.face.unexplained", "C")) < 0.05


# Layers of lights


def test_layers_say_which_light_it_is(folder: Path) -> None:
    for shot, x in (("A", 0.0), ("B", 0.5), ("C", -0.3)):
        shoot_layers(folder, shot, tree(x), times={"key": 0.3} if shot == "C" else None)
    measure(folder, "A", "B", "C")
    session = open_session(folder)
    for light in ("key", "sky"):
        assert abs(drift(session, f"picture.face.unexplained.{light}", "B")) < 0.08, light
    assert drift(session, "picture.face.unexplained.key", "C") == pytest.approx(math.log2(0.3), abs=0.08)
    (finding,) = told(session, "unlike-sheet")
    assert finding.shots == ("C",) and "picture.face.unexplained.key" in finding.parameters
    assert (
        "By the layers of the frame the key is 1.7 stops darker there, and the other lights hold."
        in finding.known
    )
    rim = cell(session, "picture.face.unexplained.rim", "C")
    assert (rim.grade, rim.remark) == (Grade.NONE, "it gives less than a tenth of the light there")
    # D has no layers, and was not measured.
    assert cell(session, "picture.face.unexplained.key", "D").value is None


def test_two_lights_that_make_up_for_each_other_are_told(folder: Path) -> None:
    shoot_layers(folder, "A", tree())
    shoot_layers(folder, "C", tree(-0.3), times={"key": 0.7, "sky": 1.25})
    measure(folder, "A", "C")
    session = open_session(folder)
    assert abs(drift(session, "picture.face.unexplained", "C")) < 0.25
    said = {finding.says.split(" in C")[0] for finding in told(session, "unlike-sheet")}
    assert said == {"What the key gives the face", "What the sky gives the face"}


def test_a_light_whose_layer_one_frame_lacks_is_not_compared(folder: Path) -> None:
    shoot_layers(folder, "C", tree(-0.3))
    measure(folder, "A", "C")
    remark = cell(open_session(folder), "picture.face.unexplained.key", "C").remark
    assert remark == "the frame of A has no layer of it"


def test_where_all_lights_are_off_alike_it_is_no_light(folder: Path) -> None:
    shoot_layers(folder, "A", tree())
    shoot_layers(folder, "B", WALKED, times=dict.fromkeys(("key", "rim", "sky"), 0.6))
    shoot_layers(folder, "C", tree(-0.3), times={"key": 0.3})
    measure(folder, "A", "B", "C")
    light, material = told(open_session(folder), "unlike-sheet")  # the worse first
    assert light.shots == ("C",) and material.shots == ("B",)
    assert material.says == (
        "The face in B is 0.7 stops darker than its sheet says: all its lights are off alike, so that it is no light but the material "
        "or the exposure."
    )


def test_layers_that_are_not_the_picture_are_told(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shoot_layers(folder, "A", tree())
    shoot_layers(folder, "C", tree(-0.3), lost=1.0 - 0.5**0.5)
    assert main(["measure", str(folder), "--shots", "A,C"]) == 0
    of_a, of_c = (line for line in capsys.readouterr().out.splitlines() if "by layers" in line)
    assert "key " in of_a and "add up" not in of_a
    assert of_c.endswith("; the layers add up to 0.50 stops less than the picture")
    remark = cell(open_session(folder), "picture.face.unexplained.key", "C").remark
    assert "in the frame of C the layers add up to 0.50 stops less than the picture" in remark
