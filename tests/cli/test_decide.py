"""`samelight decide`: decisions from the command line, by name, by pattern and for several shots."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from conftest import MakeSequence
from samelight.cli.main import main
from samelight.decisions.ledger import open_ledger
from samelight.decisions.state import State
from samelight.sequence.session import open_session

WHY = ("--reason", "as in the master")

SUN: dict[str, Any] = {"type": "distant", "azimuth": 100, "elevation": 30, "intensity": 3}
RIM: dict[str, Any] = {
    "type": "disk",
    "position": [0, 2, 0],
    "target": [0, 0, 0],
    "intensity": 1,
    "normalize": True,
}


def setup(*, azimuth: float = 100, exposure: float = 0, radius: float = 0.5) -> dict[str, Any]:
    return {
        "lights": {"sun": {**SUN, "azimuth": azimuth}, "rim": {**RIM, "exposure": exposure, "radius": radius}}
    }


@pytest.fixture
def quay(make_sequence: MakeSequence) -> Path:
    return make_sequence(
        master=setup(),
        shots={
            "Q_010": setup(),
            "Q_020": setup(azimuth=105, exposure=-1),
            "Q_030": setup(azimuth=105, exposure=0.05, radius=0.6),
        },
    )


def decide(
    capsys: pytest.CaptureFixture[str], folder: Path, *words: str, who: str = "lead"
) -> tuple[int, list[str], str]:
    try:
        status = main(["decide", str(folder), *words, "--who", who])
    except SystemExit as end:
        status = int(end.code or 0)
    out, err = capsys.readouterr()
    return status, out.splitlines(), err


def states(folder: Path) -> dict[str, State]:
    session = open_session(folder)
    return {
        f"{session.table.shots[column]} {session.table.rows[row].parameter}": state
        for (row, column), state in session.cases.judged().states.items()
    }


def test_one_cell(capsys: pytest.CaptureFixture[str], quay: Path) -> None:
    status, out, err = decide(
        capsys, quay, "intend", "Q_020", "lights.rim.level", "--reason", "he turns away"
    )
    assert (status, out, err) == (0, ["intend Q_020 lights.rim.level"], "")
    assert states(quay) == {"Q_020 lights.rim.level": State.INTENDED}
    (made,) = open_ledger(quay).all()
    assert (made.who, made.reason, made.shot, made.batch) == ("lead", "he turns away", "Q_020", "")


def test_a_pattern_over_several_shots_is_one_batch(capsys: pytest.CaptureFixture[str], quay: Path) -> None:
    status, out, _ = decide(capsys, quay, "return", "Q_010-Q_030", "lights.*.*", *WHY)
    assert status == 0
    assert out == [
        "return Q_020 lights.sun.direction",
        "return Q_030 lights.sun.direction",
        "return Q_020 lights.rim.level",
        "return Q_030 lights.rim.radius",
    ]  # not the level of Q_030, which is within its tolerance
    assert set(states(quay).values()) == {State.SENT_BACK}
    assert len({made.batch for made in open_ledger(quay).all()}) == 1


def test_a_pattern_by_type_of_light(capsys: pytest.CaptureFixture[str], quay: Path) -> None:
    _, out, _ = decide(capsys, quay, "return", "Q_020,Q_030", "lights.<distant>.*", *WHY)
    assert out == ["return Q_020 lights.sun.direction", "return Q_030 lights.sun.direction"]


def test_a_cell_within_its_tolerance_by_its_full_name(capsys: pytest.CaptureFixture[str], quay: Path) -> None:
    status, out, _ = decide(capsys, quay, "intend", "Q_030", "lights.rim.level", "--reason", "a hair more")
    assert (status, out) == (0, ["intend Q_030 lights.rim.level"])


def test_withdraw(capsys: pytest.CaptureFixture[str], quay: Path) -> None:
    decide(capsys, quay, "intend", "Q_020", "lights.*.*", "--reason", "meant")
    decide(capsys, quay, "return", "Q_020", "lights.rim.level", *WHY)
    status, out, _ = decide(capsys, quay, "withdraw", "Q_020", "lights.rim.*")
    assert status == 0
    assert out == ["withdraw Q_020 lights.rim.level"] * 2
    assert states(quay) == {
        "Q_020 lights.sun.direction": State.INTENDED,
        "Q_020 lights.rim.level": State.UNDECIDED,
    }
    status, out, err = decide(capsys, quay, "withdraw", "Q_020", "lights.rim.*")
    assert (status, out) == (2, [])
    assert "no decision on lights.rim.* of Q_020: there is nothing to withdraw" in err


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("intend", "Q_020", "lights.rim.level"), "a reason is needed"),
        (("intend", "Q_020", "lights.rim.level", "--reason", "   "), "a reason is needed"),
        (("return", "Q_020", "lights.rim.level"), "a reason is needed: say what is to be mended"),
        (("take-up", "Q_020", "lights.rim.level"), "nothing was sent back in lights.rim.level of Q_020: there is nothing to take up"),
        (("close", "Q_020", "lights.rim.level"), "nothing that was sent back is inside its tolerance in lights.rim.level"),
        (("return", "Q_20", "lights.rim.level"), "no shot Q_20 in the cut; did you mean Q_020?"),
        (("return", "Q_020", "lights.rmi.level"), "no parameter lights.rmi.level; did you mean lights.rim.level?"),
        (("return", "Q_020", "lights.kick.*"), "no parameter lights.kick.*"),
        (("return", "Q_010", "lights.rim.level"), "no drift in lights.rim.level of Q_010: there is nothing to return"),
        (("return", "Q_030", "lights.rim.l*"), "no drift in lights.rim.l* of Q_030"),
        (("withdraw", "Q_020", "lights.rim.level"), "no decision on lights.rim.level of Q_020"),
        (("intent", "Q_020", "lights.rim.level"), "error: expected intend, return, take-up, close or withdraw, found 'intent'; did you mean intend?"),
        (("return", "Q_020", "lights.rim.level", "--until-master", "x"), "--until-master: expected a whole number above 0, found 'x'"),
        (("return", "Q_020", "lights.rim.level", "--reason", "half a \udce4"), "no whole character"),
    ],
)  # fmt: skip
def test_what_cannot_be_decided(
    capsys: pytest.CaptureFixture[str], quay: Path, words: tuple[str, ...], message: str
) -> None:
    status, out, err = decide(capsys, quay, *words)
    assert (status, out) == (2, [])
    assert message in err
    assert not (quay / "decisions").exists()


def test_nobody(capsys: pytest.CaptureFixture[str], quay: Path) -> None:
    status, _, err = decide(capsys, quay, "return", "Q_020", "lights.rim.level", *WHY, who=" ")
    assert status == 2
    assert "the name of who makes it" in err


def test_the_accounts_name_is_taken_when_none_is_given(
    capsys: pytest.CaptureFixture[str], quay: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("getpass.getuser", lambda: "lighter")
    assert main(["decide", str(quay), "return", "Q_020", "lights.rim.level", *WHY]) == 0
    assert [made.who for made in open_ledger(quay).all()] == ["lighter"]


def test_a_folder_that_takes_no_files(
    capsys: pytest.CaptureFixture[str], quay: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", refuse)
    status, out, err = decide(capsys, quay, "return", "Q_020", "lights.rim.level", *WHY)
    assert (status, out) == (2, [])
    assert "could not be written: No space left on device" in err
    assert not list((quay / "decisions").iterdir())
