"""One plot of the traces: its axis with names and read-outs, its lines, and the ring around the current shot."""

from __future__ import annotations

import math
from typing import Any

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QFontMetricsF
from PySide6.QtWidgets import QGraphicsGridLayout, QSizePolicy

from samelight.drift.words import number_text
from samelight.gui.paint import line_styles, theme
from samelight.gui.paint.drawn_text import draw_text
from samelight.gui.paint.plots import pg
from samelight.gui.state.rows import GridState
from samelight.gui.traces.trace_data import Panel, Trace, TraceScale
from samelight.gui.traces.trace_items import RING, Lines, Ring

RING_ROOM = RING + 2.0
"""How far a point has to be from the edges of its plot so that nothing of the ring, whose line has a width, is cut off."""

_MIDDLE = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
_AT_END = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
_LEFT, _TICKS = 8.0, 48.0
"""Where names begin, and what is left of the axis for the figures of its ticks."""
ASIDE = 34.0
"""How high a plot is that only stands by, in Qt's pixels: its line, and one line of text."""
_BLOCKS = 72.0
"""How high a plot of what is no quantity is at most, beside others."""
_ANY_HEIGHT = 16777215.0


class Axis(pg.AxisItem):  # type: ignore[misc]  # pyqtgraph has no types
    """The left axis of a plot, as wide as the grid's names, with the plot's name and what it says in one shot."""

    def __init__(self) -> None:
        super().__init__("left")
        self.enableAutoSIPrefix(False)  # else a label that is not shown is written at every new range
        self.setTextPen(theme.DIM_TEXT)
        self.setPen(theme.EDGE)
        figures = theme.font(theme.SMALL)
        self.setStyle(tickFont=figures, tickTextOffset=4, tickLength=-4)
        self._figure = QFontMetricsF(figures).capHeight() + 3.0
        """How much height a figure takes, in Qt's pixels."""
        self._name_font, self._said_font = theme.font(bold=True), theme.font(theme.SMALL)
        self.name = ""
        self.unit = ""
        self.aside = False
        """Whether name and value stand in one line, without figures along the axis."""
        self.said: list[tuple[str, int | None]] = []
        """Lines of text, each with the place of its line style where it has one."""
        self.scale_shown = TraceScale.LINEAR

    def tickValues(self, minVal: float, maxVal: float, size: float) -> Any:
        if self.scale_shown is TraceScale.LOG:
            decades = range(math.floor(minVal), math.ceil(maxVal) + 1)
            steps = [decade + math.log10(digit) for decade in decades for digit in (1, 2, 5)]
            shown = [step for step in steps if minVal <= step <= maxVal]
            if len(shown) > 1:
                room = max(size / 16.0, 1.0)
                return [(1.0, shown[:: max(math.ceil(len(shown) / room), 1)])]
        return super().tickValues(minVal, maxVal, size)

    def tickSpacing(self, minVal: float, maxVal: float, size: float) -> Any:
        # In a low plot pyqtgraph would write figures over each other.
        found = super().tickSpacing(minVal, maxVal, size)
        least = (maxVal - minVal) * self._figure / max(size, 1.0)
        if not found or found[0][0] >= least or least <= 0.0:
            return found
        decade = 10.0 ** math.floor(math.log10(least))
        return [(next(step * decade for step in (1, 2, 5, 10) if step * decade >= least), 0)]

    def tickStrings(self, values: list[float], scale: float, spacing: float) -> list[str]:
        if self.scale_shown is TraceScale.LOG:
            values = [10.0**value for value in values]
        return [number_text(value) for value in values]

    def generateDrawSpecs(self, p: Any) -> Any:
        # Before the first layout an axis has no height and pyqtgraph would divide by it.
        if self.boundingRect().height() <= 1:
            return None
        if self.aside:  # it would look for the best figures, to write none of them
            edge = self.mapRectFromParent(self.geometry()).adjusted(0.0, -1.0, -1.0, 1.0)
            return (self.pen(), edge.topRight(), edge.bottomRight()), [], []
        return super().generateDrawSpecs(p)

    def paint(self, p: Any, opt: Any, widget: Any) -> None:
        super().paint(p, opt, widget)
        if self.aside:
            self._paint_in_one_line(p)
            return
        p.setPen(theme.TEXT)
        p.setFont(self._name_font)
        room, first = self.width() - _LEFT - _TICKS, 2.0 + p.fontMetrics().height()
        draw_text(p, QRectF(_LEFT, 2, room, first), Qt.AlignmentFlag.AlignLeft, self.name)
        beside = _LEFT + p.fontMetrics().horizontalAdvance(self.name) + 6.0
        p.setFont(self._said_font)
        p.setPen(theme.DIM_TEXT)
        draw_text(p, QRectF(beside, 2, max(room - beside, 0.0), first), _MIDDLE, self.unit)
        high = p.fontMetrics().height()
        step = min(high, max((self.height() - first) / max(len(self.said), 1), 0.75 * high))
        for index, (text, style) in enumerate(self.said):
            y, left = first + index * step, _LEFT
            if y + step > self.height() + 4:
                break
            if style is not None:
                p.setPen(line_styles.pen(style))
                p.drawLine(QPointF(_LEFT, y + step / 2), QPointF(_LEFT + 26, y + step / 2))
                left = 40.0
            p.setPen(theme.DIM_TEXT)
            draw_text(p, QRectF(left, y, room - left + 8, step), _MIDDLE, text)

    def _paint_in_one_line(self, p: Any) -> None:
        line = QRectF(_LEFT, 0.0, self.width() - 2 * _LEFT, self.height())
        p.setFont(self._said_font)
        p.setPen(theme.TEXT)
        draw_text(p, line, _MIDDLE, self.name)
        line.setLeft(_LEFT + p.fontMetrics().horizontalAdvance(self.name) + _LEFT)
        p.setPen(theme.DIM_TEXT)
        draw_text(p, line, _AT_END, self.said[-1][0].removeprefix("shot ") if self.said else "")


class TracePlot(pg.GraphicsWidget):  # type: ignore[misc]  # as above
    """One plot: tolerance band, master's line, the shots' lines and points, and the shot under the cursor.

    Pyqtgraph's own plot has three more axes, a title and two menus of options, which take most of the time to make one.
    """

    def __init__(self) -> None:
        super().__init__()
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.vb = pg.ViewBox(parent=self, enableMenu=False, enableMouse=False, defaultPadding=0.0)
        self.left = Axis()
        self.left.linkToView(self.vb)
        self.left.setZValue(0.5)  # above the lines
        layout = QGraphicsGridLayout()
        layout.setContentsMargins(0, 2, 0, 2)
        layout.setSpacing(0)
        layout.addItem(self.left, 0, 0)
        layout.addItem(self.vb, 0, 1)
        layout.setColumnStretchFactor(1, 100)
        self.setLayout(layout)
        self.lines = Lines()
        self.ring = Ring()
        for item in (self.lines, self.ring):
            self.vb.addItem(item, ignoreBounds=True)
        self.panel: Panel | None = None
        self._ratio = 0.0
        self.draw_for(1.0)
        self.vb.sigResized.connect(lambda _: self._fit_heights())

    @property
    def trace(self) -> Trace | None:
        """The trace of the plot's first line."""
        return self.panel.first if self.panel is not None else None

    def draw_for(self, ratio: float) -> None:
        """Draw for a screen of which so many pixels make one of Qt's: pyqtgraph's own pens count the screen's."""
        if ratio != self._ratio:
            self._ratio = ratio
            self.left.setPen(pg.mkPen(theme.EDGE, width=ratio))

    def show_panel(self, panel: Panel, state: GridState, *, alone: bool) -> None:
        """Draw a panel; `alone` where there is no other."""
        self.panel = panel
        trace = panel.first
        self.left.name = f"{panel.title} from master" if len(panel.strands) > 1 else panel.title
        self.left.unit = "" if trace.words else trace.unit.strip()
        self.left.aside = panel.aside
        most = ASIDE if panel.aside else _BLOCKS if trace.words and not alone else _ANY_HEIGHT
        self.setMaximumHeight(most)
        self.left.scale_shown = trace.scale
        self.lines.show_panel(panel, state)
        self._fit_heights()
        self.left.setTicks([list(enumerate(trace.words))] if trace.words and not panel.aside else None)
        self.left.picture = None
        self.left.update()

    def _fit_heights(self) -> None:
        """Show all of the panel, and the ring around any of its points whole, however low the plot is."""
        if self.panel is not None and self.vb.height() > 0:
            self.vb.setYRange(*self.panel.spread(RING_ROOM / self.vb.height()), padding=0)
            self._place()

    def show_columns(self, first: float, last: float) -> None:
        """Show this stretch of the cut, in columns."""
        if self.vb.viewRange()[0] != [first, last]:
            self.vb.setXRange(first, last, padding=0)
            self._place()

    def _place(self) -> None:
        # pyqtgraph would do it while it paints, and what moves under a brush is painted twice.
        self.vb.updateMatrix()

    def mark(self, x: float | None, column: int | None) -> None:
        """Ring the point of a shot, which stands at `x`, and draw a line through it."""
        self.lines.mark(x)
        places: list[tuple[float, float]] = []
        if x is not None and column is not None and self.panel is not None:
            values = [float(strand.trace.values[column]) for strand in self.panel.strands]
            places = [(x, value) for value in values if math.isfinite(value)]
        self.ring.put(places)

    def say(self, column: int | None) -> None:
        """Write beside the plot what it says of a shot."""
        if self.panel is None:
            return
        if len(self.panel.strands) > 1:
            said: list[tuple[str, int | None]] = []
            for place, strand in enumerate(self.panel.strands):
                value = f" {off_master(strand.trace, column)}" if column is not None else ""
                said.append((f"{strand.name}{value}", place))
        else:
            trace = self.panel.first
            master = trace.master if trace.masters is None or column is None else float(trace.masters[column])
            said = [(f"master {trace.said(master)}", None)]
            if column is not None:
                said.append((f"shot {trace.read_out(column)}", None))
        if said != self.left.said:
            self.left.said = said
            self.left.update()


def off_master(trace: Trace, column: int) -> str:
    """A difference from the master, with its sign."""
    return ("+" if trace.values[column] > 0 else "") + trace.read_out(column)
