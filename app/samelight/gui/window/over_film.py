"""What goes through all sequences of a production and is not one, under the overview."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QListWidget, QListWidgetItem, QVBoxLayout, QWidget

from samelight.drift.words import counted
from samelight.gui.widgets.plain_text import PlainLabel, plain
from samelight.reports.over_film import CAUTION
from samelight.reports.shown import shown

SHORT_CAUTION = "Suns are for planning pictures only: they replace no site survey."

_LINES = 6
"""Lines that are seen at once; the others are scrolled to, and the line between table and list can be moved."""


class OverFilm(QWidget):
    """A list of sentences; away while there are none."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.head = PlainLabel()
        self.lines = QListWidget()
        self.lines.setAccessibleName("Over the film")
        self.lines.setToolTip(
            plain(f"What sequences share and is not one, and the course of the sun.\n{CAUTION}")
        )
        self.lines.setWordWrap(True)
        self.lines.setSelectionMode(QListWidget.SelectionMode.NoSelection)
        self.lines.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(6, 4, 6, 0)
        layout.setSpacing(2)
        layout.addWidget(self.head)
        layout.addWidget(self.lines)
        self.lines.setMinimumHeight(2 * self.fontMetrics().lineSpacing())
        self.hide()

    def show_lines(self, lines: Sequence[str]) -> None:
        """Say these, or go away."""
        self.head.setText(f"Over the film: {counted(len(lines), 'thing')} to look at. {SHORT_CAUTION}")
        self.lines.clear()
        for line in lines:
            item = QListWidgetItem(shown(" ".join(line.split())))
            item.setFlags(Qt.ItemFlag.ItemIsEnabled)
            self.lines.addItem(item)
        if lines:
            seen = min(len(lines), _LINES) * self.lines.sizeHintForRow(0) + 2 * self.lines.frameWidth() + 4
            self.setFixedHeight(seen + self.head.sizeHint().height() + 12)
        self.setVisible(bool(lines))
