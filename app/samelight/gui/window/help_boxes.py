"""What the menu of help brings up."""

from __future__ import annotations

from PySide6.QtWidgets import QMessageBox, QWidget

from samelight import __version__
from samelight.gui.widgets.commands import window_keys


def show_all_keys(parent: QWidget) -> None:
    """List the keys of every command, and what colours and marks mean."""
    from samelight.gui.dialogs.keys_box import show_keys
    from samelight.gui.widgets.legend import Legend

    show_keys(parent, window_keys(), Legend())


def show_about(parent: QWidget) -> None:
    """Say what this program is."""
    text = f"Samelight {__version__}\nKeeps every shot of a sequence lit by one sun in one room."
    QMessageBox.about(parent, "About Samelight", text)
