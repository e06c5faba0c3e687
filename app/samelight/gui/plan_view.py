"""The render plan as bars: projected machine time of every shot, pass on pass."""

from __future__ import annotations

import math
from typing import Any

import pyqtgraph as pg
from PySide6.QtCore import QEvent, QObject, QPointF, Qt, Signal
from PySide6.QtGui import QBrush, QColor, QFontMetricsF, QKeyEvent
from PySide6.QtWidgets import QLabel, QVBoxLayout, QWidget

from samelight.drift.words import counted
from samelight.gui import drift_scale, theme
from samelight.gui.inspector_parts import FittedLabel
from samelight.reports.render_plan import RenderPlan, ShotPlan, render_plan
from samelight.session import Session
from samelight.sheets.units import clock_text

_GREYS = (208, 164, 124, 92, 186, 142, 106)
"""Lightness of the passes, first at the bottom; neighbours differ enough to be told apart without hue."""

_OUT_OF_FAMILY = 10.0
"""The severity whose colour marks a shot whose test frame is out of its family."""


def plan_text(plan: RenderPlan) -> str:
    """The plan in three lines. All of it is projected from test frames, so all of it is an estimate."""
    if not plan.timed:
        return (
            "No shot states both its frames and the time of a test frame: there is nothing to project from."
        )
    lines = [
        f"About {_hours(plan.seconds)} for {counted(len(plan.timed), 'shot')}, projected from test frames: an estimate."
    ]
    if plan.saved:
        wrongly = f", {_hours(plan.saved_wrongly)} of it wrongly" if plan.saved_wrongly else ""
        lines.append(f"One-frame passes save {_hours(plan.saved)}{wrongly}.")
    if plan.left_out:
        lines.append(f"Not projected: {', '.join(plan.left_out[:6])}{'…' if len(plan.left_out) > 6 else ''}.")
    return "\n".join(lines)


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


class PlanView(QWidget):
    """Bars under a summary; a click on a bar means the shot. Left and Right go from bar to bar, Enter to the shot."""

    picked = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.plan = RenderPlan(())
        self._session: Session | None = None
        self._seen = False
        self.summary = QLabel()
        self.summary.setWordWrap(True)
        self.summary.setMargin(6)
        self.passes = QLabel()
        self.passes.setWordWrap(True)
        self.passes.setTextFormat(Qt.TextFormat.RichText)
        self.passes.setMargin(6)
        self.plot = pg.PlotWidget(background=theme.WINDOW)
        self.plot.setMenuEnabled(False)
        self.plot.hideButtons()
        self.plot.setMouseEnabled(x=False, y=False)
        self.plot.setAccessibleName("Projected hours of each shot")
        self.plot.setToolTip(
            "Projected hours of each shot, pass on pass. A click goes to the shot (Left, Right, Enter)"
        )
        self.plot.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.plot.installEventFilter(self)
        self.at = -1
        """The place of the bar that is read out, -1 for none."""
        self.mark = pg.InfiniteLine(angle=90, pen=pg.mkPen(theme.BRIGHT, width=1))
        self.said = FittedLabel(points=9.5, lines=4)
        left = self.plot.getAxis("left")
        left.setLabel("hours", color=theme.DIM_TEXT.name())
        for axis in (left, self.plot.getAxis("bottom")):
            axis.setTextPen(theme.DIM_TEXT)
            axis.setPen(theme.EDGE)
            axis.setStyle(tickFont=theme.font(8.0))
        self.plot.scene().sigMouseClicked.connect(self._clicked)
        self.plot.scene().sigMouseMoved.connect(self._hovered)
        self.plot.getViewBox().sigResized.connect(lambda _: self._name_shots())
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addWidget(self.summary)
        layout.addWidget(self.plot, 1)
        below = QVBoxLayout()
        below.setContentsMargins(6, 2, 6, 0)
        below.addWidget(self.said)
        layout.addLayout(below)
        layout.addWidget(self.passes)

    def show_session(self, session: Session) -> None:
        """Plan what a session holds, now or when it is looked at."""
        self._session = session
        if self._seen:
            self._refresh()

    def set_seen(self, seen: bool) -> None:
        """Whether anyone sees it; what nobody sees is not worked out."""
        self._seen = seen
        if seen:
            self._refresh()

    def _refresh(self) -> None:
        if self._session is None:
            return
        session = self._session
        ordered = {shot: session.sheets[shot] for shot in session.shots if shot in session.sheets}
        self.plan = render_plan(ordered, session.findings)
        self.summary.setText(plan_text(self.plan))
        self._draw()

    def _draw(self) -> None:
        self.plot.clear()
        names = [one.name for one in self.plan.by_pass()]
        base = [0.0] * len(self.plan.shots)
        for number, name in enumerate(names):
            lightness = _GREYS[number % len(_GREYS)]
            tops, brushes = [], []
            for shot in self.plan.shots:
                part = next((one for one in shot.passes if one.name == name), None)
                tops.append(part.seconds / 3600 if part is not None else 0.0)
                wrong = part is not None and bool(part.wrong)
                style = Qt.BrushStyle.BDiagPattern if wrong else Qt.BrushStyle.SolidPattern
                brushes.append(QBrush(theme.grey(lightness), style))
            bars = pg.BarGraphItem(
                x=[index + 0.5 for index in range(len(tops))],
                y0=list(base),
                height=tops,
                width=0.8,
                brushes=brushes,
                pen=pg.mkPen(theme.LINE),
            )
            self.plot.addItem(bars)
            base = [low + high for low, high in zip(base, tops, strict=True)]
        for index, shot in enumerate(self.plan.shots):
            if shot.outlier:
                self.plot.addItem(_frame(index, base[index]))
        self.plot.setXRange(0, max(len(base), 1), padding=0)
        self.plot.setYRange(0, max([*base, 1e-6]) * 1.08, padding=0)
        self.plot.addItem(self.mark, ignoreBounds=True)
        self._read(self.at)
        self._name_shots()
        self.passes.setText(_key(names))

    def _name_shots(self) -> None:
        """Name as many shots as there is room for."""
        shots = self.plan.shots
        metrics = QFontMetricsF(theme.font(8.0))
        wide = max((metrics.horizontalAdvance(shot.shot) for shot in shots), default=0.0) + 16.0
        room = max(self.plot.getViewBox().width(), wide)
        step = max(1, math.ceil(len(shots) * wide / room))
        ticks = [(index + 0.5, shots[index].shot) for index in range(0, len(shots), step)]
        self.plot.getAxis("bottom").setTicks([ticks])

    def _bar_at(self, scene: QPointF) -> int:
        """The place of the bar at a point of the plot, -1 for none."""
        index = math.floor(self.plot.getViewBox().mapSceneToView(scene).x())
        return index if 0 <= index < len(self.plan.shots) else -1

    def _clicked(self, event: Any) -> None:
        index = self._bar_at(event.scenePos())
        if index >= 0:
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


def _frame(index: int, top: float) -> pg.BarGraphItem:
    """The frame round a shot whose test frame is out of its family."""
    colour = QColor(drift_scale.colour(_OUT_OF_FAMILY))
    return pg.BarGraphItem(
        x=[index + 0.5], height=[top], width=0.9, brush=None, pen=pg.mkPen(colour, width=2)
    )


def _key(names: list[str]) -> str:
    parts = []
    for number, name in enumerate(names):
        lightness = _GREYS[number % len(_GREYS)]
        square = f"<span style='color: rgb({lightness},{lightness},{lightness})'>■</span>"
        parts.append(f"{square} {_escaped(name)}")
    red, green, blue = drift_scale.rgb(_OUT_OF_FAMILY)
    parts.append(f"<span style='color: rgb({red},{green},{blue})'>□</span> out of its family")
    parts.append("hatched: one frame cannot stand for all")
    return " &nbsp; ".join(parts)


def _escaped(text: str) -> str:
    return text.replace("&", "&amp;").replace("<", "&lt;")
