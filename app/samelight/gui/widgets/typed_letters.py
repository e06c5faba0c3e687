"""Letters decide in the grid; in a list of choices they choose from it, as people expect of one."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QWidget

_PLAIN = (
    Qt.KeyboardModifier.NoModifier,
    Qt.KeyboardModifier.ShiftModifier,
    Qt.KeyboardModifier.KeypadModifier,
)


class _Keeper(QObject):
    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if isinstance(event, QKeyEvent) and event.type() == QEvent.Type.ShortcutOverride:
            typed = event.text()
            if typed and typed.isprintable() and event.modifiers() in _PLAIN:
                event.accept()
        return super().eventFilter(watched, event)


def keep_letters(widget: QWidget) -> None:
    """Let letters that are typed into a widget be its own, where one alone is the key of a command."""
    widget.installEventFilter(_Keeper(widget))
