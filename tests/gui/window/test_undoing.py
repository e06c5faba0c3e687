"""Undo and redo go to what they change, say what it was, and ask before they touch what is another's or another shot's."""

from __future__ import annotations

import pytest
from pytestqt.qtbot import QtBot

from gui_help import answer_reason, opened, press
from known import there
from samelight.decisions.decision import Verb
from samelight.decisions.state import State
from samelight.gui.review.review_window import ReviewWindow
from samelight.gui.widgets.settings import Settings
from samelight.gui.window import decider
from samelight.gui.window.main_window import MainWindow
from samelight.sequence.session import account_name


class Asked:
    """Answers in the place of the user, and remembers what was asked."""

    def __init__(self, answer: bool) -> None:
        self.answer, self.questions = answer, []  # type: bool, list[str]

    def __call__(self, parent: object, title: str, text: str, act: str) -> bool:
        self.questions.append(text)
        return self.answer


def decide(window: MainWindow, shot: str, parameter: str, who: str = "") -> tuple[int, int]:
    session = window.session
    assert session is not None
    (cell,) = session.table.places([(shot, parameter)])
    session.decide(Verb.RETURN, [cell], who or opened(window).decider.who(), "to be mended")
    opened(window).telling.take_decisions()
    return cell


@pytest.fixture
def review(window: MainWindow, qtbot: QtBot) -> ReviewWindow:
    window.run("review")
    made = window.review.window
    assert made is not None
    qtbot.addWidget(made)
    return made


def test_undo_goes_to_the_shot_and_says_what_was_taken_back(
    window: MainWindow, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = Asked(True)
    monkeypatch.setattr(decider, "agrees", asked)
    session = window.session
    assert session is not None
    cell = decide(window, "HB_110", "lights.rim.colour")
    window.select("HB_180", "lights.window_fill.position")
    press_says(window, "undo", "Taken back: sent back, lights.rim.colour, in HB_110, by ")
    assert opened(window).views.cell_name() == ("HB_110", "lights.rim.colour")
    assert session.cases.state(*cell) is State.UNDECIDED
    window.select("HB_180", "lights.window_fill.position")
    press_says(window, "redo", "Said again: sent back, lights.rim.colour, in HB_110, by ")
    assert opened(window).views.cell_name() == ("HB_110", "lights.rim.colour")
    press_says(window, "undo", "Taken back: sent back, lights.rim.colour, in HB_110, by ")
    assert asked.questions == []


def test_undo_of_what_was_said_of_a_finding_brings_it_up(window: MainWindow) -> None:
    session = opened(window).session
    finding = next(one for one in session.cases.findings if one.cases)
    (case,) = finding.cases
    session.decide(Verb.RETURN, [], opened(window).decider.who(), "to be mended", cases=[case])
    opened(window).telling.take_decisions()
    window.select("HB_180", "lights.window_fill.position")
    for command, done in (("undo", "Taken back"), ("redo", "Said again")):
        window.findings.let_go()
        named = case.parameter.removeprefix("findings.")
        press_says(window, command, f"{done}: sent back, the finding {named}, in {case.shot}, by ")
        chosen = window.findings.current()
        assert chosen is not None and chosen.says == finding.says
        assert there(opened(window).views.cell_name())[0] == case.shot


def press_says(window: MainWindow, command: str, words: str) -> None:
    action = window.actions_by_name[command]
    assert action.isEnabled()
    action.trigger()
    assert window.statusBar().currentMessage().startswith(words)


@pytest.mark.parametrize("answer", [True, False])
def test_what_another_decided_is_asked_about(
    window: MainWindow, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch, answer: bool
) -> None:
    asked = Asked(answer)
    monkeypatch.setattr(decider, "agrees", asked)
    session = window.session
    assert session is not None
    cell = decide(window, "HB_110", "lights.rim.colour", who="ben")
    press(qtbot, window, "undo")
    (question,) = asked.questions
    assert "by ben: to be mended" in question and f"It is not {opened(window).decider.who()}'s." in question
    assert session.cases.state(*cell) is (State.UNDECIDED if answer else State.SENT_BACK)


def test_a_note_is_asked_about_as_a_note(window: MainWindow, monkeypatch: pytest.MonkeyPatch) -> None:
    asked = Asked(False)
    monkeypatch.setattr(decider, "agrees", asked)
    session = window.session
    assert session is not None
    session.note("HB_110", "look at the rim", "ben")
    opened(window).telling.take_decisions()
    window.run("undo")
    (question,) = asked.questions
    assert question.startswith("Take back a note, in HB_110, by ben: look at the rim?\n")


def test_a_name_that_was_given_in_another_window_changes_none_in_this_one(
    window: MainWindow, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = Asked(False)
    monkeypatch.setattr(decider, "agrees", asked)
    session = window.session
    assert session is not None
    window.select("HB_110", "lights.rim.colour")
    answer_reason("to be mended", "ada")
    press(qtbot, window, "return")
    Settings().keep("who", "ben")
    assert opened(window).decider.who() == "ada" and Settings().text("who") == "ben"
    press(qtbot, window, "undo")
    assert asked.questions == []
    assert session.ledger.all()[-1].who == "ada"


def test_ones_own_name_comes_back(window: MainWindow, qtbot: QtBot) -> None:
    for who in ("ada", account_name()):
        window.select("HB_110", "lights.rim.colour")
        answer_reason("to be mended", who)
        press(qtbot, window, "return")
        assert opened(window).decider.who() == who


@pytest.mark.parametrize("answer", [True, False])
def test_in_review_another_shot_is_asked_about_and_then_shown(
    window: MainWindow, review: ReviewWindow, monkeypatch: pytest.MonkeyPatch, answer: bool
) -> None:
    asked = Asked(answer)
    monkeypatch.setattr(decider, "agrees", asked)
    session = window.session
    assert session is not None and review.state is not None
    cell = decide(window, "HB_110", "lights.rim.colour")
    review.go("HB_180")
    review.asked.emit("undo")
    (question,) = asked.questions
    assert "in HB_110" in question and "It is not of HB_180, which is shown." in question
    assert session.cases.state(*cell) is (State.UNDECIDED if answer else State.SENT_BACK)
    assert review.state.shot == ("HB_110" if answer else "HB_180")
    if answer:
        assert review.bar.view_label.text().startswith("Taken back: sent back, lights.rim.colour, in HB_110")


def test_in_review_what_is_of_the_shot_is_taken_back_at_once(
    window: MainWindow, review: ReviewWindow, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(decider, "agrees", Asked(False))
    session = window.session
    assert session is not None
    cell = decide(window, "HB_110", "lights.rim.colour")
    review.go("HB_110")
    review.asked.emit("undo")
    assert session.cases.state(*cell) is State.UNDECIDED
    review.asked.emit("undo")
    assert review.bar.view_label.text() == "There is nothing to undo"
