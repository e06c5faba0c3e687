"""Pictures of the window, made without anyone looking: for the README, and for eyes."""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from PySide6.QtCore import (
    QBuffer,
    QIODevice,
    QMessageLogContext,
    QSettings,
    QtMsgType,
    qFormatLogMessage,
    qInstallMessageHandler,
)
from PySide6.QtGui import QPixmap
from PySide6.QtWidgets import QApplication

from samelight.gui.application import application, has_display
from samelight.gui.main_window import MainWindow
from samelight.session import open_session
from samelight.sheets.errors import SamelightError
from samelight.sheets.writing import write_whole


def save_picture(folder: Path, output: Path, size: tuple[int, int], select: tuple[str, str] | None) -> None:
    """Open a sequence and save what the window shows. Raises `SamelightError`."""
    if not has_display():
        os.environ["QT_QPA_PLATFORM"] = "offscreen"
    session = open_session(folder)
    with tempfile.TemporaryDirectory() as settings, _without_talk_of_the_platform():
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
    write_whole(output, _png(picture, output))


def _png(picture: QPixmap, output: Path) -> bytes:
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    if not picture.save(buffer, "PNG"):
        raise SamelightError(f"{output}: the picture could not be made")
    return bytes(buffer.data().data())


_OF_THE_PLATFORM = "This plugin does not support"


@contextmanager
def _without_talk_of_the_platform() -> Iterator[None]:
    """The offscreen platform says of size hints, of raising and of grabbing that it has none, which helps nobody here."""
    if os.environ.get("QT_QPA_PLATFORM") != "offscreen":
        yield
        return

    def say(kind: QtMsgType, context: QMessageLogContext, text: str) -> None:
        if text.startswith(_OF_THE_PLATFORM):
            return
        if before is not None:
            before(kind, context, text)
        elif sys.stderr is not None:
            print(qFormatLogMessage(kind, context, text), file=sys.stderr)

    before = qInstallMessageHandler(say)
    try:
        yield
    finally:
        qInstallMessageHandler(before)


def settle(app: QApplication, rounds: int = 6) -> None:
    """Let layouts and paints that wait for the event loop happen."""
    for _ in range(rounds):
        app.processEvents()
