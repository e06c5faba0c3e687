"""Findings of a film come after its grid, and are those of what is shown."""

from __future__ import annotations

import threading
from pathlib import Path

import pytest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from conftest import MakeSequence
from gui_help import answer_reason, open_window, opened, press
from samelight.findings.finding import Evidence
from samelight.findings.registry import Drawn, find_all
from samelight.gui.background import searching
from samelight.gui.state.remaining import ALL_WELL, STILL_LOOKING
from samelight.gui.window.main_window import MainWindow
from samelight.sequence.references import Against, Reference
from samelight.sequence.session import Session, open_session


@pytest.fixture(autouse=True)
def everything_is_large(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(searching, "AT_ONCE", 0)


def settled(qtbot: QtBot, window: MainWindow) -> Session:
    qtbot.waitUntil(lambda: not window.searching.busy)
    session = window.session
    assert session is not None
    return session


def anew(session: Session) -> list[str]:
    """What the findings are for one who opens the folder now."""
    return [finding.says for finding in open_session(session.contents.folder).cases.findings]


def test_the_grid_comes_first_and_then_its_findings(qtbot: QtBot, harbour: Path) -> None:
    window = open_window(qtbot, harbour)
    session = settled(qtbot, window)
    assert [finding.says for finding in session.cases.findings] == anew(session) != []
    assert window.findings.model.rowCount() == len(session.cases.findings)
    count = len(session.cases.findings)
    assert window.panels.docks["findings"].windowTitle() == f"Findings: {count} of {count} left"


def test_the_panel_says_that_findings_are_still_to_come(qtbot: QtBot, harbour: Path) -> None:
    window = open_window(qtbot, harbour)
    session = settled(qtbot, window)
    opened(window).telling.take_decisions()
    assert window.searching.busy
    assert "up to date" in window.panels.docks["findings"].windowTitle()
    assert window.findings.model.rowCount() == len(session.cases.findings) > 0
    settled(qtbot, window)
    assert window.panels.docks["findings"].windowTitle().startswith("Findings: ")


def test_all_is_well_only_once_the_findings_are_there(qtbot: QtBot, make_sequence: MakeSequence) -> None:
    sun = {"lights": {"sun": {"type": "distant", "azimuth": 131, "elevation": 24, "intensity": 3.2}}}
    off = {"lights": {"sun": {**sun["lights"]["sun"], "intensity": 4.5}}}
    window = open_window(qtbot, make_sequence(master=sun, shots={"QU_010": sun, "QU_020": off}))
    settled(qtbot, window)
    label, said = window.bar.left_label, window.statusBar()
    assert label.text().startswith("1 undecided")
    press(qtbot, window, "next")
    answer_reason("on purpose")
    window.actions_by_name["intend"].trigger()  # no event is seen to before the next line
    assert window.searching.busy
    assert label.text() == STILL_LOOKING and said.currentMessage().endswith(STILL_LOOKING)
    settled(qtbot, window)
    assert label.text() == f"✓ {ALL_WELL}"
    press(qtbot, window, "next")
    assert said.currentMessage() == ALL_WELL


def test_of_several_asked_for_the_last_comes(qtbot: QtBot, undecided_harbour: Path) -> None:
    window = open_window(qtbot, undecided_harbour)
    session = settled(qtbot, window)
    before = [finding.says for finding in session.cases.findings]
    for _ in range(3):
        press(qtbot, window, "next")
        answer_reason("on purpose")
        press(qtbot, window, "intend")
    settled(qtbot, window)
    assert len(session.history.done) == 3
    assert [finding.says for finding in session.cases.findings] == anew(session) != before


def test_another_table_has_no_findings_of_the_one_before(qtbot: QtBot, harbour: Path) -> None:
    window = open_window(qtbot, harbour)
    session = settled(qtbot, window)
    assert session.cases.findings
    (newest,) = sorted((harbour / "shots/HB_060").glob("*.yaml"))[-1:]
    newest.write_text(newest.read_text().replace("lights:\n", "lights:\n  odd: {type: point}\n", 1))
    session.reload()
    assert session.cases.findings == []


def test_findings_that_nobody_waits_for_any_more_do_not_come(
    qtbot: QtBot, harbour: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """They are about the master, and the shots are compared with an older one by now."""
    window = open_window(qtbot, harbour)
    session = settled(qtbot, window)
    begun, go_on = threading.Event(), threading.Event()

    def slow(evidence: Evidence) -> Drawn:
        begun.set()
        assert go_on.wait(240)
        return find_all(evidence)

    monkeypatch.setattr(searching, "find_all", slow)
    opened(window).telling.take_decisions()
    qtbot.waitUntil(begun.is_set)
    window.reference_link.hold_against(Reference(Against.OLDER_MASTER, 2))
    assert not window.searching.busy
    go_on.set()
    assert window.searching.background.wait()
    QApplication.processEvents()
    assert session.cases.findings == []


def test_closing_while_findings_are_looked_for(qtbot: QtBot, harbour: Path) -> None:
    window = open_window(qtbot, harbour)
    settled(qtbot, window)
    opened(window).telling.take_decisions()
    assert window.searching.busy
    window.close()
    assert not window.searching.busy
