from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import pytest
import yaml

from conftest import MakeSequence
from samelight.changes.publishing import (
    Follows,
    PublishError,
    candidate_from,
    preview,
    publish,
    unsettled_breaks,
)
from samelight.cli.main import main
from samelight.decisions.decision import Verb
from samelight.drift.cells import Grade
from samelight.sequence.session import Session, open_session


@pytest.fixture
def folder(undecided_harbour: Path) -> Path:
    return undecided_harbour


def relit(folder: Path, old: str, new: str) -> Session:
    """The sequence after something in the key shot's sheet was changed by hand."""
    sheet = folder / "shots" / "HB_040" / "HB_040.v003.yaml"
    text = sheet.read_text(encoding="utf-8")
    assert old in text
    sheet.write_text(text.replace(old, new), encoding="utf-8")
    return open_session(folder)


def cell(session: Session, shot: str, parameter: str) -> tuple[int, int]:
    row, column = session.table.row(parameter), session.table.column(shot)
    assert row is not None and column is not None
    return row, column


def test_a_key_shot_that_is_the_master_changes_nothing(folder: Path) -> None:
    session = open_session(folder)
    assert preview(session, candidate_from(session, "HB_040", "lead").sheet).changed == ()


def test_a_master_keeps_the_lighting_and_leaves_the_shot_behind(folder: Path) -> None:
    candidate = candidate_from(open_session(folder), "HB_040", "lead")
    assert set(candidate.tree) >= {"lights", "environments", "render", "surfaces", "passes"}
    assert not {"camera", "marks", "cost", "frames", "shot", "notes"} & set(candidate.tree)
    assert candidate.version == 4
    assert candidate.tree["published"]["by"] == "lead"
    assert candidate.tree["published"]["from"] == "HB_040 v003"


def test_a_preview_says_who_follows_and_who_holds_its_own(folder: Path) -> None:
    session = relit(folder, "intensity: 1.1, exposure: 1,", "intensity: 2.2, exposure: 1,")
    effects = preview(session, candidate_from(session, "HB_040", "lead").sheet)
    assert effects.changed == ("lights.window_fill.level",)
    # HB_230 has its fill 0.06 stops lower, on its own account.
    assert effects.shots(Follows.HOLDS) == ("HB_230",)
    assert effects.shots(Follows.THERE) == ("HB_040",)
    assert len(effects.shots(Follows.FOLLOWS)) == 22


def test_a_preview_names_the_decisions_that_would_lapse(folder: Path) -> None:
    session = open_session(folder)
    place = cell(session, "HB_110", "lights.rim.colour")
    session.decide(Verb.INTEND, [place], "lead", "asked for in dailies")
    session = relit(folder, "temperature: 5000 K", "temperature: 4800 K")
    effects = preview(session, candidate_from(session, "HB_040", "lead").sheet)
    assert [(effect.shot, effect.parameter) for effect in effects.lapsing()] == [
        ("HB_110", "lights.rim.colour")
    ]


def test_a_shot_that_breaks_a_lock_is_refused_unless_told_otherwise(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    session = relit(folder, "azimuth: 131", "azimuth: 140")
    assert unsettled_breaks(session, "HB_040")[:1] == ["lights.sun.direction"]
    with pytest.raises(PublishError, match=r"lights\.sun\.direction"):
        candidate_from(session, "HB_040", "lead")
    assert candidate_from(session, "HB_040", "lead", despite_breaks=True).version == 4
    assert main(["publish", str(folder), "--from", "HB_040", "--preview"]) == 2
    assert capsys.readouterr().err.endswith(
        "decide on them first, or publish despite them (--despite-breaks)\n"
    )


def test_a_decision_opens_the_way(folder: Path) -> None:
    session = relit(folder, "azimuth: 131", "azimuth: 140")
    cells = [place for place in session.cases.unsettled_cells() if place[1] == session.table.column("HB_040")]
    session.decide(Verb.INTEND, cells, "lead", "the sun moves for the whole sequence")
    assert unsettled_breaks(session, "HB_040") == []
    assert candidate_from(session, "HB_040", "lead").version == 4


def test_a_published_master_is_what_shots_are_compared_with(folder: Path) -> None:
    session = relit(folder, "intensity: 1.1, exposure: 1,", "intensity: 2.2, exposure: 1,")
    path = publish(candidate_from(session, "HB_040", "lead"))
    assert path.name == "master.v004.yaml"
    assert yaml.safe_load(path.read_text(encoding="utf-8"))["version"] == 4
    again = open_session(folder)
    assert again.contents.master_version == 4
    row, column = cell(again, "HB_010", "lights.window_fill.level")
    assert again.table.cell(row, column).drift == pytest.approx(-1.0)


def test_two_who_publish_at_once_do_not_overwrite_each_other(folder: Path) -> None:
    session = open_session(folder)
    first, second = (candidate_from(session, "HB_040", who) for who in ("ada", "ben"))
    publish(first)
    with pytest.raises(PublishError, match="v004 is the newest"):
        publish(second)
    assert "ada" in first.path.read_text(encoding="utf-8")


def test_a_shot_without_a_sheet_is_refused(folder: Path) -> None:
    with pytest.raises(PublishError, match="HB_999"):
        candidate_from(open_session(folder), "HB_999", "lead")


def test_a_first_master_that_no_sheet_could_stand_on_is_refused(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shutil.rmtree(folder / "master")
    assert main(["publish", str(folder)]) == 2
    assert "HB_040 says that it is built on master 3, which is not here" in capsys.readouterr().err
    assert not (folder / "master").exists()
    relit(folder, "master: 3\n", "")
    assert main(["publish", str(folder), "--preview"]) == 0


def test_the_command_previews_without_writing(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    relit(folder, "intensity: 1.1, exposure: 1,", "intensity: 2.2, exposure: 1,")
    assert main(["publish", str(folder), "--preview"]) == 0
    said = capsys.readouterr().out
    assert "lights.window_fill.level: 2.2 → 4.4\n    22 follow, 1 holds its own" in said
    assert "holding their own: HB_230" in said
    assert not (folder / "master" / "master.v004.yaml").exists()
    assert main(["publish", str(folder)]) == 0
    assert (folder / "master" / "master.v004.yaml").exists()


def test_the_preview_says_what_is_found_in_the_key_shot_and_what_samples_do(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["publish", str(folder), "--from", "HB_160", "--preview"]) == 0
    head, first, change, *_ = capsys.readouterr().out.splitlines()
    assert head == "master v004 from HB_160 v001, tried against master v003"
    assert first.startswith("  look at HB_160 first: The volume samples are back at the default")
    assert change == "  render.volume.samples: 96 → 8, ×0.0833 as many, noise ×3.46"
    shutil.rmtree(folder / "master")
    assert main(["publish", str(folder), "--preview", "--despite-breaks"]) == 0
    told = capsys.readouterr()
    assert told.out.startswith("master v001 from HB_040 v003, the first\n")
    assert "lights.sun: type distant, direction az 131.0° el 24.0°, level 3.2" in told.out
    assert "No master" not in told.err  # whoever publishes the first is about to mend that


@pytest.mark.parametrize("name", ["", " ", "../HB_040"])
def test_a_name_that_is_none_does_not_stand_for_the_key_shot(
    folder: Path, capsys: pytest.CaptureFixture[str], name: str
) -> None:
    """As where a script's variable is not set."""
    before = sorted((folder / "master").iterdir())
    assert main(["publish", str(folder), "--from", name]) == 2
    assert "has no readable sheet" in capsys.readouterr().err
    assert sorted((folder / "master").iterdir()) == before


def test_noise_of_transforms_is_no_change_and_a_place_is_one(make_sequence: MakeSequence) -> None:
    """The key shot was captured again: 9e-9 m. Of a light that moves, a shot with a place of its own holds both parts."""

    def lit(x: float, aim: list[float]) -> dict[str, Any]:
        spot = {"type": "spot", "intensity": 2.0, "cone": 30, "position": [x, 2, 1], "direction": aim}
        return {"lights": {"key": spot}}

    shots = {"KEY": lit(0.15 + 9e-9, [0, 0, -1]), "A": lit(0.15, [0, 0, -1]), "B": lit(0.5, [0, 0, -1])}
    folder = make_sequence(master=[lit(0.15, [0, 0, -1])], shots=shots)
    session = open_session(folder)
    assert cell_grades(session, "KEY") == {Grade.SAME}
    assert preview(session, session.contents.sheets["KEY"]).changed == ()
    turned = make_sequence("turned", master=[lit(3.0, [1, 0, 0])], shots={})
    candidate = open_session(turned).contents.master
    assert candidate is not None
    effects = {(e.shot, e.parameter): e.follows for e in preview(session, candidate).effects}
    for leaf in ("position", "direction"):
        assert effects["A", f"lights.key.{leaf}"] is Follows.FOLLOWS
        assert effects["B", f"lights.key.{leaf}"] is Follows.HOLDS


def cell_grades(session: Session, shot: str) -> set[Grade]:
    column = session.table.column(shot)
    assert column is not None
    return {Grade(grade) for grade in session.table.grade[:, column].tolist()} - {Grade.NONE}
