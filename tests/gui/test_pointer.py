"""What a test does with the mouse is over with it."""

from __future__ import annotations

import pytest
from PySide6.QtGui import QCursor
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot


@pytest.mark.parametrize("turn", ["first", "second"])
def test_the_pointer_is_over_no_window_that_comes_up(turn: str, qtbot: QtBot) -> None:
    widget = QWidget()
    qtbot.addWidget(widget)
    widget.resize(200, 200)
    widget.show()
    QApplication.processEvents()
    assert not widget.underMouse(), turn
    QCursor.setPos(widget.mapToGlobal(widget.rect().center()))
    QApplication.processEvents()
    assert widget.underMouse()
