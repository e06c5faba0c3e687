"""The contact sheet and the review draw the marks in the frames, or do not where nobody wants them."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtGui import QColor, QImage
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from measured_sequence import measure, sequence, shoot, tree
from samelight.gui.contact.contact_sheet import ContactSheet
from samelight.gui.paint.region_marks import ring_colour
from samelight.gui.review.review_window import ReviewWindow
from samelight.gui.state.rows import GridState
from samelight.gui.widgets.settings import Settings
from samelight.sequence.mark_regions import mark_regions
from samelight.sequence.session import Session, open_session


@pytest.fixture
def session(tmp_path: Path) -> Session:
    folder = sequence(tmp_path / "quay", {"A": tree(), "B": tree()})
    shoot(folder, "B", tree(), times=0.4)
    measure(folder, "A", "B")
    return open_session(folder)


def shows(widget: QWidget, colour: QColor) -> bool:
    image = widget.grab().toImage().convertToFormat(QImage.Format.Format_RGB32)
    wanted = colour.rgb()
    return any(image.pixel(x, y) == wanted for y in range(image.height()) for x in range(image.width()))


def off_colour(session: Session) -> QColor:
    return ring_colour(mark_regions(session, "B", (240, 135))[0])


def test_the_contact_sheet(session: Session, qtbot: QtBot) -> None:
    sheet = ContactSheet()
    qtbot.addWidget(sheet)
    sheet.resize(900, 320)
    sheet.across.setValue(2)
    sheet.show_state(GridState(session))
    sheet.show()
    qtbot.waitUntil(lambda: not sheet.cache.busy)
    drawn = sheet.frames.viewport().grab().toImage()
    assert shows(sheet.frames.viewport(), off_colour(session))
    sheet.marks.setChecked(False)
    without = sheet.frames.viewport().grab().toImage()
    assert drawn != without
    sheet.marks.setChecked(True)
    assert sheet.frames.viewport().grab().toImage() == drawn
    sheet.cache.stop()


def test_the_review(session: Session, qtbot: QtBot) -> None:
    review = ReviewWindow(Settings())
    qtbot.addWidget(review)
    review.show_session(session, "B")
    review.show()
    qtbot.waitUntil(lambda: not review.pictures.frames.busy)
    assert shows(review.pictures.pane, off_colour(session))
    assert "unexplained" in review.pictures.pane.accessibleDescription()
    review.actions_by_name["marks"].trigger()
    assert not review.bar.marks_button.isChecked()
    assert not shows(review.pictures.pane, off_colour(session))
    review.close()
    again = ReviewWindow(review.settings)
    qtbot.addWidget(again)
    assert not again.bar.marks_button.isChecked()  # as it was left
    again.bar.marks_button.click()
    assert again.actions_by_name["marks"].isChecked() and again.bar.marks_button.isChecked()
    again.close()
