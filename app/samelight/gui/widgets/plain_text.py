"""Text of sheets, ledgers and scenes as what it is, in every place where Qt would take it for more.

A name may look like mark-up, and mark-up loads what it names. Qt guesses in labels, boxes and tool tips whether it has
some before it; in menus, buttons and titles it takes single signs for its own.
"""

from __future__ import annotations

import html

from PySide6.QtCore import QSize
from PySide6.QtGui import Qt
from PySide6.QtWidgets import QLabel, QWidget

from samelight.reports.shown import clean_lines, shown

_WIDE = 200
"""Characters in a line of a tool tip or a box from which on it wraps."""
_WIDEST = 640
"""Pixels that a label may ask for at least."""
_MOST = 4000
"""Characters of a tool tip or a box; what they tell of says the rest."""


def plain(text: str) -> str:
    """A text for a tool tip or a box of Qt's own, which shows it to the letter, wrapped where a line is very long and cut where
    it would fill the screen.

    >>> plain("<b>sun</b>"), plain("sun & sky")
    ("<div style='white-space: pre-wrap'>&lt;b&gt;sun&lt;/b&gt;</div>", 'sun & sky')
    """
    text = clean_lines(text if len(text) <= _MOST else f"{text[:_MOST]}…")
    is_short = len(text) <= _WIDE or all(len(line) <= _WIDE for line in text.split("\n"))
    if is_short and not Qt.mightBeRichText(text):
        return text
    return f"<div style='white-space: pre-wrap'>{html.escape(text, quote=False)}</div>"


def plain_item(text: str) -> str:
    """A text for a menu, in which a single & would make the letter after it a key.

    >>> plain_item("sun & sky")
    'sun && sky'
    """
    return shown(text).replace("&", "&&")


def plain_title(text: str) -> str:
    """A text for the title of a window, in which Qt takes [*] for the place of a star, and what lists windows shows no more
    than a line, nor what turns or hides the rest of it.

    >>> plain_title("Harbour [*]"), plain_title("Har\\u202ebour\\n")
    ('Harbour [*][*]', 'Har�bour�')
    """
    return shown(text).replace("[*]", "[*][*]")


class _YieldingLabel(QLabel):
    """A label that a word of any length makes no wider than it has to be."""

    def minimumSizeHint(self) -> QSize:
        least = super().minimumSizeHint()
        return QSize(min(least.width(), _WIDEST), least.height())


class MarkedLabel(_YieldingLabel):
    """A label whose text is mark-up: whoever puts a name into it escapes it."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setTextFormat(Qt.TextFormat.RichText)

    def setText(self, text: str) -> None:
        super().setText(clean_lines(text))


class PlainLabel(_YieldingLabel):
    """A label whose text is never mark-up."""

    def __init__(self, text: str = "", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setTextFormat(Qt.TextFormat.PlainText)
        if text:
            self.setText(text)

    def setText(self, text: str) -> None:
        super().setText(clean_lines(text))
