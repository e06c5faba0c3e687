"""The program with its window."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QObject, QTimer
from PySide6.QtGui import QIcon
from PySide6.QtWidgets import QApplication, QWidget

from samelight import __version__
from samelight.gui.background.background import wait_for_all
from samelight.gui.background.mishaps import Mishaps
from samelight.gui.background.sweeping import swept_in_this_thread
from samelight.gui.paint import theme
from samelight.gui.widgets.settings import Settings
from samelight.gui.window.main_window import MainWindow
from samelight.gui.window.welcome import Explanation
from samelight.sheets.errors import SamelightError
from samelight.sheets.folder_files import SEQUENCE_FILE, is_sequence
from samelight.sheets.resources import resource, sample_sequence

if TYPE_CHECKING:
    from samelight.sheets.production import Production


def has_display() -> bool:
    """Whether a window can be shown to someone."""
    if not sys.platform.startswith("linux"):
        return True
    return bool(
        os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY") or os.environ.get("QT_QPA_PLATFORM")
    )


def application() -> QApplication:
    """The one application object, dressed."""
    existing = QApplication.instance()
    app = existing if isinstance(existing, QApplication) else QApplication([sys.argv[0]])
    app.setApplicationName("samelight")
    app.setApplicationDisplayName("Samelight")
    app.setApplicationVersion(__version__)
    app.setDesktopFileName("samelight")
    icon = resource("samelight.svg")
    if icon.exists():
        app.setWindowIcon(QIcon(str(icon)))
    theme.apply(app)
    return app


def run(folder: Path | None) -> int:
    """Open the window on a folder, or on the last sequence, or on the sample, and run until it is closed."""
    if not has_display():
        raise SamelightError(
            "there is no display to open a window on; `samelight check FOLDER` prints what differs, "
            "`samelight picture FOLDER -o FILE.png` saves a picture of the window"
        )
    app = application()
    mishaps = Mishaps()
    with mishaps.heard(), swept_in_this_thread():
        if folder is not None and not is_sequence(folder) and (production := _production(folder)) is not None:
            from samelight.gui.window.production_window import ProductionWindow

            overview = ProductionWindow(production, Settings())
            mishaps.said.connect(overview.said.setText)
            overview.show()
            status = app.exec()
            wait_for_all()
            return status
        window = first_window(folder, Settings())
        mishaps.said.connect(window.notice.show_mishap)
        window.activateWindow()
        status = app.exec()
        wait_for_all()
        return status


def _production(folder: Path) -> Production | None:
    from samelight.sheets.production import is_production, read_production

    return read_production(folder) if is_production(folder) else None


class _OncePainted(QObject):
    """Does something when a window was painted for the first time, unless it was closed at once."""

    def __init__(self, window: QWidget, then: Callable[[], None]) -> None:
        super().__init__(window)
        self._window, self._then = window, then
        window.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.Paint:
            watched.removeEventFilter(self)
            QTimer.singleShot(0, self, self._begin)
        return super().eventFilter(watched, event)

    def _begin(self) -> None:
        if self._window.isVisible():
            self._then()


def first_window(folder: Path | None, settings: Settings) -> MainWindow:
    """The window that the program starts with, which opens something once it is on the screen. Until it is put away, an
    explanation stands above what is open."""
    window = MainWindow(settings)
    window.welcome.show_recent(settings.recent())
    window.welcome.folder_asked.connect(window.open_folder)
    if not settings.number("explained", 0):
        _explain(window, settings)
    window.show()
    opens = folder or _last(settings) or sample_sequence()
    window.welcome.show_loading(opens.name)
    _OncePainted(window, partial(window.open_folder, opens))
    return window


def _explain(window: MainWindow, settings: Settings) -> None:
    explanation = Explanation()

    def put_away() -> None:
        settings.keep("explained", 1)
        window.removeToolBar(explanation)
        explanation.deleteLater()

    explanation.put_away.connect(put_away)
    window.addToolBar(explanation)


def _last(settings: Settings) -> Path | None:
    name = settings.text("last")
    return Path(name) if name and (Path(name) / SEQUENCE_FILE).exists() else None
