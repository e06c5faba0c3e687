"""The screen that the review window is on: chosen once, then remembered."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QCoreApplication, QEventLoop, QObject, QPoint, QRect
from PySide6.QtGui import QGuiApplication, QScreen
from PySide6.QtWidgets import QMenu, QWidget

from samelight.gui.widgets.settings import Settings


class Screens(QObject):
    """The screens that there are, in a menu, and the one that a window is on."""

    def __init__(self, window: QWidget, menu: QMenu, settings: Settings) -> None:
        super().__init__(window)
        self._window, self._menu, self._settings = window, menu, settings
        menu.aboutToShow.connect(self._list)
        app = QGuiApplication.instance()
        if isinstance(app, QGuiApplication):
            app.screenAdded.connect(self._list)
            app.screenRemoved.connect(self._list)
        self._list()

    def open_on(self, beside: QScreen) -> None:
        """Bring the window up on the remembered screen, or on one that is not `beside`."""
        there = screens()
        name = choose(list(there), self._settings.text("review_screen"), name_of(beside))
        full = bool(self._settings.number("review_full", int(len(there) > 1)))
        move_to(self._window, there.get(name, beside), full=full)

    def choose(self, screen: QScreen) -> None:
        """Move the window to a screen, where it comes up from now on."""
        self._settings.keep("review_screen", name_of(screen))
        move_to(self._window, screen, full=self._window.isFullScreen())

    def choose_next(self) -> bool:
        """Choose the next screen; whether there is one."""
        there, screen = list(screens().values()), self._window.screen()
        here = there.index(screen) if screen in there else 0
        if len(there) > 1:
            self.choose(there[(here + 1) % len(there)])
        return len(there) > 1

    def toggle_full(self) -> None:
        """Fill the screen, or be a window again."""
        move_to(self._window, self._window.screen(), full=not self._window.isFullScreen())

    def keep(self) -> None:
        """Remember whether the window fills the screen."""
        self._settings.keep("review_full", int(self._window.isFullScreen()))

    def _list(self, *_: object) -> None:
        self._menu.clear()
        for screen in screens().values():
            action = self._menu.addAction(title_of(screen))
            action.setCheckable(True)
            action.setChecked(screen is self._window.screen())
            action.triggered.connect(lambda *_, to=screen: self.choose(to))


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
