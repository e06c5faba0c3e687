"""A small plot over versions: the values, the line they are compared with, and the tolerance around it."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QFontMetricsF,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from samelight.drift.traces import Trace
from samelight.gui.inspector.version_data import Version, VersionHistory
from samelight.gui.inspector.version_paint import Axes, axes_of, draw_axes, draw_held, draw_values
from samelight.gui.paint import theme
from samelight.gui.paint.drawn_text import draw_text
from samelight.gui.widgets.page_parts import LEAST_WIDTH
from samelight.gui.widgets.plain_text import plain
from samelight.gui.widgets.shows_focus import ShowsFocus

_STEPS = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}


class VersionPlot(ShowsFocus, QWidget):
    """The plot. Left and Right go from version to version, as does the mouse."""

    pointed = Signal(int)
    """The place of the version that is pointed at, -1 for none."""
    chosen = Signal(int)
    """The place of the version that was clicked, or gone to by key."""

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._history: VersionHistory | None = None
        self._marked = -1
        self._message = ""
        self.setAccessibleName(name)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.setMinimumWidth(LEAST_WIDTH)
        self.setMouseTracking(True)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)

    def sizeHint(self) -> QSize:
        line = QFontMetricsF(theme.font(theme.SMALL)).height()
        words = len(self.trace.words) if self.trace is not None else 0
        rows = max(5.4, words * 1.2 + 1.6)
        return QSize(LEAST_WIDTH, round(line * rows))

    def minimumSizeHint(self) -> QSize:
        return self.sizeHint()

    @property
    def trace(self) -> Trace | None:
        """The history as a curve, where there is one."""
        return self._history.trace if self._history is not None else None

    @property
    def versions(self) -> tuple[Version, ...]:
        """The versions that are plotted."""
        return self._history.versions if self._history is not None else ()

    @property
    def marked(self) -> int:
        """The place of the version that is ringed."""
        return self._marked

    def show_history(self, history: VersionHistory, current: int) -> None:
        """Plot versions, with the place of the one that the grid shows."""
        self._history, self._marked, self._message = history, current, ""
        self.setToolTip(
            "A click says who published a version, and when, where its sheet states it (Left, Right)"
        )
        self.setAccessibleDescription("; ".join(version.line for version in history.versions))
        self._again()

    def show_message(self, message: str) -> None:
        """Say why there is no plot."""
        self._history, self._marked, self._message = None, -1, message
        self.setToolTip(plain(message))
        self.setAccessibleDescription(message)
        self._again()

    def mark(self, place: int) -> None:
        """Ring a version."""
        if self._history is not None and 0 <= place < len(self.versions):
            self._marked = place
            self.update()

    def _again(self) -> None:
        self.updateGeometry()
        self.update()

    def axes_now(self) -> Axes:
        """Where the plot lies at this moment."""
        return axes_of(self.trace, len(self.versions), self.width(), self.height())

    # What is drawn

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), theme.PANEL)
        painter.setFont(theme.font(theme.SMALL))
        trace = self.trace
        if self._history is None or trace is None:
            painter.setPen(theme.DIM_TEXT)
            room = QRectF(self.rect()).adjusted(6, 2, -6, -2)
            said = self._message or "Nothing to plot"
            wrapped = Qt.TextFlag.TextWordWrap | Qt.AlignmentFlag.AlignCenter
            draw_text(painter, room, wrapped, said)
        else:
            axes = self.axes_now()
            draw_held(painter, axes, trace)
            draw_axes(painter, axes, trace, self.versions, self._marked)
            draw_values(painter, axes, trace, self.versions, self._marked)
        if self.hasFocus():
            painter.setPen(QPen(theme.HIGHLIGHT, 1))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5))
        painter.end()

    # What the hand does

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        place = self.axes_now().place(event.position().x()) if self._history is not None else None
        self.pointed.emit(-1 if place is None else place)

    def leaveEvent(self, event: QEvent) -> None:
        self.pointed.emit(-1)
        super().leaveEvent(event)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        if event.button() != Qt.MouseButton.LeftButton or self._history is None:
            return
        place = self.axes_now().place(event.position().x())
        if place is not None:
            self._choose(place)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        step = _STEPS.get(Qt.Key(event.key()))
        if step is None or self._history is None:
            super().keyPressEvent(event)
            return
        place = self._marked + step if self._marked >= 0 else len(self.versions) - 1
        if 0 <= place < len(self.versions):
            self._choose(place)

    def _choose(self, place: int) -> None:
        self.mark(place)
        self.chosen.emit(place)
