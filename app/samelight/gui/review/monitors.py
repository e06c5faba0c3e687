"""The screen that the review window is on: chosen once, then remembered."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QCoreApplication, QEventLoop, QPoint, QRect
from PySide6.QtGui import QGuiApplication, QScreen
from PySide6.QtWidgets import QWidget


def name_of(screen: QScreen) -> str:
    """What a screen is remembered by: its connector and, where it tells it, its serial number."""
    return " ".join(part for part in (screen.name(), screen.serialNumber()) if part)


def title_of(screen: QScreen) -> str:
    """A screen in words, for the menu."""
    size = screen.size() * screen.devicePixelRatio()
    maker = " ".join(part for part in (screen.manufacturer(), screen.model()) if part)
    return f"{screen.name()}, {size.width()} x {size.height()}" + (f", {maker}" if maker else "")


def choose(names: Sequence[str], remembered: str, occupied: str) -> str:
    """The screen to open on: the remembered one where it is there, else one that the main window is not on.

    >>> choose(["left", "right"], "", "left"), choose(["left", "right"], "left", "left"), choose(["left"], "gone", "left")
    ('right', 'left', 'left')
    """
    if remembered in names:
        return remembered
    return next((name for name in names if name != occupied), occupied)


def screens() -> dict[str, QScreen]:
    """The screens that are there, by what they are remembered by."""
    return {name_of(screen): screen for screen in QGuiApplication.screens()}


def move_to(window: QWidget, screen: QScreen, *, full: bool) -> None:
    """Put a window on a screen, filling it or as a window of four fifths of it."""
    window.showNormal()
    _let_it_happen()
    window.setScreen(screen)
    window.setGeometry(screen.geometry() if full else _middle(screen.availableGeometry()))
    if full:
        _let_it_happen()
        window.showFullScreen()
    window.activateWindow()


def _middle(free: QRect) -> QRect:
    size = free.size() * 0.8
    left, top = (free.width() - size.width()) // 2, (free.height() - size.height()) // 2
    return QRect(free.topLeft() + QPoint(left, top), size)


def _let_it_happen() -> None:
    """The system answers each change of a window later, and a late answer would undo the next change."""
    QCoreApplication.processEvents(QEventLoop.ProcessEventsFlag.ExcludeUserInputEvents)
