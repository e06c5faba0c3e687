"""A kept picture is painted once, as sharp as what is painted directly, wherever its widget stands on the screen."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QPointF, QSize
from PySide6.QtGui import QImage, QPainter
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from samelight.gui.paint import theme
from samelight.gui.sky.kept_picture import KeptPicture


@pytest.fixture
def widget(qtbot: QtBot) -> QWidget:
    made = QWidget()
    qtbot.addWidget(made)
    made.resize(40, 30)
    return made


def dots(painter: QPainter) -> None:
    painter.setPen(theme.BRIGHT)
    painter.setBrush(theme.HIGHLIGHT)
    for x, y in ((5.0, 5.0), (20.3, 11.7), (34.5, 24.25)):
        painter.drawEllipse(QPointF(x, y), 3.2, 3.2)


def screen(ratio: float) -> tuple[QImage, QPainter]:
    """A screen that draws so many times larger."""
    image = QImage(QSize(100, 80), QImage.Format.Format_RGB32)
    image.setDevicePixelRatio(ratio)
    image.fill(theme.WINDOW)
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    return image, painter


@pytest.mark.parametrize("ratio", [1.0, 1.5, 2.0])
@pytest.mark.parametrize("left", [0, 3])
def test_it_looks_as_what_is_painted_directly(
    widget: QWidget, monkeypatch: pytest.MonkeyPatch, ratio: float, left: int
) -> None:
    monkeypatch.setattr(widget, "devicePixelRatioF", lambda: ratio)
    image, painter = screen(ratio)
    painter.translate(left, left)
    KeptPicture().draw(painter, widget, (), dots)
    painter.end()
    direct, painter = screen(ratio)
    painter.translate(left, left)
    dots(painter)
    painter.end()
    seen = False
    for x in range(image.width()):
        for y in range(image.height()):
            one, two = image.pixelColor(x, y), direct.pixelColor(x, y)
            assert abs(one.red() - two.red()) <= 3, (x, y)  # how Qt rounds what is see-through
            seen = seen or one.red() > 200
    assert seen


def test_it_is_painted_when_what_it_shows_is_another(
    widget: QWidget, monkeypatch: pytest.MonkeyPatch
) -> None:
    times = []

    def paint(painter: QPainter) -> None:
        times.append(painter.device().width())

    kept = KeptPicture()

    def paints(shows: tuple[object, ...], ratio: float = 1.0) -> int:
        before = len(times)
        monkeypatch.setattr(widget, "devicePixelRatioF", lambda: ratio)
        _, painter = screen(ratio)
        kept.draw(painter, widget, shows, paint)
        painter.end()
        return len(times) - before

    one, two = object(), object()
    assert [paints((one, 1.0)), paints((one, 1.0))] == [1, 0]
    assert [paints((two, 1.0)), paints((two, 2.0)), paints((two, 2.0))] == [1, 1, 0]
    assert [paints((two, 2.0), 2.0), paints((two, 2.0), 2.0)] == [1, 0]
    widget.resize(41, 30)
    assert [paints((two, 2.0), 2.0), paints((two, 2.0), 2.0)] == [1, 0]
