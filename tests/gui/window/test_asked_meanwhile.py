"""A question that stands while another sequence is opened, or the same one anew: nothing is done with its answer."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QInputDialog
from pytestqt.qtbot import QtBot

from gui_help import answer_line, opened
from samelight.decisions.decision import Verb
from samelight.gui.dialogs import deciding
from samelight.gui.review import speaking
from samelight.gui.review.review_window import ReviewWindow
from samelight.gui.window import decider
from samelight.gui.window.main_window import MainWindow
from samelight.sheets.resources import sample_sequence


@pytest.fixture
def told(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What the user is told was not done."""
    texts: list[str] = []
    for module in (deciding, decider, speaking):
        monkeypatch.setattr(module, "warn", lambda parent, title, text: texts.append(text))
    return texts


def open_another(window: MainWindow, qtbot: QtBot) -> None:
    """Open another sequence, as a question that stands lets happen."""
    before = window.session
    window.open_folder(sample_sequence("first_steps"))
    qtbot.waitUntil(lambda: window.session is not before and not window.loader.busy)


def test_whose_shots_are_mine_is_not_asked_again(
    window: MainWindow, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[str] = []

    def answer(parent: object, title: str, question: str, *more: object) -> tuple[str, bool]:
        asked.append(question)
        if len(asked) == 1:
            open_another(window, qtbot)
        return "no such shot", len(asked) < 3

    monkeypatch.setattr(QInputDialog, "getText", answer)
    window.settings.keep("who", "nobody whom the sequence names")
    window.run("only_mine")
    assert len(asked) == 1
    assert not window.actions_by_name["only_mine"].isChecked()


def test_nothing_is_taken_back(
    window: MainWindow, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch, told: list[str]
) -> None:
    session = window.session
    assert session is not None
    session.note("HB_110", "look at the rim", "ben")
    opened(window).telling.take_decisions()

    def agrees(*_: object) -> bool:
        open_another(window, qtbot)
        return True

    monkeypatch.setattr(decider, "agrees", agrees)
    window.run("undo")
    assert [one.verb for one in session.ledger.all()] == [Verb.NOTE]
    assert len(told) == 1 and "no longer what is shown" in told[0]
    assert window.windowTitle().startswith("First steps")


def test_a_verdict_in_review_is_not_given_on_cells_of_another_table(
    window: MainWindow, qtbot: QtBot, told: list[str]
) -> None:
    """Its answer names cells by row and column, which are other cells there."""
    session = window.session
    assert session is not None
    review = review_at(window, qtbot, "HB_120", "render.gi.range")
    review.actions_by_name["intend"].trigger()
    review.last_line.verdict.reason.setText("asked for in dailies")
    open_another(window, qtbot)
    assert review.last_line.verdict.question is None, "the shot that was asked about is no longer shown"
    QTest.keyClick(review.last_line.verdict.reason, Qt.Key.Key_Return)
    assert window.session is not None and window.session is not session
    assert window.session.ledger.all() == [] and session.ledger.all() == []
    assert told == []


def test_a_verdict_in_review_is_not_given_on_values_that_changed_meanwhile(
    window: MainWindow, qtbot: QtBot, harbour_folder: Path, told: list[str]
) -> None:
    review = review_at(window, qtbot, "HB_120", "render.gi.range")
    review.actions_by_name["intend"].trigger()
    before = window.session
    assert before is not None
    sheet = max((harbour_folder / "shots/HB_120").glob("*.yaml"))
    text = sheet.read_text(encoding="utf-8")
    assert "350" in text
    sheet.write_text(text.replace("350", "250"), encoding="utf-8")
    window.run("reload")
    qtbot.waitUntil(lambda: window.session is not before and not window.loader.busy)
    answer_line(review, "asked for in dailies")
    assert window.session is not None and window.session.ledger.all() == []
    assert len(told) == 1 and "changed on disk while you were deciding" in told[0]
    assert review.last_line.currentWidget() is review.bar


def review_at(window: MainWindow, qtbot: QtBot, shot: str, parameter: str) -> ReviewWindow:
    """The review at a shot."""
    window.select(shot, parameter)
    window.run("review")
    review = window.review.window
    assert review is not None
    qtbot.addWidget(review)
    return review
