"""A box that lists keys and what they do."""

from __future__ import annotations

import html
from collections.abc import Iterable

from PySide6.QtCore import QSize, Qt
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QFrame, QTextBrowser, QVBoxLayout, QWidget

_OF_SCREEN = 0.8
"""How much of a screen's height the box takes at most; what is longer scrolls."""


class KeysBox(QDialog):
    """The list, as large as it is while the screen has room for it."""

    def __init__(self, rows: Iterable[tuple[str, str]], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle("Keys")
        self.text = QTextBrowser()
        self.text.setFont(self.font())
        self.text.setFrameShape(QFrame.Shape.NoFrame)
        self.text.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.text.setAccessibleName("Keys and what they do")
        self.text.setToolTip("Keys and what they do (up and down, to read on)")
        self.text.viewport().setAutoFillBackground(False)
        cells = "".join(
            f"<tr><td style='padding-right: 18px'><b>{html.escape(keys)}</b></td><td>{html.escape(title)}</td></tr>"
            for keys, title in rows
        )
        self.text.setHtml(f"<table>{cells}</table>")
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        buttons.rejected.connect(self.reject)
        close = buttons.button(QDialogButtonBox.StandardButton.Close)
        close.setToolTip("Close the list (Esc)")
        layout = QVBoxLayout(self)
        layout.addWidget(self.text, 1)
        layout.addWidget(buttons)
        self.resize(self._fitting(layout, buttons.sizeHint()))

    def _fitting(self, layout: QVBoxLayout, below: QSize) -> QSize:
        document = self.text.document().clone(self)
        document.setTextWidth(-1)
        margins = layout.contentsMargins()
        beside = margins.left() + margins.right() + self.text.verticalScrollBar().sizeHint().width()
        above = margins.top() + margins.bottom() + layout.spacing() + below.height()
        wanted = document.size().toSize() + QSize(beside, above)
        return wanted.boundedTo(self.screen().availableGeometry().size() * _OF_SCREEN)


def show_keys(parent: QWidget, rows: Iterable[tuple[str, str]]) -> None:
    """List keys and what they do until the user has read them."""
    KeysBox(rows, parent).exec()
