from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from conftest import MakeSequence
from samelight.changes.adopting import adopt, adoptions
from samelight.cli.main import main
from samelight.decisions.decision import Verb
from samelight.drift.cells import Grade
from samelight.sequence.session import Session, open_session
from samelight.sheets.writing import WriteError, write_sheet


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
    assert again.contents.sheets["HB_150"].master == 3
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


MOVING = {"keys": [[1, [1, 0, 0]], [10, [2, 0, 0]]], "interpolation": "linear"}
FILL = {"type": "point", "position": [0, 1, 0], "intensity": 1.0}


def test_a_new_light_that_the_shot_cannot_hold_is_said_and_not_taken(make_sequence: MakeSequence) -> None:
    key = {"type": "point", "position": MOVING, "intensity": 2.0}
    folder = make_sequence(
        master=[{"lights": {"fill": FILL}}, {"lights": {"fill": FILL, "key": key}}],
        shots={
            "QU_010": {
                "master": 1,
                "units": {"length": "cm"},
                "lights": {"fill": {**FILL, "position": [0, 100, 0]}},
            }
        },
    )
    (adoption,) = adoptions(open_session(folder))
    assert (adoption.taken, adoption.left) == ((), ("lights.key",))
    assert set(adoption.tree["lights"]) == {"fill"}


def test_a_shot_follows_one_master_after_another(make_sequence: MakeSequence) -> None:
    """The angles that the first adoption types are rounded, and still count as the master's direction."""

    def aimed(azimuth: float, elevation: float) -> dict[str, Any]:
        light = {"type": "rect", "position": [0, 3, 0], "intensity": 1.0, "width": 1, "height": 1}
        return {"lights": {"key": {**light, "azimuth": azimuth, "elevation": elevation}}}

    light = {"type": "rect", "position": [0, 3, 0], "intensity": 1.0, "width": 1, "height": 1}
    turned = {"lights": {"key": {**light, "rotation": [10, 20, 30]}}}
    folder = make_sequence(master=[turned, aimed(10.123, -33.3)], shots={"QU_010": {"master": 1, **turned}})
    (first,) = adoptions(open_session(folder))
    assert first.taken == ("lights.key.direction",)
    adopt(first)
    write_sheet(folder / "master/master.v003.yaml", {"samelight": 2, "version": 3, **aimed(52.91, 33.3)})
    (second,) = adoptions(open_session(folder))
    assert (second.base, second.taken, second.held) == (2, ("lights.key.direction",), ())
    adopt(second)
    assert drifting(open_session(folder), "QU_010") == set()


def test_without_a_master_there_is_nothing_to_adopt(
    make_sequence: MakeSequence, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["adopt", str(make_sequence(shots={"QU_010": {}}))]) == 2
    assert "there is no master setup to adopt" in capsys.readouterr().err


@pytest.mark.parametrize("command", [["adopt"], ["publish", "--preview"], ["fix"], ["plan"]])
def test_commands_say_what_could_not_be_read(
    folder: Path, capsys: pytest.CaptureFixture[str], command: list[str]
) -> None:
    (folder / "shots/HB_030/HB_030.v001.yaml").write_text("lights: 3", encoding="utf-8")
    name, *options = command
    assert main([name, str(folder), *options]) == 2
    assert "HB_030 is unreadable" in capsys.readouterr().err


SPOT = {"type": "spot", "intensity": 2.0, "cone": 30}
"""A light whose place stands in a transform, as captured."""


def standing(x: float, turn: float, nudge: float = 0.0) -> dict[str, Any]:
    """Turned about the vertical by quarters, at x and a bit."""
    turns = {0.0: ([1, 0, 0], [0, 0, 1]), 90.0: ([0, 0, -1], [1, 0, 0])}[turn]
    matrix = [*turns[0], 0, 0, 1, 0, 0, *turns[1], 0, x + nudge, 2, 1, 1]
    return {"lights": {"key": {**SPOT, "matrix": matrix}}}


def carried(make_sequence: MakeSequence, **shot: Any) -> tuple[Session, Any]:
    folder = make_sequence(
        master=[standing(0.15, 0.0), standing(3.0, 90.0)], shots={"QU_010": {"master": 1, **shot}}
    )
    session = open_session(folder)
    (adoption,) = adoptions(session)
    return session, adoption


def test_what_a_transform_of_32_bits_leaves_is_no_place_of_its_own(make_sequence: MakeSequence) -> None:
    """9e-9 m: the shot stands where the old master stands, and takes the new place and direction alike."""
    session, adoption = carried(make_sequence, **standing(0.15, 0.0, nudge=9e-9))
    assert adoption.taken == ("lights.key.direction", "lights.key.position")
    assert adoption.held == ()
    adopt(adoption)
    again = open_session(session.contents.folder)
    key = again.contents.sheets["QU_010"].sections["lights"]["key"]
    assert key["position"] == (3.0, 2.0, 1.0)
    assert drifting(again, "QU_010") == set()


@pytest.mark.parametrize("own", [standing(0.5, 0.0), standing(0.15, 90.0, nudge=1.0)])
def test_a_light_with_a_place_of_its_own_keeps_its_direction_with_it(
    own: dict[str, Any], make_sequence: MakeSequence
) -> None:
    session, adoption = carried(make_sequence, **own)
    assert adoption.taken == ()
    assert set(adoption.held) == {"lights.key.position", "lights.key.direction"}
    row, column = session.table.row("lights.key.position"), session.table.column("QU_010")
    assert row is not None and column is not None
    session.decide(Verb.INTEND, [(row, column)], "lead", "stands by the door here")
    (adoption,) = adoptions(session)
    assert set(adoption.kept) == {"lights.key.position", "lights.key.direction"}


def test_half_an_adoption_is_completed(make_sequence: MakeSequence) -> None:
    """The new master's direction in the old one's place: the place is taken."""
    _, adoption = carried(make_sequence, **standing(0.15, 90.0))
    assert (adoption.taken, adoption.held) == (("lights.key.position",), ())


@pytest.mark.parametrize("words", [["adopt"], ["fix", "--sheet"]])
def test_where_decisions_are_not_known_nothing_that_may_be_intended_is_written_over(
    folder: Path, capsys: pytest.CaptureFixture[str], words: list[str]
) -> None:
    (folder / "decisions").mkdir()
    (folder / "decisions" / "a.yaml").write_text("verb: int", encoding="utf-8")
    before = sorted(folder.rglob("*"))
    command = [words[0], str(folder), *words[1:]]
    assert main(command) == 2
    assert main([*command, "--write"]) == 2
    assert "nothing is written: Samelight cannot read every decision" in capsys.readouterr().err
    assert sorted(folder.rglob("*")) == before
    (folder / "decisions" / "a.yaml").unlink()
    assert main([*command, "--write"]) == 0
    assert sorted(folder.rglob("*")) != before


def test_a_shot_that_cannot_be_read_is_not_adopted_in_silence(folder: Path) -> None:
    (folder / "shots/HB_120/HB_120.v002.yaml").write_text("lighst: {}", encoding="utf-8")
    assert main(["adopt", str(folder)]) == 2
    assert main(["adopt", str(folder), "--shots", "HB_150"]) == 0
