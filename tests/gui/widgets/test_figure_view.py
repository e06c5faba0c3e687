"""The figure preview as the window shows it."""

from __future__ import annotations

import numpy as np
from pytestqt.qtbot import QtBot

from samelight.drift.computed.figure import SIZE, Figure
from samelight.gui.widgets.figure_view import FigureView, picture_of


def test_both_heads_and_what_they_are(qtbot: QtBot) -> None:
    dark, bright = np.full((SIZE, SIZE, 3), 0.0), np.full((SIZE, SIZE, 3), 1.0)
    bright[0, 0] = np.nan
    made = FigureView()
    qtbot.addWidget(made)
    made.announce("face", "master v003", "HB_030 v002")
    assert made.heads.pictures == []
    made.show_figure(Figure("face", dark, bright))
    left, right = made.heads.pictures
    assert left.pixelColor(5, 5).red() == 255
    assert left.pixelColor(0, 0).alpha() == 0
    assert right.pixelColor(5, 5).red() == 0
    assert "left under the lights of master v003" in made.words()
    assert "A model, no render" in made.words()


def test_a_picture_holds_its_own_pixels() -> None:
    linear = np.full((4, 6, 3), 0.5)
    picture = picture_of(linear)
    linear[:] = 0.0
    assert (picture.width(), picture.height()) == (6, 4)
    assert picture.pixelColor(3, 2).red() == 188
