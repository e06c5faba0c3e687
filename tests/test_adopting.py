from __future__ import annotations

from pathlib import Path

import pytest

from samelight.adopting import adopt, adoptions
from samelight.cli.main import main
from samelight.decisions.decision import Verb
from samelight.drift.cells import Grade
from samelight.session import Session, open_session
from samelight.sheets.writing import WriteError


@pytest.fixture
def folder(undecided_harbour: Path) -> Path:
    return undecided_harbour


def drifting(session: Session, shot: str) -> set[str]:
    column = session.table.column(shot)
    assert column is not None
    return {
        row.parameter
        for i, row in enumerate(session.table.rows)
        if session.table.grade[i, column] >= Grade.DRIFT
    }


def test_a_shot_on_an_older_master_is_carried_over(folder: Path) -> None:
    session = open_session(folder)
    (adoption,) = adoptions(session)
    assert adoption.shot == "HB_150" and adoption.base == 2
    assert set(adoption.taken) == {
        "lights.bounce.level",
        "lights.lantern_spot.colour",
        "environments.dawn_sky.level",
        "environments.dawn_sky.rotation",
        "render.volume.samples",
    }
    assert (adoption.kept, adoption.held, adoption.left) == ((), (), ())
    adopt(adoption)
    again = open_session(folder)
    assert again.sheets["HB_150"].master == 3
    assert drifting(again, "HB_150") == set()
    assert adoptions(again) == []


def test_what_was_intended_is_kept_and_what_is_held_is_said(folder: Path) -> None:
    path = max((folder / "shots" / "HB_150").glob("*.yaml"))
    text = path.read_text(encoding="utf-8")
    assert "2500 K" in text
    path.write_text(
        text.replace("2500 K", "2300 K").replace("rotation: 34", "rotation: 12"), encoding="utf-8"
    )
    session = open_session(folder)
    row, column = session.table.row("lights.lantern_spot.colour"), session.table.column("HB_150")
    assert row is not None and column is not None
    session.decide(Verb.INTEND, [(row, column)], "lead", "a warmer lantern here")
    (adoption,) = adoptions(session)
    assert adoption.kept == ("lights.lantern_spot.colour",)
    assert adoption.held == ("environments.dawn_sky.rotation",)
    adopt(adoption)
    again = open_session(folder)
    assert {"lights.lantern_spot.colour", "environments.dawn_sky.rotation"} <= drifting(again, "HB_150")
    assert "lights.bounce.level" not in drifting(again, "HB_150")


def test_nothing_is_written_unless_asked(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = sorted(folder.rglob("*"))
    assert main(["adopt", str(folder)]) == 0
    assert sorted(folder.rglob("*")) == before
    assert "takes over: lights.bounce.level" in capsys.readouterr().out
    assert main(["adopt", str(folder), "--write"]) == 0
    assert len(sorted(folder.rglob("*"))) == len(before) + 1


def test_two_who_adopt_at_once_do_not_overwrite_each_other(folder: Path) -> None:
    (adoption,) = adoptions(open_session(folder))
    adopt(adoption)
    with pytest.raises(WriteError):
        adopt(adoption)


def test_shots_outside_the_choice_are_left_out(folder: Path) -> None:
    assert adoptions(open_session(folder), ["HB_010", "HB_020"]) == []
