"""What is new, moved and mended since a saved check or a moment, the same whichever says how things stood then."""

from __future__ import annotations

import os
from datetime import UTC, datetime
from pathlib import Path

import pytest

from conftest import MakeSequence
from rim_light import LEVEL, rig
from samelight.cli.main import main
from samelight.reports.since import Since, since_check, since_moment
from samelight.sequence.case_events import Event, snapshot
from samelight.sequence.session import open_session
from samelight.sheets.errors import SamelightError
from samelight.sheets.writing import write_sheet

MONDAY = datetime(2026, 9, 14, 18, 0, tzinfo=UTC)


@pytest.fixture
def monday(make_sequence: MakeSequence) -> Path:
    """A sequence whose files are of Monday."""
    shots = {"A": rig(1), "B": rig(1), "C": rig(), "D": rig(1)}
    folder = make_sequence(master=rig(), shots=shots)
    for path in folder.rglob("*.yaml"):
        os.utime(path, (MONDAY.timestamp() - 60, MONDAY.timestamp() - 60))
    return folder


def go_on(folder: Path) -> None:
    """Mend A, move B and break C, on Tuesday."""
    for shot, exposure in (("A", 0), ("B", 2), ("C", 1)):
        stated = {"samelight": 2, "shot": shot, "version": 2}
        write_sheet(folder / f"shots/{shot}/{shot}.v002.yaml", {**stated, **rig(exposure)})


HAPPENED = {("A", LEVEL): Event.GONE, ("B", LEVEL): Event.MOVED, ("C", LEVEL): Event.OPENED}


@pytest.mark.parametrize("by", ["check", "moment", "look"])
def test_what_happened_is_the_same_by_a_check_a_moment_and_a_look(
    monday: Path, by: str, capsys: pytest.CaptureFixture[str]
) -> None:
    main(["check", str(monday), "--format", "json"])
    saved = monday.parent / "monday.json"
    saved.write_text(capsys.readouterr().out, "utf-8")
    looked = Since("I last looked", snapshot(open_session(monday)))
    go_on(monday)
    session = open_session(monday)
    since = {
        "check": lambda: since_check(session, saved),
        "moment": lambda: since_moment(session, MONDAY),
        "look": lambda: looked,
    }[by]()
    happened = {name: event for name, event in since.happened(session).items() if name[1] == LEVEL}
    assert happened == HAPPENED
    assert since.sentence(happened) == f"Since {since.says}: 1 mended, 1 new, 1 moved"


def test_before_there_was_anything_all_is_new(monday: Path) -> None:
    session = open_session(monday)
    since = since_moment(session, datetime(2020, 1, 1, tzinfo=UTC))
    assert set(since.happened(session).values()) == {Event.OPENED}
    assert since_moment(session, MONDAY).happened(session) == {}
    assert since_moment(session, MONDAY).sentence({}) == "Since 14 September 18:00: nothing changed"


def test_what_was_not_looked_at_did_not_change(monday: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["check", str(monday), "--format", "json", "--shots", "A,D"])
    saved = monday.parent / "some.json"
    saved.write_text(capsys.readouterr().out, "utf-8")
    go_on(monday)
    session = open_session(monday)
    happened = since_check(session, saved).happened(session)
    assert {name[0] for name in happened} == {"A"}
    slip = saved.read_text("utf-8").replace('"state": "undecided"', '"state": "shelved"', 1)
    for text, says in (("{}", r"some\.json"), (slip, r"some\.json.*expected one of undecided.*shelved")):
        saved.write_text(text, "utf-8")
        with pytest.raises(SamelightError, match=says):
            since_check(session, saved)
