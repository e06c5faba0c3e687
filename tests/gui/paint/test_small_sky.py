"""The small sky of a shot: it looks the same whether it is painted or was kept, and is painted once."""

from __future__ import annotations

from dataclasses import replace

import pytest
from PySide6.QtCore import QRectF
from PySide6.QtGui import QImage, QPainter
from pytestqt.qtbot import QtBot

from gui_films import film_session
from samelight.drift.table import Table
from samelight.gui.paint import small_sky, theme
from samelight.gui.paint.small_sky import SmallSky, paint_sky


@pytest.fixture(scope="module")
def table(tmp_path_factory: pytest.TempPathFactory) -> Table:
    """Of four shots with twenty lights."""
    return film_session(tmp_path_factory.mktemp("film"), 4, drift=0.5).table


def ground(ratio: float) -> QImage:
    image = QImage(round(130 * ratio), round(90 * ratio), QImage.Format.Format_RGB32)
    image.setDevicePixelRatio(ratio)
    image.fill(theme.PANEL)
    return image


@pytest.fixture
def painted(monkeypatch: pytest.MonkeyPatch) -> list[object]:
    """Notes each sky that is painted."""
    found: list[object] = []

    def noted(*sky: object) -> None:
        found.append(sky)
        paint_sky(*sky)  # type: ignore[arg-type]  # handed on

    monkeypatch.setattr(small_sky, "paint_sky", noted)
    return found


@pytest.mark.parametrize("ratio", [1.0, 1.1, 1.25, 1.5, 2.0])
def test_a_kept_sky_is_the_painted_one_to_the_pixel(qtbot: QtBot, table: Table, ratio: float) -> None:
    sky = SmallSky(theme.PANEL)
    for away in (0.0, 0.25, 1 / 3, 0.5):  # where in a pixel of the screen it begins
        for room in (QRectF(20, 18, 61, 34), QRectF(20, 18, 37, 34), QRectF(20, 18, 80.2, 60)):
            plain = ground(ratio)
            painter = QPainter(plain)
            painter.translate(away, away)
            paint_sky(painter, room.center(), min(room.width(), room.height()) / 2 - 1, sky.spots(table, 1))
            painter.end()
            for _ in ("painted", "kept"):
                drawn = ground(ratio)
                painter = QPainter(drawn)
                painter.translate(away, away)
                sky.draw(painter, room, table, 1)
                painter.end()
                assert drawn == plain, (away, room)
            assert plain != ground(ratio)


def test_a_sky_that_was_drawn_is_not_painted_again(qtbot: QtBot, table: Table, painted: list[object]) -> None:
    sky, image = SmallSky(theme.PANEL), ground(1.0)
    painter = QPainter(image)
    for left in (10.0, 13.0, 20.0):  # as it is scrolled
        sky.draw(painter, QRectF(left, 4, 61, 34), table, 1)
    assert len(painted) == 1
    sky.draw(painter, QRectF(10, 4, 61, 34), table, 2)
    sky.draw(painter, QRectF(10, 4, 40, 20), table, 1)
    assert len(painted) == 3
    sky.draw(painter, QRectF(10, 4, 61, 34), replace(table), 1)  # another table, whatever it holds
    assert len(painted) == 4
    painter.end()


def test_lights_are_seen_by_the_north_of_now(qtbot: QtBot, table: Table, painted: list[object]) -> None:
    sky = SmallSky(theme.PANEL)
    up, right = (sky.spots(table, 1, north) for north in ((0.0, 0.0, -1.0), (1.0, 0.0, 0.0)))
    assert up and [spot.x for spot in right] == pytest.approx([-spot.y for spot in up])
    assert sky.spots(table, 1) == up
