from __future__ import annotations

import itertools
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import QPoint, QPointF, QRect, Qt
from PySide6.QtGui import QFontMetricsF, QImage, QPainter
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from colour_help import contrast
from gui_films import session_of
from gui_help import rgb
from samelight.gui.paint import theme
from samelight.gui.plan import bars as plan_view
from samelight.gui.plan.bars import PlanView, longest_name, plan_text, shot_text, wrong_passes
from samelight.gui.plan.plan_key import LOOKS, PlanKey, warning_colour
from samelight.gui.window.main_window import MainWindow
from samelight.reports.render_plan import PassPlan, RenderPlan, ShotPlan, render_plan
from samelight.sequence.session import Session
from samelight.sheets.sheet import Sheet


def test_the_plan_is_drawn_when_it_is_looked_at(window: MainWindow, qtbot: QtBot) -> None:
    assert list(window.panels.plan.plan.shots) == []
    window.run("plan")
    qtbot.waitUntil(lambda: len(window.panels.plan.plan.shots) == 24)
    assert "an estimate" in window.panels.plan.summary.text()
    assert "wrongly" in window.panels.plan.summary.text()  # HB_220 renders one frame under a moving camera
    outliers = [shot.shot for shot in window.panels.plan.plan.shots if shot.outlier]
    assert outliers == ["HB_170"]
    for name in ("background", "crew", "fog"):
        assert name in window.panels.plan.passes.text()


def test_a_click_on_a_bar_goes_to_the_shot(qtbot: QtBot, harbour_session: Session) -> None:
    view = PlanView()
    qtbot.addWidget(view)
    view.resize(420, 420)
    view.show()
    view.set_seen(True)
    view.show_session(harbour_session)
    qtbot.waitExposed(view)
    place = view.plot.mapFromScene(view.plot.view.mapViewToScene(QPointF(16.5, 1.0)))
    with qtbot.waitSignal(view.picked) as picked:
        qtbot.mouseClick(view.plot.viewport(), Qt.MouseButton.LeftButton, pos=place)
    assert picked.args == ["HB_170"]


def test_the_bars_of_a_shot_add_up_to_its_time(qtbot: QtBot, harbour_session: Session) -> None:
    view = PlanView()
    qtbot.addWidget(view)
    view.set_seen(True)
    view.show_session(harbour_session)
    top = max(shot.seconds for shot in view.plan.shots) / 3600
    low, high = view.plot.view.viewRange()[1]
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
    with qtbot.waitSignal(view.picked) as picked:
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
    view.plot.scene().sigMouseMoved.emit(view.plot.view.mapViewToScene(QPointF(21.5, 1.0)))
    assert view.said.text().startswith("HB_220: about ")
    assert "background: " in view.said.text()
    parts = view.plan.shots[21].passes
    assert any(part.wrong and part.wrong in view.said.text() for part in parts)


def test_a_shot_without_times_says_so() -> None:
    assert "not projected" in shot_text(ShotPlan("B", None, None, ()))


GRAPHICS = 3.0
"""WCAG 2.2, 1.4.11, non-text contrast."""


def shown(qtbot: QtBot, session: Session, width: int = 380, height: int = 420) -> PlanView:
    view = PlanView()
    qtbot.addWidget(view)
    view.resize(width, height)
    view.show()
    view.set_seen(True)
    view.show_session(session)
    qtbot.waitExposed(view)
    QApplication.processEvents()
    return view


def lightest(image: QImage, room: QRect) -> int:
    return max(
        image.pixelColor(x, y).red()
        for x in range(room.left(), room.right() + 1)
        for y in range(room.top(), room.bottom() + 1)
    )


def test_the_word_hours_is_read(qtbot: QtBot, harbour_session: Session) -> None:
    view = shown(qtbot, harbour_session)
    label = view.plot.left.label
    place = view.plot.mapFromScene(label.sceneBoundingRect()).boundingRect()
    image = view.plot.grab().toImage()
    level = lightest(image, place.intersected(image.rect()))
    assert label.toPlainText().strip() == "hours"
    assert contrast((level,) * 3, rgb(theme.WINDOW)) >= 4.5  # WCAG 2.2, 1.4.3


def test_passes_are_told_apart_without_hue() -> None:
    assert len(set(LOOKS)) == len(LOOKS) >= 8
    for look in LOOKS:
        ground = rgb(look.ground.color())
        assert contrast(ground, rgb(theme.WINDOW)) >= GRAPHICS
        assert contrast(ground, rgb(theme.LINE)) >= GRAPHICS  # the edge between any two
        if look.lines is not Qt.BrushStyle.NoBrush:
            assert contrast(ground, rgb(look.pattern.color())) >= GRAPHICS
    for lower, upper in itertools.pairwise(LOOKS):
        assert contrast(rgb(lower.ground.color()), rgb(upper.ground.color())) >= GRAPHICS
    for flat in (theme.WINDOW, theme.LINE):
        assert contrast(rgb(warning_colour()), rgb(flat)) >= GRAPHICS


def test_the_key_shows_each_pass_as_its_bars_do_and_in_a_size_that_is_seen(qtbot: QtBot) -> None:
    key = PlanKey()
    qtbot.addWidget(key)
    names = [f"pass_{number}" for number in range(len(LOOKS))]
    key.show_passes(names, outliers=True, wrong=True)
    key.resize(300, key.heightForWidth(300))
    image = key.grab().toImage()
    swatches = key.swatches()
    assert [name for name, _ in swatches] == [
        *names,
        "out of its family",
        "one frame cannot stand for all",
    ]
    for look, (name, room) in zip(LOOKS, swatches, strict=False):
        assert room.width() >= 16 and room.height() >= 10, name
        assert key.rect().contains(room.toAlignedRect()), name
        pixels = {
            rgb(image.pixelColor(x, y))
            for x in range(int(room.left()) + 1, int(room.right()) - 1)
            for y in range(int(room.top()) + 1, int(room.bottom()) - 1)
        }
        assert rgb(look.ground.color()) in pixels, name
        assert (len(pixels) > 1) == (look.lines is not Qt.BrushStyle.NoBrush), name
    rooms = [room for _, room in swatches]
    assert not any(one.intersects(two) for one, two in itertools.combinations(rooms, 2))
    key.show_passes(["beauty"], outliers=False, wrong=False)
    assert key.text() == "beauty" == key.accessibleDescription()


def test_what_is_wrong_is_listed_and_a_click_goes_there(qtbot: QtBot, harbour_session: Session) -> None:
    view = shown(qtbot, harbour_session)
    assert view.wrong.isVisible()
    assert "HB_220 background (37 h)" in view.wrong.text()
    for x in range(view.wrong.width() - 1, 0, -4):  # the link is the last that is said on its line
        place = QPoint(x, view.wrong.height() // 2 - 2)
        qtbot.mouseMove(view.wrong, place)
        with qtbot.waitSignal(view.picked, timeout=50, raising=False) as picked:
            qtbot.mouseClick(view.wrong, Qt.MouseButton.LeftButton, pos=place)
        if picked.args:
            break
    assert picked.args == ["HB_220"]
    assert view.said.text().startswith("HB_220: about ") and "background: " in view.said.text()


def test_the_keyboard_goes_to_what_is_wrong(qtbot: QtBot, harbour_session: Session) -> None:
    view = shown(qtbot, harbour_session)
    view.wrong.setFocus(Qt.FocusReason.TabFocusReason)
    qtbot.keyClick(view.wrong, Qt.Key.Key_Tab)
    with qtbot.waitSignal(view.picked) as picked:
        qtbot.keyClick(view.wrong, Qt.Key.Key_Return)
    assert picked.args == ["HB_220"]


def test_a_mark_stands_over_the_bar_of_what_is_wrong(qtbot: QtBot, harbour_session: Session) -> None:
    view = shown(qtbot, harbour_session)
    image = view.plot.grab().toImage()

    def marked(place: int) -> bool:
        top = view.plan.shots[place].seconds / 3600
        box = view.plot.view
        at = view.plot.mapFromScene(box.mapViewToScene(QPointF(place + 0.5, top)))
        return any(
            rgb(image.pixelColor(at + QPoint(dx, -dy))) == rgb(warning_colour())
            for dx in (-2, 0, 2)
            for dy in range(4, 14)
        )

    assert marked(21) and view.plan.shots[21].shot == "HB_220"
    assert not any(marked(place) for place in range(24) if place not in (16, 21))  # 16 has its frame


def test_the_worst_is_listed_first_and_not_all_of_many() -> None:
    def shot(number: int, hours: float) -> ShotPlan:
        part = PassPlan("mist", 1, 60.0, hours * 3600, True, "the camera moves")
        return ShotPlan(f"HB_{number:03d}", 10, 60.0, (part,))

    plan = RenderPlan(tuple(shot(number, float(number)) for number in range(1, 13)))
    found = wrong_passes(plan)
    assert found[0] == (11, "HB_012 mist (12 h)") and len(found) == 12
    view = PlanView()
    view.show_plan(plan)
    assert "HB_012 mist" in view.wrong.text() and "and 6 more" in view.wrong.text()
    view.show_plan(RenderPlan(()))
    assert view.wrong.text() == ""


def named(view: PlanView) -> list[tuple[str, float, float]]:
    """The names under the bars, each with its left and right end on the plot, as the axis draws them."""
    axis = view.plot.bottom
    image = view.plot.grab().toImage()
    painter = QPainter(image)
    painter.setFont(theme.font(8.0))
    _, _, texts = axis.generateDrawSpecs(painter)
    painter.end()
    rooms = [axis.mapRectToScene(room) for room, _, _ in texts]
    return [(text, room.left(), room.right()) for (_, _, text), room in zip(texts, rooms, strict=True)]


def assert_named(view: PlanView, first: str) -> None:
    names = named(view)
    assert names[0][0] == first
    assert all(left >= -1 and right <= view.plot.width() + 1 for _, left, right in names)
    assert all(one[2] < two[1] for one, two in itertools.pairwise(names))


@pytest.mark.parametrize("width", [260, 380, 640, 1200])
def test_the_first_shot_is_named_and_no_name_is_cut(
    qtbot: QtBot, harbour_session: Session, width: int
) -> None:
    assert_named(shown(qtbot, harbour_session, width), "HB_010")


@pytest.mark.parametrize("width", [300, 900])
@pytest.mark.parametrize("count", [1, 540])
@pytest.mark.parametrize(
    "stem", ["HB_{:04d}", "harbour_at_dawn_{:04d}", "the_long_way_home_over_the_bay_{:04d}"]
)
def test_the_first_of_many_shots_and_of_one_with_a_long_name(
    qtbot: QtBot, stem: str, count: int, width: int
) -> None:
    view = PlanView()
    qtbot.addWidget(view)
    view.resize(width, 420)
    part = PassPlan("all", 10, 3600.0, 0.0, False)
    view.show()
    view.show_plan(
        RenderPlan(tuple(ShotPlan(stem.format(number), 10, 360.0, (part,)) for number in range(1, count + 1)))
    )
    for _ in range(3):
        QApplication.processEvents()
    metrics = QFontMetricsF(theme.font(8.0))
    assert_named(view, metrics.elidedText(stem.format(1), Qt.TextElideMode.ElideMiddle, 120.0))


# What is worked out anew


class Counted:
    """How often a view plans, and how often it draws."""

    def __init__(self, view: PlanView, monkeypatch: pytest.MonkeyPatch) -> None:
        self.plans = self.drawings = 0
        plan, draw = render_plan, view.show_plan

        def planned(*args: Any) -> RenderPlan:
            self.plans += 1
            return plan(*args)

        def drawn(plan: RenderPlan) -> None:
            self.drawings += 1
            draw(plan)

        monkeypatch.setattr(plan_view, "render_plan", planned)
        monkeypatch.setattr(view, "show_plan", drawn)

    def since(self) -> tuple[int, int]:
        found = self.plans, self.drawings
        self.plans = self.drawings = 0
        return found


def test_a_plan_is_worked_out_once_and_drawn_when_it_is_another(
    qtbot: QtBot, harbour_session: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    view = PlanView()
    qtbot.addWidget(view)
    counted = Counted(view, monkeypatch)
    view.show_session(harbour_session)
    assert counted.since() == (0, 0)
    view.set_seen(True)
    assert counted.since() == (1, 1)
    view.set_seen(False)
    view.set_seen(True)
    assert counted.since() == (0, 0)
    view.show_session(harbour_session)  # the findings came, and change nothing of it
    assert counted.since() == (1, 0)
    assert "HB_220 background" in view.wrong.text()
    view.set_seen(False)
    harbour_session.cases.take_findings([])  # which say that a pass is wrong
    view.show_session(harbour_session)
    assert counted.since() == (0, 0)
    view.set_seen(True)
    assert counted.since() == (1, 1)
    assert view.wrong.text() == ""
    view.show_session(session_of(Sheet(Path("m"), "", 1, None, None, {}, {}), {}, Path("none")))
    assert counted.since() == (1, 1) and "nothing to project from" in view.summary.text()


def test_that_there_is_nothing_to_plan_is_said_at_the_first_look(qtbot: QtBot) -> None:
    view = PlanView()
    qtbot.addWidget(view)
    view.show_session(session_of(Sheet(Path("m"), "", 1, None, None, {}, {}), {}, Path("none")))
    view.set_seen(True)
    assert "nothing to project from" in view.summary.text()


@given(st.lists(st.text("HBil_Wm.019 ", max_size=30), max_size=8))
def test_every_name_has_the_room_of_the_longest(dressed: None, names: list[str]) -> None:
    metrics = QFontMetricsF(theme.font(8.0))
    widths = [
        metrics.horizontalAdvance(metrics.elidedText(name, Qt.TextElideMode.ElideMiddle, 120.0))
        for name in names
    ]
    assert max(widths, default=0.0) <= longest_name(names) <= 120.0
    assert longest_name(name for name in names if not any(c.isdigit() for c in name)) <= longest_name(names)


def test_a_pass_has_a_bar_in_each_shot_that_renders_it(qtbot: QtBot) -> None:
    def one(name: str, hours: float) -> PassPlan:
        return PassPlan(name, 10, hours * 3600, 0.0, False)

    view = PlanView()
    qtbot.addWidget(view)
    view.show_plan(
        RenderPlan(
            (
                ShotPlan("A", 10, 60.0, (one("crew", 2.0), one("fog", 1.0))),
                ShotPlan("B", None, None, ()),
                ShotPlan("C", 10, 60.0, (one("fog", 3.0),), outlier=True),
                ShotPlan("D", 10, 60.0, (one("crew", 4.0), one("fog", 5.0)), outlier=True),
            )
        )
    )
    lows = [np.asarray(bars.opts["y0"]).tolist() for bars in view.bars]
    highs = [np.asarray(bars.opts["height"]).tolist() for bars in view.bars]
    assert highs == [[2.0, 0.0, 0.0, 4.0], [1.0, 0.0, 3.0, 5.0]]
    assert lows == [[0.0, 0.0, 0.0, 0.0], [2.0, 0.0, 0.0, 4.0]]
    frames = [item for item in view.plot.items_shown if getattr(item, "opts", {}).get("width") == 0.9]
    assert [(frame.opts["x"].tolist(), frame.opts["height"].tolist()) for frame in frames] == [
        ([2.5, 3.5], [3.0, 9.0])
    ]
