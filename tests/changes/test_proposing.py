"""Set-ups proposed for a sequence that states none."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
import yaml

from samelight.changes.proposing import propose
from samelight.cli.main import main
from samelight.sequence.session import open_session

SAMPLES = Path(__file__).parents[2] / "sample_sequences"
SHOTS = [f"ML_0{number}0" for number in range(1, 9)]


@pytest.fixture
def taken_over(tmp_path: Path) -> Path:
    """The sample with a dawn and a night, without a word of set-ups or masters."""
    folder = Path(shutil.copytree(SAMPLES / "mole", tmp_path / "mole"))
    shutil.rmtree(folder / "master")
    (folder / "sequence.yaml").write_text(
        f"samelight_sequence: 2\ntitle: The mole\ncut: {json.dumps(SHOTS)}\n"
    )
    for sheet in (folder / "shots").rglob("*.yaml"):
        lines = sheet.read_text().splitlines(keepends=True)
        sheet.write_text("".join(line for line in lines if not line.startswith("master:")))
    return folder


def edited(folder: Path, shot: str, *changes: tuple[str, str]) -> None:
    path = folder / f"shots/{shot}/{shot}.v001.yaml"
    text = path.read_text()
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    path.write_text(text)


def test_dawn_and_night_are_told_apart_by_sun_sky_and_key(taken_over: Path) -> None:
    found = propose(open_session(taken_over))
    assert [(one.name, one.runs) for one in found.setups] == [
        ("dawn", ("ML_010-ML_040",)),
        ("night", ("ML_050-ML_080",)),
    ]
    assert found.left == {}
    dawn, night = found.setups
    assert dawn.why == (
        "sun comes from azimuth 112°, elevation 9°, within 6°",
        "sky maps/mole_dawn.exr",
        "sun is the key",
    )
    assert night.why[1:] == ("sky maps/mole_night.exr", "lantern is the key")
    assert (dawn.key_shot, night.key_shot) == (
        "ML_010",
        "ML_050",
    )  # nobody names one: the first of those most are like


def test_what_drifts_makes_no_setup_of_its_own() -> None:
    found = propose(open_session(SAMPLES / "harbour"))
    assert [(one.runs, one.key_shot) for one in found.setups] == [(("HB_010-HB_240",), "HB_040")]


def test_a_sky_without_a_map_is_not_told_as_none() -> None:
    (found,) = propose(open_session(SAMPLES / "first_steps")).setups
    assert "no map of a sky" in found.why


def test_a_shot_with_another_sky_alone_stays_where_its_sun_and_key_are(taken_over: Path) -> None:
    edited(taken_over, "ML_020", ("mole_dawn.exr", "clouds.exr"))
    (dawn, _) = propose(open_session(taken_over)).setups
    assert dawn.shots == ("ML_010", "ML_020", "ML_030", "ML_040")
    assert "sky maps/clouds.exr in 1 of 4" in dawn.why


def test_a_shot_like_no_other_is_told_and_left(taken_over: Path) -> None:
    edited(
        taken_over,
        "ML_040",
        ("mole_dawn.exr", "storm.exr"),
        ("azimuth: 112, elevation: 9", "azimuth: 250, elevation: 50"),
    )
    found = propose(open_session(taken_over))
    assert found.left == {"ML_040": "is lit like no other: it has another sun, sky and key than ML_050"}
    assert [one.name for one in found.setups] == ["dawn", "night"]


def test_shots_apart_in_the_cut_are_one_setup_in_runs(taken_over: Path) -> None:
    order = ["ML_010", "ML_050", "ML_060", "ML_020", "ML_070", "ML_080", "ML_030", "ML_040"]
    (taken_over / "sequence.yaml").write_text(f"cut: {json.dumps(order)}\n")
    assert [one.runs for one in propose(open_session(taken_over)).setups] == [
        ("ML_010", "ML_020", "ML_030-ML_040"),
        ("ML_050-ML_060", "ML_070-ML_080"),
    ]


def test_two_dawns_have_two_names(taken_over: Path) -> None:
    for shot in ("ML_030", "ML_040"):
        edited(taken_over, shot, ("mole_dawn.exr", "other.exr"), ("elevation: 9", "elevation: 2"))
        azimuth = "118" if shot == "ML_030" else "112"
        edited(taken_over, shot, (f"azimuth: {azimuth}", "azimuth: 60"))
    assert [one.name for one in propose(open_session(taken_over)).setups] == ["dawn", "dawn_2", "night"]


def test_the_command_says_why_and_writes_nothing(
    taken_over: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = {path: path.read_bytes() for path in taken_over.rglob("*") if path.is_file()}
    assert main(["propose", str(taken_over)]) == 0
    said = capsys.readouterr().out
    assert "Nothing was written" in said
    stated = yaml.safe_load(said.partition("# for sequence.yaml")[2].partition("\n")[2])
    assert {path: path.read_bytes() for path in taken_over.rglob("*") if path.is_file()} == before
    assert main(["propose", str(taken_over), "--format", "json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert {one["setup"]: one["runs"] for one in data["setups"]} == {
        name: one["shots"] for name, one in stated["setups"].items()
    }
    # What it prints is what sequence.yaml takes.
    (taken_over / "sequence.yaml").write_text(yaml.safe_dump({"cut": SHOTS, **stated}))
    session = open_session(taken_over)
    assert [(part.name, part.shots) for part in session.contents.parts] == [
        (one["setup"], tuple(one["shots"])) for one in data["setups"]
    ]


def test_shots_without_a_sheet_or_lights_are_no_error(
    taken_over: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (taken_over / "shots/ML_010/ML_010.v001.yaml").write_text("lights: {sun: {type: }}\n")
    (taken_over / "shots/ML_020/ML_020.v001.yaml").write_text(
        "samelight: 2\nshot: ML_020\nversion: 1\nlights: {}\n"
    )
    assert main(["propose", str(taken_over)]) == 2
    said = capsys.readouterr().out
    assert "ML_010 has no readable sheet." in said
    assert "ML_020 is lit like no other" in said
