"""Dailies from start to end: the review window driven as the person at the keys drives it."""

from __future__ import annotations

import csv
import math
import shutil
import threading
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import QPoint, QRect, QSizeF, Qt
from PySide6.QtGui import QFontMetrics, QFontMetricsF, QGuiApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractSpinBox,
    QApplication,
    QComboBox,
    QFileDialog,
    QLabel,
    QLineEdit,
    QMessageBox,
    QTextBrowser,
    QWidget,
)
from pytestqt.qtbot import QtBot

from exr_help import write_grey
from gui_help import answer_line, answer_reason, open_window, opened, press
from samelight.decisions.decision import Verb
from samelight.decisions.state import State
from samelight.gui.background import frame_cache, frames
from samelight.gui.background.frames import FULL, Frame
from samelight.gui.dialogs.keys_box import KeysBox, show_keys
from samelight.gui.review import monitors
from samelight.gui.review.review_commands import REVIEW_COMMANDS
from samelight.gui.review.review_state import Compare, Other
from samelight.gui.review.review_window import ReviewWindow
from samelight.gui.review.type_size import TypeSizes, density_of, fitting, pixel_font
from samelight.gui.widgets.settings import Settings
from samelight.gui.window.main_window import MainWindow
from samelight.sequence.cases import Cases
from samelight.sequence.session import open_session
from standing_harbour import StandingHarbour

GREY_118, GREY_162 = 118, 162
"""Codes of 0.18 and of 0.36 by the sRGB curve."""


def with_grey_frames(folder: Path) -> Path:
    """Harbour with frames of one grey, whose codes are known; HB_070 has none, HB_080's is no picture."""
    shutil.rmtree(folder / "frames", ignore_errors=True)
    for shot, grey in {
        "HB_040": 0.36,
        "HB_050": 0.09,
        "HB_060": 0.18,
        "HB_010": 0.18,
        "HB_020": 0.18,
    }.items():
        write_grey(folder / f"frames/{shot}.exr", grey, (240, 100))
    (folder / "frames/HB_080.exr").write_text("not rendered yet", encoding="utf-8")
    return folder


@pytest.fixture
def harbour_folder(harbour_folder: Path) -> Path:
    return with_grey_frames(harbour_folder)


@pytest.fixture(scope="module")
def harbour_of_module(tmp_path_factory: pytest.TempPathFactory) -> StandingHarbour:
    return StandingHarbour(tmp_path_factory.mktemp("grey") / "harbour", with_grey_frames)


@pytest.fixture
def window(request: pytest.FixtureRequest) -> MainWindow:
    """Most tests look; who changes files or decides has `harbour_folder`."""
    own = "harbour_folder" in request.fixturenames
    made: MainWindow = request.getfixturevalue("own_window" if own else "standing_window")
    return made


@pytest.fixture
def review(window: MainWindow, qtbot: QtBot) -> ReviewWindow:
    """The review window, brought up from the grid at HB_060."""
    window.select("HB_060", "lights.sun.direction")
    return brought_up(window, qtbot)


def brought_up(window: MainWindow, qtbot: QtBot, size: tuple[int, int] = (1280, 720)) -> ReviewWindow:
    press(qtbot, window, "review")
    review = window.review.window
    assert review is not None
    review.showNormal()
    review.resize(*size)
    settled(review, qtbot)
    return review


def settled(review: ReviewWindow, qtbot: QtBot) -> None:
    """Everything is read and laid out."""
    QApplication.processEvents()
    qtbot.waitUntil(lambda: not review.pictures.frames.busy)
    QApplication.processEvents()


def key(
    review: ReviewWindow, qtbot: QtBot, *keys: Qt.Key, shift: bool = False, control: bool = False
) -> None:
    """Press keys as a keyboard does, so that shortcuts answer."""
    modifiers = Qt.KeyboardModifier.NoModifier
    modifiers |= Qt.KeyboardModifier.ShiftModifier if shift else Qt.KeyboardModifier.NoModifier
    modifiers |= Qt.KeyboardModifier.ControlModifier if control else Qt.KeyboardModifier.NoModifier
    review.activateWindow()
    qtbot.waitUntil(lambda: QApplication.activeWindow() is review)
    for each in keys:
        QTest.keyClick(review.focusWidget() or review, each, modifiers)
    settled(review, qtbot)


def shot(review: ReviewWindow) -> str:
    assert review.state is not None
    return review.state.shot


def level(review: ReviewWindow, place: QPoint) -> int:
    """The grey that is drawn at a place of the pane."""
    colour = (
        review.pictures.pane.grab().toImage().pixelColor(place * review.pictures.pane.devicePixelRatioF())
    )
    assert colour.red() == colour.green() == colour.blue()
    return colour.red()


def grid_shot(window: MainWindow) -> str:
    current = opened(window).views.grid.current_line()
    assert current is not None
    return opened(window).views.model.state.table.shots[current[1]]


def test_a_dailies_session_from_start_to_end(
    qtbot: QtBot, harbour_folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """By keys alone: up on the screen, full, along the cut, wiped, noted, sent back, saved; then what is on disk."""
    window = open_window(qtbot, harbour_folder)
    window.select("HB_040", "lights.sun.direction")
    press(qtbot, window, "review")
    review = window.review.window
    assert review is not None and shot(review) == "HB_040"
    review.showNormal()
    settled(review, qtbot)
    key(review, qtbot, Qt.Key.Key_F11)
    assert review.isFullScreen() and review.size() == review.screen().size()

    key(review, qtbot, Qt.Key.Key_Right, Qt.Key.Key_Right)
    assert (shot(review), grid_shot(window)) == ("HB_060", "HB_060")
    key(review, qtbot, Qt.Key.Key_C)
    line, middle = review.pictures.pane.line_x(), review.pictures.pane.wiped_place().center().y()
    assert abs(level(review, QPoint(line - 20, middle)) - GREY_118) <= 1
    assert abs(level(review, QPoint(line + 20, middle)) - GREY_162) <= 1
    key(review, qtbot, Qt.Key.Key_Plus, Qt.Key.Key_Plus)
    assert abs(level(review, QPoint(line - 20, middle)) - GREY_162) <= 1
    key(review, qtbot, Qt.Key.Key_0)
    before = review.grab().toImage()

    key(review, qtbot, Qt.Key.Key_T)
    qtbot.keyClicks(review.last_line.note_edit, "Sun too high; keep the sky")
    QTest.keyClick(review.last_line.note_edit, Qt.Key.Key_Return)
    key(review, qtbot, Qt.Key.Key_S)
    answer_line(review, "Bring the sun back", "ada")
    assert review.grab().toImage() != before, "what was said is on the screen"
    save_as(monkeypatch, tmp_path / "today.csv")
    key(review, qtbot, Qt.Key.Key_E, control=True)
    key(review, qtbot, Qt.Key.Key_Escape)
    assert not review.isFullScreen()
    window.close()
    assert not review.isVisible()

    made = open_session(harbour_folder).ledger.all()
    assert [(one.shot, one.reason) for one in made if one.verb is Verb.NOTE] == [
        ("HB_060", "Sun too high; keep the sky")
    ]
    returned = [one for one in made if one.verb is Verb.RETURN]
    assert {(one.shot, one.who, one.reason) for one in returned} == {("HB_060", "ada", "Bring the sun back")}
    assert "lights.sun.direction" in {one.parameter for one in returned}
    assert len(list((harbour_folder / "decisions").glob("*.yaml"))) == len(made)
    with (tmp_path / "today.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = [(row["shot"], row["what"], row["text"]) for row in csv.DictReader(file)]
    assert rows == [
        ("HB_060", "note", "Sun too high; keep the sky"),
        ("HB_060", "sent back", "Bring the sun back"),
    ]


# Walking the cut


def test_the_room_walks_the_cut(review: ReviewWindow, window: MainWindow, qtbot: QtBot) -> None:
    assert (shot(review), review.head.name_label.text()) == ("HB_060", "HB_060")
    assert review.head.place_label.text() == "6 of 24, against master 3, Ines"
    assert "The sun stands 11° further south in HB_050 to HB_080" in review.details.drifts.text.toPlainText()
    assert window.session is not None
    before, after = (window.session.cases.tally([shot]).undecided for shot in ("HB_050", "HB_070"))
    assert review.pictures.before.accessibleName().startswith(f"Shot before: HB_050, {before} undecided")
    assert review.pictures.after.accessibleName().startswith(f"Next shot: HB_070, {after} undecided")
    key(review, qtbot, Qt.Key.Key_Right)
    assert shot(review) == "HB_070"
    key(review, qtbot, Qt.Key.Key_Left, Qt.Key.Key_Left)
    assert shot(review) == "HB_050"
    key(review, qtbot, Qt.Key.Key_End)
    assert (shot(review), review.pictures.after.isEnabled()) == ("HB_240", False)
    key(review, qtbot, Qt.Key.Key_Home)
    assert (shot(review), review.pictures.before.isEnabled()) == ("HB_010", False)
    assert "matches the master" in review.details.drifts.text.toPlainText()
    key(review, qtbot, Qt.Key.Key_PageDown)
    assert shot(review) == "HB_020"
    key(review, qtbot, Qt.Key.Key_PageDown)
    assert shot(review) == "HB_030"
    key(review, qtbot, Qt.Key.Key_PageUp)
    assert shot(review) == "HB_020"


def test_a_click_on_a_neighbour_goes_there(review: ReviewWindow, qtbot: QtBot) -> None:
    review.show_details(True)
    qtbot.mouseClick(review.pictures.after, Qt.MouseButton.LeftButton)
    assert shot(review) == "HB_070"
    review.pictures.before.setFocus()
    qtbot.keyClick(review.pictures.before, Qt.Key.Key_Space)
    assert shot(review) == "HB_060"


def test_leading_the_grid_and_following_it(review: ReviewWindow, window: MainWindow, qtbot: QtBot) -> None:
    assert review.bar.leading and review.bar.lead_button.text() == "Leads the grid"
    key(review, qtbot, Qt.Key.Key_Right)
    assert grid_shot(window) == "HB_070"
    key(review, qtbot, Qt.Key.Key_PageDown)
    assert grid_shot(window) == "HB_080"
    # While it leads, the grid moves by itself without taking the room along.
    window.select("HB_120", "render.gi.range")
    assert shot(review) == "HB_080"
    key(review, qtbot, Qt.Key.Key_G)
    assert (review.bar.leading, review.bar.lead_button.text()) == (False, "Follows the grid")
    window.select("HB_130", "environments.dawn_sky.seen_by")
    assert shot(review) == "HB_130"
    key(review, qtbot, Qt.Key.Key_Right)
    assert (shot(review), grid_shot(window)) == ("HB_140", "HB_130")
    key(review, qtbot, Qt.Key.Key_G)
    assert grid_shot(window) == "HB_140"


# The frame


def test_exposure_by_numbers_on_the_screen(review: ReviewWindow, qtbot: QtBot) -> None:
    middle = review.pictures.pane.area().center()
    assert abs(level(review, middle) - GREY_118) <= 1
    assert review.bar.view_label.text().startswith("Scene-linear, Rec.709, +0.0 stops, clipped, sRGB curve")
    key(review, qtbot, Qt.Key.Key_Plus, Qt.Key.Key_Plus)
    assert abs(level(review, middle) - GREY_162) <= 1
    assert "+1.0 stops" in review.bar.view_label.text()
    key(review, qtbot, Qt.Key.Key_Minus, Qt.Key.Key_Minus, Qt.Key.Key_Minus, Qt.Key.Key_Minus)
    assert abs(level(review, middle) - 85) <= 1
    key(review, qtbot, Qt.Key.Key_0)
    assert abs(level(review, middle) - GREY_118) <= 1


def test_the_wipe_against_the_key_shot(review: ReviewWindow, qtbot: QtBot) -> None:
    pane = review.pictures.pane
    key(review, qtbot, Qt.Key.Key_C)
    assert review.bar.compare is Compare.WIPE
    y = pane.wiped_place().center().y()
    assert abs(level(review, QPoint(pane.line_x() - 20, y)) - GREY_118) <= 1
    assert abs(level(review, QPoint(pane.line_x() + 20, y)) - GREY_162) <= 1
    assert "wiped at 50% against HB_040, key shot" in pane.accessibleDescription()
    # The line follows the hand.
    to = QPoint(pane.wiped_place().left() + pane.wiped_place().width() // 4, y)
    qtbot.mousePress(pane, Qt.MouseButton.LeftButton, pos=QPoint(pane.line_x(), y))
    qtbot.mouseMove(pane, to)
    QTest.mouseRelease(pane, Qt.MouseButton.LeftButton, pos=to)
    assert pane.wipe == pytest.approx(0.25, abs=0.01)
    assert abs(level(review, QPoint(pane.line_x() + 20, y)) - GREY_162) <= 1
    key(review, qtbot, Qt.Key.Key_Right, Qt.Key.Key_Right, shift=True)
    assert pane.wipe == pytest.approx(0.29, abs=0.01)
    assert shot(review) == "HB_060"
    pane.set_wipe(-3.0)
    assert pane.wipe == 0.0


def test_its_heading_counts_findings_alone(
    review: ReviewWindow, window: MainWindow, monkeypatch: pytest.MonkeyPatch
) -> None:
    review.show_details(True)
    assert review.details.drifts.heading.text() == "What drifts: 2 findings"
    assert window.session is not None
    monkeypatch.setattr(Cases, "findings", [])  # of a film they come later than its cells
    review.show_shot()
    assert review.details.drifts.heading.text() == "What drifts"
    assert "The sun stands" in review.details.drifts.text.toPlainText()


def test_side_by_side_with_the_shot_before(review: ReviewWindow, qtbot: QtBot) -> None:
    key(review, qtbot, Qt.Key.Key_C, Qt.Key.Key_C, Qt.Key.Key_O)
    assert (review.bar.compare, review.bar.other) == (Compare.SIDE, Other.BEFORE)
    left, right = review.pictures.pane.halves()
    assert abs(level(review, left.center()) - GREY_118) <= 1
    assert abs(level(review, right.center()) - 85) <= 1
    assert "beside HB_050, shot before" in review.pictures.pane.accessibleDescription()


def test_two_frames_have_all_the_room_there_is(review: ReviewWindow, qtbot: QtBot) -> None:
    review.show_details(True)
    alone = review.pictures.pane.width()
    key(review, qtbot, Qt.Key.Key_C, Qt.Key.Key_C)
    assert review.bar.compare is Compare.SIDE
    assert not review.pictures.before.isVisible() and not review.pictures.after.isVisible()
    qtbot.waitUntil(lambda: review.pictures.pane.width() > alone)
    key(review, qtbot, Qt.Key.Key_C)
    assert review.pictures.before.isVisible() and review.pictures.after.isVisible()


@pytest.mark.parametrize("height", [600, 777, 950])
def test_words_are_shown_in_whole_lines(review: ReviewWindow, height: int) -> None:
    review.show_details(True)
    review.resize(1280, height)
    for panel in (review.details.drifts, review.details.decided):
        line = QFontMetrics(panel.text.document().defaultFont()).lineSpacing()
        assert panel.text.viewport().height() % line == 0 or panel.text.height() < line


def test_neighbours_are_shown_small(review: ReviewWindow, qtbot: QtBot) -> None:
    review.show_details(True)
    image = review.pictures.before.grab().toImage()
    codes = {
        image.pixelColor(image.width() // 2, y).red() for y in range(image.height() // 4, image.height() // 2)
    }
    assert codes & {84, 85, 86}


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("HB_070", "No frame. Put a picture at frames/HB_070.exr, .png or .jpg"),
        ("HB_080", "HB_080.exr cannot be shown: it is no OpenEXR picture, whatever its ending says."),
    ],
)
def test_why_there_is_no_frame_stands_in_its_place(
    review: ReviewWindow, qtbot: QtBot, name: str, says: str
) -> None:
    review.go(name)
    settled(review, qtbot)
    assert says in review.pictures.pane.accessibleDescription()
    plain = review.pictures.pane.grab().toImage()
    review.pictures.pane.set_type(1)
    assert review.pictures.pane.grab().toImage() != plain, "the words are drawn"


def test_a_new_render_comes_up_by_itself(review: ReviewWindow, qtbot: QtBot, harbour_folder: Path) -> None:
    write_grey(harbour_folder / "frames/HB_060.exr", 0.36, (240, 100))
    middle = review.pictures.pane.area().center()
    qtbot.waitUntil(lambda: abs(level(review, middle) - GREY_162) <= 1)
    (harbour_folder / "frames/HB_060.exr").unlink()
    qtbot.waitUntil(lambda: "No frame" in review.pictures.pane.accessibleDescription())


def test_while_the_frame_is_read_its_small_copy_stands_in(
    review: ReviewWindow, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    """HB_050 is known small from the side; going there shows that until the full one is read."""
    go = threading.Event()
    load = frames.load

    def slow(folder: Path, name: str, longest: int, *rest: object) -> Frame:
        if longest == FULL:
            assert go.wait(240)
        return load(folder, name, longest, *rest)  # type: ignore[arg-type]

    monkeypatch.setattr(frame_cache, "load", slow)
    review.actions_by_name["previous_shot"].trigger()
    assert shot(review) == "HB_050"
    assert abs(level(review, review.pictures.pane.area().center()) - 85) <= 1
    assert review.bar.view_label.text().endswith("; this is preview quality; the full frame is loading")
    go.set()
    settled(review, qtbot)
    assert review.pictures.frames.frame("HB_050", FULL) is not None
    assert "preview quality" not in review.bar.view_label.text()


def test_the_next_frame_is_read_before_it_is_asked_for(review: ReviewWindow, qtbot: QtBot) -> None:
    review.go("HB_010")
    settled(review, qtbot)
    review.actions_by_name["next_shot"].trigger()
    assert shot(review) == "HB_020" and review.pictures.frames.frame("HB_020", FULL) is not None


# Saying something


def test_a_note_goes_into_the_ledger_and_out_again(
    review: ReviewWindow, window: MainWindow, qtbot: QtBot, harbour_folder: Path
) -> None:
    opened = review.head.count_label.text()
    key(review, qtbot, Qt.Key.Key_T)
    assert review.focusWidget() is review.last_line.note_edit
    # Letters that are commands elsewhere, and an arrow, are typing here.
    qtbot.keyClicks(review.last_line.note_edit, "Sails lost their sit")
    QTest.keyClick(review.last_line.note_edit, Qt.Key.Key_Left)
    assert (shot(review), review.last_line.note_edit.text()) == ("HB_060", "Sails lost their sit")
    QTest.keyClick(review.last_line.note_edit, Qt.Key.Key_Return)
    assert review.last_line.note_edit.text() == ""
    (note,) = open_session(harbour_folder).ledger.notes("HB_060")
    assert (note.verb, note.reason, note.parameter) == (Verb.NOTE, "Sails lost their sit", "")
    assert "Sails lost their sit" in review.details.decided.text.toPlainText()
    assert review.head.count_label.text() == opened
    key(review, qtbot, Qt.Key.Key_Z, control=True)
    assert "Sails" not in review.details.decided.text.toPlainText()
    assert open_session(harbour_folder).ledger.notes("HB_060") == []
    key(review, qtbot, Qt.Key.Key_Z, control=True, shift=True)
    assert "Sails lost their sit" in review.details.decided.text.toPlainText()


def test_a_half_typed_note_waits_for_the_shot_it_is_typed_for(
    review: ReviewWindow, window: MainWindow, qtbot: QtBot, harbour_folder: Path
) -> None:
    line = review.last_line
    key(review, qtbot, Qt.Key.Key_G)  # the review follows the grid
    key(review, qtbot, Qt.Key.Key_T)
    qtbot.keyClicks(line.note_edit, "Sails lost")
    window.select("HB_050", "lights.sun.direction")  # in the other window
    assert (shot(review), line.note_edit.text(), line.currentWidget()) == ("HB_050", "", review.bar)
    assert line.note_edit.placeholderText().startswith("Note on HB_050")
    line.note_edit.returnPressed.emit()
    assert not (harbour_folder / "decisions").exists()
    key(review, qtbot, Qt.Key.Key_T)
    qtbot.keyClicks(line.note_edit, "Too dark")
    review.go("HB_060")
    assert line.note_edit.text() == "Sails lost" and "half typed" in review.bar.view_label.text()
    key(review, qtbot, Qt.Key.Key_T)
    qtbot.keyClicks(line.note_edit, " their sit")
    QTest.keyClick(line.note_edit, Qt.Key.Key_Return)
    review.go("HB_050")
    assert line.note_edit.text() == "Too dark"
    review.go("HB_060")
    assert line.note_edit.text() == ""
    ledger = open_session(harbour_folder).ledger
    assert [(note.shot, note.reason) for note in ledger.all()] == [("HB_060", "Sails lost their sit")]


def test_an_empty_note_is_none(review: ReviewWindow, qtbot: QtBot, harbour_folder: Path) -> None:
    review.last_line.note_edit.setText("   ")
    review.last_line.note_edit.returnPressed.emit()
    assert not (harbour_folder / "decisions").exists()


def test_a_shot_is_sent_back_from_the_room(
    review: ReviewWindow, window: MainWindow, qtbot: QtBot, harbour_folder: Path
) -> None:
    assert review.state is not None
    cells = review.state.said.unsettled_cells()
    key(review, qtbot, Qt.Key.Key_S)
    answer_line(review, "Bring the sun back", "ada")
    made = open_session(harbour_folder).ledger.all()
    assert {decision.parameter for decision in made} == {
        opened(window).views.model.state.table.rows[row].parameter for row, _ in cells
    }
    assert {(one.verb, one.shot, one.who, one.reason) for one in made} == {
        (Verb.RETURN, "HB_060", "ada", "Bring the sun back")
    }
    assert len({one.batch for one in made}) == 1
    assert all(review.state.session.cases.state(*cell) is State.SENT_BACK for cell in cells)
    said = review.details.decided.text.toPlainText()
    assert "Sent back" in said and "Bring the sun back" in said and "ada" in said
    assert review.bar.who == "ada" and review.settings.text("who") == "ada"


def test_a_shot_is_marked_as_intended_from_the_room(
    review: ReviewWindow, window: MainWindow, qtbot: QtBot, harbour_folder: Path
) -> None:
    review.go("HB_110")
    before = opened(window).views.model.state.counts()
    qtbot.mouseClick(review.findings.intend_button, Qt.MouseButton.LeftButton)
    answer_line(review, "Rim cooled on purpose")
    assert opened(window).views.model.state.counts()["unsettled"] == before["unsettled"] - 1
    assert review.head.count_label.text() == "1 intended"
    assert "Nothing that is not intended." in review.details.drifts.text.toPlainText()
    assert "Rim cooled on purpose" in review.details.decided.text.toPlainText()
    assert not review.findings.intend_button.isEnabled()
    # With nothing open the key says so and asks for nothing.
    key(review, qtbot, Qt.Key.Key_I)
    assert review.bar.view_label.text() == "Nothing to decide or mend in this shot"


def test_what_the_grid_decides_shows_in_the_room(
    review: ReviewWindow, window: MainWindow, qtbot: QtBot
) -> None:
    window.select("HB_060", "lights.sun.direction")
    answer_reason("They sail round the point")
    press(qtbot, window, "intend")
    assert "They sail round the point" in review.details.decided.text.toPlainText()


def test_a_ledger_that_cannot_be_written_is_said(
    review: ReviewWindow, qtbot: QtBot, harbour_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (harbour_folder / "decisions").write_text("in the way", encoding="utf-8")
    said: list[str] = []
    monkeypatch.setattr(QMessageBox, "warning", lambda *words: said.append(words[2]))
    review.last_line.note_edit.setText("kept for another try")
    review.last_line.note_edit.returnPressed.emit()
    assert "could not be written" in said[0]
    assert review.last_line.note_edit.text() == "kept for another try"
    review.actions_by_name["return"].trigger()
    answer_line(review, "back")
    assert "could not be written" in said[1]


def save_as(monkeypatch: pytest.MonkeyPatch, path: Path, kind: str = "") -> None:
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(path) if path.name else "", kind))


def test_the_notes_of_a_session_are_saved(
    review: ReviewWindow, qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name, text in (("HB_210", "=1+1"), ("HB_120", "Nets read *too* dark")):
        review.go(name)
        review.last_line.note_edit.setText(text)
        review.last_line.note_edit.returnPressed.emit()
    review.actions_by_name["return"].trigger()
    answer_line(review, "Type it with its unit")
    save_as(monkeypatch, tmp_path / "notes.md")
    key(review, qtbot, Qt.Key.Key_E, control=True)
    assert review.bar.view_label.text() == "Saved notes.md"
    text = (tmp_path / "notes.md").read_text(encoding="utf-8")
    assert text.startswith("# Dailies of Harbour, ")
    assert text.index("## HB\\_120") < text.index("## HB\\_210")
    for said in ("Nets read \\*too\\* dark", "**sent back**: Type it with its unit", "  - render.gi.range"):
        assert said in text
    save_as(monkeypatch, tmp_path / "notes", "CSV (*.csv)")
    key(review, qtbot, Qt.Key.Key_E, control=True)
    with (tmp_path / "notes.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [(row["shot"], row["what"], row["text"]) for row in rows] == [
        ("HB_120", "note", "Nets read *too* dark"),
        ("HB_120", "sent back", "Type it with its unit"),
        ("HB_210", "note", "'=1+1"),
    ]


def test_notes_from_before_are_saved_only_when_all_are_asked_for(
    harbour_folder: Path, qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    session = open_session(harbour_folder)
    old = session.note("HB_050", "said last week", "lead")
    file = harbour_folder / f"decisions/{old.id}.yaml"
    when = old.when.isoformat().replace("+00:00", "Z")
    file.write_text(file.read_text(encoding="utf-8").replace(when, "2026-01-05T09:00:00Z"), encoding="utf-8")
    window = open_window(qtbot, harbour_folder)
    review = brought_up(window, qtbot)
    save_as(monkeypatch, tmp_path / "notes.md")
    review.actions_by_name["export"].trigger()
    assert review.bar.view_label.text() == "Nothing was said yet that could be saved"
    assert not (tmp_path / "notes.md").exists()
    review.actions_by_name["export_all"].trigger()
    assert "said last week" in (tmp_path / "notes.md").read_text(encoding="utf-8")
    save_as(monkeypatch, Path())
    review.actions_by_name["export_all"].trigger()
    window.close()


def test_a_place_that_cannot_be_saved_to_is_said(
    review: ReviewWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    review.last_line.note_edit.setText("darker")
    review.last_line.note_edit.returnPressed.emit()
    (tmp_path / "file").touch()
    said: list[str] = []
    monkeypatch.setattr(QMessageBox, "warning", lambda *words: said.append(words[2]))
    save_as(monkeypatch, tmp_path / "file" / "notes.md")
    review.actions_by_name["export"].trigger()
    assert "could not be written" in said[0]


# The window itself


def seen_from(distance_m: float, pixels: float, screen_inches: float, screen_pixels: int) -> float:
    """Under how many minutes of arc so many pixels are seen, of a 16:9 screen so many pixels high."""
    high_mm = screen_inches * 25.4 * 9 / math.hypot(16, 9)
    return math.degrees(math.atan2(pixels / screen_pixels * high_mm, distance_m * 1000)) * 60


def density(screen_inches: float, screen_pixels: int) -> float:
    return screen_pixels / (screen_inches * 9 / math.hypot(16, 9))


@pytest.mark.parametrize("pixels", [720, 1080, 2160])
@pytest.mark.parametrize("inches", [43, 55, 65, 85, 120])
def test_the_room_reads_it_from_three_metres(inches: int, pixels: int) -> None:
    """Capitals of at least 20 minutes of arc on any screen large enough for a room; the name is twice that."""
    sizes = TypeSizes.fitting(pixels, density(inches, pixels))
    for em, wanted in ((sizes.room, 20), (sizes.name, 40)):
        capital = QFontMetricsF(pixel_font(em)).capHeight()
        assert seen_from(3.0, capital, inches, pixels) >= wanted - 0.1
    # Never more than the frame can spare, and never a pixel of em more than that needs.
    assert QFontMetricsF(pixel_font(sizes.room - 1)).capHeight() <= pixels / 30
    assert sizes.read_from(density(inches, pixels)) >= 2.99


@pytest.mark.parametrize(("inches", "metres"), [(24, 1.7), (27, 1.95), (32, 2.3)])
def test_on_a_smaller_screen_it_says_from_where_it_is_read(inches: int, metres: float) -> None:
    sizes = TypeSizes.fitting(1080, density(inches, 1080))
    capital = QFontMetricsF(pixel_font(sizes.room)).capHeight()
    assert capital == pytest.approx(1080 / 30, abs=1)
    distance = sizes.read_from(density(inches, 1080))
    assert distance == pytest.approx(metres, abs=0.06)
    assert seen_from(distance, capital, inches, 1080) == pytest.approx(20, abs=0.3)


@pytest.mark.parametrize("height", [480, 720, 1080, 2160])
def test_on_a_screen_that_tells_no_size_capitals_are_a_fortieth_of_the_height(height: int) -> None:
    sizes = TypeSizes.fitting(height)
    assert QFontMetricsF(pixel_font(sizes.room)).capHeight() >= height / 40
    assert QFontMetricsF(pixel_font(sizes.room - 1)).capHeight() < height / 40 + 1
    assert QFontMetricsF(pixel_font(sizes.name, bold=True)).capHeight() >= height / 20


def test_the_size_of_a_screen_is_believed_only_where_it_can_be(qtbot: QtBot) -> None:
    class Screen:
        def __init__(self, millimetres: float, dots: float) -> None:
            self.physicalSize = lambda: QSizeF(millimetres, millimetres)
            self.physicalDotsPerInchY = lambda: dots

    said = [(0.0, 96.0), (16.0, 1500.0), (600.0, 92.0), (9000.0, 3.0)]
    assert [density_of(Screen(*each)) for each in said] == [None, None, 92.0, None]  # type: ignore[arg-type]
    assert density_of(None) is None


def test_the_screen_it_is_on_sets_the_size(review: ReviewWindow, qtbot: QtBot) -> None:
    dots = density_of(review.screen())
    assert dots is not None
    assert review.sizes == TypeSizes.fitting(review.height(), dots)
    says = f"its words are read from {review.sizes.read_from(dots):.1f} m"
    assert says in review.bar.screen_button.toolTip()
    review.bar.show_distance(None)
    assert "read from" not in review.bar.screen_button.toolTip()


def test_a_long_name_gives_way_and_is_said_in_whole(review: ReviewWindow, qtbot: QtBot) -> None:
    label, name = review.head.name_label, "HB_" + 12 * "a_long_name_" + "010"
    short = label.grab().toImage()
    label.setText(name)
    settled(review, qtbot)
    assert label.text() == name and label.toolTip() == f"Shot: {name}"
    assert label.shown_text() != name and "…" in label.shown_text()
    assert label.geometry().right() < review.head.place_label.geometry().left() < review.width()
    assert label.grab().toImage() != short
    label.setText("HB_060")
    settled(review, qtbot)
    assert (label.shown_text(), label.toolTip()) == ("HB_060", "Shot")


@pytest.mark.parametrize("size", [(1280, 720), (1920, 1080), (3840, 2160)])
def test_what_the_room_reads_is_that_large_and_fits(
    window: MainWindow, qtbot: QtBot, size: tuple[int, int]
) -> None:
    window.select("HB_150", "lights.bounce.level")
    review = brought_up(window, qtbot, size)
    assert (review.width(), review.height()) == size
    assert review.findings.lines.height() == review.findings.lines.sizeHint().height()
    assert review.pictures.pane.height() > size[1] * 0.7
    review.show_details(True)
    settled(review, qtbot)
    for widget in (
        review.head.name_label,
        review.head.place_label,
        review.head.count_label,
        review.last_line.note_edit,
        review.details.drifts.text,
        review.details.decided.text,
    ):
        assert QFontMetricsF(widget.font()).capHeight() >= size[1] / 40
    assert QFontMetricsF(review.details.drifts.text.document().defaultFont()).capHeight() >= size[1] / 40
    for label in (review.head.name_label, review.head.place_label, review.head.count_label):
        assert label.width() >= label.sizeHint().width()
    assert not review.findings.lines.isVisible()
    assert review.pictures.pane.height() > size[1] * 0.4
    assert review.details.drifts.text.height() > size[1] * 0.15


def test_all_but_drift_is_neutral_grey(review: ReviewWindow, qtbot: QtBot) -> None:
    """In a shot that drifts nowhere every pixel of the window is R = G = B."""
    review.go("HB_010")
    settled(review, qtbot)
    image = review.grab().toImage().convertToFormat(review.grab().toImage().Format.Format_RGB888)
    rows = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), image.bytesPerLine())
    pixels = rows[:, : 3 * image.width()].reshape(image.height(), image.width(), 3).astype(int)
    assert np.ptp(pixels, axis=2).max() == 0


def test_everything_says_what_it_is_and_is_reached_by_keys(review: ReviewWindow) -> None:
    controls = [
        widget
        for kind in (QAbstractButton, QComboBox, QAbstractSpinBox, QLineEdit, QTextBrowser)
        for widget in review.findChildren(kind)
        if widget.objectName() != "qt_spinbox_lineedit"
    ]
    assert len(controls) >= 14
    for widget in controls:
        assert isinstance(widget, QWidget)
        assert widget.toolTip() and widget.accessibleName(), widget
        # Either Tab leads there, or a command of its own does, whose keys the tip ends with.
        by_keys = any(widget.toolTip().endswith(f"({command.keys})") for command in REVIEW_COMMANDS)
        assert widget.focusPolicy() & Qt.FocusPolicy.TabFocus or by_keys, widget
    for label in (
        review.head.name_label,
        review.head.place_label,
        review.head.count_label,
        review.bar.view_label,
    ):
        assert isinstance(label, QLabel) and label.accessibleName()
    assert review.pictures.pane.accessibleName() and review.pictures.pane.toolTip()


def test_every_command_has_its_own_key(review: ReviewWindow) -> None:
    keys = [command.keys for command in REVIEW_COMMANDS]
    assert all(keys) and len(set(keys)) == len(keys)
    assert set(review.actions_by_name) == {command.name for command in REVIEW_COMMANDS}


def test_the_keys_are_listed(review: ReviewWindow, monkeypatch: pytest.MonkeyPatch) -> None:
    said: list[str] = []
    monkeypatch.setattr(KeysBox, "exec", lambda box: said.append(box.text.toPlainText()))
    review.actions_by_name["keys"].trigger()
    assert "PgDown" in said[0] and "Next unsettled shot" in said[0]
    show_keys(review, {"a & b": [("<", "less & more")]})
    assert said[1].split() == ["a", "&", "b", "<", "less", "&", "more"]


def test_full_screen_and_back(review: ReviewWindow, qtbot: QtBot) -> None:
    key(review, qtbot, Qt.Key.Key_F11)
    assert review.isFullScreen()
    assert review.size() == review.screen().size()
    key(review, qtbot, Qt.Key.Key_T)
    key(review, qtbot, Qt.Key.Key_Escape)
    assert review.isFullScreen() and review.focusWidget() is not review.last_line.note_edit
    key(review, qtbot, Qt.Key.Key_Escape)
    assert not review.isFullScreen()


def test_the_screen_is_chosen_from_those_there_are(review: ReviewWindow, qtbot: QtBot) -> None:
    review.bar.screen_menu.aboutToShow.emit()
    actions = review.bar.screen_menu.actions()
    assert len(actions) == len(QGuiApplication.screens())
    assert [action.isChecked() for action in actions].count(True) == 1
    here = review.screen().availableGeometry()
    actions[0].trigger()
    assert review.settings.text("review_screen") == monitors.name_of(QGuiApplication.screens()[0])
    assert here.intersects(QRect(review.geometry()))
    key(review, qtbot, Qt.Key.Key_M)
    if len(actions) == 1:
        assert review.bar.view_label.text() == "There is one screen"


def test_it_comes_back_as_it_was_left(harbour_folder: Path, qtbot: QtBot) -> None:
    window = open_window(qtbot, harbour_folder)
    review = brought_up(window, qtbot)
    review.bar.compare_box.setCurrentText(str(Compare.SIDE))
    review.bar.other_box.setCurrentText(str(Other.AFTER))
    review.actions_by_name["lead"].trigger()
    review.actions_by_name["full"].trigger()
    window.close()
    assert not review.isVisible()
    again = open_window(qtbot, harbour_folder)
    press(qtbot, again, "review")
    other = again.review.window
    assert other is not None and other.isFullScreen()
    assert (other.bar.compare, other.bar.other, other.bar.leading) == (Compare.SIDE, Other.AFTER, False)
    again.close()


def test_it_is_brought_up_again_at_the_cursor(review: ReviewWindow, window: MainWindow, qtbot: QtBot) -> None:
    review.close()
    assert not review.isVisible()
    window.select("HB_120", "render.gi.range")
    # While nobody looks, nothing is read.
    window.run("reload")
    qtbot.waitUntil(lambda: not window.loader.busy)
    assert not review.pictures.frames.busy
    press(qtbot, window, "review")
    assert window.review.window is review and review.isVisible()
    assert shot(review) == "HB_120"


def test_another_sequence_takes_the_place(review: ReviewWindow, window: MainWindow, qtbot: QtBot) -> None:
    other = open_session(Path(__file__).parents[3] / "sample_sequences/first_steps")
    window.show_session(other)
    settled(review, qtbot)
    assert shot(review) == "FS_010"
    assert review.pictures.frames.frame("FS_010", FULL) is not None
    assert "No frame" in review.pictures.pane.accessibleDescription()


def test_without_a_sequence_there_is_nothing_to_review(qtbot: QtBot) -> None:
    window = MainWindow()
    qtbot.addWidget(window)
    window.run("review")
    assert window.review.window is None
    empty = ReviewWindow(Settings())
    qtbot.addWidget(empty)
    empty.show()
    for command in REVIEW_COMMANDS:
        if command.name not in ("keys", "full"):
            empty.actions_by_name[command.name].trigger()
    assert empty.head.name_label.text() == ""


def test_coming_up_says_a_shot_once(
    window: MainWindow, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    """However often the window is moved and resized on its way to its place, and whatever size its type then has."""
    said: list[str] = []
    real = ReviewWindow.show_shot

    def noting(self: ReviewWindow) -> None:
        said.append(shot(self))
        real(self)

    monkeypatch.setattr(ReviewWindow, "show_shot", noting)
    window.select("HB_060", "lights.sun.direction")
    review = brought_up(window, qtbot)
    assert said == ["HB_060"]
    for size in ((900, 500), (1900, 1060), (1280, 720)):
        before = review.sizes
        review.resize(*size)
        settled(review, qtbot)
        assert review.sizes != before
        wanted = pixel_font(review.sizes.room).pixelSize()
        for panel in (review.details.drifts, review.details.decided):
            assert panel.text.document().defaultFont().pixelSize() == wanted
        assert review.details.drifts.text.toPlainText()
    key(review, qtbot, Qt.Key.Key_Right)
    assert said == ["HB_060", "HB_070"]


def test_words_that_are_too_wide_are_written_smaller_before_they_are_cut(qtbot: QtBot) -> None:
    said = "11 undecided"
    whole = QFontMetricsF(pixel_font(34)).horizontalAdvance(said)
    for share, size, fits in ((1.1, 34, True), (0.8, None, True), (0.3, 17, False)):
        font, shown = fitting(said, 34, round(share * whole))
        assert (shown == said) == fits
        assert font.pixelSize() == size if size else 17 < font.pixelSize() < 34
