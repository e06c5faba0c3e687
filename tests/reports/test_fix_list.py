"""The fix list: what to set, in the shot's own words, and nothing that was meant."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest

from conftest import MakeSequence
from samelight.changes.fix_list import ShotFixes, edit_text, fix_list
from samelight.changes.fixing import fixed_version, write_fixed
from samelight.changes.respell.bench import REMOVED
from samelight.changes.respell.put_back import Edit
from samelight.cli.main import main
from samelight.decisions.decision import Verb
from samelight.decisions.state import State
from samelight.drift.cells import Grade
from samelight.reports.as_csv import fixes_csv
from samelight.reports.as_markdown import fixes_markdown
from samelight.reports.fix_text import fixes_text
from samelight.sequence.session import open_session
from samelight.sheets.writing import WriteError

FACE = {"type": "point", "position": [0, 1, 0], "intensity": 2}


def fixes_of(folder: Path, shot: str, *, every: bool = False) -> ShotFixes:
    found = fix_list(open_session(folder), shots=frozenset({shot}), every=every)
    assert len(found) == 1
    return found[0]


def said(part: ShotFixes) -> list[tuple[str, str]]:
    return [(fix.cell.parameter, fix.do) for fix in part.fixes]


@pytest.mark.parametrize(
    ("shot", "wanted"),
    [
        ("HB_050", [("lights.sun.direction", "azimuth: 131 (now 143)")]),
        ("HB_060", [("lights.sun.direction", "azimuth: 131 deg (now 143 deg)")]),
        ("HB_080", [("lights.sun.direction", "rotation: [-24, 49, 0] (now [-24, 37, 0])")]),
        ("HB_120", [("render.gi.range", "range: 3.5 (now 350)")]),
        ("HB_160", [("render.volume.samples", "samples: 96 (now 8)")]),
        (
            "HB_150",
            [
                ("environments.dawn_sky.rotation", "rotation: 40 (now 34)"),
                ("environments.dawn_sky.level", "intensity: 0.8 (now 0.7)"),
                ("lights.lantern_spot.colour", "temperature: 2700 K (now 2500 K)"),
                ("lights.bounce.level", "exposure: 0.5 (now 0.15)"),
                ("render.volume.samples", "samples: 96 (now 64)"),
            ],
        ),
        (
            "HB_200",
            [
                ("lights.boat_lamp", "rename boat_lamp1 to boat_lamp"),
                ("lights.boat_lamp1", "comes right when it is called boat_lamp again"),
            ],
        ),
    ],
)
def test_the_harbours_faults_in_the_shots_own_words(
    harbour: Path, shot: str, wanted: list[tuple[str, str]]
) -> None:
    assert said(fixes_of(harbour, shot)) == wanted


def test_what_is_seen_comes_before_what_is_noise_and_what_is_worst_first(harbour: Path) -> None:
    fixes = fixes_of(harbour, "HB_150").fixes
    assert [fix.concern for fix in fixes] == sorted(fix.concern for fix in fixes)
    picture = [fix for fix in fixes if fix.concern == fixes[0].concern]
    assert [(-fix.cell.grade, -fix.severity) for fix in picture] == sorted(
        (-fix.cell.grade, -fix.severity) for fix in picture
    )


def test_what_is_intended_is_left_out_unless_asked_for(harbour: Path) -> None:
    session = open_session(harbour)
    shots = {part.shot for part in fix_list(session)}
    assert "HB_090" not in shots and "HB_110" not in shots
    [part] = fix_list(session, shots=frozenset({"HB_110"}), every=True)
    assert [(fix.state, fix.do) for fix in part.fixes] == [
        (State.INTENDED, "temperature: 5000 K (now 4770 K)")
    ]


def test_the_reason_it_was_sent_back_for(harbour: Path) -> None:
    part = fixes_of(harbour, "HB_180")
    sent = next(fix for fix in part.fixes if fix.state is State.SENT_BACK)
    assert [decision.reason for decision in sent.decisions] == ["Nudged by accident; put it back."]
    for text in (fixes_text([part]), fixes_markdown("Harbour", 3, [part]), fixes_csv([part])):
        assert "Nudged by accident; put it back." in text


def test_what_is_no_cell_is_said_too(harbour: Path) -> None:
    part = fixes_of(harbour, "HB_220")
    assert part.fixes == ()
    assert len(part.also) == 1
    assert "the camera moves" in part.also[0]
    assert part.also[0] in fixes_text([part])


def test_a_sheet_in_centimetres_gets_centimetres(make_sequence: MakeSequence) -> None:
    shot = {"units": {"length": "cm"}, "lights": {"key": {**FACE, "position": [0, 150, 0]}}}
    folder = make_sequence(master={"lights": {"key": FACE}}, shots={"QU_010": shot})
    assert said(fixes_of(folder, "QU_010")) == [
        ("lights.key.position", "position: [0, 100, 0] (now [0, 150, 0])")
    ]


def test_an_intensity_beside_the_exposure_that_the_shot_has(make_sequence: MakeSequence) -> None:
    shot = {"lights": {"key": {**FACE, "intensity": 6, "exposure": 1}}}
    folder = make_sequence(master={"lights": {"key": FACE}}, shots={"QU_010": shot})
    assert said(fixes_of(folder, "QU_010")) == [("lights.key.level", "intensity: 1 (now 6)")]


def test_what_must_be_typed_along(make_sequence: MakeSequence) -> None:
    spot = {"type": "spot", "position": [0, 3, 0], "target": [0, 0, 1], "cone": 30}
    moved = {**spot, "position": [1, 3, 0], "target": [1, 0, 1]}
    folder = make_sequence(master={"lights": {"key": spot}}, shots={"QU_010": {"lights": {"key": moved}}})
    [(parameter, do)] = said(fixes_of(folder, "QU_010"))
    assert parameter == "lights.key.position"
    assert do == (
        "position: [0, 3, 0] (now [1, 3, 0]); and target: [0, 0, 1] (now [1, 0, 1]), so that its direction stays"
    )


def test_a_light_that_is_absent_is_given_whole(make_sequence: MakeSequence) -> None:
    master = {"lights": {"key": FACE, "rim": {**FACE, "shadow": {"enable": True}}}}
    folder = make_sequence(master=master, shots={"QU_010": {"lights": {"key": FACE}}})
    [(parameter, do)] = said(fixes_of(folder, "QU_010"))
    assert parameter == "lights.rim"
    assert do == "add rim: {type: point, position: [0, 1, 0], intensity: 2, shadow: {enable: true}}"


def test_render_times_and_computed_rows_are_nothing_to_set(harbour: Path) -> None:
    for part in fix_list(open_session(harbour), every=True):
        assert not [
            fix for fix in part.fixes if fix.cell.parameter.startswith(("cost.", "marks.", "rays.", "sky."))
        ]


def test_only_what_is_bad_enough(harbour: Path) -> None:
    parts = fix_list(open_session(harbour), at_least=Grade.BREAK)
    assert all(fix.cell.grade is Grade.BREAK for part in parts for fix in part.fixes)
    within = fix_list(open_session(harbour), shots=frozenset({"HB_230"}), at_least=Grade.WITHIN)
    assert said(within[0]) == [("lights.window_fill.level", "exposure: 1 (now 0.94)")]


def test_a_next_version_with_everything_put_back(harbour: Path) -> None:
    session = open_session(harbour)
    for part in fix_list(session):
        if part.fixes:
            fixed = fixed_version(session, part)
            assert fixed.remaining == (), part.shot
            assert write_fixed(fixed) == fixed.path
            assert fixed.version == part.sheet.version + 1
    after = open_session(harbour)
    assert {part.shot for part in fix_list(after)} == {"HB_220"}
    assert after.contents.sheets["HB_150"].master == 3  # it stood on 2, and holds 3 now
    for kept in ("frames", "camera", "marks", "passes", "cost"):
        assert after.contents.sheets["HB_180"].typed[kept] == session.contents.sheets["HB_180"].typed[kept]


def test_what_is_intended_stays_in_the_next_version(harbour: Path) -> None:
    session = open_session(harbour)
    column, row = session.table.column("HB_150"), session.table.row("lights.bounce.level")
    assert row is not None and column is not None
    session.decide(Verb.INTEND, [(row, column)], who="lead", reason="less bounce off the wet quay")
    [part] = fix_list(session, shots=frozenset({"HB_150"}))
    fixed = fixed_version(session, part)
    assert fixed.tree["lights"]["bounce"]["exposure"] == 0.15
    assert fixed.tree["lights"]["lantern_spot"]["temperature"] == "2700 K"
    assert fixed.remaining == ()


def test_a_version_that_was_published_meanwhile_is_not_overwritten(harbour: Path) -> None:
    session = open_session(harbour)
    [part] = fix_list(session, shots=frozenset({"HB_180"}))
    fixed = fixed_version(session, part)
    fixed.path.write_text("samelight: 2", encoding="utf-8")
    with pytest.raises(WriteError):
        write_fixed(fixed)
    assert fixed.path.read_text(encoding="utf-8") == "samelight: 2"


def test_the_command_as_text_and_files(harbour: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["fix", str(harbour), "--shots", "HB_120"]) == 0
    assert "range: 3.5 (now 350)" in capsys.readouterr().out
    out = harbour / "fixes.csv"
    assert main(["fix", str(harbour), "-o", str(out)]) == 0
    text = out.read_text(encoding="utf-8")
    assert text.startswith("\ufeff")
    rows = list(csv.DictReader(io.StringIO(text.removeprefix("\ufeff"))))
    assert next(row for row in rows if row["shot"] == "HB_120")["set"] == "range: 3.5 (now 350)"
    assert main(["fix", str(harbour), "--format", "markdown"]) == 0
    assert "# What to set: Harbour" in capsys.readouterr().out


def test_a_dry_run_writes_nothing(harbour: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = sorted(harbour.rglob("*"))
    assert main(["fix", str(harbour), "--shots", "HB_180", "--sheet"]) == 0
    assert "Nothing was written" in capsys.readouterr().out
    assert sorted(harbour.rglob("*")) == before
    assert main(["fix", str(harbour), "--shots", "HB_180", "--sheet", "--write"]) == 0
    assert (harbour / "shots/HB_180/HB_180.v003.yaml").exists()
    assert main(["fix", str(harbour), "--shots", "HB_180", "--sheet"]) == 0
    assert "Nothing to set." in capsys.readouterr().out


def test_what_cannot_be_asked_for(
    harbour: Path, make_sequence: MakeSequence, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["fix", str(harbour), "--write"]) == 2
    assert main(["fix", str(harbour), "--shots", "HB_1800"]) == 2
    bare = make_sequence(shots={"QU_010": {"lights": {"key": FACE}}})
    assert main(["fix", str(bare)]) == 2
    said_ = capsys.readouterr().err
    assert "--sheet" in said_ and "did you mean HB_180" in said_ and "no master setup" in said_


def test_what_a_sheet_keeps_of_a_file_is_told_in_words() -> None:
    """Set by itself, and in a sky that is to be added."""
    long = "64x32 1.0 " + "A" * 16384
    edits = [
        Edit("environments.sky.texture", "pixels", long, long),
        Edit("environments.sky", "", {"texture": "a.exr", "pixels": long}, REMOVED),
        Edit("lights", "", {"lamp": {"ies": "a.ies", "ies_profile": long}}, REMOVED),
    ]
    assert [edit_text(edit) for edit in edits] == [
        "pixels: as the master has it",
        "add sky: {texture: a.exr, pixels: as the master has it}",
        "add lights: {lamp: {ies: a.ies, ies_profile: as the master has it}}",
    ]
