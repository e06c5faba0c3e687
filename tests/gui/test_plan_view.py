from __future__ import annotations

import pytest
from PySide6.QtCore import QPointF, Qt
from pytestqt.qtbot import QtBot

from samelight.gui.main_window import MainWindow
from samelight.gui.plan_view import PlanView, plan_text, shot_text
from samelight.reports.render_plan import PassPlan, RenderPlan, ShotPlan
from samelight.session import Session


def test_the_plan_is_drawn_when_it_is_looked_at(window: MainWindow, qtbot: QtBot) -> None:
    assert window.plan.plan.shots == ()
    window.run("plan")
    qtbot.waitUntil(lambda: len(window.plan.plan.shots) == 24, timeout=5000)
    assert "an estimate" in window.plan.summary.text()
    assert "wrongly" in window.plan.summary.text()  # HB_220 renders one frame under a moving camera
    outliers = [shot.shot for shot in window.plan.plan.shots if shot.outlier]
    assert outliers == ["HB_170"]
    for name in ("background", "crew", "fog"):
        assert name in window.plan.passes.text()


def test_a_click_on_a_bar_goes_to_the_shot(qtbot: QtBot, harbour_session: Session) -> None:
    view = PlanView()
    qtbot.addWidget(view)
    view.resize(420, 420)
    view.show()
    view.set_seen(True)
    view.show_session(harbour_session)
    qtbot.waitExposed(view)
    place = view.plot.mapFromScene(view.plot.getViewBox().mapViewToScene(QPointF(16.5, 1.0)))
    with qtbot.waitSignal(view.picked, timeout=3000) as picked:
        qtbot.mouseClick(view.plot.viewport(), Qt.MouseButton.LeftButton, pos=place)
    assert picked.args == ["HB_170"]


def test_the_bars_of_a_shot_add_up_to_its_time(qtbot: QtBot, harbour_session: Session) -> None:
    view = PlanView()
    qtbot.addWidget(view)
    view.set_seen(True)
    view.show_session(harbour_session)
    top = max(shot.seconds for shot in view.plan.shots) / 3600
    low, high = view.plot.getViewBox().viewRange()[1]
    assert low == 0.0
    assert high == pytest.approx(top * 1.08)


@pytest.mark.parametrize(
    ("plan", "said"),
    [
        (RenderPlan(()), "nothing to project from"),
        (
            RenderPlan((ShotPlan("A", 10, 60.0, (PassPlan("all", 10, 36000.0, 0.0, False),)),)),
            "About 10 h for 1 shot,",
        ),
        (
            RenderPlan(
                (
                    ShotPlan("A", 10, 60.0, (PassPlan("b", 1, 60.0, 3600.0, True),)),
                    ShotPlan("B", None, None, ()),
                )
            ),
            "B",
        ),
    ],
)
def test_the_summary_says_what_it_rests_on(plan: RenderPlan, said: str) -> None:
    assert said in plan_text(plan)


def test_the_keyboard_goes_from_bar_to_bar_and_to_the_shot(qtbot: QtBot, harbour_session: Session) -> None:
    view = PlanView()
    qtbot.addWidget(view)
    view.resize(420, 420)
    view.set_seen(True)
    view.show_session(harbour_session)
    view.show()
    assert view.plot.focusPolicy() & Qt.FocusPolicy.TabFocus
    qtbot.keyClick(view.plot, Qt.Key.Key_Left)  # there is none before the first
    assert view.said.text().startswith("HB_010: about ")
    for _ in range(16):
        qtbot.keyClick(view.plot, Qt.Key.Key_Right)
    assert view.said.text().startswith("HB_170: about ")
    assert "test frame 55m10s (out of its family)" in view.said.text()
    assert view.plot.accessibleDescription() == view.said.text()
    with qtbot.waitSignal(view.picked, timeout=2000) as picked:
        qtbot.keyClick(view.plot, Qt.Key.Key_Return)
    assert picked.args == ["HB_170"]


def test_the_mouse_reads_out_a_bar_and_where_one_frame_cannot_stand_for_all(
    qtbot: QtBot, harbour_session: Session
) -> None:
    view = PlanView()
    qtbot.addWidget(view)
    view.resize(420, 420)
    view.show()
    view.set_seen(True)
    view.show_session(harbour_session)
    qtbot.waitExposed(view)
    view._hovered(view.plot.getViewBox().mapViewToScene(QPointF(21.5, 1.0)))
    assert view.said.text().startswith("HB_220: about ")
    assert "background: " in view.said.text()
    parts = view.plan.shots[21].passes
    assert any(part.wrong and part.wrong in view.said.text() for part in parts)


def test_a_shot_without_times_says_so() -> None:
    assert "not projected" in shot_text(ShotPlan("B", None, None, ()))
