"""A shot of the grid that the review is to compare with."""

from __future__ import annotations

from pytestqt.qtbot import QtBot

from samelight.gui.review.review_state import Compare, Other
from samelight.gui.window.main_window import MainWindow


def test_the_review_compares_with_the_shot_under_the_cursor(window: MainWindow, qtbot: QtBot) -> None:
    window.go_to_shot("HB_060")
    window.run("review_with")
    assert "Open the review (R)" in window.statusBar().currentMessage()
    window.run("review")
    review = window.review.window
    assert review is not None and review.state is not None
    qtbot.waitUntil(review.isVisible)
    window.go_to_shot("HB_130")
    window.run("review_with")
    assert (review.bar.compare, review.bar.other) == (Compare.WIPE, Other.CHOSEN)
    assert (review.state.shot, review.pictures.pane.other.shot) == ("HB_060", "HB_130")
    assert review.bar.shot_edit.text() == "HB_130"
