"""Notes: said of a shot, kept in the ledger, and without any say in a cell's state."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from samelight.decisions.decision import Decision, Verb, from_tree, to_tree
from samelight.decisions.history import History
from samelight.decisions.ledger import DecisionError, Subject, open_ledger
from samelight.decisions.state import State
from samelight.sheets.errors import SheetError
from samelight.sheets.trees import parse_document
from samelight.sheets.values import Level
from samelight.sheets.writing import yaml_text

VALUE, MASTER = Level(2.0), Level(1.0)
CELL = Subject("A", "lights.rim.level", VALUE, MASTER)


def said(decisions: list[Decision]) -> list[str]:
    return [decision.reason for decision in decisions]


def test_a_note_on_a_shot_is_a_file_that_reads_back(tmp_path: Path) -> None:
    made = open_ledger(tmp_path).note("A", "  Cap reads too dark against the water. ", "lead")
    assert (made.verb, made.shot, made.parameter) == (Verb.NOTE, "A", "")
    again = open_ledger(tmp_path)
    assert again.faults == ()
    assert again.notes("A") == [made]
    assert said(again.notes("A")) == ["Cap reads too dark against the water."]
    assert again.notes("B") == []


def test_a_note_needs_a_text_and_someone(tmp_path: Path) -> None:
    ledger = open_ledger(tmp_path)
    with pytest.raises(DecisionError, match="a note needs a text"):
        ledger.note("A", " \n", "lead")
    with pytest.raises(DecisionError, match="the name of who makes it"):
        ledger.note("A", "darker", " ")
    assert not (tmp_path / "decisions").exists()


@pytest.mark.parametrize("verb", [Verb.INTEND, Verb.RETURN])
def test_a_note_on_a_cell_changes_no_state_and_overtakes_nothing(tmp_path: Path, verb: Verb) -> None:
    ledger = open_ledger(tmp_path)
    ledger.decide(Verb.NOTE, [CELL], "lead", "look again")
    assert ledger.judgement("A", "lights.rim.level", VALUE, MASTER).state is State.UNDECIDED
    (decided,) = ledger.decide(verb, [CELL], "lead", "because")
    assert decided.follows == ()
    (note,) = ledger.decide(Verb.NOTE, [CELL], "ada", "seen")
    assert note.follows == ()
    judged = ledger.judgement("A", "lights.rim.level", VALUE, MASTER)
    assert (judged.state, judged.decisions) == (
        {Verb.INTEND: State.INTENDED, Verb.RETURN: State.SENT_BACK}[verb],
        (decided,),
    )


def test_withdrawing_what_was_decided_leaves_the_notes(tmp_path: Path) -> None:
    ledger = open_ledger(tmp_path)
    ledger.decide(Verb.NOTE, [CELL], "lead", "look again")
    with pytest.raises(DecisionError, match="no decision here to withdraw"):
        ledger.decide(Verb.WITHDRAW, [CELL], "lead")
    ledger.decide(Verb.INTEND, [CELL], "lead", "because")
    ledger.decide(Verb.WITHDRAW, [CELL], "lead")
    assert ledger.judgement("A", "lights.rim.level", VALUE, MASTER).state is State.UNDECIDED
    assert said(ledger.notes("A")) == ["look again"]


def test_a_note_is_undone_and_redone(tmp_path: Path) -> None:
    ledger = open_ledger(tmp_path)
    history = History(ledger)
    history.did([ledger.note("A", "darker", "lead")])
    history.undo("lead")
    assert ledger.notes("A") == []
    assert open_ledger(tmp_path).faults == ()
    assert open_ledger(tmp_path).notes("A") == []
    history.redo("lead")
    assert said(open_ledger(tmp_path).notes("A")) == ["darker"]


def test_notes_come_in_order_with_those_on_parameters_among_them(tmp_path: Path) -> None:
    ledger = open_ledger(tmp_path)
    ledger.note("A", "first", "lead")
    ledger.decide(Verb.NOTE, [CELL], "lead", "second")
    ledger.note("B", "another shot", "lead")
    ledger.note("A", "third", "lead")
    assert said(ledger.notes("A")) == ["first", "second", "third"]


def faults_of(decision: Decision) -> str:
    document = parse_document(Path("note.yaml"), yaml_text(to_tree(decision)))
    from_tree(document.data, document.faults)
    try:
        document.faults.raise_if_any()
    except SheetError as error:
        return str(error)
    return ""


def test_only_a_note_and_what_takes_it_back_may_be_about_the_whole_shot(tmp_path: Path) -> None:
    note = open_ledger(tmp_path).note("A", "darker", "lead")
    assert faults_of(note) == ""
    assert faults_of(replace(note, verb=Verb.WITHDRAW, withdraws="x")) == ""
    assert "parameter: expected text" in faults_of(replace(note, verb=Verb.INTEND))
    assert "parameter: expected text" in faults_of(replace(note, parameter=" "))
    assert "reason: expected the text of the note, found none" in faults_of(replace(note, reason=" "))
