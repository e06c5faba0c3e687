"""Pictures of the window, made without anyone looking: for the README, and for eyes."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QApplication

from samelight.gui.application import application, has_display
from samelight.gui.main_window import MainWindow
from samelight.session import open_session
from samelight.sheets.errors import SamelightError


def save_picture(
    folder: Path, output: Path, size: tuple[int, int], select: tuple[str, str] | None, screen: str = "window"
) -> None:
    """Open a sequence and save what the window shows. Raises `SamelightError`."""
    if screen != "window":
        raise SamelightError(f"there is no screen {screen}; expected window")
    if not has_display():
        os.environ["QT_QPA_PLATFORM"] = "offscreen"
    session = open_session(folder)
    with tempfile.TemporaryDirectory() as settings:
        # A picture shows the program as it comes, not as the user left it, and leaves no trace in his settings.
        QSettings.setPath(QSettings.Format.IniFormat, QSettings.Scope.UserScope, settings)
        app = application()
        window = MainWindow()
        window.resize(*size)
        window.show()
        window.show_session(session)
        settle(app)
        if select is not None:
            window.select(*select)
        else:
            window.do_next()
        settle(app)
        picture = window.grab()
        window.close()
    output.parent.mkdir(parents=True, exist_ok=True)
    if not picture.save(str(output), "PNG"):
        raise SamelightError(f"{output}: could not be written")


def settle(app: QApplication, rounds: int = 6) -> None:
    """Let layouts and paints that wait for the event loop happen."""
    for _ in range(rounds):
        app.processEvents()
