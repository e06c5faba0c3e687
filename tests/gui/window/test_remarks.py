"""The remarks line: it gives way to what is said for a moment, and all of it is there for the mouse and read aloud."""

from __future__ import annotations

import pytest
from PySide6.QtWidgets import QApplication, QMainWindow
from pytestqt.qtbot import QtBot

from samelight.gui.widgets.plain_text import plain
from samelight.gui.window.remarks import RemarksLabel
from samelight.sequence.contents import Trouble
from samelight.sequence.session import Session

LONG = (
    "shots/HB_130/HB_130.v002.yaml, line 14: expected a length such as 3.5 m, found "
    + "forty " * 40
    + "fathoms"
)


def in_a_window(qtbot: QtBot, width: int) -> tuple[QMainWindow, RemarksLabel]:
    window, remarks = QMainWindow(), RemarksLabel()
    qtbot.addWidget(window)
    window.statusBar().addPermanentWidget(remarks)
    window.resize(width, 200)
    window.show()
    QApplication.processEvents()
    return window, remarks


@pytest.mark.parametrize("width", [500, 900, 1600])
def test_a_remark_that_does_not_fit_says_so_and_is_whole_in_its_tip(qtbot: QtBot, width: int) -> None:
    window, remarks = in_a_window(qtbot, width)
    remarks.show_trouble(LONG)
    QApplication.processEvents()
    assert remarks.text() == f"Not up to date: {LONG}"
    assert "…" in remarks.shown_text() and remarks.shown_text().endswith("fathoms")
    assert remarks.toolTip() == plain(LONG) and remarks.accessibleDescription() == LONG
    assert window.width() == width and window.minimumSizeHint().width() < 500
    corner = remarks.mapTo(window, remarks.rect().topLeft())
    assert corner.x() >= 0 and corner.x() + remarks.width() <= width


def test_a_wide_window_keeps_room_for_what_is_said_for_a_moment(qtbot: QtBot) -> None:
    window, remarks = in_a_window(qtbot, 1600)
    remarks.show_trouble(LONG)
    QApplication.processEvents()
    assert remarks.width() < 1100
    assert remarks.mapTo(window, remarks.rect().topLeft()).x() > 400


def test_a_short_remark_is_shown_whole(qtbot: QtBot) -> None:
    _, remarks = in_a_window(qtbot, 900)
    remarks.show_trouble("the share is gone\nand more of it")
    QApplication.processEvents()
    assert remarks.shown_text() == "Not up to date: the share is gone"
    assert remarks.toolTip() == "the share is gone\nand more of it"


def test_all_remarks_are_in_the_tip_and_of_very_many_how_many_are_left(
    qtbot: QtBot, harbour_session: Session
) -> None:
    _, remarks = in_a_window(qtbot, 900)
    harbour_session.troubles = []
    remarks.show_session(harbour_session)
    assert remarks.text() == "" == remarks.toolTip()
    harbour_session.troubles = [Trouble(f"sheet {number} is unreadable") for number in range(40)]
    remarks.show_session(harbour_session)
    QApplication.processEvents()
    assert remarks.text().startswith("40 remarks on this sequence: ")
    lines = remarks.toolTip().splitlines()
    assert lines[0] == harbour_session.troubles[0].says and lines[-1] == "… and 10 more"
    assert len(lines) == 31


def test_decisions_that_cannot_be_read_come_first_and_stand_out(
    qtbot: QtBot, harbour_session: Session
) -> None:
    _, remarks = in_a_window(qtbot, 1600)
    remarks.show_session(harbour_session)
    assert not remarks.font().bold()
    folder = harbour_session.contents.folder / "decisions"
    folder.mkdir()
    (folder / "a.yaml").write_text("half a dec", encoding="utf-8")
    harbour_session.refresh_ledger()
    harbour_session.troubles.append(Trouble("something else"))
    remarks.show_session(harbour_session)
    assert "Decision skipped" in remarks.text() and remarks.font().bold()
    (folder / "a.yaml").unlink()
    harbour_session.refresh_ledger()
    remarks.show_session(harbour_session)
    assert not remarks.font().bold()
