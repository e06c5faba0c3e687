"""From off to mended on the command line: sent back, taken up, a new version, looked at, closed or sent back again."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from conftest import MakeSequence
from rim_light import LEVEL, RIM, publish, rig
from samelight.cli.main import main
from samelight.decisions.state import State
from samelight.sequence.session import open_session


@pytest.fixture
def quay(make_sequence: MakeSequence) -> Path:
    shots = {"A": rig(), "B": rig(1), "C": rig(extra={**RIM, "position": [1, 2, 0]}), "D": rig(1)}
    return make_sequence(master=rig(), shots=shots, sequence={"lighters": {"Tomas": ["B", "C"]}})


class Desk:
    """One folder, asked by commands."""

    def __init__(self, capsys: pytest.CaptureFixture[str], folder: Path) -> None:
        self.capsys, self.folder = capsys, folder

    def run(self, *words: str) -> tuple[int, str, str]:
        status = main([words[0], str(self.folder), *words[1:]])
        return status, *self.capsys.readouterr()

    def decide(self, *words: str, who: str = "mira") -> int:
        return self.run("decide", *words, "--who", who)[0]

    def checked(self) -> dict[str, Any]:
        data: dict[str, Any] = json.loads(self.run("check", "--format", "json", "--all")[1])
        return data

    def state(self, shot: str, parameter: str = LEVEL) -> tuple[str, str]:
        cells = {(cell["shot"], cell["parameter"]): cell for cell in self.checked()["cells"]}
        return cells[shot, parameter]["state"], cells[shot, parameter]["level"]

    def findings(self, name: str) -> list[dict[str, Any]]:
        return [finding for finding in self.checked()["findings"] if finding["finding"] == name]


@pytest.fixture
def desk(capsys: pytest.CaptureFixture[str], quay: Path) -> Desk:
    return Desk(capsys, quay)


def test_a_case_from_off_to_closed(desk: Desk) -> None:
    assert desk.decide("return", "B", LEVEL, "--reason", "as in the master") == 0
    assert desk.state("B") == ("sent back", "drift")
    assert desk.decide("take-up", "B", "lights.*", who="Tomas") == 0
    assert desk.state("B") == ("taken up", "drift")
    assert desk.checked()["cases"]["sent_back"] == 1
    publish(desk.folder, "B", 2, rig(0.5))
    assert desk.state("B") == ("mended", "drift")  # another value, and not right
    (lapsed,) = desk.findings("lapsed")
    assert "was sent back in B and came back different, but not right" in lapsed["says"]
    assert lapsed["known"] == "The reason given was: as in the master."
    status, _, err = desk.run("decide", "close", "B", LEVEL)
    assert status == 2 and "nothing that was sent back is inside its tolerance" in err
    assert desk.decide("return", "B", LEVEL, "--reason", "all of the stop") == 0
    assert desk.state("B") == ("sent back", "drift")
    publish(desk.folder, "B", 3, rig(0.5))
    assert "came back as it was in a newer version" in desk.findings("lapsed")[0]["says"]
    publish(desk.folder, "B", 4, rig())
    assert desk.state("B") == ("mended", "same")
    (mended,) = desk.findings("mended")
    assert (mended["shots"], mended["state"], mended["lighters"]) == (["B"], "mended", ["Tomas"])
    assert mended["known"] == "The reason given was: all of the stop."
    assert desk.decide("close", "B", LEVEL) == 0
    assert desk.state("B") == ("closed", "same")
    assert not desk.findings("mended") and not desk.findings("lapsed")
    assert len(list((desk.folder / "decisions").iterdir())) == 4
    publish(desk.folder, "B", 5, rig(1))
    assert desk.state("B") == ("asks again", "drift")


def test_what_is_mended_inside_its_tolerance_may_go_back_again(desk: Desk) -> None:
    desk.decide("return", "B", LEVEL, "--reason", "as in the master")
    publish(desk.folder, "B", 2, rig())
    assert desk.decide("return", "B", LEVEL, "--reason", "now it is flat") == 0
    assert desk.state("B") == ("sent back", "same")
    publish(desk.folder, "B", 3, rig())
    assert desk.state("B") == ("mended", "same")


def test_a_light_that_was_taken_out_is_closed_by_the_name_it_had(desk: Desk) -> None:
    desk.decide("return", "C", "lights.extra", "--reason", "take it out")
    publish(desk.folder, "C", 2, rig())
    (mended,) = desk.findings("mended")
    assert mended["says"] == "lights.extra was sent back in C and is not there any more."
    assert [(case["shot"], case["parameter"], case["state"]) for case in mended["cases"]] == [
        ("C", "lights.extra", "mended")
    ]
    assert desk.decide("close", "C", "lights.extra") == 0
    assert not desk.findings("mended")
    publish(desk.folder, "C", 3, rig(extra={**RIM, "position": [1, 2, 0]}))
    assert desk.state("C", "lights.extra") == ("asks again", "drift")


def test_what_a_finding_said_and_says_no_longer_is_mended(
    capsys: pytest.CaptureFixture[str], make_sequence: MakeSequence
) -> None:
    shot = rig() | {"cost": {"test_frame": "600s"}}
    shots: dict[str, Any] = {f"S{n}": shot for n in range(9)} | {
        "S9": rig() | {"cost": {"test_frame": "3000s"}}
    }
    desk = Desk(capsys, make_sequence(master=rig(), shots=shots))
    assert desk.decide("return", "S9", "findings.render-time", "--reason", "fewer samples") == 0
    publish(desk.folder, "S9", 2, shot)
    (mended,) = desk.findings("mended")
    assert [case["parameter"] for case in mended["cases"]] == ["findings.render-time"]
    assert desk.decide("close", "S9", "findings.*") == 0
    assert not desk.findings("mended")


def test_a_shot_whose_sheet_cannot_be_read_is_not_mended(desk: Desk) -> None:
    desk.decide("return", "B", LEVEL, "--reason", "as in the master")
    desk.decide("return", "C", "lights.extra", "--reason", "take it out")
    for shot in "BC":
        (desk.folder / f"shots/{shot}/{shot}.v002.yaml").write_text("samelight: 2\nlights: [", "utf-8")
    assert not desk.findings("mended")
    session = open_session(desk.folder)
    row, column = session.table.row(LEVEL), session.table.column("B")
    assert row is not None and column is not None and session.cases.state(row, column) is State.SENT_BACK


def test_an_act_of_each_step_is_done_once(desk: Desk) -> None:
    desk.decide("return", "B", LEVEL, "--reason", "as in the master")
    for verb in ("take-up", "close"):
        words = ("decide", verb, "B", LEVEL, "--act", f"queue-{verb}")
        first = desk.run(*words)
        count = len(list((desk.folder / "decisions").iterdir()))
        assert first[0] == 0 and desk.run(*words) == first
        assert len(list((desk.folder / "decisions").iterdir())) == count
        publish(desk.folder, "B", 2, rig())
