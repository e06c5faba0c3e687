"""Where the review stands in the cut and what it says of a shot, without a window."""

from __future__ import annotations

from pathlib import Path

import pytest

from conftest import MakeSequence
from known import there
from samelight.decisions.decision import Verb
from samelight.decisions.state import State
from samelight.drift.cells import Grade
from samelight.gui.review.review_state import Other, ReviewState
from samelight.gui.review.review_words import decisions_html, drifts_html
from samelight.sequence.references import Against, Reference
from samelight.sequence.session import Session, open_session

OPEN = ["HB_050", "HB_060", "HB_070", "HB_080", "HB_090", "HB_100", "HB_110", "HB_120", "HB_130"]


@pytest.fixture
def state(harbour_session: Session) -> ReviewState:
    return ReviewState(harbour_session)


def parameters(state: ReviewState) -> set[str]:
    return {state.session.table.rows[row].parameter for row, _ in state.said.unsettled_cells()}


def test_stepping_by_the_cut(state: ReviewState) -> None:
    assert state.shot == "HB_010"
    assert not state.step(-1)
    assert state.step(1) and state.shot == "HB_020"
    assert state.to_end(last=True) and state.shot == "HB_240"
    assert not state.step(1)
    assert (state.beside(-1), state.beside(1)) == ("HB_230", None)
    assert state.place_text() == "24 of 24, against master 3, Ines"
    assert state.to_end(last=False) and state.shot == "HB_010"
    assert not state.go("HB_999") and not state.go("HB_010")


def test_only_shots_with_something_open_are_stopped_at(state: ReviewState) -> None:
    state.go("HB_040")
    seen = []
    for _ in OPEN:
        assert state.to_unsettled(1)
        seen.append(state.shot)
    assert seen == OPEN
    state.go("HB_050")
    assert state.to_unsettled(-1) and state.shot == "HB_030"
    assert state.to_unsettled(-1) and state.shot == "HB_020"
    # Round the end of the cut.
    assert state.to_unsettled(-1) and state.shot == "HB_220"


def test_a_finding_about_no_cell_is_stopped_at_too(harbour_session: Session) -> None:
    """With every cell intended, what is left is a slow render and a background pass under a moving camera."""
    harbour_session.decide(Verb.INTEND, harbour_session.cases.unsettled_cells(), "lead", "all of it")
    harbour_session.refresh_findings()
    state = ReviewState(harbour_session, "HB_060")
    assert state.to_unsettled(1) and (state.shot, state.said.count_text().split(", ")[0]) == (
        "HB_170",
        "1 undecided",
    )
    assert state.to_unsettled(1) and state.shot == "HB_220"
    assert "the camera moves" in drifts_html(state, state.said.drifts())
    assert state.to_unsettled(1) and state.shot == "HB_170"


def test_where_nothing_is_open_there_is_nowhere_to_go(make_sequence: MakeSequence) -> None:
    lights = {"lights": {"sun": {"type": "distant", "azimuth": 131, "elevation": 24, "intensity": 1}}}
    folder = make_sequence("calm", master=lights, shots={"A": lights, "B": lights})
    state = ReviewState(open_session(folder))
    assert not state.to_unsettled(1) and not state.to_unsettled(-1) and state.shot == "A"


def test_the_other_frame(state: ReviewState) -> None:
    state.go("HB_060")
    assert [state.other(which) for which in Other] == ["HB_040", "HB_050", "HB_070", None, "HB_060"]
    assert state.other_title(Other.KEY) == "HB_040, key shot"
    assert state.other_title(Other.CHOSEN) == "Type a shot to compare with (A)"
    assert (state.compare_with("17"), state.other(Other.CHOSEN)) == ("HB_170", "HB_170")
    assert (state.compare_with("nothing"), state.other_title(Other.CHOSEN)) == (None, "HB_170")
    state.go("HB_170")
    assert (state.other(Other.CHOSEN), state.other_title(Other.CHOSEN)) == (None, "This is that shot")
    state.go("HB_040")
    assert (state.other(Other.KEY), state.other_title(Other.KEY)) == (None, "This is the key shot")
    state.to_end(last=False)
    assert (state.other(Other.BEFORE), state.other_title(Other.BEFORE)) == (None, "There is no shot before")


def test_the_master_names_the_key_shot_where_the_sequence_does_not(harbour_folder: Path) -> None:
    file = harbour_folder / "sequence.yaml"
    file.write_text(file.read_text(encoding="utf-8").replace("key_shot: HB_040\n", ""), encoding="utf-8")
    assert ReviewState(open_session(harbour_folder)).other(Other.KEY) == "HB_040"


def test_what_drifts_in_words_the_worst_first(state: ReviewState) -> None:
    state.go("HB_060")
    said = state.said.drifts()
    assert said[0].says.startswith("The sun stands 11° further south in HB_050 to HB_080")
    assert (said[0].grade, said[0].drift) == (Grade.BREAK, "11.0°")
    assert [one.grade for one in said] == sorted((one.grade for one in said), reverse=True)
    state.go("HB_160")
    (only,) = state.said.drifts()
    assert (only.drift, only.do) == ("×0.0833", "Set it to 96 again.")


def test_every_open_cell_of_every_shot_is_told(state: ReviewState) -> None:
    """Either by a finding that is among the sentences, or by a sentence of its own."""
    for shot in state.shots:
        state.go(shot)
        told = {
            cell
            for finding in state.session.cases.findings
            for cell in finding.cells
            if finding.says in {said.says for said in state.said.drifts()}
        }
        rest = [cell for cell in state.said.unsettled_cells() if cell not in told]
        assert len(state.said.drifts()) >= len(rest)
        assert bool(state.said.unsettled_cells()) <= bool(state.said.drifts())


def test_what_is_said_of_a_shot_is_what_all_cells_of_the_film_say_of_it(state: ReviewState) -> None:
    session, table = state.session, state.session.table
    cells = session.cases.unsettled_cells()
    session.decide(Verb.INTEND, cells[::2], "lead", "meant")
    session.decide(Verb.RETURN, cells[1::4], "lead")
    everything = session.cases.unsettled_cells()
    for shot in state.shots:
        state.go(shot)
        column = table.column(shot)
        here = [cell for cell in everything if cell[1] == column]
        assert state.said.unsettled_cells() == here
        intended = [
            cell
            for cell, judged in session.cases.judged().states.items()
            if cell[1] == column and judged is State.INTENDED and session.cases.case_mask()[cell]
        ]
        said = state.said.count_text().split(", ")
        states = [session.cases.state(*cell) for cell in here] + [
            case.state for case in state.said.unsettled_cases()
        ]
        left = len(states) - states.count(State.SENT_BACK)
        assert (f"{left} undecided" in said) is bool(left)
        assert (f"{len(intended)} intended" in said) is bool(intended)
        about = [name for decided in state.said.decisions() for name in decided.parameters]
        assert len(about) == len(session.cases.judged().rows.get(there(column), ()))


def test_the_open_shots_are_those_with_an_open_cell(state: ReviewState) -> None:
    session = state.session
    session.cases.take_findings([])
    session.decide(
        Verb.INTEND, [cell for cell in session.cases.unsettled_cells() if cell[1] % 2], "lead", "meant"
    )
    session.cases.take_findings([])
    wanted = {session.table.shots[column] for _, column in session.cases.unsettled_cells()}
    seen = set()
    for _ in state.shots:
        state.to_unsettled(1)
        seen.add(state.shot)
    assert seen == wanted


def test_a_cell_that_no_finding_tells_has_its_own_sentence(state: ReviewState) -> None:
    state.go("HB_180")
    state.session.cases.take_findings([])
    says = [said.says for said in state.said.drifts()]
    assert says[0].startswith("window_fill stands 60 cm from its place")
    assert len(says) == len(state.said.unsettled_cells())


def test_what_is_intended_stands_apart_with_who_and_why(state: ReviewState) -> None:
    state.go("HB_180")
    cells = state.said.unsettled_cells()
    position = [cell for cell in cells if state.session.table.rows[cell[0]].leaf == "position"]
    rest = [cell for cell in cells if cell not in position]
    state.session.decide(Verb.INTEND, position, "ada", "Clears the crane")
    state.session.decide(Verb.RETURN, rest, "lead", "aim it back")
    state.session.note("HB_180", "Ask what the crane does", "lead")
    state.session.refresh_findings()
    first, second = state.said.decisions()
    assert (first.state, first.who, first.reason) == (State.INTENDED, "ada", "Clears the crane")
    assert first.parameters == ("window_fill's position",)
    assert (second.state, second.reason, len(second.parameters)) == (
        State.SENT_BACK,
        "aim it back",
        len(rest),
    )
    assert [note.reason for note in state.said.notes()] == ["Ask what the crane does"]
    assert position[0] not in state.said.unsettled_cells()
    assert state.said.count_text() == f"{len(rest)} sent back, 1 intended"
    html = decisions_html(state)
    assert html.index("Intended") < html.index("Sent back") < html.index("Note")


def test_a_shot_as_the_master(state: ReviewState) -> None:
    state.go("HB_010")
    assert (state.said.drifts(), state.said.count_text()) == ([], "matches the master")
    assert "the shot matches the master" in drifts_html(state, state.said.drifts())
    assert state.choice.verdict_text(Verb.INTEND) == "Nothing to decide or mend in this shot"


def test_a_shot_without_a_readable_sheet_says_so(harbour_folder: Path) -> None:
    for path in (harbour_folder / "shots/HB_060").glob("*.yaml"):
        path.write_text("samelight: 2\nlighst: {}\n", encoding="utf-8")
    state = ReviewState(open_session(harbour_folder), "HB_060")
    assert state.said.count_text() == "no readable sheet"
    assert "HB_060" in state.said.drifts()[0].says
    assert state.said.unsettled_cells() == []


def test_a_shot_that_was_sent_back_and_is_mended_is_as_the_master(
    state: ReviewState, harbour_folder: Path
) -> None:
    session = state.session
    assert session.contents.folder == harbour_folder
    state.go("HB_160")
    session.decide(Verb.RETURN, state.said.unsettled_cells(), "lead")
    sheet = session.contents.sheets["HB_160"].path
    text = sheet.read_text(encoding="utf-8")
    sheet.write_text(text.replace("volume: {samples: 8,", "volume: {samples: 96,"), encoding="utf-8")
    assert session.reload()
    state.take(session)
    assert [decided.state for decided in state.said.decisions()] == [State.MENDED]
    assert state.said.count_text() == "matches the master"
    says = "sent back in HB_160 and is inside its tolerance now"
    assert says in drifts_html(state, state.said.drifts())
    cells = [
        cell for finding in session.cases.findings if finding.finding == "mended" for cell in finding.cells
    ]
    session.decide(Verb.CLOSE, cells, "lead")
    session.refresh_findings()
    state.take(session)
    assert "the shot matches the master" in drifts_html(state, state.said.drifts())


def test_words_that_look_like_markup_are_words(state: ReviewState) -> None:
    state.session.note(state.shot, "<b>5 > 3</b> & so on", "<i>lead</i>")
    html = decisions_html(state)
    assert "&lt;b&gt;5 &gt; 3&lt;/b&gt; &amp; so on" in html and "&lt;i&gt;lead&lt;/i&gt;" in html


def test_compared_with_something_else_the_review_says_why_it_is_silent(state: ReviewState) -> None:
    state.go("HB_060")
    for reference in (Reference(Against.BEFORE), Reference(Against.VERSIONS, 2, "HB_060")):
        state.session.hold_against(reference)
        state.take(state.session)
        assert state.shot == "HB_060" and len(state.shots) == 24
        assert (state.said.unsettled_cells(), state.said.count_text(), state.said.decisions()) == ([], "", [])
        assert reference.text in state.said.drifts()[0].says


def test_a_shot_that_left_the_cut(state: ReviewState, harbour_folder: Path) -> None:
    state.go("HB_240")
    file = harbour_folder / "sequence.yaml"
    file.write_text(file.read_text(encoding="utf-8").replace(", HB_240", ""), encoding="utf-8")
    state.take(open_session(harbour_folder))
    assert (state.shot, len(state.shots)) == ("HB_010", 23)


def test_a_sequence_without_shots_or_master(make_sequence: MakeSequence) -> None:
    state = ReviewState(open_session(make_sequence("bare", sequence={"cut": []})))
    assert (state.shot, state.place_text(), state.said.drifts()) == ("", "no shots", [])
    assert not any((state.step(1), state.to_unsettled(1), state.to_end(last=True)))
    assert "no shots" in drifts_html(state, state.said.drifts())
    lone = ReviewState(open_session(make_sequence("lone", shots={"A": {"lights": {}}})))
    assert (lone.place_text(), lone.said.count_text()) == ("1 of 1, no master", "")
    assert "no master setup" in drifts_html(lone, lone.said.drifts())
    assert lone.other_title(Other.KEY) == "No key shot is named in sequence.yaml"
