"""The ledger on the command line: its receipt, acts that are done once, and a deed whose answer cannot be printed."""

from __future__ import annotations

import io
import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

from samelight.cli.main import main
from samelight.decisions.decision import Verb
from samelight.decisions.ledger import open_ledger
from samelight.sequence.session import open_session

WHY = ("--reason", "as in the master")
APP = Path(__file__).parents[2] / "app"


def run(capsys: pytest.CaptureFixture[str], *words: object) -> tuple[int, str, str]:
    status = main([str(word) for word in words])
    out, err = capsys.readouterr()
    return status, out, err


def test_two_machines_can_tell_whether_they_judged_by_the_same(
    capsys: pytest.CaptureFixture[str], harbour: Path
) -> None:
    receipt = open_ledger(harbour).receipt
    _, out, _ = run(capsys, "check", harbour)
    assert f"ledger {receipt}" in out.splitlines()
    for words in (["check", harbour, "--format", "json"], ["report", harbour, "--format", "json"]):
        assert json.loads(run(capsys, *words)[1])["ledger"] == receipt
    for form in ("markdown", "html"):
        assert receipt in run(capsys, "report", harbour, "--format", form)[1]
    status = run(capsys, "check", harbour)[0]
    for words in (["check", harbour, "--format", "junit"], ["report", harbour, "--format", "junit"]):
        suite = ElementTree.fromstring(run(capsys, *words)[1]).find("testsuite")
        assert suite is not None and suite[0].tag == "properties" and suite[0][0].get("value") == receipt
    assert run(capsys, "check", harbour, "--ledger", receipt)[0] == status != 2
    session = open_session(harbour)
    session.decide(Verb.RETURN, session.cases.unsettled_cells()[:1], "lead")
    again, out, err = run(capsys, "check", harbour, "--ledger", receipt, "--quiet")
    assert (again, out) == (2, "")
    assert f"are ledger {session.ledger.receipt}, and not ledger {receipt}" in err


def test_one_that_is_missing_or_altered_ends_a_check_with_2_and_its_name(
    capsys: pytest.CaptureFixture[str], harbour: Path
) -> None:
    session = open_session(harbour)
    first, second = (
        session.decide(Verb.RETURN, [cell], "lead")[0] for cell in session.cases.unsettled_cells()[:2]
    )
    path = harbour / "decisions" / f"{first.id}.yaml"
    text = path.read_text("utf-8")
    for found in ("nothing there", "another text"):
        path.unlink(missing_ok=True)
        if found == "another text":
            path.write_text(text.replace("who: lead", "who: dale"), "utf-8")
        status, out, _ = run(capsys, "check", harbour, "--format", "json")
        assert status == 2
        (trouble,) = (one for one in json.loads(out)["troubles"] if first.id in one)
        assert second.id in trouble and found in trouble
        assert run(capsys, "check", harbour, "--quiet")[0] == 2
        assert first.id in run(capsys, "report", harbour, "--format", "junit")[1]
    path.write_text(text, "utf-8")
    assert run(capsys, "check", harbour, "--quiet")[0] == 1


@pytest.mark.parametrize("verb", ["return", "withdraw"])
def test_an_act_is_done_once(capsys: pytest.CaptureFixture[str], harbour: Path, verb: str) -> None:
    words = ["decide", harbour, verb, "HB_110", "lights.rim.colour", *WHY, "--act", "queue-7"]
    if verb == "withdraw":
        run(capsys, "decide", harbour, "return", "HB_110", "lights.rim.colour", *WHY)
    first = run(capsys, *words)
    count = len(open_ledger(harbour).all())
    assert first[0] == 0 and run(capsys, *words) == first
    assert len(open_ledger(harbour).all()) == count


class _Full(io.StringIO):
    def write(self, text: str) -> int:
        raise OSError(28, "No space left on device")


@pytest.mark.parametrize("stream", ["full", "closed"])
def test_a_decision_stands_though_its_answer_cannot_be_printed(
    capsys: pytest.CaptureFixture[str], harbour: Path, monkeypatch: pytest.MonkeyPatch, stream: str
) -> None:
    count = len(open_ledger(harbour).all())
    target: Any = _Full()
    if stream == "closed":
        target = io.StringIO()
        target.close()
    with monkeypatch.context() as patched:
        patched.setattr(sys, "stdout", target)
        patched.setattr("samelight.cli.main.prepare_streams", lambda: None)
        patched.setattr("samelight.cli.main.drop_stdout", lambda: None)
        status = main(["decide", str(harbour), "return", "HB_110", "lights.rim.colour", *WHY])
    assert len(open_ledger(harbour).all()) == count + 1
    assert "the decision stands, which could not be printed: " in capsys.readouterr().err
    assert status == 0


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="there is no such device here")
def test_a_full_device(harbour: Path) -> None:
    count = len(open_ledger(harbour).all())
    with open("/dev/full", "w", encoding="utf-8") as full:  # noqa: PTH123 - a device
        ended = subprocess.run(
            [
                sys.executable,
                "-m",
                "samelight",
                "decide",
                str(harbour),
                "return",
                "HB_110",
                "lights.rim.colour",
                *WHY,
            ],
            stdout=full,
            stderr=subprocess.PIPE,
            env={**os.environ, "PYTHONPATH": str(APP)},
            check=False,
        )
    assert ended.returncode == 0
    assert b"the decision stands, which could not be printed: No space left on device" in ended.stderr
    assert len(open_ledger(harbour).all()) == count + 1
