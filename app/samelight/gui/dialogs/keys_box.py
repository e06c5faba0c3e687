"""A box that lists keys and what they do, and what colours and marks mean."""

from __future__ import annotations

import html

from PySide6.QtCore import QSize, Qt
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QFrame, QTextBrowser, QVBoxLayout, QWidget

from samelight.gui.widgets.commands import Keys

_FEW = 12
"""Lines that one column holds well."""

_OF_SCREEN = 0.8
"""How much of a screen's height the box takes at most; what is longer scrolls."""


class KeysBox(QDialog):
    """The list, as large as it is while the screen has room for it."""

    def __init__(self, keys: Keys, parent: QWidget | None = None, legend: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle("Keys" if legend is None else "Keys and marks")
        self.text = QTextBrowser()
        self.text.setFont(self.font())
        self.text.setFrameShape(QFrame.Shape.NoFrame)
        self.text.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.text.setAccessibleName("Keys and what they do")
        self.text.setToolTip("Keys and what they do (up and down, to read on)")
        self.text.viewport().setAutoFillBackground(False)
        left, right = _columns(keys)
        self.text.setHtml(
            f"<table><tr><td style='padding-right: 36px'>{_table(left)}</td><td>{_table(right)}</td></tr></table>"
        )
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        buttons.rejected.connect(self.reject)
        close = buttons.button(QDialogButtonBox.StandardButton.Close)
        close.setToolTip("Close the list (Esc)")
        layout = QVBoxLayout(self)
        layout.addWidget(self.text, 1)
        if legend is not None:
            layout.addWidget(legend)
        layout.addWidget(buttons)
        under = buttons.sizeHint()
        if legend is not None:
            under += QSize(0, legend.sizeHint().height() + layout.spacing())
        self.resize(self._fitting(layout, under))

    def _fitting(self, layout: QVBoxLayout, below: QSize) -> QSize:
        document = self.text.document().clone(self)
        document.setTextWidth(-1)
        margins = layout.contentsMargins()
        beside = margins.left() + margins.right() + self.text.verticalScrollBar().sizeHint().width()
        above = margins.top() + margins.bottom() + layout.spacing() + below.height()
        wanted = document.size().toSize() + QSize(beside, above)
        return wanted.boundedTo(self.screen().availableGeometry().size() * _OF_SCREEN)


def _columns(keys: Keys) -> tuple[Keys, Keys]:
    """The headings with their keys in two columns, the first of them the longer one; one column where there are few."""
    lengths = [len(rows) + 2 for rows in keys.values()]
    half, split = sum(lengths) / 2, len(keys)
    if sum(lengths) > _FEW:
        split = next(number for number in range(1, len(keys) + 1) if sum(lengths[:number]) >= half)
    parts = list(keys.items())
    return dict(parts[:split]), dict(parts[split:])


def _table(keys: Keys) -> str:
    rows = []
    for place, (heading, below) in enumerate(keys.items()):
        above = " style='padding-top: 12px'" if place else ""
        rows.append(f"<tr><td colspan='2'{above}><b>{html.escape(heading)}</b></td></tr>")
        rows += [
            f"<tr><td style='padding-right: 18px'>{html.escape(pressed)}</td><td>{html.escape(title)}</td></tr>"
            for pressed, title in below
        ]
    return f"<table>{''.join(rows)}</table>"


def show_keys(parent: QWidget, keys: Keys, legend: QWidget | None = None) -> None:
    """List keys and what they do, and under them a legend, until the user has read them."""
    KeysBox(keys, parent, legend).exec()
