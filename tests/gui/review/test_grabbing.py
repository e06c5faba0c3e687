"""A frame that is grabbed in the review, and what is said next of its shot."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QApplication, QMessageBox
from pytestqt.qtbot import QtBot

from gui_help import answer_line, press
from samelight.decisions.decision import Grabbed
from samelight.gui.review.grabbing import figure_lines
from samelight.gui.review.review_window import ReviewWindow
from samelight.gui.window.main_window import MainWindow
from samelight.sequence.session import open_session
from samelight.sheets.trees import read_document


@pytest.fixture
def review(own_window: MainWindow, qtbot: QtBot, harbour_folder: Path) -> ReviewWindow:
    own_window.select("HB_060", "lights.sun.direction")
    press(qtbot, own_window, "review")
    made = own_window.review.window
    assert made is not None
    made.resize(1280, 720)
    made.bar.who_edit.setText("lead")
    QApplication.processEvents()
    qtbot.waitUntil(lambda: not made.pictures.frames.busy)
    return made


def grabs(folder: Path) -> list[Path]:
    return sorted((folder / "grabs").glob("*.png"))


def grab(review: ReviewWindow) -> None:
    review.actions_by_name["grab"].trigger()


def test_a_frame_is_grabbed_with_its_figures_and_the_next_note_names_it(
    review: ReviewWindow, qtbot: QtBot, harbour_folder: Path
) -> None:
    """The folder stands beside the frames; nothing in it is ever written over. The note after that names nothing."""
    grab(review)
    (path,) = grabs(harbour_folder)
    state = review.state
    assert state is not None
    assert path.name.startswith("HB_060.") and f"grabs/{path.name}" in review.bar.view_label.text()
    pane = review.pictures.pane
    picture = QImage(str(path))
    assert picture.width() == pane.width() and picture.height() > pane.height()
    assert picture.copy(0, 0, pane.width(), pane.height()) == pane.grab().toImage().convertToFormat(
        picture.format()
    )
    said = state.said.drifts()
    state.choose(len(said) - 1)
    about, chosen, *_ = figure_lines(state, 1025, "exposed +1 stops", "2026-02-01 10:00")
    assert about == "HB_060 · frame 1025 · sheet v002 · master v003 · exposed +1 stops · 2026-02-01 10:00"
    assert said[-1].says in chosen
    for text in ("darker, please", "and softer"):
        review.last_line.type_note()
        qtbot.keyClicks(review.last_line.note_edit, text)
        qtbot.keyClick(review.last_line.note_edit, "\r")
    after, first = open_session(harbour_folder).ledger.notes("HB_060")[::-1][:2]
    assert (first.reason, first.seen) == ("darker, please", Grabbed(None, path.name))
    assert after.seen == Grabbed() and "picture" not in read_document(_file(harbour_folder, after.id)).data
    assert first.why == f"darker, please (picture {path.name})"


def _file(folder: Path, decision: str) -> Path:
    return folder / "decisions" / f"{decision}.yaml"


def test_a_verdict_names_it_too_and_another_shot_does_not(
    review: ReviewWindow, qtbot: QtBot, harbour_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nor what could not be written, which is told."""
    frame = next((harbour_folder / "frames").glob("HB_060.*"))
    frame.rename(frame.with_name(f"HB_060.1025{frame.suffix}"))
    review.pictures.frames.want([], 0.0)
    review.go("HB_080")
    review.go("HB_060")
    qtbot.waitUntil(lambda: frame_name(review).startswith("HB_060.1025"))
    told: list[str] = []
    monkeypatch.setattr(QMessageBox, "warning", lambda *words: told.append(words[2]))
    (harbour_folder / "grabs").write_text("no folder")
    grab(review)
    assert len(told) == 1 and "grabs" in told[0] and review.grabbed == ("", Grabbed())
    (harbour_folder / "grabs").unlink()
    grab(review)
    (path,) = grabs(harbour_folder)
    assert path.name.startswith("HB_060.1025.")
    for shot in ("HB_080", "HB_060"):
        review.go(shot)
        review.actions_by_name["return"].trigger()
        answer_line(review, "the sun back")
    seen = {one.shot: one.seen for one in open_session(harbour_folder).ledger.all() if one.who == "lead"}
    assert seen["HB_080"] == Grabbed() and seen["HB_060"] == Grabbed(1025, path.name)


def frame_name(review: ReviewWindow) -> str:
    frame = review.pictures.pane.this.frame
    return Path(frame.stamp[0]).name if frame is not None and frame.stamp else ""
