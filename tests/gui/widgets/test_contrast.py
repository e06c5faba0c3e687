"""Text in everything that comes up over a window stands out from its ground, as it is drawn."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest
from PySide6.QtCore import QRect
from PySide6.QtGui import QImage
from PySide6.QtWidgets import (
    QAbstractItemView,
    QApplication,
    QComboBox,
    QCompleter,
    QDialog,
    QLabel,
    QLineEdit,
    QMenu,
    QMessageBox,
    QPushButton,
    QToolButton,
    QToolTip,
    QWidget,
)
from pytestqt.qtbot import QtBot

from colour_help import contrast
from gui_help import opened, press
from known import there
from samelight.decisions.decision import Verb
from samelight.gui.dialogs.deciding import ReasonDialog
from samelight.gui.dialogs.keys_box import KeysBox
from samelight.gui.dialogs.publish_dialog import PublishDialog
from samelight.gui.dialogs.views_dialog import ViewsDialog
from samelight.gui.widgets.commands import window_keys
from samelight.gui.window.main_window import MainWindow


@pytest.fixture
def window(standing_window: MainWindow) -> MainWindow:
    """They look at it."""
    return standing_window


TEXT = 4.5
"""WCAG 2.2, 1.4.3, contrast of text."""

Rgb = tuple[int, int, int]


def text_contrast(picture: QImage, room: QRect) -> float:
    """How far what stands out most in a room stands out from the colour that most of the room has."""
    ratio = picture.devicePixelRatio()
    within = QRect(room.topLeft() * ratio, room.size() * ratio).intersected(picture.rect())
    part = picture.copy(within).convertToFormat(QImage.Format.Format_RGB32)
    pixels, counts = np.unique(np.frombuffer(part.constBits(), np.uint32), return_counts=True)
    colours = [(pixel >> 16 & 255, pixel >> 8 & 255, pixel & 255) for pixel in pixels.tolist()]
    ground = colours[int(np.argmax(counts))]
    return max(contrast(colour, ground) for colour in colours)


def inside(room: QRect) -> QRect:
    """A room without its edges, where frames are."""
    return room.adjusted(4, 3, -4, -3)


def items(view: QAbstractItemView) -> Iterator[QRect]:
    """The rooms of the items of a list that are seen."""
    model = view.model()
    for row in range(model.rowCount()):
        room = view.visualRect(model.index(row, 0)).intersected(view.viewport().rect())
        if room.height() > 8:
            yield inside(room)


def texts(widget: QWidget) -> Iterator[QRect]:
    """The rooms of what is written in a box, but for what is disabled."""
    for one in widget.findChildren(QWidget):
        written = isinstance(one, QLabel | QPushButton | QLineEdit | QComboBox)
        if written and one.isVisibleTo(widget) and one.isEnabled() and (getattr(one, "text", lambda: "x")()):
            yield inside(QRect(one.mapTo(widget, one.rect().topLeft()), one.size()))


def check_popup(box: QComboBox) -> None:
    box.showPopup()
    QApplication.processEvents()
    picture = box.view().viewport().grab().toImage()
    found = [text_contrast(picture, room) for room in items(box.view())]
    box.hidePopup()
    assert found and min(found) >= TEXT, (box.accessibleName(), found)


def check_menu(menu: QMenu) -> None:
    menu.popup(there(menu.parentWidget()).mapToGlobal(there(menu.parentWidget()).rect().center()))
    QApplication.processEvents()
    picture = menu.grab().toImage()
    shown = [action for action in menu.actions() if not action.isSeparator() and action.isEnabled()]
    found = {action.text(): text_contrast(picture, menu.actionGeometry(action)) for action in shown}
    menu.close()
    assert all(ratio >= TEXT for ratio in found.values()), found


def check_box(box: QWidget) -> None:
    box.show()
    QApplication.processEvents()
    picture = box.grab().toImage()
    rooms = list(texts(box))
    assert rooms
    assert min(text_contrast(picture, room) for room in rooms) >= TEXT


def test_every_drop_down_list(qtbot: QtBot, window: MainWindow) -> None:
    press(qtbot, window, "review")
    review = window.review.window
    assert review is not None
    boxes = [*window.findChildren(QComboBox), *review.findChildren(QComboBox)]
    shown = [box for box in boxes if box.isVisible() and box.count()]
    assert len(shown) >= 6
    for box in shown:
        check_popup(box)


def test_a_button_that_is_on_stands_out_from_one_that_is_off(qtbot: QtBot, window: MainWindow) -> None:
    """By its fill and by its edge, in the same place; and its words stand out from its fill."""
    press(qtbot, window, "review")
    review = window.review.window
    assert review is not None
    grounds: dict[bool, list[tuple[int, int]]] = {}
    for button in (review.bar.marks_button, review.bar.lights_button, review.bar.lead_button):
        shown, size = QToolButton(review), button.sizeHint()
        shown.setText(button.text())
        shown.setFont(button.font())
        shown.setCheckable(True)
        for on in (True, False):
            shown.setChecked(on)
            assert shown.sizeHint() == size
            shown.resize(size)
            picture = shown.grab().toImage()
            column = [picture.pixelColor(4, y).red() for y in range(picture.height())]
            grounds.setdefault(on, []).append((column[len(column) // 2], max(column[0], column[-1])))
            assert text_contrast(picture, inside(shown.rect())) >= TEXT
        shown.deleteLater()
    for (fill, edge), (fill_off, edge_off) in zip(grounds[True], grounds[False], strict=True):
        assert contrast((fill,) * 3, (fill_off,) * 3) >= 3.0
        assert contrast((edge,) * 3, (edge_off,) * 3) >= 3.0


def test_every_menu(qtbot: QtBot, window: MainWindow) -> None:
    menus = [menu for menu in window.findChildren(QMenu) if menu.actions()]
    assert len(menus) >= 6
    for menu in menus:
        check_menu(menu)
    check_menu(window.bar.filter_edit.createStandardContextMenu())


def test_what_completes_a_shots_name(qtbot: QtBot, window: MainWindow) -> None:
    completer = window.bar.goto_edit.completer()
    assert isinstance(completer, QCompleter)
    window.bar.goto_edit.setText("HB")
    completer.setCompletionPrefix("HB")
    completer.complete()
    QApplication.processEvents()
    popup = there(completer.popup())
    found = [text_contrast(popup.viewport().grab().toImage(), room) for room in items(popup)]
    popup.hide()
    assert found and min(found) >= TEXT


@pytest.mark.parametrize("text", ["the sun of HB_040", "<b>the sun</b> of HB_040"])
def test_a_tool_tip(qtbot: QtBot, window: MainWindow, text: str) -> None:
    QToolTip.showText(window.mapToGlobal(window.rect().center()), text, window)
    tip = next(one for one in QApplication.topLevelWidgets() if one.inherits("QTipLabel"))
    assert text_contrast(tip.grab().toImage(), inside(tip.rect())) >= TEXT
    QToolTip.hideText()


def boxes(window: MainWindow) -> Iterator[QDialog]:
    session = window.session
    assert session is not None
    yield ReasonDialog(
        session, Verb.INTEND, session.cases.unsettled_cells()[:3], "lead", ["as in dailies"], window
    )
    yield PublishDialog(session, "lead", window)
    yield ViewsDialog(
        opened(window).view_keeper.take(opened(window).work.views),
        opened(window).view_keeper.folders(),
        window,
    )
    yield KeysBox(window_keys(), window)
    yield QMessageBox(QMessageBox.Icon.Warning, "Not done", "The folder is gone", parent=window)


def test_every_box(qtbot: QtBot, window: MainWindow) -> None:
    for box in boxes(window):
        check_box(box)
        for drop_down in box.findChildren(QComboBox):
            check_popup(drop_down)
        box.reject()
