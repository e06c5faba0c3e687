"""Boxes that tell something, in plain text."""

from __future__ import annotations

from PySide6.QtWidgets import QMessageBox, QWidget

from samelight.gui.widgets.plain_text import plain


def warn(parent: QWidget, title: str, text: str) -> None:
    """Say what was not done, and why."""
    QMessageBox.warning(parent, title, plain(text))


def tell(parent: QWidget, title: str, text: str) -> None:
    """Say something that the user asked for."""
    QMessageBox.information(parent, title, plain(text))


def agrees(parent: QWidget, title: str, text: str, act: str) -> bool:
    """Ask whether to do something that takes something from somebody; not to do it is what Enter and Escape mean."""
    box = QMessageBox(QMessageBox.Icon.Question, title, plain(text), parent=parent)
    go = box.addButton(act, QMessageBox.ButtonRole.DestructiveRole)
    box.setDefaultButton(box.addButton(QMessageBox.StandardButton.Cancel))
    box.exec()
    box.deleteLater()
    return box.clickedButton() is go
