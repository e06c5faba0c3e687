"""What tests of the window share."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QSettings, Qt, QTimer
from PySide6.QtGui import QColor
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from samelight.gui.dialogs.deciding import ReasonDialog
from samelight.gui.review.review_window import ReviewWindow
from samelight.gui.window.main_window import MainWindow
from samelight.gui.window.open_sequence import OpenSequence
from samelight.sequence.session import Session

LEFT_BEHIND = {
    "show": "everything",
    "order": "as in the sheet",
    "zoom": "62",
    "overview": "shown",
    "frames": "hidden",
}
"""Settings of a lighter who looks at every row in the sheet's order, and at no frames."""


SIZE = (1600, 950)
"""Of the window, in pixels."""


def leave_behind(folder: Path) -> None:
    """Leave these settings for the window that opens next, in a folder of its own.

    Qt would wait until they are on disk, which takes longer than most tests.
    """
    QSettings.setPath(QSettings.Format.IniFormat, QSettings.Scope.UserScope, str(folder))
    lines = ["[General]", *(f"{key}={value}" for key, value in LEFT_BEHIND.items())]
    (folder / "samelight").mkdir(parents=True, exist_ok=True)
    (folder / "samelight/samelight.ini").write_text("\n".join(lines), encoding="utf-8")


def open_window(qtbot: QtBot, folder: Path) -> MainWindow:
    """A shown window, with the sequence opened the way a user's is: in the background."""
    made = _shown_window()
    qtbot.addWidget(made)
    made.open_folder(folder)
    qtbot.waitUntil(lambda: made.session is not None and not made.loader.busy)
    QApplication.processEvents()
    return made


def show_window(qtbot: QtBot, session: Session) -> MainWindow:
    """A shown window, with a sequence that was read already."""
    made = window_on(session)
    qtbot.addWidget(made)
    return made


def window_on(session: Session) -> MainWindow:
    """The same, which whoever asks for it closes."""
    made = _shown_window()
    made.show_session(session)
    QApplication.processEvents()
    return made


def _shown_window() -> MainWindow:
    made = MainWindow()
    made.resize(*SIZE)
    made.show()
    return made


def rgb(colour: QColor) -> tuple[int, int, int]:
    """Red, green and blue, 0 to 255."""
    return colour.red(), colour.green(), colour.blue()


def opened(window: MainWindow) -> OpenSequence:
    """The sequence that a window shows."""
    assert window.opened is not None
    return window.opened


def answer_reason(reason: str, who: str = "lead") -> None:
    """Fill in and accept the next dialog that asks for a reason, as soon as it is there."""

    def fill() -> None:
        dialog = QApplication.activeModalWidget()
        if not isinstance(dialog, ReasonDialog):
            QTimer.singleShot(20, fill)
            return
        dialog.reason.setText(reason)
        dialog.who.setText(who)
        dialog.accept()

    QTimer.singleShot(0, fill)


def answer_line(review: ReviewWindow, reason: str, who: str = "lead") -> None:
    """Type the reason that the review's last line asks for, and Enter."""
    assert review.last_line.verdict.question is not None, "nothing is asked"
    review.bar.who_edit.setText(who)
    review.bar.who_edit.editingFinished.emit()
    review.last_line.verdict.reason.setText(reason)
    QTest.keyClick(review.last_line.verdict.reason, Qt.Key.Key_Return)


def press(qtbot: QtBot, window: MainWindow, command: str) -> None:
    """Run a command the way its key does."""
    action = window.actions_by_name[command]
    assert action.isEnabled(), f"{command} is disabled"
    action.trigger()
    QApplication.processEvents()
