"""Where a picture of a screen is set up: windows that nobody sees, waited for until they show what they are to show."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from PySide6.QtCore import (
    QCoreApplication,
    QDeadlineTimer,
    QEvent,
    QEventLoop,
    QObject,
    QPoint,
    QSettings,
    QSize,
    QTimer,
)
from PySide6.QtGui import QImage, QPainter
from PySide6.QtWidgets import QApplication, QComboBox, QDialog, QMainWindow, QMenu, QWidget
from shiboken6 import isValid

from samelight.drift.cells import CellName
from samelight.gui.paint import theme
from samelight.gui.review.review_window import ReviewWindow
from samelight.gui.widgets.settings import Settings
from samelight.gui.window.application import first_window
from samelight.gui.window.main_window import MainWindow
from samelight.gui.window.production_window import ProductionWindow
from samelight.sequence.session import Session
from samelight.sheets.errors import SamelightError
from samelight.sheets.production import Production

_PATIENCE = 300_000
"""Milliseconds; it costs only where what is waited for never comes, and a machine may be busy."""
_TICK = 10
_WHO = "lead"


@dataclass(slots=True)
class Stage:
    """One screen's windows, on one sequence. `cell_name` is the cell that was asked for.

    The working folder is the stage's own: settings are kept there, and go with it.
    """

    session: Session
    size: QSize
    cell_name: CellName | None
    _windows: list[QWidget] = field(default_factory=list)

    def empty_window(self) -> MainWindow:
        """The main window with nothing open, as the program comes and not as the user left it."""
        return self._shown(MainWindow(_new_settings()))

    def first_window(self) -> MainWindow:
        """The main window on the sequence as it comes up when the program starts for the first time."""
        window = self._shown(first_window(self.session.contents.folder, _new_settings()))
        self.until(lambda: window.session is not None, "the sequence")
        return window

    def _shown(self, window: MainWindow) -> MainWindow:
        self._windows.append(window)
        window.resize(self.size)
        window.show()
        return window

    def window(self, cell_name: CellName | None = None, session: Session | None = None) -> MainWindow:
        """The main window with a sequence open, at the cell that was asked for, else at `cell_name` or where it opens."""
        window = self.empty_window()
        window.show_session(session or self.session)
        self.until(lambda: _is_up(window), "the window")
        there = self.cell_name or cell_name
        if there is not None:
            window.select(*there)
        return window

    def production(self, production: Production) -> ProductionWindow:
        """The overview of a production, all of which is read."""
        window = ProductionWindow(production, _new_settings())
        self._windows.append(window)
        window.resize(self.size)
        window.show()
        self.until(
            lambda: not (window.background.busy or window.reading.left()),
            "the sequences",
        )
        return window

    def review(
        self, cell_name: CellName | None, compare: str, session: Session | None = None
    ) -> ReviewWindow:
        """The review window at the shot of a cell, with the frames that it shows there."""
        window = self.window(cell_name, session)
        window.actions_by_name["review"].trigger()
        review = window.review.window
        if review is None:
            raise SamelightError("the review window did not come up")
        review.bar.compare_box.setCurrentText(compare)
        self.until(lambda: _is_up(review), "the review window")
        review.resize(self.size)
        return review

    # Waiting and taking

    def until(self, condition: Callable[[], bool], what: str) -> None:
        """Let events happen until a condition holds. Raises `SamelightError` when it does not come to that."""
        wake = QTimer()  # a condition may come true without an event
        wake.start(_TICK)
        patience = QDeadlineTimer(_PATIENCE)
        while not condition():
            if patience.hasExpired():
                raise SamelightError(f"the picture could not be made: waited for {what} in vain")
            QCoreApplication.processEvents(QEventLoop.ProcessEventsFlag.WaitForMoreEvents)

    def take(self, window: QWidget) -> QImage:
        """A picture of a window in the size that was asked for, once all is read and it no longer changes."""
        self._ready(window)
        return self.still(window)

    def _ready(self, window: QWidget) -> None:
        smallest = window.minimumSizeHint().expandedTo(window.minimumSize())
        if self.size.expandedTo(smallest) != self.size:
            raise SamelightError(f"{_text(self.size)} is too small: this window needs {_text(smallest)}")
        self.until(lambda: _is_up(window) and window.size() == self.size, "a window of that size")
        readers: list[QObject] = []

        def rest() -> bool:
            # All parts of a window are looked through only when none of those is left that were reading.
            readers[:] = [part for part in readers if isValid(part) and is_busy(part)] or readers_of(window)
            return not readers

        self.until(rest, "what is read in other threads")

    def dialog(
        self, over: QWidget, call: Callable[[], object], prepare: Callable[[QDialog], None] | None = None
    ) -> QImage:
        """A picture of the dialog that `call` brings up, over its window. The dialog is then cancelled."""
        taken: list[QImage] = []
        faults: list[SamelightError] = []

        def look() -> None:
            box = QApplication.activeModalWidget()
            if not isinstance(box, QDialog):
                return
            watch.stop()
            try:
                if prepare is not None:
                    prepare(box)
                self.until(lambda: _is_up(box), "the dialog")
                middle = over.rect().center() - box.rect().center()
                taken.append(_laid_over(self.take(over), self.still(box), middle))
            except SamelightError as error:  # an exception would not get out of the dialog's own loop
                faults.append(error)
            finally:
                box.reject()

        def run() -> None:
            try:
                call()
            finally:
                watch.stop()
                loop.quit()

        self._ready(over)
        watch, loop = QTimer(), QEventLoop()
        watch.timeout.connect(look)
        watch.start(_TICK)
        # From within a loop, as a key press comes: what a dialog puts off until it is closed would else happen at once.
        QTimer.singleShot(0, run)
        loop.exec()
        for fault in faults:
            raise fault
        if not taken:
            raise SamelightError(
                f"{self.session.contents.folder}: no dialog came up, for there is nothing here to ask about"
            )
        return taken[0]

    def menu(self, window: QMainWindow, title: str) -> QImage:
        """A picture of a menu that is pulled down at its place in the menu bar, or at the bar's start."""
        menu = next(menu for menu in window.findChildren(QMenu) if menu.title() == title)
        bar = window.menuBar()
        place = bar.mapTo(window, bar.actionGeometry(menu.menuAction()).bottomLeft())
        place.setY(bar.geometry().bottom())
        self._ready(window)
        menu.popup(window.mapToGlobal(place))
        self.until(lambda: _is_up(menu), "the menu")
        picture = _laid_over(self.take(window), self.still(menu), place)
        menu.close()
        return picture

    def drop_down(self, window: QMainWindow, box: QComboBox) -> QImage:
        """A picture of the list of a box, pulled down at its place."""
        self._ready(window)
        box.showPopup()
        popup = box.view().window()
        self.until(lambda: _is_up(popup), "the list")
        place = box.mapTo(window, box.rect().bottomLeft())
        picture = _laid_over(self.take(window), self.still(popup), place)
        box.hidePopup()
        return picture

    def still(self, widget: QWidget) -> QImage:
        """A picture of a widget as it looks once it no longer changes."""
        last = QImage()

        def unchanged() -> bool:
            nonlocal last
            before, last = last, widget.grab().toImage()
            return before == last

        self.until(unchanged, "it to stand still")
        return last

    def close(self) -> None:
        """Take the windows away."""
        for window in self._windows:
            window.close()
            window.deleteLater()
        self._windows.clear()
        QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete.value)


@contextmanager
def quiet(app: QApplication) -> Iterator[None]:
    """No cursor blinks, and the last window's end is not the program's, while pictures are made."""
    flash, quits = app.cursorFlashTime(), app.quitOnLastWindowClosed()
    app.setCursorFlashTime(0)
    app.setQuitOnLastWindowClosed(False)
    try:
        yield
    finally:
        app.setCursorFlashTime(flash)
        app.setQuitOnLastWindowClosed(quits)


def _new_settings() -> Settings:
    """Settings in the working folder, where there are none yet."""
    QSettings.setPath(QSettings.Format.IniFormat, QSettings.Scope.UserScope, str(Path("settings").resolve()))
    settings = Settings()
    settings.keep("who", _WHO)  # no picture names the account it was made on
    return settings


def _is_up(widget: QWidget) -> bool:
    handle = widget.windowHandle()
    return handle is not None and handle.isExposed()


def readers_of(window: QWidget) -> list[QObject]:
    """The parts of a window that are still reading, as each part that reads says of itself."""
    return [part for part in window.findChildren(QObject) if is_busy(part)]


def is_busy(part: QObject) -> bool:
    """Whether a part says that it is reading."""
    return bool(getattr(part, "busy", False))


def _text(size: QSize) -> str:
    return f"{size.width()}x{size.height()}"


def _laid_over(below: QImage, above: QImage, place: QPoint) -> QImage:
    """One picture on another, in a thin frame, as a desktop shows a window over a window."""
    painter = QPainter(below)
    painter.drawImage(place, above)
    painter.setPen(theme.EDGE)
    frame = above.deviceIndependentSize().toSize()
    painter.drawRect(place.x() - 1, place.y() - 1, frame.width() + 1, frame.height() + 1)
    painter.end()
    return below
