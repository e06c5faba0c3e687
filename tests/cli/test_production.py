"""Commands over a production: every sequence by its own, and the worst of what they end with."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

from samelight.cli.main import main
from samelight.sheets.errors import SamelightError
from samelight.sheets.production import is_production, own_shots, read_production

SAMPLES = Path(__file__).parents[2] / "sample_sequences"


@pytest.fixture
def film(tmp_path: Path) -> Path:
    """Two small sequences of the sample, in one folder."""
    folder = tmp_path / "film"
    for name in ("first_steps", "mole"):
        shutil.copytree(SAMPLES / name, folder / name)
    return folder


def data_of(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, dict[str, Any]]:
    status = main([*words, "--format", "json"])
    return status, json.loads(capsys.readouterr().out)


def test_a_sequence_is_none_and_a_folder_of_sequences_is_one(film: Path) -> None:
    assert is_production(film)
    assert not is_production(film / "mole")
    assert not is_production(film / "mole" / "shots")
    assert list(read_production(film).sequences) == ["first_steps", "mole"]


def test_a_check_says_of_each_sequence_what_its_own_says(
    film: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    status, data = data_of(capsys, "check", str(film))
    assert (status, data["status"], data["production"]) == (1, 1, "film")
    for one in data["sequences"]:
        alone, expected = data_of(capsys, "check", str(film / one["name"]))
        assert (one["status"], one["result"]) == (alone, expected)
    assert [one["name"] for one in data["sequences"]] == ["first_steps", "mole"]
    assert main(["check", str(film)]) == 1
    text = capsys.readouterr().out
    assert text.index("First steps, against master 1") < text.index("\n\nThe mole, dawn against master 1")


def test_one_broken_sequence_holds_up_no_other(film: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (film / "first_steps" / "sequence.yaml").write_text("cutt: [A]\n")
    status, data = data_of(capsys, "check", str(film))
    assert status == 2
    broken, whole = data["sequences"]
    assert (broken["name"], broken["status"]) == ("first_steps", 2)
    assert "did you mean cut?" in broken["error"]
    assert whole["status"] == 1
    assert main(["check", str(film), "--format", "junit"]) == 2
    said = capsys.readouterr()
    assert "samelight: first_steps: " in said.err
    suites = ElementTree.fromstring(said.out).findall("testsuite")
    found = [(suite.get("name"), suite.get("errors")) for suite in suites]
    assert found == [("first_steps", "1"), ("The mole", "0")]
    assert main(["check", str(film)]) == 2
    assert "The mole" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("shots", "expected"),
    [
        ("mole/ML_010-ML_030", {"mole": ["ML_010", "ML_020", "ML_030"]}),
        ("mole/ML_010-mole/ML_020", {"mole": ["ML_010", "ML_020"]}),
        ("mole/ML_07*,first_steps/FS_010", {"first_steps": ["FS_010"], "mole": ["ML_070"]}),
        ("m*/ML_080,mole/ML_010", {"mole": ["ML_010", "ML_080"]}),
        ("first_steps", {"first_steps": ["FS_010", "FS_020", "FS_030", "FS_040"]}),
    ],
)
def test_shots_are_named_with_their_sequence(
    film: Path, capsys: pytest.CaptureFixture[str], shots: str, expected: dict[str, list[str]]
) -> None:
    _, data = data_of(capsys, "check", str(film), "--shots", shots)
    assert {one["name"]: one["result"]["shots"] for one in data["sequences"]} == expected


def test_a_shot_of_no_sequence_is_told(film: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for shots, says in (("mool/ML_010", "did you mean mole?"), ("ML_010", "names no sequence of film")):
        assert main(["check", str(film), "--shots", shots]) == 2
        assert says in capsys.readouterr().err


def test_a_sequence_alone_takes_its_own_name_and_no_other(
    film: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    _, data = data_of(capsys, "check", str(film / "mole"), "--shots", "mole/ML_010")
    assert data["shots"] == ["ML_010"]
    assert main(["check", str(film / "mole"), "--shots", "harbour/ML_010"]) == 2
    assert "is of another sequence than mole" in capsys.readouterr().err
    with pytest.raises(SamelightError):
        own_shots("quay/QU_010", "mole")


def test_what_all_have_in_common(film: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (film / "production.yaml").write_text(
        "samelight_production: 2\ntitle: The film\nsequences: {night and day: mole}\npolicy: common.yaml\n"
        "lighters: {Ada: [night and day/ML_010-ML_020]}\n"
    )
    (film / "common.yaml").write_text("tolerances: {lights.lantern.level: 9 st, lights.fill.level: 9 st}\n")
    status, data = data_of(capsys, "check", str(film))
    (one,) = data["sequences"]
    levels = {(c["shot"], c["parameter"]): (c["level"], c["tolerance"]) for c in one["result"]["cells"]}
    assert (status, one["name"]) == (1, "night and day")
    assert levels["ML_080", "lights.fill.level"] == ("within", 9.0)
    assert levels["ML_050", "lights.lantern.level"] == ("drift", 0.2)  # the night's own policy lies on top
    _, data = data_of(capsys, "check", str(film), "--lighter", "Ada")
    assert data["sequences"][0]["result"]["shots"] == ["ML_010", "ML_020"]
    main(["check", str(film)])
    assert "first_steps is a sequence folder that production.yaml does not list" in capsys.readouterr().err


def test_a_sequence_alone_goes_by_the_production_above_it(
    film: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (film / "production.yaml").write_text(
        "sequences: [mole]\npolicy: common.yaml\nlighters: {Ada: [mole/ML_010-ML_020]}\n"
    )
    (film / "common.yaml").write_text("tolerances: {lights.fill.level: 9 st}\n")
    for name in ("mole", "first_steps"):
        (status, alone), (_, both) = (
            data_of(capsys, "check", str(film / name)),
            data_of(capsys, "check", str(film)),
        )
        there = [one["result"] for one in both["sequences"] if one["name"] == name]
        assert there == ([alone] if name == "mole" else []) and status == 1
    _, data = data_of(capsys, "check", str(film / "mole"), "--lighter", "Ada")
    assert data["shots"] == ["ML_010", "ML_020"]
    (film / "common.yaml").write_text("tolerances: {lights.fill.level: 0.1 st}\n")
    _, data = data_of(capsys, "check", str(film / "mole"))
    assert ("ML_080", "lights.fill.level", "drift") in {
        (cell["shot"], cell["parameter"], cell["level"]) for cell in data["cells"]
    }
    (film / "production.yaml").write_text("sequence: [mole]\n")
    assert main(["check", str(film / "mole")]) == 2
    assert "did you mean sequences?" in capsys.readouterr().err


def test_a_lighter_is_looked_for_in_every_sequence(film: Path, capsys: pytest.CaptureFixture[str]) -> None:
    _, data = data_of(capsys, "check", str(film), "--lighter", "Tomas")
    assert [one["name"] for one in data["sequences"]] == ["mole"]
    assert main(["check", str(film), "--lighter", "Nobody"]) == 2
    assert "no sequence of film names a lighter Nobody" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("sequence: [mole]", "did you mean sequences?"),
        ("sequences: 3", "a list of sequence folders"),
        ("sequences: []", "a list of sequence folders"),
        ("sequences: [mole, other/mole]", "each name once"),
        ("sequences: [3]", "a sequence folder"),
        ("policy: ../common.yaml", "outside it"),
        ("samelight_production: 9", "version 2"),
        ("[]", "keys and values"),
        ("title: 3", "expected text"),
    ],
)
def test_what_is_wrong_in_production_yaml_is_told(film: Path, text: str, says: str) -> None:
    (film / "production.yaml").write_text(text + "\n")
    with pytest.raises(SamelightError) as caught:
        read_production(film)
    assert says in str(caught.value)
    assert "production.yaml" in str(caught.value)


def test_shots_of_no_sequence_that_a_lighter_is_given_are_told(
    film: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = "lighters: {Ada: [mole/ML_010-mole/ML_020, mull/ML_030, 'first*', '*/A', '[', '**']}\n"
    (film / "production.yaml").write_text(text)
    main(["check", str(film)])
    said = capsys.readouterr().err.splitlines()
    assert [line for line in said if "production.yaml, lighters, Ada" in line] == [
        f"samelight: production.yaml, lighters, Ada: {part} names no sequence, as SEQUENCE/SHOT does"
        for part in ("mull/ML_030", "[")
    ]


@pytest.mark.parametrize("file", ["production.yaml", "mole/sequence.yaml"])
def test_of_a_link_to_a_file_elsewhere_nothing_is_quoted(
    film: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], file: str
) -> None:
    (tmp_path / "theirs.txt").write_text("hunter2\n", encoding="utf-8")
    (film / file).unlink(missing_ok=True)
    (film / file).symlink_to(tmp_path / "theirs.txt")
    assert main(["check", str(film)]) == 2
    said = capsys.readouterr()
    assert f"{file}: expected a file of this folder, found a link to another file outside it" in said.err
    assert "hunter2" not in said.out + said.err


def test_options_of_one_sequence_are_refused(film: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(film), "--save-part", str(film / "x.part")]) == 2
    assert "--save-part goes with one sequence" in capsys.readouterr().err


def test_reports_and_plans_of_all(film: Path, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    assert main(["report", str(film), "-o", str(tmp_path / "reports")]) == 0
    assert sorted(file.name for file in (tmp_path / "reports").iterdir()) == ["first_steps.html", "mole.html"]
    assert main(["report", str(film), "-o", str(tmp_path / "one.html")]) == 2
    assert "name a folder for them with -o" in capsys.readouterr().err
    assert main(["report", str(film), "--format", "junit"]) == 0
    assert len(ElementTree.fromstring(capsys.readouterr().out).findall("testsuite")) == 2
    status, data = data_of(capsys, "plan", str(film))
    assert status == 0
    assert [one["result"]["sequence"] for one in data["sequences"]] == ["First steps", "The mole"]
