"""The review as the room sees it: the frame has the wall, below it a line a finding, and the cut plays."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import QEvent, QPoint, Qt
from PySide6.QtGui import QFocusEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QFileDialog
from pytestqt.qtbot import QtBot

from gui_help import answer_line, press
from samelight.decisions.decision import Verb
from samelight.drift.joined_traces import row_traces
from samelight.gui.dialogs.deciding import REASONS, advice
from samelight.gui.review.finding_lines import MOST
from samelight.gui.review.playing import FASTEST, Playing
from samelight.gui.review.review_state import LENGTH, ReviewState
from samelight.gui.review.review_window import ReviewWindow
from samelight.gui.window.main_window import MainWindow
from samelight.sequence.session import Session, open_session
from standing_harbour import StandingHarbour


def with_more_off(folder: Path) -> None:
    """HB_060 has more than its sun off."""
    sheet = max((folder / "shots/HB_060").glob("*.yaml"))
    text = sheet.read_text(encoding="utf-8")
    for light, before, after in (
        ("rim", "intensity: 1.6", "intensity: 4.8"),
        ("boat_lamp", "samples: 16", "samples: 2"),
    ):
        start = text.index(f"  {light}: ")
        assert before in text[start:]
        text = text[:start] + text[start:].replace(before, after, 1)
    sheet.write_text(text, encoding="utf-8")


@pytest.fixture(scope="module")
def harbour_of_module(tmp_path_factory: pytest.TempPathFactory) -> StandingHarbour:
    return StandingHarbour(tmp_path_factory.mktemp("more") / "harbour", with_more_off)


@pytest.fixture
def window(standing_window: MainWindow, qtbot: QtBot) -> MainWindow:
    """One for all: who decides leaves another to the next test."""
    qtbot.waitUntil(lambda: not standing_window.searching.busy)
    return standing_window


@pytest.fixture
def review(window: MainWindow, qtbot: QtBot) -> ReviewWindow:
    """On HB_060, of which several things are said."""
    window.select("HB_060", "lights.sun.direction")
    press(qtbot, window, "review")
    made = window.review.window
    assert made is not None
    made.showNormal()
    made.resize(1280, 720)
    QApplication.processEvents()
    qtbot.waitUntil(lambda: not made.pictures.frames.busy)
    return made


def state_of(review: ReviewWindow) -> ReviewState:
    assert review.state is not None
    return review.state


@pytest.mark.parametrize("size", [(1280, 720), (1920, 1080), (3840, 2160)])
def test_the_frame_has_the_wall_and_all_lines_are_whole(review: ReviewWindow, size: tuple[int, int]) -> None:
    assert len(state_of(review).said.drifts()) > MOST
    review.resize(*size)
    QApplication.processEvents()
    assert review.pictures.pane.width() >= 0.97 * size[0]
    assert review.pictures.pane.height() >= 0.7 * size[1]
    one = state_of(review)
    one.go("HB_240")  # of which nothing is said
    review.show_shot()
    QApplication.processEvents()
    assert review.pictures.pane.height() >= 0.75 * size[1]
    parts = [review.head.name_label, review.pictures.pane, review.findings.lines, review.last_line]
    tops = [part.mapTo(review, QPoint(0, 0)).y() for part in parts]
    ends = [top + part.height() for top, part in zip(tops, parts, strict=True)]
    assert all(end <= top for end, top in zip(ends, tops[1:], strict=False)) and ends[-1] <= size[1]


def test_a_number_chooses_what_is_decided_on(review: ReviewWindow, qtbot: QtBot) -> None:
    state = state_of(review)
    folder = state.session.contents.folder
    everything = state.choice.to_decide()[0]
    said = state.said.drifts()
    place = next(
        i for i, one in enumerate(said) if 0 < len(set(one.cells) & set(everything)) < len(everything)
    )
    QTest.keyClick(review, Qt.Key(Qt.Key.Key_1 + place))
    assert review.findings.lines.chosen == place and place in review.findings.lines.shown()
    chosen = state.choice.to_decide()[0]
    assert set(chosen) == set(said[place].cells) & set(everything)
    assert f"{len(chosen) + len(state.choice.to_decide()[1])} case" in review.findings.return_button.toolTip()
    QTest.keyClick(review, Qt.Key.Key_S)
    answer_line(review, "Only this one", "ada")
    names = {state.session.table.rows[row].parameter for row, _ in chosen}
    made = {one.parameter for one in open_session(folder).ledger.all()}
    others = {state.session.table.rows[row].parameter for row, _ in set(everything) - set(chosen)}
    assert made >= names and others and not made & others
    assert set(state.said.unsettled_cells()) == set(everything)  # what is sent back is still to be mended
    QTest.keyClick(review, Qt.Key(Qt.Key.Key_1 + place))
    review.step(lambda state: state.step(1))
    assert [review.findings.lines.chosen, state.choice.one()] == [None, None]


def test_a_verdict_is_asked_for_in_one_line_in_the_type_of_the_wall(
    review: ReviewWindow, qtbot: QtBot
) -> None:
    """The line says to whom it goes; the arrows offer the finding's advice first; Esc and another shot let it be."""
    state, line = state_of(review), review.last_line.verdict
    folder = state.session.contents.folder
    QTest.keyClick(review, Qt.Key.Key_S)
    assert review.last_line.currentWidget() is line and line.reason.hasFocus()
    assert QApplication.activeModalWidget() is None, "nothing comes up over the frame"
    assert line.label.text() == f"Send back to {state.session.crew.who(state.shot)}, signed {review.bar.who}"
    assert line.reason.font().pixelSize() == line.label.font().pixelSize() == review.sizes.room
    QTest.keyClick(line.reason, Qt.Key.Key_Return)
    assert not (folder / "decisions").exists(), "nothing is sent back without a reason"
    QTest.keyClick(line.reason, Qt.Key.Key_Down)
    advised = advice(state.session, *state.choice.to_decide())
    assert line.reason.text() == [*advised, *REASONS[Verb.RETURN]][0]
    QTest.keyClick(line.reason, Qt.Key.Key_Escape)
    assert review.last_line.currentWidget() is review.bar and line.question is None
    QTest.keyClick(review, Qt.Key.Key_I)
    assert line.label.text() == f"Mark as intended, signed {review.bar.who}" and line.reason.text() == ""
    review.step(lambda state: state.step(1))
    assert review.last_line.currentWidget() is review.bar and line.question is None
    assert not (folder / "decisions").exists()


def test_a_verdict_is_about_what_is_chosen(review: ReviewWindow, qtbot: QtBot) -> None:
    """A press on another line lets the question be; a menu over the reason does not."""
    line, folder = review.last_line.verdict, state_of(review).session.contents.folder
    review.choose(0)
    QTest.keyClick(review, Qt.Key.Key_S)
    QTest.keyClicks(line.reason, "mend it")
    QApplication.sendEvent(line.reason, QFocusEvent(QEvent.Type.FocusOut, Qt.FocusReason.PopupFocusReason))
    assert review.last_line.currentWidget() is line and line.reason.text() == "mend it"
    review.findings.lines.pressed.emit(1)
    assert review.findings.lines.chosen == 1
    QTest.keyClick(line.reason, Qt.Key.Key_Return)
    assert line.question is None and review.last_line.currentWidget() is review.bar
    assert not (folder / "decisions").exists()
    review.choose(1)


def test_a_press_on_a_line_chooses_it_and_again_lets_go(review: ReviewWindow, qtbot: QtBot) -> None:
    below = QPoint(30, review.findings.lines.height() - 4)
    for expected in (review.findings.lines.shown()[-1], None):
        qtbot.mouseClick(review.findings.lines, Qt.MouseButton.LeftButton, pos=below)
        assert review.findings.lines.chosen == expected
    QTest.keyClick(review, Qt.Key.Key_9)
    assert len(state_of(review).said.drifts()) >= 9 or review.findings.lines.chosen is None


def test_the_note_stands_in_the_place_of_the_controls_while_it_is_typed(
    review: ReviewWindow, qtbot: QtBot
) -> None:
    assert review.bar.isVisible() and not review.last_line.note_edit.isVisible()
    review.activateWindow()
    qtbot.waitUntil(lambda: QApplication.activeWindow() is review)
    QTest.keyClick(review, Qt.Key.Key_T)
    assert review.last_line.note_edit.isVisible() and not review.bar.isVisible()
    QTest.keyClick(review.last_line.note_edit, Qt.Key.Key_Escape)
    assert review.bar.isVisible() and not review.last_line.note_edit.isVisible()


def test_details_show_all_that_is_said_and_are_remembered(review: ReviewWindow) -> None:
    QTest.keyClick(review, Qt.Key.Key_D)
    assert (
        review.details.drifts.isVisible()
        and review.pictures.before.isVisible()
        and not review.findings.lines.isVisible()
    )
    review.close()
    assert review.settings.number("review_details", 0) == 1
    review.show()
    review.actions_by_name["details"].trigger()
    assert (
        review.findings.lines.isVisible()
        and not review.details.drifts.isVisible()
        and not review.pictures.before.isVisible()
    )


def test_dialogs_for_the_person_at_the_keys_are_not_on_the_wall(
    review: ReviewWindow, window: MainWindow, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    state_of(review).session.note("HB_060", "Too dark", "ada")
    over: list[object] = []

    def asked(parent: object, *_: Any) -> tuple[str, str]:
        over.append(parent)
        return "", ""

    monkeypatch.setattr(QFileDialog, "getSaveFileName", asked)
    review.actions_by_name["export_all"].trigger()
    assert over == [window]


def test_the_cut_plays_from_shot_to_shot(review: ReviewWindow, qtbot: QtBot) -> None:
    state = state_of(review)
    QTest.keyClick(review, Qt.Key.Key_Space)
    assert review.playing.speed == 1 and review.bar.view_label.text() == "Plays"
    review.playing.go_on()
    assert state.shot == "HB_070"
    QTest.keyClick(review, Qt.Key.Key_L)
    assert review.playing.says() == "Plays, 2×"
    QTest.keyClick(review, Qt.Key.Key_J)
    assert review.playing.speed == -1
    review.playing.go_on()
    assert state.shot == "HB_060"
    QTest.keyClick(review, Qt.Key.Key_K)
    review.playing.go_on()
    assert (review.playing.speed, state.shot) == (0, "HB_060")
    state.to_end(last=True)
    review.playing.toggle()
    review.playing.go_on()
    assert review.playing.speed == 0


def test_while_the_cut_plays_a_trace_of_what_is_looked_at_stands_below(
    review: ReviewWindow, qtbot: QtBot
) -> None:
    """The same row all the while, with the value of the shot that is shown; a press goes to a shot."""
    state, line = state_of(review), review.last_line.cut_line
    place = next(i for i, one in enumerate(state.said.drifts()) if "sun" in one.says)
    review.choose(place)
    QTest.keyClick(review, Qt.Key.Key_Space)
    assert review.last_line.currentWidget() is line and line.shown is not None
    azimuth = next(one for one in row_traces(state.session.table, sun_row(state)) if one.title == "azimuth")
    assert (line.shown.trace.title, line.shown.shots) == ("azimuth", state.shots)
    assert line.shown.trace.values.tolist() == azimuth.values.tolist()
    at = state.shots.index("HB_060")
    assert line.says().endswith(azimuth.read_out(at))
    before = line.grab().toImage()
    shown = line.shown
    for _ in range(3):
        review.playing.go_on()
    assert line.shown is shown, "a whole cut is not traced anew for each of its shots"
    assert line.says().endswith(azimuth.read_out(at + 3)) and line.grab().toImage() != before
    room = line.plot_room()
    first = QPoint(round(room.left() + room.width() / len(state.shots) / 2), line.height() // 2)
    qtbot.mouseClick(line, Qt.MouseButton.LeftButton, pos=first)
    assert state.shot == state.shots[0]
    QTest.keyClick(review, Qt.Key.Key_K)
    assert review.last_line.currentWidget() is review.bar


def sun_row(state: ReviewState) -> int:
    row = state.session.table.row("lights.sun.direction")
    assert row is not None
    return row


def test_a_shot_plays_as_long_as_it_is(harbour_session: Session) -> None:
    state = ReviewState(harbour_session, "HB_010")
    assert state.length() == 132 / 24
    state.session.contents.sheets["HB_010"].typed.pop("frames")  # type: ignore[attr-defined]
    assert state.length() == LENGTH


def test_playing_is_by_its_own_clock(qtbot: QtBot) -> None:
    gone: list[int] = []
    left = [3]

    def step(by: int) -> bool:
        gone.append(by)
        left[0] -= 1
        return left[0] > 0

    playing = Playing(lambda: 0.001, step)
    for _ in range(5):
        playing.play(-1)
    assert playing.speed == -FASTEST
    qtbot.waitUntil(lambda: playing.speed == 0)
    assert gone == [-1, -1, -1]
