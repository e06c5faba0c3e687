"""The panel with the colours of marks: what it draws, and how a hand and the keys go from it to a shot."""

from __future__ import annotations

import doctest

import pytest
from PySide6.QtCore import QPoint, QPointF, QRectF, Qt
from pytestqt.qtbot import QtBot

from gui_help import opened
from samelight.gui.cloud import chart
from samelight.gui.cloud.chart import Chart, chart_of, colour_of
from samelight.gui.cloud.painting import point_place
from samelight.gui.cloud.view import CloudView
from samelight.gui.window.main_window import MainWindow
from samelight.light.colour import planckian_uv
from samelight.reports.colour_cloud import Cloud, CloudPoint, Of, Tolerated
from samelight.sequence.session import Session


def point(shot: str, u: float, v: float, *, mark: str = "face", is_key: bool = False) -> CloudPoint:
    return CloudPoint(shot, mark, u, v, 0.0, False, is_key, False, f"{shot} {mark}")


CLOUD = Cloud(
    (point("A", 0.25, 0.52, is_key=True), point("B", 0.26, 0.51), point("C", 0.21, 0.49, mark="hand")),
    (Tolerated("face", 0.25, 0.52, 0.011),),
)


@pytest.fixture
def view(qtbot: QtBot) -> CloudView:
    view = CloudView()
    qtbot.addWidget(view)
    view.resize(420, 480)
    view.clouds = {Of.FRAMES: CLOUD}
    view.of_box.addItem(str(Of.FRAMES))  # which lists its marks
    view.show()
    return view


def spot(view: CloudView, index: int) -> QPoint:
    return point_place(view.plot.chart, view.plot.cloud.points[index]).toPoint()


def test_the_examples_hold() -> None:
    assert doctest.testmod(chart).failed == 0
    assert doctest.testmod(chart).attempted > 0


def test_all_of_a_cloud_is_in_view_with_one_scale_both_ways() -> None:
    for size in ((400.0, 300.0), (120.0, 500.0)):
        place = QRectF(10, 5, *size)
        shown = chart_of(CLOUD, place)
        for one in CLOUD.points:
            assert place.contains(shown.at(one.u, one.v))
        (ring,) = CLOUD.rings
        assert place.contains(shown.at(ring.u, ring.v + ring.radius))
        across = shown.at(0.26, 0.5).x() - shown.at(0.25, 0.5).x()
        up = shown.at(0.25, 0.5).y() - shown.at(0.25, 0.51).y()
        assert across == pytest.approx(up)
    assert chart_of(Cloud(), QRectF(0, 0, 100, 100)).place.width() == 100


def test_what_is_gone_nearer_to_stays_under_the_pointer() -> None:
    shown = Chart(QRectF(0, 0, 200, 100), 0.2, 0.5, 1e-4)
    here = QPointF(160, 20)
    nearer = shown.nearer(here, 2.0)
    assert nearer.of(here) == pytest.approx(shown.of(here))
    assert nearer.a_pixel == pytest.approx(shown.a_pixel / 2.0)
    assert shown.moved(QPointF(5, -3)).of(QPointF(55, 47)) == pytest.approx(shown.of(QPointF(50, 50)))


def test_a_point_has_its_own_colour() -> None:
    warm, cool = colour_of(*planckian_uv(2000.0)), colour_of(*planckian_uv(15000.0))
    assert (warm.red(), cool.blue()) == (255, 255)
    assert warm.blue() < 100 < cool.red() < 255
    white = colour_of(0.19784, 0.46834)  # D65: CIE 15:2018
    assert min(white.red(), white.green(), white.blue()) >= 254


def test_a_click_on_a_point_goes_to_its_shot(view: CloudView, qtbot: QtBot) -> None:
    assert view.plot.cloud == CLOUD
    with qtbot.waitSignal(view.picked) as picked:
        qtbot.mouseClick(view.plot, Qt.MouseButton.LeftButton, pos=spot(view, 1))
    assert picked.args == ["B"]
    assert view.said.text() == "B face"
    with qtbot.assertNotEmitted(view.picked):
        qtbot.mouseClick(view.plot, Qt.MouseButton.LeftButton, pos=spot(view, 1) + QPoint(40, 30))
    assert view.said.text() == "B face"
    view.plot.show_cloud(Cloud())  # of a point that is not there any more nothing is said
    assert (view.said.text(), view.plot.accessibleDescription()) == ("", "")


def test_keys_go_from_point_to_point(view: CloudView, qtbot: QtBot) -> None:
    for _ in range(2):
        qtbot.keyClick(view.plot, Qt.Key.Key_Right)
    assert (view.said.text(), view.plot.accessibleDescription()) == ("B face", "B face")
    with qtbot.waitSignal(view.picked) as picked:
        qtbot.keyClick(view.plot, Qt.Key.Key_Return)
    assert picked.args == ["B"]
    for _ in range(5):
        qtbot.keyClick(view.plot, Qt.Key.Key_Left)
    assert view.said.text() == "A face"


def test_one_mark_alone(view: CloudView) -> None:
    assert [view.mark_box.itemText(index) for index in range(3)] == ["all marks", "face", "hand"]
    view.mark_box.setCurrentIndex(2)
    assert ([one.shot for one in view.plot.cloud.points], view.plot.cloud.rings) == (["C"], ())
    assert view.summary.text() == "1 mark in 1 shot: none lies apart."


def test_nearer_and_all_again(view: CloudView, qtbot: QtBot) -> None:
    whole = view.plot.chart
    view.plot.go_nearer(QPointF(spot(view, 1)), 4.0)
    assert view.plot.chart.a_pixel == pytest.approx(whole.a_pixel / 4.0)
    qtbot.mouseDClick(view.plot, Qt.MouseButton.LeftButton, pos=QPoint(80, 20))
    qtbot.mouseRelease(view.plot, Qt.MouseButton.LeftButton, pos=QPoint(80, 20))
    assert view.plot.chart == whole


def test_a_session_is_shown_when_it_is_looked_at(qtbot: QtBot, harbour_session: Session) -> None:
    view = CloudView()
    qtbot.addWidget(view)
    view.show_session(harbour_session)
    assert not view.plot.cloud.points
    view.set_seen(True)
    assert len(view.plot.cloud.points) == 24
    assert "HB_130 face" in view.summary.text()
    assert [shown.shot for shown in view.plot.cloud.points if shown.is_key] == ["HB_040"]
    assert view.of_box.currentText() == "by the sheets"


def test_the_window_goes_to_the_shot_and_rings_it(window: MainWindow, qtbot: QtBot) -> None:
    window.run("cloud")
    cloud = window.panels.cloud
    qtbot.waitUntil(lambda: len(cloud.plot.cloud.points) == 24)
    cloud.picked.emit("HB_130")
    assert cloud.plot.shot == "HB_130"
    assert (cell := opened(window).views.cell_name()) is not None and cell[0] == "HB_130"
    window.run("cloud")
    assert cloud.visibleRegion().isEmpty()
