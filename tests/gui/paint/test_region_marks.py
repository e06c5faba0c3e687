"""Rings about marks, as they are drawn."""

from __future__ import annotations

from PySide6.QtCore import QRect
from PySide6.QtGui import QColor, QImage, QPainter
from pytestqt.qtbot import QtBot

from samelight.gui.paint import drift_scale, theme
from samelight.gui.paint.region_marks import SMALLEST, draw_regions, place_of, ring_colour
from samelight.sequence.mark_regions import MarkRegion

FRAME = QRect(20, 10, 200, 100)


def region(
    severity: float = 0.0, *, is_round: bool = True, left: float = 0.4, right: float = 0.6
) -> MarkRegion:
    return MarkRegion("face", left, 0.3, right, 0.7, is_round, severity, "face")


def drawn(*regions: MarkRegion, ground: int = 90) -> QImage:
    image = QImage(240, 120, QImage.Format.Format_RGB32)
    image.fill(theme.grey(ground))
    painter = QPainter(image)
    draw_regions(painter, FRAME, regions, 3.0)
    painter.end()
    return image


def test_a_ring_touches_its_edges_in_the_colour_of_its_drift(qtbot: QtBot) -> None:
    off = region(6.0)
    assert ring_colour(off) == drift_scale.colour(6.0) != theme.BRIGHT
    image = drawn(off)
    # Its left edge lies at 20 + 0.4 x 200, its middle at half the height.
    assert image.pixelColor(100, 60) == ring_colour(off)
    assert image.pixelColor(120, 60) == theme.grey(90)  # what is inside is the picture
    assert image.pixelColor(102, 42) == theme.grey(90)  # the corner of a ring is empty
    assert drawn(region(6.0, is_round=False)).pixelColor(100, 60) == ring_colour(off)


def test_what_is_not_off_is_bright_and_seen_on_any_ground(qtbot: QtBot) -> None:
    for ground in (0, 128, 250):
        image = drawn(region(), ground=ground)
        seen = [image.pixelColor(x, 60).red() for x in range(94, 106)]
        assert max(seen) - min(seen) > 100


def test_a_small_mark_is_still_seen_and_none_leaves_its_frame(qtbot: QtBot) -> None:
    tiny = place_of(region(left=0.5, right=0.501), FRAME)
    assert tiny.width() == SMALLEST and tiny.center().x() == 20 + 0.5005 * 200
    image = drawn(region(9.0, left=-0.3, right=0.05))
    outside = {image.pixelColor(x, y).rgb() for x in range(20) for y in range(120)}
    assert outside == {QColor(theme.grey(90)).rgb()}
