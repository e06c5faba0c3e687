"""The render plan as bars: projected machine time of every shot, pass on pass."""

from __future__ import annotations

import html
import math
from collections.abc import Iterable, Sequence
from string import digits
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QEvent, QObject, QPointF, Qt, Signal
from PySide6.QtGui import QBrush, QFont, QFontMetricsF, QKeyEvent
from PySide6.QtWidgets import QVBoxLayout, QWidget

from samelight.drift.words import counted, first_names
from samelight.gui.paint import theme
from samelight.gui.paint.plots import pg
from samelight.gui.plan.bar_plot import BarPlot
from samelight.gui.plan.plan_key import PlanKey, look_of, warning_colour
from samelight.gui.widgets.page_parts import FittedLabel
from samelight.gui.widgets.plain_text import MarkedLabel, PlainLabel
from samelight.gui.widgets.seen_view import SeenView
from samelight.reports.render_plan import RenderPlan, ShotPlan, render_plan
from samelight.reports.shown import clean
from samelight.sequence.session import Session
from samelight.sheets.units import clock_text

Array = NDArray[np.float64]

_MOST_LISTED = 6
"""As many wrong passes as are named; the others have their mark in the plot."""

_LONGEST_NAME, _BETWEEN_NAMES = 120.0, 14.0
"""Pixels of a shot's name under its bar, and between two names."""

_ROOM_FOR_EDGES = 4.0
"""Pixels: narrower bars have no edges, which would cover them."""


def plan_text(plan: RenderPlan) -> str:
    """The plan in three lines. All of it is projected from test frames, so all of it is an estimate."""
    if not plan.timed:
        return (
            "No shot states both its frames and the time of a test frame: there is nothing to project from."
        )
    lines = [
        f"About {_hours(plan.seconds)} for {counted(len(plan.timed), 'shot')}, projected from test frames: an estimate."
    ]
    saved, saved_wrongly = plan.saved, plan.saved_wrongly
    if saved:
        wrongly = f", {_hours(saved_wrongly)} of it wrongly" if saved_wrongly else ""
        lines.append(f"One-frame passes save {_hours(saved)}{wrongly}.")
    if plan.left_out:
        lines.append(f"Not projected: {first_names(plan.left_out, 6)}.")
    return "\n".join(lines)


def wrong_passes(plan: RenderPlan) -> list[tuple[int, str]]:
    """Where one frame cannot stand for all: the place of the shot and what is said of it, what it hides most first.

    >>> from samelight.reports.render_plan import PassPlan
    >>> one = PassPlan("crew", 1, 720.0, 36000.0, True, "the camera moves")
    >>> wrong_passes(RenderPlan((ShotPlan("HB_010", 51, 720.0, (one,)),)))
    [(0, 'HB_010 crew (10 h)')]
    """
    found = [
        (place, shot.shot, one) for place, shot in enumerate(plan.shots) for one in shot.passes if one.wrong
    ]
    found.sort(key=lambda wrong: -wrong[2].saved)
    return [(place, f"{shot} {one.name} ({_hours(one.saved)})") for place, shot, one in found]


def _hours(seconds: float) -> str:
    hours = seconds / 3600
    return f"{hours:.0f} h" if hours >= 10 else f"{hours:.1f} h"


def shot_text(shot: ShotPlan) -> str:
    """One shot of the plan in a line.

    >>> from samelight.reports.render_plan import PassPlan
    >>> shot_text(ShotPlan("HB_010", 10, 720.0, (PassPlan("crew", 10, 7200.0, 0.0, False),)))
    'HB_010: about 2.0 h, test frame 12m00s; crew 2.0 h'
    """
    if shot.length is None or shot.test_frame is None:
        return f"{shot.shot}: not projected; its frames or the time of a test frame are not stated"
    out = " (out of its family)" if shot.outlier else ""
    parts = [f"{one.name} {_hours(one.seconds)}" for one in shot.passes]
    wrong = [f"{one.name}: {one.wrong}" for one in shot.passes if one.wrong]
    frame = clock_text(shot.test_frame)
    said = f"{shot.shot}: about {_hours(shot.seconds)}, test frame {frame}{out}; {', '.join(parts)}"
    return "; ".join([said, *wrong])


_STEPS = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}
_ENTER = (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space)


def _wrong_label() -> MarkedLabel:
    label = MarkedLabel()
    label.setWordWrap(True)
    label.setContentsMargins(6, 0, 6, 4)
    label.setTextInteractionFlags(
        Qt.TextInteractionFlag.LinksAccessibleByMouse | Qt.TextInteractionFlag.LinksAccessibleByKeyboard
    )
    label.setAccessibleName("Where one frame cannot stand for all")
    label.setToolTip("A shot's name goes to the shot, and says below the plot why")
    return label


def _dress(plot: BarPlot) -> None:
    plot.left.setLabel("hours", color=theme.DIM_TEXT.name())
    for axis in (plot.left, plot.bottom):
        axis.setPen(theme.EDGE)  # before the pen of its text, since it colours the label as well
        axis.setTextPen(theme.DIM_TEXT)
        axis.setStyle(tickFont=_name_font())


class PlanView(SeenView):
    """Bars under a summary; a click on a bar means the shot. Left and Right go from bar to bar, Enter to the shot."""

    picked = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.plan = RenderPlan(())
        self.summary = PlainLabel()
        self.summary.setWordWrap(True)
        self.summary.setMargin(6)
        self.wrong = _wrong_label()
        self.wrong.linkActivated.connect(lambda place: self._go_to(int(place)))
        self.passes = PlanKey()
        self.plot = BarPlot()
        self.plot.setAccessibleName("Projected hours of each shot")
        self.plot.setToolTip(
            "Projected hours of each shot, pass on pass. A click goes to the shot (Left, Right, Enter)"
        )
        self.plot.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.plot.installEventFilter(self)
        self.at = -1
        """The place of the bar that is read out, -1 for none."""
        self.mark = pg.InfiniteLine(angle=90, pen=pg.mkPen(theme.BRIGHT, width=1))
        self.said = FittedLabel(points=theme.BODY, lines=4)
        _dress(self.plot)
        self.bars: list[pg.BarGraphItem] = []
        """Those of each pass, without the lines on them."""
        self.plot.scene().sigMouseClicked.connect(self._clicked)
        self.plot.scene().sigMouseMoved.connect(self._hovered)
        self.plot.view.sigResized.connect(lambda _: self._fit())
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addWidget(self.summary)
        layout.addWidget(self.wrong)
        layout.addWidget(self.plot, 1)
        below = QVBoxLayout()
        below.setContentsMargins(6, 2, 6, 0)
        below.addWidget(self.said)
        layout.addLayout(below)
        layout.addWidget(self.passes)

    def _take(self, session: Session) -> None:
        sheets = session.contents.sheets
        plan = render_plan(
            {shot: sheets[shot] for shot in session.contents.shots if shot in sheets}, session.cases.findings
        )
        if plan != self.plan or not plan.shots:  # that there is nothing to plan is said as well
            self.show_plan(plan)

    def show_plan(self, plan: RenderPlan) -> None:
        """Draw a plan, and say what it rests on."""
        self.plan = plan
        self.summary.setText(plan_text(plan))
        self.plot.clear()
        self.bars = []
        shots = plan.shots
        passes = _hours_of_passes(shots)
        tops = np.zeros(len(shots))
        for number, high in enumerate(passes.values()):
            look = look_of(number)
            self.bars.append(self._add_bars(tops, high, look.ground))
            if look.lines is not Qt.BrushStyle.NoBrush:
                self._add_bars(tops, high, look.pattern)
            tops = tops + high
        outliers = [place for place, shot in enumerate(shots) if shot.outlier]
        if outliers:
            self.plot.put(_frames(outliers, tops))
        wrong = wrong_passes(plan)
        self.plot.put(_marks(sorted({place for place, _ in wrong}), tops))
        self.plot.show_range(max(len(shots), 1), float(tops.max(initial=1e-6)) * 1.08)
        self.plot.put(self.mark, ignore_bounds=True)
        self._read(self.at)
        self._fit()
        self._list(wrong)
        self.passes.show_passes([*passes], outliers=bool(outliers), wrong=bool(wrong))

    def _add_bars(self, low: Array, high: Array, brush: QBrush) -> pg.BarGraphItem:
        places = np.arange(high.size) + 0.5
        bars = pg.BarGraphItem(x=places, y0=low, height=high, width=0.8, brush=brush, pen=pg.mkPen(None))
        self.plot.put(bars)
        return bars

    def _list(self, wrong: list[tuple[int, str]]) -> None:
        """Name what is wrong, each a way to its shot."""
        links = [f'<a href="{place}">{html.escape(said)}</a>' for place, said in wrong[:_MOST_LISTED]]
        more = len(wrong) - _MOST_LISTED
        said = ", ".join(links) + (f" and {more} more" if more > 0 else "")
        self.wrong.setText(f"One frame cannot stand for all: {said}." if wrong else "")
        self.wrong.setVisible(bool(wrong))

    def _fit(self) -> None:
        """Name as many shots as there is room for, and give the bars edges where they are wide enough."""
        shots = self.plan.shots
        room = self.plot.view.width()
        each = room / max(len(shots), 1)
        edge = pg.mkPen(theme.LINE) if each >= _ROOM_FOR_EDGES else pg.mkPen(None)
        for bars in self.bars:
            bars.setOpts(pen=edge)
        half = longest_name(shot.shot for shot in shots) / 2 + 1.0
        # The last name ends where the plot does; the first one is always there and reaches under the other axis.
        step = max(1, math.ceil((2 * half + _BETWEEN_NAMES) / each)) if each > 0 else max(len(shots), 1)
        metrics = QFontMetricsF(_name_font())
        ticks = [
            (
                index + 0.5,
                metrics.elidedText(clean(shots[index].shot), Qt.TextElideMode.ElideMiddle, _LONGEST_NAME),
            )
            for index in range(0, len(shots), step)
            if not index or (index + 0.5) * each + half <= room
        ]
        bottom, left = self.plot.bottom, self.plot.left
        bottom.setStyle(hideOverlappingLabels=math.ceil(half))
        bottom.setTicks([ticks])
        if shots and left.width() + each / 2 < half:
            left.setWidth(math.ceil(half))

    def _bar_at(self, scene: QPointF) -> int:
        """The place of the bar at a point of the plot, -1 for none."""
        index = math.floor(self.plot.view.mapSceneToView(scene).x())
        return index if 0 <= index < len(self.plan.shots) else -1

    def _clicked(self, event: Any) -> None:
        self._go_to(self._bar_at(event.scenePos()))

    def _go_to(self, index: int) -> None:
        """Read out the bar at a place, and go to its shot."""
        if 0 <= index < len(self.plan.shots):
            self._read(index)
            self.picked.emit(self.plan.shots[index].shot)

    def _hovered(self, scene: QPointF) -> None:
        index = self._bar_at(scene)
        if index >= 0:
            self._read(index)

    def _read(self, index: int) -> None:
        """Read out the bar at a place."""
        self.at = index if 0 <= index < len(self.plan.shots) else -1
        self.mark.setVisible(self.at >= 0)
        self.mark.setValue(self.at + 0.5)
        self.said.setText(shot_text(self.plan.shots[self.at]) if self.at >= 0 else "")
        self.plot.setAccessibleDescription(self.said.text())

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if watched is self.plot and isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress:
            step = _STEPS.get(Qt.Key(event.key()))
            if step is not None and self.plan.shots:
                self._read(min(max(self.at + step, 0), len(self.plan.shots) - 1))
                return True
            if event.key() in _ENTER and self.at >= 0:
                self.picked.emit(self.plan.shots[self.at].shot)
                return True
        return super().eventFilter(watched, event)


def _name_font() -> QFont:
    return theme.font(theme.SMALL)


def longest_name(names: Iterable[str]) -> float:
    """Pixels that every one of these names has room in, once it is cut to the longest that is shown.

    Names that differ in nothing but digits are measured once, with the widest of them: a film has thousands.
    """
    metrics = QFontMetricsF(_name_font())
    as_widest = str.maketrans(digits, max(digits, key=metrics.horizontalAdvance) * len(digits))
    alike = {name.translate(as_widest) for name in names}
    return min(max(map(metrics.horizontalAdvance, alike), default=0.0), _LONGEST_NAME)


def _hours_of_passes(shots: Sequence[ShotPlan]) -> dict[str, Array]:
    """The hours of every pass in each shot, by its name, in order of appearance."""
    seconds: dict[str, list[float]] = {}
    for place, shot in enumerate(shots):
        for one in shot.passes:
            if one.name not in seconds:
                seconds[one.name] = [0.0] * len(shots)
            seconds[one.name][place] += one.seconds
    return {name: np.array(each) / 3600 for name, each in seconds.items()}


def _frames(places: list[int], tops: Array) -> pg.BarGraphItem:
    """The frames round the shots whose test frame is out of its family."""
    pen = pg.mkPen(warning_colour(), width=2)
    middles = np.array(places) + 0.5
    return pg.BarGraphItem(x=middles, height=tops[places], width=0.9, brush=None, pen=pen)


def _marks(places: list[int], tops: Array) -> pg.ScatterPlotItem:
    """The marks over the shots in which one frame cannot stand for all: its own bar is too low to be seen."""
    return pg.ScatterPlotItem(
        x=np.array(places, dtype=np.float64) + 0.5,
        y=tops[places] + tops.max(initial=0.0) * 0.04,
        symbol="t",
        size=11,
        brush=warning_colour(),
        pen=pg.mkPen(theme.LINE),
    )
