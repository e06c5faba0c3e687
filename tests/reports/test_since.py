"""What is new, moved and mended since a saved check or a moment, the same whichever says how things stood then."""

from __future__ import annotations

import os
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

from conftest import MakeSequence
from rim_light import LEVEL, publish, rig
from samelight.cli.main import main
from samelight.decisions.decision import Verb
from samelight.reports.since import Since, since_check, since_moment
from samelight.sequence.case_events import Event, as_rows, from_rows, snapshot
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


def test_a_case_is_told_of_at_each_step_of_its_life(make_sequence: MakeSequence) -> None:
    folder = make_sequence(master=rig(), shots={"B": rig(1), "C": rig()})
    session = open_session(folder)

    def decide(verb: Verb, reason: str = "") -> None:
        row, column = session.table.row(LEVEL), session.table.column("B")
        assert row is not None and column is not None
        session.decide(verb, [(row, column)], "mira", reason)

    steps: list[tuple[Event | None, str, Callable[[], object]]] = [
        (Event.OPENED, "C", lambda: publish(folder, "C", 2, rig(2))),
        (Event.MOVED, "C", lambda: publish(folder, "C", 3, rig(1))),
        (Event.GONE, "C", lambda: publish(folder, "C", 4, rig())),
        (Event.SENT_BACK, "B", lambda: decide(Verb.RETURN, "as in the master")),
        (Event.TAKEN_UP, "B", lambda: decide(Verb.TAKE_UP)),
        (Event.MENDED, "B", lambda: publish(folder, "B", 2, rig())),
        (Event.CLOSED, "B", lambda: decide(Verb.CLOSE)),
        (Event.ASKS_AGAIN, "B", lambda: publish(folder, "B", 3, rig(1))),
        (None, "", lambda: None),
    ]
    for event, shot, step in steps:
        looked = Since("I last looked", from_rows(as_rows(snapshot(session))))
        step()
        session.reload()
        happened = {name: said for name, said in looked.happened(session).items() if name[1] == LEVEL}
        assert happened == ({(shot, LEVEL): event} if event else {})


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
