"""Cases in dailies: what came back mended is closed there too, and a note that names what drifts sends it back."""

from __future__ import annotations

from pathlib import Path

from pytestqt.qtbot import QtBot

from conftest import write_sequence
from rim_light import LEVEL, RIM
from samelight.decisions.decision import Verb
from samelight.decisions.state import State
from samelight.gui.review.review_window import ReviewWindow
from samelight.gui.widgets.settings import Settings
from samelight.sequence.session import open_session
from samelight.sheets.writing import write_sheet


def test_mended_shots_are_closed_by_a_key(qtbot: QtBot, tmp_path: Path) -> None:
    off, right = {"lights": {"rim": {**RIM, "exposure": 1}}}, {"lights": {"rim": RIM}}
    folder = write_sequence(tmp_path / "quay", master=right, shots={"A": right, "B": off, "C": off})
    session = open_session(folder)
    cells = session.table.places([("B", LEVEL), ("C", LEVEL)])
    session.decide(Verb.RETURN, cells, "mira", "as in the master")
    write_sheet(folder / "shots/B/B.v002.yaml", {"samelight": 2, "shot": "B", "version": 2, **right})
    session.reload()
    review = ReviewWindow(Settings())
    qtbot.addWidget(review)
    review.show_session(session, "C")
    review.bar.who_edit.setText("mira")
    review.actions_by_name["settle"].trigger()
    assert review.bar.view_label.text() == "Nothing mended waits for a look here"
    review.go("B")
    review.actions_by_name["settle"].trigger()
    assert [session.cases.state(*cell) for cell in cells] == [State.CLOSED, State.SENT_BACK]
    assert review.bar.view_label.text() == "Closed: 1 cell"


def test_a_note_that_names_what_drifts_sends_it_back(qtbot: QtBot, harbour_folder: Path) -> None:
    session = open_session(harbour_folder)
    review = ReviewWindow(Settings())
    qtbot.addWidget(review)
    review.show_session(session, "HB_060")
    review.bar.who_edit.setText("mira")
    (cell,) = session.table.places([("HB_060", "lights.sun.direction")])
    for text, state in (
        ("The sun is too low", State.UNDECIDED),
        ("rim level: lower it", State.UNDECIDED),  # it does not drift here
        ("Sun direction: back to the master, please", State.SENT_BACK),
    ):
        review.last_line.note_edit.setText(text)
        review.last_line.note_edit.returnPressed.emit()
        assert session.cases.state(*cell) is state and review.last_line.note_edit.text() == ""
    (decision,) = session.cases.judgement(*cell).decisions
    assert (decision.verb, decision.who, decision.reason) == (Verb.RETURN, "mira", text)
    assert review.bar.view_label.text() == "Sent back, since the note names it: 1 cell"
    # A light that is not there drifts as a whole, and a word on it is a note all the same.
    (lamp,) = session.table.places([("HB_200", "lights.boat_lamp")])
    assert lamp in session.cases.unsettled_cells()
    review.go("HB_200")
    for text, state in (
        ("boat_lamp is lovely here", State.UNDECIDED),
        ("Bring it back (lights.boat_lamp).", State.SENT_BACK),
    ):
        review.last_line.note_edit.setText(text)
        review.last_line.note_edit.returnPressed.emit()
        assert session.cases.state(*lamp) is state
