"""The window on a ledger that others share: nothing is missed, forgotten or half taken, and nothing is lost unheard."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from gui_help import opened
from samelight.decisions import ledger as ledgers
from samelight.decisions.decision import Verb
from samelight.decisions.ledger import Ledger, open_ledger
from samelight.decisions.state import State
from samelight.gui.window.main_window import MainWindow
from samelight.sequence.session import Session, open_session
from samelight.sheets.errors import SamelightError

PLACE = ("HB_110", "lights.rim.colour")


def cell_of(session: Session) -> tuple[int, int]:
    (cell,) = session.table.places([PLACE])
    return cell


def state_of(window: MainWindow) -> State:
    assert window.session is not None
    return window.session.cases.state(*cell_of(window.session))


def by_another(folder: Path, verb: Verb = Verb.RETURN) -> Ledger:
    session = open_session(folder)
    session.decide(verb, [cell_of(session)], "ben", "so it is")
    return session.ledger


def decide(window: MainWindow) -> None:
    assert window.session is not None
    window.session.decide(Verb.RETURN, [cell_of(window.session)], "lead", "to be mended")
    opened(window).telling.take_decisions()


@pytest.mark.parametrize("number", range(3))
def test_what_lands_between_the_reading_and_the_watching_is_seen(
    qtbot: QtBot, harbour_folder: Path, number: int
) -> None:
    session = open_session(harbour_folder)
    by_another(harbour_folder)
    window = MainWindow()
    qtbot.addWidget(window)
    window.show_session(session)
    qtbot.waitUntil(lambda: state_of(window) is State.SENT_BACK)
    window.close()


def test_a_share_that_goes_away_takes_nothing_along_and_gets_nothing(
    window: MainWindow, qtbot: QtBot, harbour_folder: Path
) -> None:
    decide(window)
    session = window.session
    assert session is not None
    away = harbour_folder.rename(harbour_folder.with_name("away"))
    qtbot.waitUntil(lambda: "offline" in opened(window).work.alarm.text())
    assert state_of(window) is State.SENT_BACK
    with pytest.raises(SamelightError, match="cannot be reached, so nothing can be decided"):
        decide(window)
    assert not harbour_folder.exists() and state_of(window) is State.SENT_BACK
    by_another(away, Verb.INTEND)
    away.rename(harbour_folder)
    qtbot.waitUntil(lambda: state_of(window) is State.INTENDED)
    qtbot.waitUntil(lambda: not opened(window).work.alarm.text())
    decide(window)
    assert state_of(window) is State.SENT_BACK and open_ledger(harbour_folder).faults == ()


def test_where_the_folder_of_decisions_goes_the_window_keeps_them_and_makes_no_other(
    window: MainWindow, qtbot: QtBot, harbour_folder: Path
) -> None:
    decide(window)
    away = (harbour_folder / "decisions").rename(harbour_folder / "away")
    qtbot.waitUntil(lambda: "the folder of decisions cannot be read" in opened(window).work.alarm.text())
    assert state_of(window) is State.SENT_BACK and "1 decision cannot" not in opened(window).work.alarm.text()
    with pytest.raises(SamelightError, match="has gone with the decisions that are known here"):
        decide(window)
    assert not (harbour_folder / "decisions").exists()
    away.rename(harbour_folder / "decisions")
    qtbot.waitUntil(lambda: not opened(window).work.alarm.text())
    decide(window)
    assert len(open_ledger(harbour_folder).all()) == 2


def test_a_folder_of_decisions_that_is_emptied_is_told(
    window: MainWindow, qtbot: QtBot, harbour_folder: Path
) -> None:
    decide(window)
    for path in (harbour_folder / "decisions").iterdir():
        path.unlink()
    qtbot.waitUntil(lambda: "1 decision known here before is gone" in opened(window).work.alarm.text())
    assert "Decisions have gone" in window.notice.toolTip()


def test_a_decision_that_is_edited_in_its_place_is_read_again(
    window: MainWindow, qtbot: QtBot, harbour_folder: Path
) -> None:
    by_another(harbour_folder)
    qtbot.waitUntil(lambda: state_of(window) is State.SENT_BACK)
    (path,) = (harbour_folder / "decisions").glob("*.yaml")
    whole = path.read_text("utf-8")
    path.write_text(whole.replace("verb: return", "verb: intend"), "utf-8")
    qtbot.waitUntil(lambda: state_of(window) is State.INTENDED)
    path.write_text(whole, "utf-8")
    qtbot.waitUntil(lambda: state_of(window) is State.SENT_BACK)


def test_a_decision_is_shown_before_it_is_on_disk_and_taken_back_with_words_where_it_never_comes_there(
    window: MainWindow, qtbot: QtBot, harbour_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import threading

    monkeypatch.setattr(ledgers, "PATIENCE", 0.0)
    said: list[str] = []
    window.watching.lost.disconnect()
    window.watching.lost.connect(said.append)
    go_on, real = threading.Event(), os.fsync

    def slow(handle: int) -> None:
        go_on.wait(240)
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", slow)
    decide(window)
    assert state_of(window) is State.SENT_BACK and window.actions_by_name["undo"].isEnabled()
    go_on.set()
    qtbot.waitUntil(lambda: state_of(window) is State.UNDECIDED)
    QApplication.processEvents()
    assert len(said) == 1 and "in HB_110 is not on disk and does not stand: " in said[0]
    assert "No space left on device" in said[0]
    assert not window.actions_by_name["undo"].isEnabled()
    monkeypatch.setattr(os, "fsync", real)
    decide(window)
    qtbot.waitUntil(lambda: len(open_ledger(harbour_folder).all()) == 1)
    assert state_of(window) is State.SENT_BACK


def test_what_could_not_be_written_is_said_in_a_box(
    window: MainWindow, monkeypatch: pytest.MonkeyPatch
) -> None:
    shown: list[str] = []
    monkeypatch.setattr(
        "PySide6.QtWidgets.QMessageBox.warning", lambda parent, title, text: shown.append(text)
    )
    window.watching.lost.emit("What was decided in HB_110 is not on disk")
    assert shown == ["What was decided in HB_110 is not on disk"]
