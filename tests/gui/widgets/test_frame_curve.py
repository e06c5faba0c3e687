"""A mark over the frames of its shot as a curve: beside the finding that tells of it, and in the inspector."""

from __future__ import annotations

import pytest
from pytestqt.qtbot import QtBot

from known import there
from samelight.findings.finding import Finding
from samelight.findings.over_frames import FrameLevel, FramePoint, points_of, runs_of
from samelight.gui.findings.panel import FindingsPanel
from samelight.gui.inspector.frames_part import FramesPart
from samelight.gui.paint import theme
from samelight.gui.widgets.frame_curve import FrameCurve, limit_band, noise_band
from samelight.sequence.session import Session, open_session
from samelight.sheets.resources import sample_sequence

FADES = [FrameLevel(float(frame), level, level, 0.02) for frame, level in ((1, -1.0), (3, -1.5), (5, -2.0))]
JUMPS = [*FADES, FrameLevel(11.0, -3.0, -2.5, 0.02), FrameLevel(13.0, -2.5, -2.5, 0.02)]


@pytest.fixture(scope="module")
def landing() -> Session:
    return open_session(sample_sequence("landing"))


def curve(qtbot: QtBot, points: tuple[FramePoint, ...]) -> FrameCurve:
    made = FrameCurve()
    qtbot.addWidget(made)
    made.resize(320, 220)
    made.show_points(points)
    made.show()
    return made


def test_what_is_drawn_and_said(qtbot: QtBot) -> None:
    made = curve(qtbot, points_of(JUMPS))
    assert (
        made.said.text() == "Stops over frame 1: 3 −0.50, 5 −1.00, 11 −2.00 (held to −1.50 ± 0.14), 13 −1.50"
    )
    picture = made.curve.grab().toImage()

    def brightest(frame: float, stops: float) -> int:
        at = made.curve.at(frame, stops).toPoint()
        return max(
            picture.pixelColor(at.x() + x, at.y() + y).lightness() for x in range(-2, 3) for y in range(-2, 3)
        )

    assert brightest(2, -0.25) > theme.DIM_TEXT.lightness()  # the line between two frames
    assert brightest(8, -1.5) < theme.DIM_TEXT.lightness()  # and none where frames are missing
    at = made.curve.at(11, -2.0).toPoint()
    assert picture.pixelColor(at).saturation() > 100  # the frame that is told has a colour
    assert picture.pixelColor(made.curve.at(5, -1.0).toPoint()).saturation() == 0


def test_bands_are_those_of_the_finding() -> None:
    points = points_of(JUMPS)
    assert [[point.frame for point in run] for run in runs_of(points)] == [[1, 3, 5], [11, 13]]
    assert noise_band(points)[0] == pytest.approx((1.0, -0.02, 0.02))
    assert [frame for frame, _, _ in limit_band(points)] == [3, 5, 11, 13]
    assert limit_band(points)[0] == pytest.approx(
        (3.0, -0.64, -0.36)
    )  # about what the frames beside it and the sheet say
    assert [point.frame for point in points if point.told] == [11]
    assert not any(point.told for point in points_of(FADES))  # as the sheet says
    assert noise_band(points_of([one._replace(noise=0.0) for one in FADES])) == []


def test_one_frame_or_none(qtbot: QtBot) -> None:
    made = curve(qtbot, points_of(FADES[:1]))
    made.curve.grab()
    assert limit_band(made.curve.points) == []
    made.show_points(())
    assert made.isHidden() and made.words() == ""


def test_it_stands_beside_the_finding(qtbot: QtBot, landing: Session) -> None:
    panel = FindingsPanel()
    qtbot.addWidget(panel)
    panel.show_session(landing)
    told: dict[bool, Finding] = {bool(one.frames): one for one in landing.cases.findings}
    panel.choose(told[True])
    assert told[True].finding == "unsteady"
    assert not panel.frames.isHidden() and "1025 −0.74 (held to" in panel.frames.said.text()
    panel.choose(told[False])
    assert panel.frames.isHidden()


def test_it_is_made_for_a_row_of_the_picture(qtbot: QtBot, landing: Session) -> None:
    part = FramesPart()
    qtbot.addWidget(part)
    rows = {row.parameter: row for row in landing.table.rows}
    assert part.show_for(landing, "LA_070", rows["picture.face.level"])
    qtbot.waitUntil(lambda: bool(part.curve.points))
    finding = next(one for one in landing.cases.findings if one.frames)
    assert part.curve.points == finding.frames
    assert part.show_for(landing, "LA_070", rows["picture.face.unexplained"])
    assert there(part.curve.points)  # the same, not made again
    assert not part.show_for(landing, "LA_060", rows["picture.face.level"])  # one frame
    assert not part.show_for(landing, "LA_070", rows["picture.face.colour"])
