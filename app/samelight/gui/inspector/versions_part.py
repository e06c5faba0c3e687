"""A plot over versions with its read-out, the same as a list, and what is said while it is read or cannot be."""

from __future__ import annotations

from PySide6.QtCore import QTimer, Signal
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from samelight.drift.words import counted
from samelight.gui.inspector.version_data import VersionHistory
from samelight.gui.inspector.version_plot import VersionPlot
from samelight.gui.paint import theme
from samelight.gui.widgets.page_parts import FittedLabel, TextBlock, words_of
from samelight.gui.widgets.plain_text import plain

PATIENCE = 150
"""Milliseconds after which it is said that something is being read; what takes less says nothing."""

_READING = "Reading older versions…"


class VersionsPart(QWidget):
    """What one parameter was in every version."""

    asked_again = Signal()
    """What could not be read is to be read once more."""

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._history: VersionHistory | None = None
        self._reading = False
        self.plot = VersionPlot(f"{name}, plotted")
        self.plot.pointed.connect(self._point)
        self.plot.chosen.connect(lambda _: self._point(-1))
        self.said = FittedLabel(points=theme.BODY, lines=6)
        self.again = QPushButton("Read again")
        self.again.setToolTip("Try once more to read the versions that could not be read")
        self.again.setAccessibleName(f"{name}: read again")
        self.again.clicked.connect(self.asked_again)
        self.list = TextBlock(f"{name}, as a list")
        buttons = QHBoxLayout()
        buttons.addWidget(self.again)
        buttons.addStretch()
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(3)
        layout.addWidget(self.plot)
        layout.addWidget(self.said)
        layout.addLayout(buttons)
        layout.addWidget(self.list)
        self._late = QTimer(self)
        self._late.setSingleShot(True)
        self._late.setInterval(PATIENCE)
        self._late.timeout.connect(lambda: self.plot.show_message(_READING))
        self.again.hide()

    @property
    def waiting(self) -> bool:
        """Whether something is being read."""
        return self._reading

    def rest(self) -> None:
        """Nothing is asked for any more."""
        self._reading = False
        self._late.stop()

    def show_reading(self) -> None:
        """Something is being read."""
        self._reading = True
        self._history = None
        self.plot.show()
        self.plot.show_message(" ")
        self._late.start()
        for part in (self.said, self.again, self.list):
            part.hide()

    def show_failed(self, why: str) -> None:
        """Nothing could be read."""
        self.rest()
        self._history = None
        self.plot.hide()
        self.said.setText(f"The older versions cannot be read. {why}")
        self.said.show()
        self.again.show()
        self.list.hide()

    def show_history(self, history: VersionHistory, current: int | None) -> None:
        """Show versions; `current` is the number of the one that the grid shows."""
        self.rest()
        self._history = history
        numbers = [version.number for version in history.versions]
        place = numbers.index(current) if current in numbers else len(numbers) - 1
        several = len(numbers) > 1
        plotted = several and history.trace is not None
        self.plot.setVisible(plotted)
        if plotted:
            self.plot.show_history(history, place)
        else:
            self.plot.show_message("")
        self.list.setVisible(several)
        self.list.show_lines(version.line for version in history.versions)
        faults = [version for version in history.versions if version.fault]
        self.again.setVisible(bool(faults))
        self.again.setToolTip(
            plain(f"Try once more to read what could not be read: {counted(len(faults), 'version')}")
        )
        self.said.show()
        self._say(place)

    def _point(self, place: int) -> None:
        self._say(place if place >= 0 else self.plot.marked)

    def _say(self, place: int) -> None:
        history = self._history
        if history is None or not history.versions:
            return
        version = history.versions[place]
        only = "" if len(history.versions) > 1 else " (the only version)"
        name, _, rest = version.whole.partition(":")
        self.said.setText(f"{name}{only}:{rest}")

    def words(self) -> str:
        """What is said, and the list."""
        if self._history is None:
            return _READING if self._reading else self.said.text()
        return words_of([self.said, self.list])
