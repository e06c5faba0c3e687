"""What came back mended is closed in dailies, too, by whoever looked at it there."""

from __future__ import annotations

from pathlib import Path

from pytestqt.qtbot import QtBot

from conftest import write_sequence
from samelight.decisions.decision import Verb
from samelight.decisions.state import State
from samelight.gui.review.review_window import ReviewWindow
from samelight.gui.widgets.settings import Settings
from samelight.sequence.session import open_session
from samelight.sheets.writing import write_sheet

LEVEL = "lights.rim.level"
RIM = {"type": "disk", "position": [0, 2, 0], "target": [0, 0, 0], "intensity": 1, "normalize": True}


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
    review.set_who("mira")
    review.actions_by_name["settle"].trigger()
    assert review.bar.view_label.text() == "Nothing mended waits for a look here"
    review.go("B")
    review.actions_by_name["settle"].trigger()
    assert [session.state(*cell) for cell in cells] == [State.CLOSED, State.SENT_BACK]
    assert review.bar.view_label.text() == "Closed: 1 cell"
