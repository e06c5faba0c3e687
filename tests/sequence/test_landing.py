"""The sample with rendered frames: what its README says that a careful person finds."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from samelight.changes.matching import Match, matches
from samelight.drift.cells import Grade
from samelight.reports.colour_cloud import Of, clouds
from samelight.sequence.measured import Measurements
from samelight.sequence.measuring import frames_in, measure_shot
from samelight.sequence.session import Session, open_session
from samelight.sequence.store import SheetStore
from samelight.sheets.measured import file_of
from samelight.sheets.resources import sample_sequence

SAMPLE = sample_sequence("landing")


@pytest.fixture(scope="module")
def session() -> Session:
    return open_session(SAMPLE)


def drift(session: Session, parameter: str, shot: str) -> float:
    row, column = session.table.row(parameter), session.table.column(shot)
    assert row is not None and column is not None
    return float(session.table.drift[row, column])


def told(session: Session, name: str) -> dict[tuple[str, ...], str]:
    return {finding.shots: finding.says for finding in session.cases.findings if finding.finding == name}


def test_what_is_kept_is_what_the_frames_show(session: Session) -> None:
    """One shot is measured anew: the same file comes of it, to the last figure but for the time at which the frame was written."""
    frames, known = frames_in(SAMPLE), Measurements(SheetStore(SAMPLE))
    (kept,) = known.of("LA_060")
    anew = measure_shot(SAMPLE, session.contents.sheets["LA_060"], *frames["LA_060"])
    written = re.compile(r'"written": [0-9.]+')
    assert written.sub("", file_of(anew)[1]) == written.sub("", file_of(kept)[1])
    assert set(session.contents.measured) == set(session.contents.shots)
    assert all(witness.is_current for witness in session.contents.measured.values())


def test_the_sample_is_small() -> None:
    assert sum(path.stat().st_size for path in Path(SAMPLE).rglob("*") if path.is_file()) < 1_500_000


def test_the_story(session: Session) -> None:
    for shot in ("LA_020", "LA_060"):
        assert abs(drift(session, "picture.face.unexplained", shot)) < 0.09, shot
    assert set(told(session, "old-frame")) == {("LA_030",)}
    assert "in frame 1025 it is 0.7 stops darker" in told(session, "unsteady")["LA_070",]
    unlike = told(session, "unlike-sheet")
    assert set(unlike) == {("LA_040",), ("LA_050",)}
    assert "something stands in the way" in unlike["LA_040",]
    assert "all its lights are off alike" in unlike["LA_050",]
    assert drift(session, "picture.face.unexplained.lantern", "LA_040") < -2.0
    assert abs(drift(session, "picture.face.unexplained.window", "LA_040")) < 0.1
    assert drift(session, "picture.face.unexplained", "LA_050") == pytest.approx(-0.74, abs=0.03)
    # The subject by the sheets, and in the frames.
    by_sheet, in_frame = (
        drift(session, f"{section}.face.level", "LA_060") for section in ("subject", "picture")
    )
    assert by_sheet < -0.5 and in_frame == pytest.approx(by_sheet, abs=0.15)


def test_the_layers_are_the_picture(session: Session) -> None:
    marks = [
        witness.measured.marks["face"]
        for shot, witness in session.contents.measured.items()
        if shot != "LA_070"
    ]
    assert all(mark.lights and abs(mark.layers_off or 0.0) < 0.01 for mark in marks)


def test_a_match(session: Session) -> None:
    (match,) = matches(session, {"LA_060"})
    assert isinstance(match, Match)
    assert match.before < -0.5 and abs(match.after) < 0.1 and not match.notes
    assert match.trims[0].light == "lantern" and match.trims[0].stops > 0.5
    assert [edit.name for trim in match.trims for edit in trim.edits] == ["exposure"] * len(match.trims)
    # Nothing of the picture of an old frame, of one that is not as its sheet says, and of one without layers can be believed.
    old, hidden, bare = matches(session, {"LA_030", "LA_040", "LA_070"})
    assert isinstance(old, str) and "version 1" in old
    assert isinstance(hidden, Match) and hidden.notes[0].startswith(
        "the frame is not what its sheet leads one to expect"
    )
    assert bare == "LA_070: there is no mark whose light was measured by layers both there and in LA_010"


def test_nothing_but_the_story_is_off(session: Session) -> None:
    rows = session.table.rows
    off = {
        session.table.shots[column]
        for row, of_row in enumerate(session.table.grade)
        for column in (of_row >= Grade.DRIFT).nonzero()[0].tolist()
        if rows[row].section not in ("picture", "subject")
    }
    assert not off


def test_the_colours_of_the_face_in_the_frames(session: Session) -> None:
    cloud = clouds(session.table, {"LA_010"})[Of.FRAMES]
    assert [one.shot for one in cloud.points if one.is_apart] == [
        "LA_040"
    ]  # of the lantern little arrives there
    assert [one.shot for one in cloud.points if one.is_key] == ["LA_010"]
    assert [ring.radius for ring in cloud.rings] == [pytest.approx(30 * 0.0011)]
