"""One light or environment followed over a production: the choice of it, its curves, and what is said of the shot under the pointer."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QComboBox, QVBoxLayout, QWidget

from samelight.gui.background.background import Background
from samelight.gui.state.film_trace import FilmTrace, film_trace, traceable
from samelight.gui.widgets.elided_label import ElidedLabel
from samelight.gui.window.film_plot import FilmPlot
from samelight.reports.shown import clean
from samelight.reports.summary import Summary
from samelight.reports.traced import trace
from samelight.sheets.production import Production

NOTHING = "nothing"


class FilmFollower(QWidget):
    """Away while nothing is followed; the box stands elsewhere. What is followed is read beside the window."""

    picked = Signal(str)
    """The sequence that is to be opened."""

    def __init__(self, production: Production, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._production = production
        self.background = Background(self)
        self.box = QComboBox()
        self.box.setAccessibleName("What is followed over the film")
        self.box.setToolTip(
            "Follow a light or an environment through all shots of all sequences, in story order"
        )
        self.box.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)
        self.box.addItem(NOTHING, "")
        self.said = ElidedLabel("The shot under the pointer, and what it has")
        self.plot = FilmPlot()
        column = QVBoxLayout(self)
        column.setContentsMargins(6, 4, 6, 0)
        column.setSpacing(2)
        column.addWidget(self.said)
        column.addWidget(self.plot)
        self.box.activated.connect(self.follow)
        self.plot.picked.connect(self.picked)
        self.plot.pointed.connect(self._say)
        self.hide()

    def offer(self, summaries: Sequence[Summary]) -> None:
        """Offer what these sequences have; what is followed is read again."""
        chosen = self.box.currentData()
        names = traceable(summaries)
        self.box.clear()
        self.box.addItem(NOTHING, "")
        for name in names:
            self.box.addItem(clean(name), name)
        self.box.setCurrentIndex(max(self.box.findData(chosen), 0))
        self.follow()

    def follow(self) -> None:
        """Show what is chosen."""
        name = self.box.currentData()
        self.background.cancel("trace")
        self.setVisible(bool(name))
        if self.plot.trace is not None and self.plot.trace.name != name:
            self.plot.show_trace(None)
        if name:
            self.said.setText(f"Reading {name} …")
            self.background.run("trace", partial(self._read, name), self._show, self._fail)

    def _read(self, name: str) -> FilmTrace:
        traced, _ = trace(self._production, name)  # what cannot be read is told in its row
        return film_trace(traced)

    def _show(self, shown: FilmTrace) -> None:
        self.plot.show_trace(shown)
        self._say(self.plot.marked)

    def _fail(self, why: str) -> None:
        self.plot.show_trace(None)
        self.said.setText(why)

    def _say(self, place: int) -> None:
        trace = self.plot.trace
        if trace is not None:
            steady = f"   One over all of it: {', '.join(trace.steady)}." if trace.steady else ""
            self.said.setText(f"{trace.said(place)}.{steady}")
