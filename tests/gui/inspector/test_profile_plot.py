"""Two profiles as one polar diagram: on one scale, down where the light shines to, with peak and beam in words."""

from __future__ import annotations

import pytest
from pytestqt.qtbot import QtBot

from samelight.gui.inspector.profile_plot import ProfilePlot, outline, profile_in
from samelight.gui.paint import theme
from samelight.light.profile import profile_of
from samelight.sheets.values import FileRef

NARROW = "0 30 60 90; 0; 100 50 0 0"
WIDE = "0 30 60 90; 0 90 180 270; 50 50 50 50 50 50 50 50 50 20 10 5 50 50 50 50"
NAMES = ("master v003", "HB_110 v002")


def test_a_curve_is_what_leaves_in_each_direction() -> None:
    """Of a narrow lamp all lies within 60 degrees of straight down; a lamp that is cut off on one side shows it there."""
    narrow, wide = profile_of(NARROW), profile_of(WIDE)
    assert narrow is not None and wide is not None
    points = outline(narrow, narrow.peak)
    assert max(points, key=lambda point: point[1]) == pytest.approx((0.0, 1.0))
    assert all(y >= -1e-9 for _, y in points)
    assert max(x for x, _ in points) == pytest.approx(-min(x for x, _ in points))
    points = outline(wide, narrow.peak)
    assert max(y for _, y in points) == pytest.approx(0.5), "both on the scale of the brighter"
    assert max(x for x, _ in points) == pytest.approx(0.5, abs=1e-6)
    assert min(x for x, _ in points) > -0.2, "cut off in the plane opposite its own +X"


def test_both_are_drawn_and_said(qtbot: QtBot) -> None:
    made = ProfilePlot()
    qtbot.addWidget(made)
    made.resize(320, 260)
    assert made.show_pair(FileRef("a.ies", "aa", NARROW), FileRef("b.ies", "bb", WIDE), NAMES)
    made.show()
    assert made.said.text().splitlines() == [
        "master v003 (dashed): peak 100 cd, beam 60°",
        "HB_110 v002 (line): peak 50 cd, beam 180°",
    ]
    picture = made.diagram.grab().toImage()
    down = made.diagram.at(0.0, 0.5).toPoint()
    bright = [
        picture.pixelColor(down.x() + x, down.y() + y).red() for x in range(-3, 4) for y in range(-3, 4)
    ]
    assert max(bright) > theme.DIM_TEXT.red() + 20, "the shot's curve ends half way down"
    assert "peak 100 cd" in made.words()


def test_without_a_profile_nothing_is_shown(qtbot: QtBot) -> None:
    made = ProfilePlot()
    qtbot.addWidget(made)
    assert not made.show_pair(FileRef("a.exr", "aa", "64 32 pixels"), None, NAMES) and made.isHidden()
    assert profile_in(None) is None
