"""A window that stands for the tests of a module that only look at it, with its review: as it came up, for each of them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication

from gui_help import SIZE
from samelight.gui.review.review_state import Compare, Other
from samelight.gui.review.review_window import ReviewWindow
from samelight.gui.window.main_window import MainWindow
from samelight.sequence.saved_views import Saved

_KEPT = ("who", "only_mine", "show", "order", "zoom", "overview", "frames", "shown", "filter")


class StandingWindow:
    """A window that is made when it is first asked for, and put back after each test.

    One that cannot be put back is closed: the next test has a new one. So what a test did to it, as by deciding something,
    is another's only where `_state` does not tell of it.
    """

    def __init__(self, make: Callable[[], MainWindow]) -> None:
        self._make = make
        self._window: MainWindow | None = None
        self.made = 0

    def window(self) -> MainWindow:
        """The window, as it comes up."""
        if self._window is None:
            self._window = self._make()
            self.made += 1
            opened = self._window.opened
            assert opened is not None
            self._opened = opened
            self._view = self._opened.view_keeper.take(self._opened.views)
            self._cell = self._opened.views.cell()
            self._first = _state(self._window)
        return self._window

    def put_back(self) -> None:
        """Bring the window to where it stood at first, or let go of it."""
        window = self._window
        if window is None:
            return
        if window.opened is self._opened and window.isVisible():
            self._bring_back(window)
            if _state(window) == self._first:
                return
        self.close()

    def _bring_back(self, window: MainWindow) -> None:
        views, work = self._opened.views, self._opened.work
        window.resize(*SIZE)
        QApplication.processEvents()
        if window.review.window is not None:
            put_review_away(window.review.window)
        window.bar.goto_edit.clear()
        views.traces.scale_box.setCurrentIndex(0)
        views.traces.canvas.left.emit()
        self._opened.view_keeper.show(Saved("", Path(), self._view))
        if self._cell is not None:
            views.grid.go_to(*self._cell, reveal=False)
        for bar in (views.grid.horizontalScrollBar(), views.grid.verticalScrollBar()):
            bar.setValue(0)
        work.focus()
        window.statusBar().clearMessage()
        QApplication.processEvents()

    def close(self) -> None:
        """Let go of the window."""
        if self._window is not None:
            self._window.close()
            self._window.deleteLater()
            self._window = None


def put_review_away(review: ReviewWindow) -> None:
    """Close the review window, which then comes up as a new one does: it has read no frame, and is told nothing yet."""
    review.last_line.verdict.leave()
    review.last_line.note_edit.clear()
    review.close()
    if review.isFullScreen():
        review.showNormal()
        review.hide()
    for timer in review.findChildren(QTimer):  # what was said last stands for a moment
        timer.stop()
    review.pictures.frames.set_folder(Path())
    review.pictures.pane.set_wipe(0.5)
    review.bar.stops_box.setValue(0.0)
    review.bar.compare_box.setCurrentText(str(Compare.ALONE))
    review.bar.other_box.setCurrentText(str(Other.KEY))
    review.bar.show_leading(True)
    review.actions_by_name["marks"].setChecked(True)
    review.show_details(False)
    review.state = None


def _state(window: MainWindow) -> object:
    """All of a window that is seen of it or decides what is seen next."""
    opened = window.opened
    assert opened is not None
    views, bar, traces = opened.views, window.bar, opened.views.traces
    grid, state, session = views.grid, views.state, opened.session
    shown = [one for one in QApplication.topLevelWidgets() if one.isVisible()]
    return (
        (
            session.ledger.revision,
            len(session.history.done),
            session.comparison.reference,
            len(session.cases.findings),
        ),
        (state.session is session, state.table is session.table),
        (
            opened.view_keeper.take(views),
            state.mine,
            state.guests,
            list(state.listing.lines),
            list(state.listing.columns),
        ),
        (grid.widths.width, grid.widths.fitted, grid.order_box.currentText(), views.cell()),
        sorted((index.row(), index.column()) for index in grid.selectedIndexes()),
        (grid.horizontalScrollBar().value(), grid.verticalScrollBar().value(), opened.work.shows_contact),
        (bar.words, bar.show_rows, bar.shown, bar.goto_edit.text(), bar.left_label.text()),
        (traces.scale_box.currentText(), traces.title.text(), traces.said.text(), len(traces.plots)),
        (window.size().toTuple(), opened.work.splitter.sizes(), window.statusBar().currentMessage()),
        (window.windowTitle(), [dock.visibleRegion().isEmpty() for dock in window.panels.docks.values()]),
        [window.settings.text(key) for key in _KEPT],
        (len(shown), type(window.focusWidget())),
    )
