"""Several set-ups in one sequence: each shot against the master of its own, by its own rules."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from samelight.changes.adopting import adopt, adoptions
from samelight.changes.fix_list import fix_list
from samelight.changes.fixing import fixed_version, write_fixed
from samelight.changes.publishing import candidate_from, preview, publish
from samelight.cli.main import main
from samelight.decisions.decision import Verb
from samelight.decisions.state import State
from samelight.drift.cells import Grade
from samelight.drift.joined_traces import row_traces, traces_of
from samelight.drift.jumps import jumps_of
from samelight.sequence.references import MASTER, Against, Reference, compare
from samelight.sequence.session import Session, open_session
from samelight.sheets.errors import SamelightError

SAMPLES = Path(__file__).parents[2] / "sample_sequences"


@pytest.fixture
def mole(tmp_path: Path) -> Path:
    """A copy of the sample with a dawn and a night."""
    return Path(shutil.copytree(SAMPLES / "mole", tmp_path / "mole"))


def edited(folder: Path, old: str, new: str, file: str = "sequence.yaml") -> None:
    text = (folder / file).read_text()
    assert old in text
    (folder / file).write_text(text.replace(old, new))


def drifting(session: Session) -> set[tuple[str, str]]:
    cells = [session.table.cell(*spot) for spot in session.cases.unsettled_cells()]
    return {(cell.shot, cell.parameter) for cell in cells if cell.parameter.startswith(("li", "en", "re"))}


def checked(folder: Path, capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, dict[str, Any]]:
    status = main(["check", str(folder), "--format", "json", *words])
    return status, json.loads(capsys.readouterr().out)


PLANTED = {
    ("ML_030", "lights.sun.direction"),
    ("ML_050", "lights.lantern.level"),
    ("ML_070", "lights.moon.direction"),
    ("ML_070", "environments.night_sky.level"),
    ("ML_080", "lights.fill.level"),
}


def test_each_shot_is_compared_with_the_master_of_its_setup(mole: Path) -> None:
    session = open_session(mole)
    assert drifting(session) == PLANTED
    assert not session.troubles
    old = [finding for finding in session.cases.findings if finding.finding == "old-master"]
    assert [(finding.shots, finding.setup) for finding in old] == [(("ML_070",), "night")]
    assert set(old[0].explained) >= {cell for cell in PLANTED if cell[0] == "ML_070"}
    assert set(session.table.places(old[0].explained)) == set(old[0].cells)


def test_a_setup_has_rules_on_top_of_the_sequences(mole: Path) -> None:
    table = open_session(mole).table
    row = table.row("lights.lantern.level")
    assert row is not None
    at_most = [table.row_in(row, column).tolerance.at_most for column in range(len(table.shots))]
    assert at_most == [0.1] * 4 + [0.2] * 4
    moon = table.row("lights.moon.direction")
    assert moon is not None
    assert table.grade[moon, 6] == Grade.BREAK
    assert table.cell(row, 4).tolerance == 0.2


def test_one_stated_setup_answers_as_a_sequence_without(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    plain, stated = (Path(shutil.copytree(SAMPLES / "harbour", tmp_path / name)) for name in ("plain", "one"))
    for master in (stated / "master").iterdir():
        master.rename(master.with_name(master.name.replace("master.", "all.")))
    edited(stated, "key_shot: HB_040", "setups: {all: {key_shot: HB_040, shots: HB_*}}")
    (one, expected), (other, found) = checked(plain, capsys, "--all"), checked(stated, capsys, "--all")
    assert one == other == 1
    assert found.pop("setups") == [
        {"setup": "all", "master": 3, "key_shot": "HB_040", "follows": None, "shots": expected["shots"]}
    ]
    assert found.pop("master") is None
    assert expected.pop("master") == 3
    assert all(finding.pop("setup") == "all" for finding in found["findings"])
    assert found == expected


def test_a_setup_is_as_a_sequence_of_its_shots_alone(mole: Path, tmp_path: Path) -> None:
    alone = Path(shutil.copytree(mole, tmp_path / "alone"))
    for name in ("dawn.v001.yaml",):
        (alone / "master" / name).rename(alone / "master" / name.replace("dawn", "master"))
    shots = ["ML_010", "ML_020", "ML_030", "ML_040"]
    (alone / "sequence.yaml").write_text(
        f"samelight_sequence: 2\nkey_shot: ML_020\ncut: {json.dumps(shots)}\n"
    )
    for night in (alone / "master").glob("night*"):
        night.unlink()
    one, several = open_session(alone), open_session(mole)

    def cells(session: Session) -> set[Any]:
        found = (session.table.cell(r, c) for r in range(len(session.table.rows)) for c in range(4))
        return {
            (cell.shot, cell.parameter, cell.drift, cell.grade, cell.tolerance)
            for cell in found
            if cell.grade > Grade.SAME
        }

    assert cells(one) == cells(several)
    assert {f.says for f in one.cases.findings} <= {f.says for f in several.cases.findings}


@pytest.mark.parametrize(
    ("old", "new", "shot", "says"),
    [
        ("shots: ML_010-ML_040", "shots: ML_010-ML_030", "ML_040", "ML_040 belongs to no set-up"),
        ("shots: ML_010-ML_040", "shots: ML_010-ML_050", "ML_050", "ML_050 belongs to dawn and to night"),
        ("{ML_080: ML_060}", "{ML_080: ML_660}", "ML_080", "compared with ML_660, which is not in the cut"),
    ],
)
def test_a_shot_of_no_one_setup_is_told_with_its_line(
    mole: Path, capsys: pytest.CaptureFixture[str], old: str, new: str, shot: str, says: str
) -> None:
    edited(mole, old, new)
    status = main(["check", str(mole)])
    said = capsys.readouterr().err
    assert status == 2
    assert says in said
    assert "sequence.yaml:" in said
    session = open_session(mole)
    assert shot in session.unreadable()
    others = {cell for cell in PLANTED if cell[0] != shot}
    assert others <= drifting(session)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("from: dawn", "from: dusk", "setups.night.from: expected the name of another set-up, found 'dusk'"),
        (
            "key_shot: ML_020",
            "key_shot: ML_020\n    from: night",
            "a set-up that does not come from this one",
        ),
        ("{ML_080: ML_060}", "{ML_080: ML_060, ML_060: ML_080}", "no circle, found ML_080 follows ML_060"),
        ("{ML_080: ML_060}", "{ML_080: ML_080}", "no circle, found ML_080 follows ML_080"),
        ("except: [lights.sun.*,", "except: [lights.sun.level,", "patterns of whole groups"),
        ("except: [lights.sun.*,", "except: [light.sun.*,", "did you mean lights?"),
        ("frame_rate: 24", "key_shot: ML_020", "no key_shot beside setups"),
        ("shots: ML_010-ML_040", "shot: ML_010", "did you mean shots?"),
        ("policy: night_policy.yaml", "policy: ../night.yaml", "outside it"),
        ("  dawn:", "  day/dawn:", "a name of letters"),
        ("locks: [lights.moon.direction]", "locks: {a: b}", "a list of patterns"),
        ("lighters: Tomas", "lighters: 3", "a name, a list of names"),
    ],
)
def test_what_is_wrong_in_setups_is_a_fault_of_the_file(mole: Path, old: str, new: str, says: str) -> None:
    edited(mole, old, new)
    with pytest.raises(SamelightError) as caught:
        open_session(mole)
    assert says in str(caught.value)
    assert "sequence.yaml:" in str(caught.value)


def test_the_policy_of_a_setup_names_no_kinds(mole: Path) -> None:
    edited(
        mole,
        "samelight_policy: 2",
        "samelight_policy: 2\nkinds: {lights.fill.mood: number}",
        "night_policy.yaml",
    )
    with pytest.raises(SamelightError, match="no kinds in the policy of a set-up"):
        open_session(mole)


def test_what_a_setup_comes_from_holds_but_for_what_is_its_own(mole: Path) -> None:
    # The night's own master says otherwise of the lantern and of the rays: the dawn's counts.
    edited(mole, "intensity: 0.8, exposure: 1", "intensity: 0.5, exposure: 1", "master/night.v002.yaml")
    edited(mole, "bounces: 3", "bounces: 5", "master/night.v002.yaml")
    assert drifting(open_session(mole)) == PLANTED
    edited(mole, "bounces: 3", "bounces: 5", "shots/ML_060/ML_060.v001.yaml")
    assert drifting(open_session(mole)) == PLANTED | {
        ("ML_060", "render.gi.bounces"),
        ("ML_080", "render.gi.bounces"),
    }
    edited(mole, "except: [lights.sun.*,", "except: [render.gi, lights.sun.*,")
    shots = {shot for shot, parameter in drifting(open_session(mole)) if parameter == "render.gi.bounces"}
    assert shots == {"ML_050", "ML_070", "ML_080"}


def test_without_except_all_of_it_is_held(mole: Path) -> None:
    edited(mole, "except: [lights.sun.*, lights.moon.*, environments.*]", "notes: held to the dawn")
    found = drifting(open_session(mole))
    assert {("ML_050", "lights.sun"), ("ML_050", "lights.moon"), ("ML_060", "lights.moon")} <= found


def test_a_setup_without_a_master_is_told_and_the_others_are_compared(
    mole: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for master in (mole / "master").glob("night*"):
        master.unlink()
    for sheet in (mole / "shots").rglob("*.yaml"):
        sheet.write_text(
            "".join(line for line in sheet.read_text().splitlines(True) if "master:" not in line)
        )
    status, data = checked(mole, capsys)
    assert status == 2
    assert ("ML_030", "lights.sun.direction") in {(cell["shot"], cell["parameter"]) for cell in data["cells"]}
    assert "--setup night" in " ".join(data["troubles"])
    publish(candidate_from(open_session(mole), "ML_060", "ada"))
    assert (mole / "master" / "night.v001.yaml").exists()
    assert checked(mole, capsys)[0] == 1


def test_publishing_and_adopting_stay_inside_the_setup(mole: Path) -> None:
    edited(mole, "azimuth: 205", "azimuth: 210", "shots/ML_060/ML_060.v001.yaml")
    session = open_session(mole)
    candidate = candidate_from(session, "ML_060", "ada", despite_breaks=True)
    assert (candidate.path.name, candidate.setup, candidate.version) == ("night.v003.yaml", "night", 3)
    effects = preview(session, candidate.sheet, candidate.setup)
    assert effects.changed == ("lights.moon.direction",)
    assert {effect.shot for effect in effects.effects} == {"ML_050", "ML_060", "ML_070"}
    publish(candidate)
    with pytest.raises(SamelightError, match="night master v003 was not published"):
        publish(candidate)
    session = open_session(mole)
    assert session.contents.setup_of("ML_020").master_version == 1
    found = adoptions(session)
    assert [(one.shot, one.base, one.tree["master"]) for one in found] == [
        ("ML_050", 2, 3),
        ("ML_060", 2, 3),
        ("ML_070", 1, 3),
    ]
    for one in found:
        adopt(one)
    off = {shot for shot, parameter in drifting(open_session(mole)) if parameter == "lights.moon.direction"}
    assert off == {"ML_080"}  # which follows a shot, and no master


def test_a_preview_tells_what_a_setup_does_to_those_that_are_held_to_it(
    mole: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for shot in ("ML_020", "ML_060"):
        edited(mole, "intensity: 0.8, exposure", "intensity: 1, exposure", f"shots/{shot}/{shot}.v001.yaml")
    session = open_session(mole)
    candidate = candidate_from(session, "ML_020", "ada", despite_breaks=True)
    effects = preview(session, candidate.sheet, candidate.setup)
    assert (effects.changed, effects.heirs) == (("lights.lantern.level",), ("night",))
    does = {effect.shot: effect.follows.value for effect in effects.effects}
    dawn = {"ML_010": "follows", "ML_020": "is there already", "ML_030": "follows", "ML_040": "follows"}
    night = {"ML_050": "holds its own", "ML_060": "is there already", "ML_070": "follows"}
    assert does == {**dawn, **night}
    assert main(["publish", str(mole), "--preview", "--setup", "dawn", "--despite-breaks"]) == 0
    assert "\nHeld to it and changed with it: night.\n" in capsys.readouterr().out
    publish(candidate)
    after = {(shot, parameter) for shot, parameter in drifting(open_session(mole)) if "lantern" in parameter}
    # 050 is inside the night's tolerance, 080 follows 060, which was set ahead.
    assert {shot for shot, _ in after} == {"ML_010", "ML_030", "ML_040", "ML_070", "ML_080"}


def test_the_command_names_the_setup(mole: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["publish", str(mole), "--preview"]) == 2
    assert "say which with --setup (dawn, night)" in capsys.readouterr().err
    assert main(["publish", str(mole), "--preview", "--setup", "nigth"]) == 2
    assert "did you mean night?" in capsys.readouterr().err
    assert main(["publish", str(mole), "--setup", "dawn"]) == 0
    assert (mole / "master" / "dawn.v002.yaml").exists()


def test_fixes_put_each_shot_back_to_its_own(mole: Path) -> None:
    session = open_session(mole)
    for part in fix_list(session):
        fixed = fixed_version(session, part)
        assert fixed.remaining == ()
        write_fixed(fixed)
    again = open_session(mole)
    assert drifting(again) == set()
    assert again.contents.sheets["ML_070"].master == 2
    assert (
        again.contents.sheets["ML_080"].master == 2
    )  # compared with a shot, it names the master that it did


def test_a_decision_until_a_version_speaks_of_the_shots_own_master(mole: Path) -> None:
    session = open_session(mole)
    row = session.table.row("lights.sun.direction")
    column = session.table.column("ML_030")
    assert row is not None
    assert column is not None
    session.decide(Verb.INTEND, [(row, column)], "ada", "clears her hat", until=1)
    assert session.cases.state(row, column) is State.INTENDED
    moon = session.table.row("lights.moon.direction")
    assert moon is not None
    with pytest.raises(SamelightError, match="version 2 is current"):
        session.decide(Verb.INTEND, [(moon, 6)], "ada", "no", until=1)


def test_a_changed_sheet_is_compared_again_as_from_the_start(mole: Path) -> None:
    session = open_session(mole)
    before = session.comparison
    edited(mole, "azimuth: 112", "azimuth: 120", "shots/ML_040/ML_040.v001.yaml")
    assert session.reload()
    fresh = open_session(mole)
    assert session.table.rows == fresh.table.rows
    assert [session.table.line(row) for row in range(len(fresh.table.rows))] == [
        fresh.table.line(row) for row in range(len(fresh.table.rows))
    ]
    assert session.comparison.parts[1].table is before.parts[1].table  # the night did not change
    assert not session.reload()


def test_a_followed_shot_moves_what_follows_it(mole: Path) -> None:
    session = open_session(mole)
    edited(mole, "intensity: 0.7", "intensity: 0.9", "shots/ML_060/ML_060.v001.yaml")
    session.reload()
    assert drifting(session) == (PLANTED | {("ML_060", "lights.fill.level")}) - {
        ("ML_080", "lights.fill.level")
    }


def test_a_shot_may_follow_another_where_one_master_is_for_all(tmp_path: Path) -> None:
    folder = Path(shutil.copytree(SAMPLES / "harbour", tmp_path / "harbour"))
    plain = drifting(open_session(folder))
    edited(folder, "policy: policy.yaml", "policy: policy.yaml\nfollows: {HB_060: HB_050}")
    found = drifting(open_session(folder))
    assert {cell for cell in plain - found if cell[0] != "HB_060"} == set()
    assert ("HB_060", "lights.sun.direction") in plain - found  # both have the sun where HB_050 has it


@pytest.mark.parametrize(
    "reference",
    [
        Reference(Against.SHOT, shot="ML_020"),
        Reference(Against.BEFORE),
        Reference(Against.VERSIONS, 1, "ML_070"),
    ],
)
def test_other_references_work_over_all_setups(mole: Path, reference: Reference) -> None:
    session = open_session(mole)
    session.hold_against(reference)
    assert session.table.rows
    session.hold_against(MASTER)
    assert drifting(session) == PLANTED
    assert compare(session.contents).table.rows == session.table.rows


def test_a_masters_version_is_older_in_the_setup_that_has_it(mole: Path) -> None:
    session = open_session(mole)
    session.hold_against(Reference(Against.OLDER_MASTER, 1))
    assert ("ML_070", "lights.moon.direction") not in {
        (cell.shot, cell.parameter) for cell in session.table.cells(Grade.WITHIN)
    }


def test_report_and_junit_tell_the_setups(mole: Path, capsys: pytest.CaptureFixture[str]) -> None:
    status, data = checked(mole, capsys)
    assert status == 1
    assert [(one["setup"], one["master"], one["follows"]) for one in data["setups"]] == [
        ("dawn", 1, None),
        ("night", 2, None),
        ("night", None, "ML_060"),
    ]
    for form in ("html", "markdown", "csv", "junit"):
        assert main(["report", str(mole), "--format", form]) == 0
        text = capsys.readouterr().out.replace("\\", "")
        assert "ML_080" in text
        if form in ("html", "markdown"):
            assert "dawn against master 1, night against master 2" in text
        if form == "junit":
            assert 'errors="0"' in text


def test_lighters_of_a_setup_light_its_shots(mole: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert checked(mole, capsys, "--lighter", "Tomas")[1]["shots"] == ["ML_050", "ML_060", "ML_070", "ML_080"]


def test_shots_are_named_by_a_pattern(mole: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert checked(mole, capsys, "--shots", "ML_01*,ML_07?")[1]["shots"] == ["ML_010", "ML_070"]


def test_traces_have_a_gap_between_setups_and_each_its_own_line(mole: Path) -> None:
    table = open_session(mole).table
    row = table.row("render.gi.bounces")
    fill = table.row("lights.fill.level")
    lantern = table.row("lights.lantern.level")
    assert row is not None
    assert fill is not None
    assert lantern is not None
    (bounces,) = row_traces(table, row)
    assert bounces.pieces is not None
    assert bounces.pieces.tolist() == [0, 0, 0, 0, 1, 1, 1, 2]
    assert [run.tolist() for run in bounces.runs(bounces.pieces * 0 + range(8))] == [
        [0, 1, 2, 3],
        [4, 5, 6],
        [7],
    ]
    assert (bounces.master, bounces.masters) == (3.0, None)  # one line where all masters are alike
    trace = traces_of(table, lantern)[0]
    assert trace.lows is not None
    assert [round(float(low), 3) for low in trace.lows[[0, 4]]] == [-0.1, -0.2]  # each by its own tolerance
    assert trace.row == lantern
    assert traces_of(table, fill)[0].values.round(2).tolist() == [0.0] * 7 + [0.36]


def test_between_setups_nothing_jumps(mole: Path) -> None:
    edited(mole, "intensity: 0.7", "intensity: 0.73", "shots/ML_040/ML_040.v001.yaml")
    edited(mole, "intensity: 0.7", "intensity: 0.67", "shots/ML_050/ML_050.v001.yaml")
    session = open_session(mole)
    row = session.table.row("lights.fill.level")
    assert row is not None
    assert jumps_of(session.table, row) == []
    assert not [finding for finding in session.cases.findings if finding.finding == "cut-jump"]
    edited(mole, "intensity: 0.7", "intensity: 0.67", "shots/ML_030/ML_030.v001.yaml")
    session.reload()
    assert jumps_of(session.table, row) == [2]


def test_shots_of_a_setup_that_are_no_neighbours_in_the_cut_do_not_jump(mole: Path) -> None:
    edited(mole, "shots: ML_010-ML_040", "shots: [ML_010, ML_020, ML_030, ML_050]")
    edited(mole, "shots: ML_050-ML_080", "shots: [ML_040, ML_060-ML_080]")
    for shot, level in (("ML_030", 0.73), ("ML_050", 0.67)):
        dawn = (
            (mole / "shots/ML_010/ML_010.v001.yaml")
            .read_text()
            .replace("intensity: 0.7", f"intensity: {level}")
        )
        (mole / f"shots/{shot}/{shot}.v001.yaml").write_text(dawn.replace("ML_010", shot))
    session = open_session(mole)
    assert not [finding for finding in session.cases.findings if finding.finding == "cut-jump"]
    row = session.table.row("lights.fill.level")
    assert row is not None
    assert jumps_of(session.table, row) == []
