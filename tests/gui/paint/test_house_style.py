"""What the style of the house changes about Qt's own, and that it needs no style sheet for it."""

from __future__ import annotations

from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QImage
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QApplication,
    QComboBox,
    QFileDialog,
    QMainWindow,
    QSplitter,
    QStyle,
    QStyleOptionComboBox,
    QToolBar,
    QToolButton,
    QToolTip,
    QWidget,
)
from pytestqt.qtbot import QtBot

from samelight.gui.paint.house_style import HouseStyle


def grey(image: QImage, x: int, y: int) -> int:
    colour = image.pixelColor(x, y)
    assert colour.red() == colour.green() == colour.blue()
    return colour.red()


def opens_as_menu(box: QComboBox) -> bool:
    box.ensurePolished()
    option = QStyleOptionComboBox()
    box.initStyleOption(option)
    return bool(box.style().styleHint(QStyle.StyleHint.SH_ComboBox_Popup, option, box))


def test_no_widget_is_held_against_a_style_sheet(qapp: QApplication) -> None:
    """Qt does so with each part of each widget at each opening as soon as the program has one."""
    assert qapp.styleSheet() == ""
    assert isinstance(qapp.style(), HouseStyle)


def test_drop_down_lists_open_as_lists_in_the_boxes_of_qt_too(qtbot: QtBot) -> None:
    dialog = QFileDialog(options=QFileDialog.Option.DontUseNativeDialog)
    box = QComboBox()
    for widget in (dialog, box):
        qtbot.addWidget(widget)
    boxes = [box, *dialog.findChildren(QComboBox)]
    assert len(boxes) >= 2
    assert not any(map(opens_as_menu, boxes))


def test_a_tool_bar_has_room_and_no_edge(qtbot: QtBot) -> None:
    window, bar = QMainWindow(), QToolBar()
    qtbot.addWidget(window)
    window.addToolBar(bar)
    first, second = QWidget(), QWidget()
    for part in (first, second):
        part.setFixedSize(20, 20)
        bar.addWidget(part)
    bar.setMovable(False)
    window.resize(200, 100)
    window.show()
    assert (first.x(), first.y()) == (4, 4)
    assert second.x() - first.geometry().right() - 1 == 6
    image = bar.grab().toImage()
    ground = window.palette().window().color().red()
    assert {grey(image, 100, y) for y in range(image.height())} == {ground}


def test_a_splitter_shows_where_it_parts(qtbot: QtBot) -> None:
    splitter = QSplitter(Qt.Orientation.Vertical)
    qtbot.addWidget(splitter)
    splitter.setHandleWidth(5)
    for _ in range(2):
        splitter.addWidget(QWidget())
    splitter.resize(80, 105)
    image = splitter.handle(1).grab().toImage()
    assert {grey(image, x, y) for x in range(image.width()) for y in range(image.height())} == {40}


def test_the_words_of_a_tool_tip_have_room_within_an_edge(qtbot: QtBot) -> None:
    host = QWidget()
    qtbot.addWidget(host)
    QToolTip.showText(QPoint(5, 5), "What this is", host)
    tip = next(each for each in QApplication.topLevelWidgets() if each.inherits("QTipLabel"))
    image = tip.grab().toImage()
    middle = image.height() // 2
    assert [grey(image, x, middle) for x in range(6)] == [86, 28, 28, 28, 28, 28]
    QToolTip.hideText()


def test_the_keyboard_is_seen_on_a_button_that_is_on_too(qtbot: QtBot) -> None:
    window = QMainWindow()
    qtbot.addWidget(window)
    buttons = [QToolButton(window) for _ in range(2)]
    for place, button in enumerate(buttons):
        button.setCheckable(True)
        button.setChecked(place == 1)
        button.setGeometry(100 * place, 0, 80, 30)
        button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
    window.show()
    window.activateWindow()
    qtbot.waitUntil(window.isActiveWindow)
    window.setFocus()
    before = [button.grab().toImage() for button in buttons]
    for button, without in zip(buttons, before, strict=True):
        QTest.keyClick(window.focusWidget() or window, Qt.Key.Key_Tab)
        assert button.hasFocus()
        assert button.grab().toImage() != without
