"""What could not be read, a line for each kind of fault."""

from __future__ import annotations

from pytestqt.qtbot import QtBot

from samelight.gui.findings.trouble_list import TroubleList
from samelight.sequence.session import Session
from samelight.sequence.troubles import Trouble
from samelight.sheets.errors import Fault


def unreadable(shot: str, expected: str = "one value") -> Trouble:
    fault = Fault(f"/show/{shot}.v001.yaml", "lights.moon.direction", expected, "a group of 2", 7, 5)
    return Trouble(f"{shot} is unreadable: {fault}", shot, (fault,))


def test_the_same_fault_in_many_sheets_is_one_line(harbour_session: Session, qtbot: QtBot) -> None:
    """With the names of all in its tool tip; a press opens the first."""
    harbour_session.troubles = [
        unreadable("A"),
        unreadable("B", "a number"),
        unreadable("C"),
        Trouble("D"),
        Trouble("E"),
    ]
    listed = TroubleList()
    qtbot.addWidget(listed)
    listed.show_session(harbour_session)
    assert [listed.item(row).text() for row in range(listed.count())] == [
        "2 shots alike, first A is unreadable: A.v001.yaml:7:5: lights.moon.direction: expected one value, found a group of 2",
        "B is unreadable: B.v001.yaml:7:5: lights.moon.direction: expected a number, found a group of 2",
        "D",
        "E",
    ]
    assert "The same in C." in listed.item(0).toolTip()
    asked: list[Trouble] = []
    listed.asked.connect(asked.append)
    listed.itemActivated.emit(listed.item(0))
    assert [trouble.shot for trouble in asked] == ["A"]
