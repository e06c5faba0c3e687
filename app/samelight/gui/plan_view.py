"""The render plan as bars: projected machine time of every shot, pass on pass."""

from __future__ import annotations

import math
from typing import Any

import pyqtgraph as pg
from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QBrush, QColor
from PySide6.QtWidgets import QLabel, QVBoxLayout, QWidget

from samelight.gui import drift_scale, theme
from samelight.reports.render_plan import RenderPlan, render_plan
from samelight.session import Session

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
        f"About {_hours(plan.seconds)} for {len(plan.timed)} shots, projected from test frames: an estimate."
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


class PlanView(QWidget):
    """Bars under a summary; a click on a bar means the shot."""

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
        self.plot.setToolTip("Projected hours of each shot, pass on pass. A click goes to the shot")
        left = self.plot.getAxis("left")
        left.setLabel("hours", color=theme.DIM_TEXT.name())
        for axis in (left, self.plot.getAxis("bottom")):
            axis.setTextPen(theme.DIM_TEXT)
            axis.setPen(theme.EDGE)
            axis.setStyle(tickFont=theme.font(8.0))
        self.plot.scene().sigMouseClicked.connect(self._clicked)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addWidget(self.summary)
        layout.addWidget(self.plot, 1)
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
        self._name_shots()
        self.passes.setText(_key(names))

    def _name_shots(self) -> None:
        shots = self.plan.shots
        step = max(1, math.ceil(len(shots) / 6))
        ticks = [(index + 0.5, shots[index].shot) for index in range(0, len(shots), step)]
        self.plot.getAxis("bottom").setTicks([ticks])

    def _clicked(self, event: Any) -> None:
        place = self.plot.getViewBox().mapSceneToView(event.scenePos())
        index = math.floor(place.x())
        if 0 <= index < len(self.plan.shots):
            self.picked.emit(self.plan.shots[index].shot)


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
