"""What can be written for a shot at once: signed, in its file's own text, and nothing over what somebody else published."""

from __future__ import annotations

from pathlib import Path

import pytest

from samelight.changes import adopting, fixing
from samelight.changes.mending import Mending, Way, mendings, signed, write
from samelight.decisions.decision import Verb
from samelight.sequence.session import Session, open_session
from samelight.sequence.troubles import Trouble
from samelight.sheets.errors import SamelightError
from samelight.sheets.sheet import Sheet
from samelight.sheets.trees import read_document


@pytest.fixture
def session(undecided_harbour: Path) -> Session:
    return open_session(undecided_harbour)


def mending(session: Session, shot: str, way: Way = Way.SET) -> Mending:
    return next(one for one in mendings(session, way) if one.shot == shot)


def test_the_masters_values_are_set_and_nothing_else_of_the_file_changes(session: Session) -> None:
    made = mending(session, "HB_060")
    assert [line for line in made.differences if line[0] in "+-"] == [
        "-version: 2",
        "+version: 3",
        "-  sun: {type: distant, azimuth: 143 deg, elevation: 24 deg, intensity: 3.2, exposure: 0,",
        "+  sun: {type: distant, azimuth: 131 deg, elevation: 24 deg, intensity: 3.2, exposure: 0,",
    ]
    path = write(signed(made, "mira"))
    assert path.name == "HB_060.v003.yaml"
    stated = read_document(path).data["published"]
    assert (stated["by"], stated["from"]) == ("mira", "HB_060 v002")
    assert session.reload() and "HB_060" not in {one.shot for one in mendings(session, Way.SET)}
    with pytest.raises(SamelightError, match="exists"):
        write(made)


def test_a_master_is_adopted_with_what_is_meant_kept(session: Session) -> None:
    (cell,) = session.table.places([("HB_150", "lights.bounce.level")])
    session.decide(Verb.INTEND, [cell], "mira", "It stands in the shade")
    (made,) = mendings(session, Way.ADOPT)
    assert made.shot == "HB_150"
    assert "keeps, as intended: lights.bounce.level" in made.lines
    changed = [line for line in made.differences if line[0] == "+"]
    assert "+master: 3" in changed and not any("bounce" in line for line in changed)


def test_where_decisions_cannot_be_read_nothing_is_proposed(
    session: Session, undecided_harbour: Path
) -> None:
    folder = undecided_harbour / "decisions"
    folder.mkdir(exist_ok=True)
    (folder / "2026-01-01T000000.000000Z-00000000000a.yaml").write_text("verb: int", "utf-8")
    with pytest.raises(SamelightError, match="every decision"):
        mendings(open_session(undecided_harbour), Way.SET)


@pytest.mark.parametrize(("way", "shot"), [(Way.SET, "HB_060"), (Way.ADOPT, "HB_150")])
def test_a_shot_that_fails_stops_no_other(
    session: Session, monkeypatch: pytest.MonkeyPatch, way: Way, shot: str
) -> None:
    whole = {one.shot for one in mendings(session, way)}

    def fail(sheet: Sheet, *rest: object) -> str:
        if sheet.shot == shot:
            raise ZeroDivisionError("unforeseen")
        return "text"

    monkeypatch.setattr(fixing, "next_text", fail)
    monkeypatch.setattr(adopting, "next_text", fail)
    failed: list[Trouble] = []
    assert {one.shot for one in mendings(session, way, failed=failed)} == whole - {shot}
    assert [one.shot for one in failed] == [shot]
