"""The lights of a frame in the review: looks, trims, and the match with the key shot."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication, QImage
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QSlider
from pytestqt.qtbot import QtBot

from known import there
from measured_sequence import CAMERA, LIGHTS, measure, publish, sequence, shoot_layers, tree
from ocio_configs import write_config
from samelight.changes.looks import FrameLook, looked
from samelight.decisions.decision import Grabbed
from samelight.decisions.state import State
from samelight.gui.background.frames import Frame
from samelight.gui.review.grabbing import taken
from samelight.gui.review.histogram_view import WHOLE
from samelight.gui.review.picture_views import PictureView
from samelight.gui.review.review_state import Compare, Other
from samelight.gui.review.review_window import ReviewWindow
from samelight.gui.widgets.settings import Settings
from samelight.reports.lighter_pages import lighter_pages
from samelight.sequence.session import Session, open_session
from samelight.sources.pictures.colour_config import ColourView
from samelight.sources.pictures.seen import PLAIN, Through

DIMMED = {**LIGHTS, "key": {**LIGHTS["key"], "exposure": -1.0, "position": [2.5, 3, 2.4]}}


@pytest.fixture(scope="module")
def session(tmp_path_factory: pytest.TempPathFactory) -> Session:
    moved = {**CAMERA, "position": [0.4, 1.6, 2.5]}
    shots = {"A": tree(), "B": tree(lights=DIMMED), "C": tree(camera=moved), "D": tree()}
    folder = sequence(tmp_path_factory.mktemp("lights") / "quay", shots)
    for shot in "AB":
        shoot_layers(folder, shot, shots[shot])
    measure(folder, "A", "B")
    shutil.rmtree(folder / "shots/D")
    return open_session(folder)


@pytest.fixture
def review(session: Session, qtbot: QtBot) -> Iterator[ReviewWindow]:
    window = ReviewWindow(Settings())
    qtbot.addWidget(window)
    window.show_session(session, "B")
    window.show()
    window.actions_by_name["lights"].trigger()
    settle(window, qtbot)
    yield window
    window.close()


def settle(window: ReviewWindow, qtbot: QtBot) -> None:
    qtbot.waitUntil(
        lambda: (
            not any(
                part.busy
                for part in (window.pictures.frames, window.pictures.would_be, window.pictures.perceived)
            )
        ),
    )


def brightness(window: ReviewWindow) -> float:
    frame = window.pictures.pane.this.frame
    assert frame is not None and frame.picture is not None
    return float(frame.picture.linear.astype(float).mean())


def test_looks_and_trims(review: ReviewWindow, session: Session, qtbot: QtBot) -> None:
    panel = review.pictures.lights
    assert review.bar.lights_button.isChecked()
    assert list(review.pictures.would_be.layers.layers if review.pictures.would_be.layers else ()) == [
        "key",
        "rim",
        "sky",
    ]
    rendered = brightness(review)
    panel.set_look(FrameLook.MASTER)
    settle(review, qtbot)
    assert brightness(review) > 1.2 * rendered
    assert "Not shown, since no layer tells: lights.key.position" in panel.said.text()
    assert str(FrameLook.MASTER) in review.bar.view_label.text()
    assert review.pictures.pane.this.title == f"B, {FrameLook.MASTER}"
    with_master = brightness(review)
    panel.set_look(FrameLook.FIXED)
    assert brightness(review) == pytest.approx(with_master, rel=1e-3)
    panel.set_look(FrameLook.RENDERED)
    assert brightness(review) == rendered and review.pictures.pane.this.title == "B"
    # A drag is a look of its own.
    slider = next(one for one in panel.findChildren(QSlider) if one.accessibleName() == "rim: stops")
    slider.setValue(100)
    assert panel.look is FrameLook.TRIMS and panel.stops == {"rim": 1.0}
    assert brightness(review) > rendered
    review.bar.compare_box.setCurrentText(str(Compare.WIPE))
    review.bar.other_box.setCurrentText(str(Other.RENDERED))
    settle(review, qtbot)
    assert (
        review.pictures.pane.other.shot == "B"
        and review.pictures.pane.other.frame is not review.pictures.pane.this.frame
    )
    panel.copy_button.click()
    assert QGuiApplication.clipboard().text() == "B\nrim: +1.00 st\n"
    panel.clear_button.click()
    assert panel.stops == {} and brightness(review) == pytest.approx(rendered, rel=1e-3)


def test_as_the_key_shot(review: ReviewWindow, qtbot: QtBot) -> None:
    review.pictures.lights.match_button.click()
    assert review.pictures.lights.look is FrameLook.TRIMS
    assert review.pictures.lights.stops == {"key": pytest.approx(1.0, abs=0.1)}
    assert "The face as in A." in review.pictures.lights.said.text()
    # Another shot has trims of its own, and the key shot is matched with nothing.
    review.go("A")
    settle(review, qtbot)
    assert (
        review.pictures.lights.look_box.currentText() == str(FrameLook.RENDERED)
        and review.pictures.lights.stops == {}
    )
    review.pictures.lights.match_button.click()
    assert review.pictures.lights.said.text().startswith("This is the key shot")


def test_what_is_dragged_is_sent_back_with_what_to_type(
    session: Session, tmp_path: Path, qtbot: QtBot
) -> None:
    """The line asks with the reason typed; Esc writes nothing, Enter sends back the cells of these lights and no others."""
    own = open_session(shutil.copytree(session.contents.folder, tmp_path / "quay"))
    window = ReviewWindow(Settings())
    qtbot.addWidget(window)
    window.show_session(own, "B")
    window.show()
    window.actions_by_name["lights"].trigger()
    settle(window, qtbot)
    panel, line = window.pictures.lights, window.last_line.verdict
    assert not panel.return_button.isEnabled()
    sliders = {one.accessibleName(): one for one in panel.findChildren(QSlider)}
    sliders["key: stops"].setValue(100)
    sliders["rim: gel"].setValue(-30)
    panel.return_button.click()
    assert window.last_line.currentWidget() is line and line.reason.hasFocus()
    assert line.label.text().startswith("Send back")
    reason = "lights.key +1.00 st: exposure: 0 (now -1.0); lights.rim gel −30 MK⁻¹"
    assert line.reason.text() == reason and line.reason.cursorPosition() == 0, "the room reads its start"
    QTest.keyClick(line.reason, Qt.Key.Key_Escape)
    assert line.question is None and not (own.contents.folder / "decisions").exists()
    panel.return_button.click()
    QTest.keyClick(line.reason, Qt.Key.Key_Return)
    column = there(own.table.column("B"))
    sent = [
        (own.table.rows[row].parameter, [one.reason for one in own.cases.judgement(row, column).decisions])
        for row in range(len(own.table.rows))
        if own.cases.judgement(row, column).state is State.SENT_BACK
    ]
    assert sent == [("lights.key.level", [reason]), ("lights.rim.colour", [reason])]
    (page,) = lighter_pages(own, ["B"])
    assert [
        task.parameter for part in page.shots for task in part.tasks if any(reason in why for why in task.why)
    ] == ["lights.key.level", "lights.rim.colour"]
    # Nothing is dragged any more: nothing to send.
    panel.clear_button.click()
    assert not panel.return_button.isEnabled()
    window.close()


def test_stops_in_colours(review: ReviewWindow, qtbot: QtBot) -> None:
    panel = review.pictures.lights

    def image() -> QImage:
        frame = review.pictures.pane.this.frame
        assert frame is not None and frame.image is not None
        return frame.image

    as_picture = image()
    panel.view_box.setCurrentText(str(PictureView.STOPS))
    assert image() != as_picture and "middle grey" in panel.view_says.text()
    of_grey = image()
    assert review.bar.view_label.text().startswith(str(PictureView.STOPS))
    panel.view_box.setCurrentText(str(PictureView.DIFFERENCE))
    settle(review, qtbot)
    # B is darker than the key shot, to which it is held though the frame stands alone.
    assert review.bar.compare is Compare.ALONE and image() != of_grey
    middle = image().pixelColor(image().width() // 2 + 8, image().height() // 2)
    assert middle.blue() > middle.red()
    review.bar.other_box.setCurrentText(str(Other.BEFORE))
    review.go("A")
    settle(review, qtbot)
    frame = review.pictures.pane.this.frame
    assert frame is not None and frame.image is None and frame.problem.startswith("There is no other frame")
    # The panel that says how pixels are shown is gone, and so is what it says.
    review.actions_by_name["lights"].trigger()
    settle(review, qtbot)
    assert review.pictures.pane.this.frame is not None and review.pictures.pane.this.frame.image is not None


def test_a_frame_without_layers_says_so(review: ReviewWindow, qtbot: QtBot) -> None:
    review.go("C")
    settle(review, qtbot)
    assert review.pictures.lights.said.text() == "The frame has no layers of lights."
    assert (
        not review.pictures.lights.look_box.isEnabled()
        and not review.pictures.lights.match_button.isEnabled()
    )
    review.actions_by_name["lights"].trigger()
    assert review.pictures.lights.isHidden()
    frame = Path(review.state.session.contents.folder, "frames/C.exr") if review.state else Path()
    frame.rename(frame.with_suffix(".gone"))
    review.actions_by_name["lights"].trigger()
    settle(review, qtbot)
    assert review.pictures.lights.said.text() == "There is no OpenEXR frame with a layer for each light."
    frame.with_suffix(".gone").rename(frame)


def test_a_shot_without_a_sheet_says_so(review: ReviewWindow, qtbot: QtBot) -> None:
    review.go("D")
    settle(review, qtbot)
    assert review.pictures.lights.said.text() == "The shot has no sheet that can be read."
    assert (
        not review.pictures.lights.look_box.isEnabled()
        and not review.pictures.lights.match_button.isEnabled()
    )


def test_looks_without_a_master_or_a_sheet(session: Session) -> None:
    assert looked(session, "none", FrameLook.MASTER, {}, {}).changes == {}
    assert looked(session, "A", FrameLook.FIXED, {}, {}).changes == {}
    assert looked(session, "B", FrameLook.RENDERED, {"key": 1.0}, {}).changes == {}


def shown(window: ReviewWindow) -> Frame:
    frame = window.pictures.pane.this.frame
    assert frame is not None
    return frame


def test_the_difference_as_it_is_seen(review: ReviewWindow, qtbot: QtBot) -> None:
    panel, bar = review.pictures.lights, review.bar
    panel.view_box.setCurrentText(str(PictureView.PERCEIVED))
    settle(review, qtbot)
    assert shown(review).image is not None  # B and its key shot A have one camera
    assert (said := re.match(r"FLIP (0\.[0-9]+) in the mean", bar.view_label.text())) is not None
    assert float(said[1]) > 0.001
    # As rendered there is no difference; through other light there is, while nothing else changed.
    bar.other_box.setCurrentText(str(Other.RENDERED))
    settle(review, qtbot)
    assert "FLIP 0.000 in the mean" in bar.view_label.text()
    panel.set_look(FrameLook.MASTER)
    settle(review, qtbot)
    assert "FLIP 0.000" not in bar.view_label.text() and "FLIP 0." in bar.view_label.text()


def test_frames_of_two_cameras_are_not_told_apart(review: ReviewWindow, qtbot: QtBot) -> None:
    panel = review.pictures.lights
    review.pictures.compare_with("C")
    panel.view_box.setCurrentText(str(PictureView.PERCEIVED))
    settle(review, qtbot)
    says = "the camera of C stands 0.40 m away"
    assert (shown(review).image, shown(review).problem) == (None, f"Another camera: {says}.")
    # In stops the difference is shown all the same, with a word.
    panel.view_box.setCurrentText(str(PictureView.DIFFERENCE))
    settle(review, qtbot)
    assert shown(review).image is not None and says in review.bar.view_label.text()


def test_a_frame_against_any_shot(review: ReviewWindow, qtbot: QtBot) -> None:
    bar = review.bar
    assert bar.shot_edit.isHidden()
    review.actions_by_name["another"].trigger()
    assert not bar.shot_edit.isHidden() and bar.compare is Compare.WIPE
    qtbot.keyClicks(bar.shot_edit, "nobody")
    qtbot.keyClick(bar.shot_edit, Qt.Key.Key_Return)
    assert bar.view_label.text() == "No shot is called nobody"
    bar.shot_edit.clear()
    qtbot.keyClicks(bar.shot_edit, "a")
    qtbot.keyClick(bar.shot_edit, Qt.Key.Key_Return)
    settle(review, qtbot)
    other = review.pictures.pane.other
    assert (other.shot, other.title, bar.shot_edit.text()) == ("A", "A", "A")
    assert other.frame is not None and other.frame.image is not None


def test_the_light_of_a_mark_about_middle_grey(review: ReviewWindow, qtbot: QtBot) -> None:
    view = review.pictures.lights.histogram
    boxes = [view.mark_box.itemText(place) for place in range(view.mark_box.count())]
    assert boxes == ["face", WHOLE]
    own, key = view.plot.own, view.plot.other
    assert own is not None and key is not None and own.median is not None and key.median is not None
    assert own.median < key.median
    assert f"{key.median - own.median:.1f} stops darker than in A" in view.said.text()
    review.bar.stops_box.setValue(1.0)
    settle(review, qtbot)
    brighter = view.plot.own
    assert brighter is not None and brighter.median == pytest.approx(own.median + 1.0, abs=0.01)
    view.mark_box.setCurrentText(WHOLE)
    view.mark_box.activated.emit(1)
    assert view.plot.own is not None and view.plot.own.pixels > 10 * own.pixels
    view.mark_box.setCurrentText("face")
    view.mark_box.activated.emit(0)
    # The key shot has nothing behind it; a look has a histogram of its own.
    review.go("A")
    settle(review, qtbot)
    assert view.plot.other is None and "than in" not in view.said.text()
    review.go("B")
    settle(review, qtbot)
    rendered = view.plot.own
    review.pictures.lights.set_look(FrameLook.MASTER)
    settle(review, qtbot)
    assert rendered is not None and view.plot.own is not None and rendered.median is not None
    assert view.plot.own.median is not None and view.plot.own.median > rendered.median + 0.1


@pytest.fixture
def film(tmp_path: Path) -> Through:
    config = tmp_path / "show.ocio"
    write_config(config)
    return Through(ColourView(str(config), "Desk", "Film"))


def test_a_look_is_made_again_in_a_view_that_was_left_meanwhile(
    review: ReviewWindow, qtbot: QtBot, film: Through
) -> None:
    review.pictures.lights.set_look(FrameLook.MASTER)
    pictures = []
    for through in (film, PLAIN, film):
        review.pictures.look_through(through)
        settle(review, qtbot)
        frame = shown(review)
        assert frame.through == through and frame.image is not None
        pictures.append(frame.image)
    assert pictures[0] == pictures[2] != pictures[1]


def test_what_was_being_made_as_the_review_closed_is_made_when_it_is_back(
    review: ReviewWindow, qtbot: QtBot, film: Through
) -> None:
    panel, pictures = review.pictures.lights, review.pictures
    panel.view_box.setCurrentText(str(PictureView.PERCEIVED))
    pictures.perceived.stop()
    pictures.show_frames()
    settle(review, qtbot)
    assert "FLIP 0." in review.bar.view_label.text()
    panel.view_box.setCurrentText(str(PictureView.PICTURE))
    pictures.look_through(film)
    settle(review, qtbot)
    panel.set_look(FrameLook.MASTER)
    pictures.would_be.stop()
    pictures.show_frames()
    settle(review, qtbot)
    assert shown(review).through == film and "master" in str(shown(review).picture)


def test_lights_that_a_sheet_has_since_have_their_layers(tmp_path: Path, qtbot: QtBot) -> None:
    """The frame is as it was: the layer was in it before anybody wrote the light down."""
    folder = sequence(tmp_path / "quay", {"A": tree(), "B": tree()})
    shoot_layers(folder, "B", tree())
    face = {"position": [0, 1.6, 0], "normal": [0, 0, 1]}
    publish(folder, "B", tree(lights={"key": LIGHTS["key"]}, marks={"face": face}))
    session = open_session(folder)
    window = ReviewWindow(Settings())
    qtbot.addWidget(window)
    window.show_session(session, "B")
    window.show()
    window.actions_by_name["lights"].trigger()
    for rewritten, known in ((False, ["key", "sky"]), (True, ["key", "rim", "sky"])):
        if rewritten:
            publish(folder, "B", tree())
            assert session.reload()
            window.show_session(session)
        settle(window, qtbot)
        layers = window.pictures.would_be.layers
        assert layers is not None and list(layers.layers) == known
    window.close()


def test_trims_are_of_one_shot_of_one_sequence(
    review: ReviewWindow, session: Session, tmp_path: Path, qtbot: QtBot
) -> None:
    """So is what was grabbed: the next note names no picture that lies in another folder."""
    shutil.copytree(session.contents.folder, tmp_path / "other")
    review.pictures.lights.set_trims({"key": 1.0})
    review.grabbed = "B", Grabbed(None, "B.png")
    review.show_session(session)
    assert review.pictures.lights.stops == {"key": 1.0} and taken(review, "B").picture == "B.png"
    review.show_session(open_session(tmp_path / "other"))
    settle(review, qtbot)
    assert review.state is not None and review.state.shot == "B"
    assert review.pictures.lights.stops == {} and taken(review, "B") == Grabbed()
