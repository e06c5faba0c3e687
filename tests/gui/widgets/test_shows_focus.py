"""Widgets that draw whether they have the focus are drawn anew when it comes and goes."""

from __future__ import annotations

from functools import partial

import pytest
from PySide6.QtCore import QEvent
from PySide6.QtGui import QFocusEvent, QPaintEvent
from PySide6.QtWidgets import QAbstractButton, QApplication, QWidget
from pytestqt.qtbot import QtBot

from samelight.gui.grid.overview import Overview
from samelight.gui.inspector.places import GoButton
from samelight.gui.inspector.version_plot import VersionPlot
from samelight.gui.sky.sky_map import SkyMap
from samelight.gui.widgets.shows_focus import ShowsFocus


@pytest.mark.parametrize("base", [QWidget, QAbstractButton])
def test_the_focus_coming_and_going_draws_anew(base: type[QWidget], qtbot: QtBot) -> None:
    class Drawn(ShowsFocus, base):  # type: ignore[misc, valid-type]
        drawn = 0

        def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
            self.drawn += 1

    widget = Drawn()
    qtbot.addWidget(widget)
    widget.show()
    qtbot.waitUntil(lambda: widget.drawn > 0)

    def drawn_since(before: int) -> bool:
        return widget.drawn > before

    for kind in (QEvent.Type.FocusIn, QEvent.Type.FocusOut):
        QApplication.processEvents()
        before = widget.drawn
        QApplication.sendEvent(widget, QFocusEvent(kind))
        qtbot.waitUntil(partial(drawn_since, before))


@pytest.mark.parametrize("kind", [GoButton, Overview, SkyMap, VersionPlot])
def test_who_does(kind: type[QWidget]) -> None:
    assert issubclass(kind, ShowsFocus)
