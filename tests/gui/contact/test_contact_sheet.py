"""The cut as frames in the place of the grid: the same shot is chosen in both, and each says its worst drift."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QImage, QWheelEvent
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from gui_help import opened, press
from known import about
from samelight.gui.background.frames import PROXY
from samelight.gui.contact.contact_sheet import MOST, SHOT_ROLE, ContactSheet
from samelight.gui.paint import theme
from samelight.gui.state.contact_data import Lay, shot_frames
from samelight.gui.state.rows import GridState
from samelight.gui.window.main_window import MainWindow
from samelight.sequence.session import Session


@pytest.fixture
def sheet(window: MainWindow, qtbot: QtBot) -> ContactSheet:
    press(qtbot, window, "contact")
    return opened(window).work.contact


def chosen(sheet: ContactSheet) -> str:
    shot: str = sheet.frames.currentIndex().data(SHOT_ROLE).shot
    return shot


def test_what_is_said_of_a_shot_is_what_its_cells_say(harbour_session: Session) -> None:
    state = GridState(harbour_session)
    by_shot = {one.shot: one for one in shot_frames(state, Lay.CUT)}
    assert list(by_shot) == list(state.table.shots)
    turned, quiet = by_shot["HB_050"], by_shot["HB_010"]
    assert (turned.lighter, turned.worst, turned.severity) == (
        "Ines",
        "11.0° sun direction",
        about(21.9, abs=0.1),
    )
    assert (quiet.worst, quiet.severity, quiet.undecided) == ("", 0.0, 0)
    assert turned.says == "HB_050, lit by Ines, 1 undecided. Worst: 11.0° sun direction"


def test_shots_lie_by_the_cut_by_harm_and_by_lighter(harbour_session: Session) -> None:
    state = GridState(harbour_session)
    score = {
        state.table.shots[one.column]: float(state.standing.score[:, one.column].max())
        for one in shot_frames(state, Lay.CUT)
    }
    worst = [one.shot for one in shot_frames(state, Lay.WORST)]
    assert [score[shot] for shot in worst] == sorted(score.values(), reverse=True)
    who = [one.lighter for one in shot_frames(state, Lay.LIGHTER)]
    assert who == sorted(who) and set(who) == {"Ines", "Tomas"}


def test_it_stands_in_the_place_of_the_grid_with_the_same_shot_chosen(
    window: MainWindow, sheet: ContactSheet, qtbot: QtBot
) -> None:
    assert sheet.isVisible() and not opened(window).views.grid.isVisible()
    window.go_to_shot("HB_120")
    assert chosen(sheet) == "HB_120"
    qtbot.keyClick(sheet.frames, Qt.Key.Key_Right)
    assert chosen(sheet) == "HB_130"
    name = opened(window).views.cell_name()
    assert name is not None and name[0] == "HB_130"
    press(qtbot, window, "contact")
    assert opened(window).views.grid.isVisible() and not sheet.isVisible()
    name = opened(window).views.cell_name()
    assert name is not None and name[0] == "HB_130"


def test_frames_in_view_are_read_beside_the_window(sheet: ContactSheet, qtbot: QtBot) -> None:
    shot = sheet.model.shots[sheet.frames.in_view()[0]].shot
    qtbot.waitUntil(lambda: sheet.cache.frame(shot, PROXY) is not None)
    frame = sheet.cache.frame(shot, PROXY)
    assert frame is not None and frame.image is not None
    sheet.stops.setValue(2.0)
    qtbot.waitUntil(lambda: (sheet.cache.frame(shot, PROXY) or frame).stops == 2.0)
    bright = sheet.cache.frame(shot, PROXY)
    assert bright is not None and bright.image is not None
    place = frame.image.rect().center()
    assert bright.image.pixelColor(place).green() > frame.image.pixelColor(place).green()


def test_more_or_fewer_stand_in_a_row_and_all_lie_within_the_sheet(sheet: ContactSheet) -> None:
    for across in (2, 6, MOST):
        sheet.across.setValue(across)
        QApplication.processEvents()
        rooms = [sheet.frames.visualRect(sheet.model.index(place)) for place in range(24)]
        assert sum(room.top() == rooms[0].top() for room in rooms) == across
        assert max(room.right() for room in rooms) <= sheet.frames.viewport().width()
        assert all(room.height() > 2 * sheet.frames.fontMetrics().height() for room in rooms)
    middle = QPointF(sheet.frames.viewport().rect().center())
    turn = QWheelEvent(
        middle,
        middle,
        QPoint(),
        QPoint(0, 120),
        Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.ControlModifier,
        Qt.ScrollPhase.NoScrollPhase,
        False,
    )
    QApplication.sendEvent(sheet.frames.viewport(), turn)
    assert sheet.across.value() == MOST - 1


def test_space_shows_the_shot_large_in_the_review(
    window: MainWindow, sheet: ContactSheet, qtbot: QtBot
) -> None:
    window.go_to_shot("HB_060")
    qtbot.keyClick(sheet.frames, Qt.Key.Key_Space)
    assert window.review.window is not None and window.review.window.isVisible()
    assert window.review.window.state is not None and window.review.window.state.shot == "HB_060"


def at_rest(sheet: ContactSheet, qtbot: QtBot) -> QImage:
    """What the frames show while no pointer is over them, once all that is still read has come."""
    viewport = sheet.frames.viewport()
    QApplication.sendEvent(viewport, QEvent(QEvent.Type.Leave))
    seen = [viewport.grab().toImage()]

    def same() -> bool:
        QApplication.processEvents()
        seen.append(viewport.grab().toImage())
        return seen[-1] == seen[-2]

    qtbot.waitUntil(same)
    return seen[-1]


def test_under_the_pointer_a_frame_is_wiped_against_the_key_shots(sheet: ContactSheet, qtbot: QtBot) -> None:
    """Left of the pointer the key shot's frame stands in the place of this one's, right of it this one stays."""
    sheet.marks.setChecked(False)
    place = next(at for at in sheet.frames.in_view() if sheet.model.shots[at].shot == "HB_030")
    names = ("HB_030", sheet.model.shots[place].key_shot)
    assert names[1] == "HB_040"
    qtbot.waitUntil(lambda: all(sheet.cache.frame(name, PROXY) is not None for name in names))
    item = sheet.frames.visualRect(sheet.model.index(place))
    middle = QPoint(item.center().x(), item.top() + item.height() // 3)
    before = at_rest(sheet, qtbot)
    qtbot.mouseMove(sheet.frames.viewport(), middle)
    during = sheet.frames.viewport().grab().toImage()
    rows = range(item.top() + 20, middle.y() + 20, 4)
    changed = {
        (x, y)
        for x in range(item.left() + 8, item.right() - 8)
        for y in rows
        if before.pixel(x, y) != during.pixel(x, y)
    }
    left = [x for x, _ in changed if x <= middle.x()]
    assert len(left) > (middle.x() - item.left() - 8) * len(rows) / 2 and len(left) == len(changed)
    QApplication.sendEvent(sheet.frames.viewport(), QEvent(QEvent.Type.Leave))
    assert sheet.frames.viewport().grab(item).toImage() == before.copy(item)


def test_a_shot_without_a_frame_shows_where_its_lights_come_from(sheet: ContactSheet, qtbot: QtBot) -> None:
    """As over the grid: a sky with a mark for each light that comes from somewhere."""
    place = next(at for at in range(sheet.model.rowCount()) if sheet.model.shots[at].shot == "HB_170")
    sheet.frames.scrollTo(sheet.model.index(place))
    qtbot.waitUntil(lambda: sheet.cache.frame("HB_170", PROXY) is not None)
    item = sheet.frames.visualRect(sheet.model.index(place)).adjusted(4, 4, -4, -40)
    picture = sheet.frames.viewport().grab(item).toImage()
    level = theme.DIM_TEXT.red()
    marks = [
        (x, y)
        for x in range(picture.width())
        for y in range(picture.height() * 2 // 3)
        if picture.pixelColor(x, y).red() == level
    ]
    assert len(marks) > 20 and len({x for x, _ in marks}) > 8
