"""Another base for a whole film: the window goes on meanwhile, and what comes is what the folder holds by then."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PySide6.QtWidgets import QInputDialog, QMessageBox
from pytestqt.qtbot import QtBot

from gui_help import open_window, opened
from samelight.decisions.decision import Verb
from samelight.decisions.ledger import open_ledger
from samelight.gui.background import watching
from samelight.gui.background.live import Live
from samelight.gui.window.main_window import MainWindow
from samelight.sequence.contents import Contents, SheetStore, read_contents
from samelight.sequence.references import MASTER, Against, Comparison, Reference, compare
from samelight.sequence.session import Session, open_session

BEFORE = Reference(Against.BEFORE)


@pytest.fixture(autouse=True)
def everything_is_large(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(watching, "AT_ONCE", 0)


@pytest.fixture
def gate(monkeypatch: pytest.MonkeyPatch) -> threading.Event:
    """Comparing beside the window waits until this is set."""
    may_go = threading.Event()

    def slow(contents: Contents, reference: Reference = MASTER) -> Comparison:
        may_go.wait(240)
        return compare(contents, reference)

    monkeypatch.setattr(watching, "compare", slow)
    return may_go


def held(window: MainWindow) -> Callable[[], bool]:
    return lambda: window.watching.awaited is None


def session_of(window: MainWindow) -> Session:
    assert window.session is not None
    return window.session


def test_the_window_goes_on_until_all_shots_are_compared(
    qtbot: QtBot, harbour: Path, gate: threading.Event
) -> None:
    window = open_window(qtbot, harbour)
    session = session_of(window)
    window.bar.reference_box.setCurrentIndex(window.bar.reference_box.findText("the shot before"))
    window.bar.reference_box.activated.emit(window.bar.reference_box.currentIndex())
    assert (
        session.comparison.reference == MASTER and window.bar.reference_box.currentText() == "the shot before"
    )
    assert "Comparing every shot with the shot before" in window.statusBar().currentMessage()
    window.select("HB_110", "lights.rim.colour")
    assert window.actions_by_name["intend"].isEnabled()
    gate.set()
    qtbot.waitUntil(held(window))
    assert (
        session.comparison.reference == BEFORE and window.bar.reference_box.currentText() == "the shot before"
    )
    assert not window.statusBar().currentMessage()
    assert not window.actions_by_name["intend"].isEnabled()
    assert opened(window).views.model.state.table is session.table
    window.close()


def test_what_was_said_of_something_else_stays(qtbot: QtBot, harbour: Path) -> None:
    window = open_window(qtbot, harbour)
    window.say("Marked as intended")
    window.reference_link.show_session(session_of(window))
    assert window.statusBar().currentMessage() == "Marked as intended"
    window.close()


def test_of_several_bases_the_last_is_taken(qtbot: QtBot, harbour: Path, gate: threading.Event) -> None:
    window = open_window(qtbot, harbour)
    for reference in (BEFORE, Reference(Against.SHOT, shot="HB_060"), Reference(Against.OLDER_MASTER, 2)):
        window.reference_link.hold_against(reference)
    gate.set()
    qtbot.waitUntil(held(window))
    assert session_of(window).comparison.reference == Reference(Against.OLDER_MASTER, 2)
    window.close()


def test_back_to_the_master_nothing_is_compared_again(
    qtbot: QtBot, harbour: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    window = open_window(qtbot, harbour)
    table = session_of(window).table
    window.reference_link.hold_against(BEFORE)
    qtbot.waitUntil(held(window))
    monkeypatch.setattr(watching, "compare", lambda *_: pytest.fail("compared again"))
    window.reference_link.hold_against(MASTER)
    qtbot.waitUntil(held(window))
    assert session_of(window).table is table and session_of(window).cases.decidable
    window.close()


def test_what_changed_meanwhile_is_in_it(qtbot: QtBot, harbour: Path, gate: threading.Event) -> None:
    window = open_window(qtbot, harbour)
    session = session_of(window)
    contents = session.contents
    window.reference_link.hold_against(BEFORE)
    path = session.contents.sheets["HB_120"].path
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("range: 350,", "range: 500,"), encoding="utf-8")
    qtbot.waitUntil(lambda: session.contents is not contents)
    gate.set()
    qtbot.waitUntil(held(window))
    anew = open_session(harbour)
    anew.hold_against(BEFORE)
    row, column = session.table.row("render.gi.range"), session.table.column("HB_120")
    assert row is not None and column is not None
    assert session.comparison.reference == BEFORE
    assert session.table.entry(row, column) == anew.table.entry(row, column)
    window.close()


def test_a_reference_that_is_not_there_is_refused(
    qtbot: QtBot, harbour: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    said: list[str] = []
    monkeypatch.setattr(QMessageBox, "warning", lambda *words: said.append(words[2]))
    window = open_window(qtbot, harbour)
    window.reference_link.hold_against(Reference(Against.OLDER_MASTER, 7))
    qtbot.waitUntil(held(window))
    assert said == ["there is no readable master version 7"]
    assert (
        session_of(window).comparison.reference == MASTER
        and window.bar.reference_box.currentText() == "master v003"
    )
    assert not window.statusBar().currentMessage()
    window.close()


def test_a_reference_that_goes_gives_way_to_the_master(qtbot: QtBot, harbour: Path) -> None:
    window = open_window(qtbot, harbour)
    session = session_of(window)
    window.reference_link.hold_against(Reference(Against.OLDER_MASTER, 2))
    qtbot.waitUntil(held(window))
    next((harbour / "master").glob("*v002*")).unlink()
    qtbot.waitUntil(lambda: session.comparison.reference == MASTER)
    assert window.bar.reference_box.currentText() == "master v003"
    window.close()


def changed_sheet(session: Session, length: str) -> Contents:
    """What the folder holds with another length in one sheet, which nobody else was told of."""
    path = session.contents.sheets["HB_120"].path
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("range: 350,", f"range: {length},"), encoding="utf-8")
    return read_contents(SheetStore(session.contents.folder))


def as_read_anew(session: Session) -> bool:
    anew = open_session(session.contents.folder)
    anew.hold_against(session.comparison.reference)
    return session.contents == anew.contents and [
        session.table.line(row) for row in range(len(session.table.rows))
    ] == [anew.table.line(row) for row in range(len(anew.table.rows))]


@pytest.fixture
def told(qtbot: QtBot, harbour: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[MainWindow]:
    """A window that is told of changes by the test alone."""
    monkeypatch.setattr(Live, "run", lambda self: None)
    window = open_window(qtbot, harbour)
    yield window
    window.close()


def tell(window: MainWindow, contents: Contents, reference: Reference) -> None:
    """As the watcher does when it compared with what was the reference when it began."""
    assert window.watching.live is not None
    window.watching.live.changed.emit(contents, compare(contents, reference))


OF_A_SHOT = Reference(Against.SHOT, shot="HB_060")


def test_a_late_comparison_with_an_older_reference_takes_nothing_from_what_is_asked_for(
    qtbot: QtBot, told: MainWindow, gate: threading.Event
) -> None:
    session = session_of(told)
    told.reference_link.hold_against(BEFORE)
    tell(told, changed_sheet(session, "500"), OF_A_SHOT)
    assert told.watching.awaited == BEFORE
    gate.set()
    qtbot.waitUntil(held(told))
    assert session.comparison.reference == BEFORE and as_read_anew(session)


def test_a_reference_that_is_compared_at_once_is_compared_with_what_was_read_last(
    told: MainWindow, gate: threading.Event
) -> None:
    session = session_of(told)
    tell(told, changed_sheet(session, "500"), OF_A_SHOT)
    assert told.watching.awaited == MASTER
    gate.set()
    told.reference_link.hold_against(Reference(Against.VERSIONS, 1, "HB_120"))
    assert session.comparison.reference.against is Against.VERSIONS and as_read_anew(session)


def test_what_changed_while_a_reference_was_asked_for_that_is_not_there(
    qtbot: QtBot, told: MainWindow, monkeypatch: pytest.MonkeyPatch, gate: threading.Event
) -> None:
    said: list[str] = []
    monkeypatch.setattr(QMessageBox, "warning", lambda *words: said.append(words[2]))
    session = session_of(told)
    told.reference_link.hold_against(Reference(Against.OLDER_MASTER, 7))
    tell(told, changed_sheet(session, "500"), OF_A_SHOT)
    gate.set()
    qtbot.waitUntil(lambda: bool(said))
    qtbot.waitUntil(held(told))
    assert session.comparison.reference == MASTER and as_read_anew(session)
    assert said == ["there is no readable master version 7"]


def test_a_reference_is_refused_only_by_what_the_folder_holds_now(
    qtbot: QtBot, told: MainWindow, gate: threading.Event, monkeypatch: pytest.MonkeyPatch
) -> None:
    said: list[str] = []
    monkeypatch.setattr(QMessageBox, "warning", lambda *words: said.append(words[2]))
    session = session_of(told)
    master = next((session.contents.folder / "master").glob("*v002*"))
    text = master.read_text(encoding="utf-8")
    master.unlink()
    tell(told, read_contents(SheetStore(session.contents.folder)), MASTER)
    told.reference_link.hold_against(Reference(Against.OLDER_MASTER, 2))
    master.write_text(text, encoding="utf-8")
    tell(told, read_contents(SheetStore(session.contents.folder)), MASTER)
    gate.set()
    qtbot.waitUntil(held(told))
    assert (
        session.comparison.reference == Reference(Against.OLDER_MASTER, 2)
        and as_read_anew(session)
        and not said
    )


def test_what_is_wrong_with_the_folder_stays_said(qtbot: QtBot, harbour: Path) -> None:
    window = open_window(qtbot, harbour)
    session, path = session_of(window), harbour / "sequence.yaml"
    good = path.read_text(encoding="utf-8")
    path.write_text(good + "oddkey: 1\n", encoding="utf-8")
    qtbot.waitUntil(lambda: "oddkey" in window.notice.text())
    window.reference_link.hold_against(BEFORE)
    qtbot.waitUntil(held(window))
    assert session.comparison.reference == BEFORE and "oddkey" in window.notice.text()
    window.reference_link.hold_against(MASTER)
    qtbot.waitUntil(held(window))
    spot = session.table.row("lights.rim.colour"), session.table.column("HB_110")
    assert spot[0] is not None and spot[1] is not None
    said: list[str] = []
    window.watching.decided.connect(lambda: said.append(window.notice.text()))
    open_ledger(harbour).decide(
        Verb.RETURN, session.cases.subjects([(spot[0], spot[1])]), "ben", "put it back"
    )
    qtbot.waitUntil(lambda: bool(said))
    assert "oddkey" in window.notice.text()
    path.write_text(good, encoding="utf-8")
    qtbot.waitUntil(lambda: "oddkey" not in window.notice.text())
    window.close()


def test_what_is_awaited_stays_the_choice_when_a_question_is_cancelled(
    qtbot: QtBot, told: MainWindow, gate: threading.Event, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(QInputDialog, "getItem", lambda *_: ("HB_060", False))
    box = told.bar.reference_box
    told.reference_link.hold_against(BEFORE)
    box.setCurrentIndex(box.findText("another shot…"))
    box.activated.emit(box.currentIndex())
    assert box.currentText() == "the shot before"
    gate.set()
    qtbot.waitUntil(held(told))
    assert session_of(told).comparison.reference == BEFORE


@pytest.mark.parametrize("question", ["another shot…", "versions of a shot…"])
def test_a_shot_that_went_while_it_was_asked_for(
    qtbot: QtBot, told: MainWindow, monkeypatch: pytest.MonkeyPatch, question: str
) -> None:
    said: list[str] = []
    monkeypatch.setattr(QMessageBox, "warning", lambda *words: said.append(words[2]))
    for name in ("gone", ""):  # nothing can be chosen where no shot has a sheet
        monkeypatch.setattr(QInputDialog, "getItem", lambda *_, name=name: (name, True))
        told.bar.reference_box.activated.emit(told.bar.reference_box.findText(question))
        qtbot.waitUntil(held(told))
    assert len(said) == 1 and "gone" in said[0]
    assert (
        session_of(told).comparison.reference == MASTER
        and told.bar.reference_box.currentText() == "master v003"
    )


def test_one_watcher_is_left_of_a_sequence_that_is_opened_again(qtbot: QtBot, harbour: Path) -> None:
    window = open_window(qtbot, harbour)
    session = session_of(window)
    window.run("reload")
    qtbot.waitUntil(lambda: window.session is not session)
    qtbot.waitUntil(lambda: window.watching.findChildren(Live) == [window.watching.live])
    window.close()
