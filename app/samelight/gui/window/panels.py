"""What stands at the right of the grid: findings, inspector, sky, colours of marks and render plan."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QByteArray, Qt
from PySide6.QtWidgets import QDockWidget, QMainWindow, QTabWidget, QWidget

from samelight.gui.cloud.view import CloudView
from samelight.gui.findings.panel import FindingsPanel
from samelight.gui.inspector.inspector import Inspector
from samelight.gui.paint import theme
from samelight.gui.plan.bars import PlanView
from samelight.gui.sky.view import SkyView
from samelight.sequence.session import Session

_LEAST_WIDTH, _SHARE = 380, 5
"""How wide the panels are at first, in Qt's pixels: a fifth of the window where that is more."""
_RIGHT = Qt.DockWidgetArea.RightDockWidgetArea


class Panels:
    """Makes the panels, docks them at a window, and keeps them in step with session and cursor."""

    def __init__(self, window: QMainWindow) -> None:
        self.findings = FindingsPanel()
        self.inspector = Inspector()
        self.sky = SkyView()
        self.cloud = CloudView()
        self.plan = PlanView()
        self.docks: dict[str, QDockWidget] = {}
        self._window = window
        for title, name, widget in (
            ("Findings", "findings", self.findings),
            ("Inspector", "inspector", self.inspector),
            ("Sky", "sky", self.sky),
            ("Colours", "cloud", self.cloud),
            ("Render plan", "plan", self.plan),
        ):
            dock = QDockWidget(title)
            dock.setObjectName(name)
            dock.setFont(theme.font(bold=True))
            widget.setFont(theme.font())  # else it would be bold too
            dock.setWidget(widget)
            dock.setFeatures(QDockWidget.DockWidgetFeature.DockWidgetMovable)
            window.addDockWidget(_RIGHT, dock)
            self.docks[name] = dock
        window.tabifyDockWidget(self.docks["inspector"], self.docks["sky"])
        window.tabifyDockWidget(self.docks["sky"], self.docks["cloud"])
        window.tabifyDockWidget(self.docks["cloud"], self.docks["plan"])
        self.docks["sky"].visibilityChanged.connect(self.sky.set_seen)
        self.docks["cloud"].visibilityChanged.connect(self.cloud.set_seen)
        self.docks["plan"].visibilityChanged.connect(self.plan.set_seen)
        self.docks["inspector"].raise_()
        window.setTabPosition(_RIGHT, QTabWidget.TabPosition.North)
        self.set_visible(False)

    def set_visible(self, visible: bool) -> None:
        """Show the panels, or put them away."""
        for dock in self.docks.values():
            dock.setVisible(visible)

    def arrange(self, state: QByteArray) -> None:
        """Show the panels as they stood when the window's state was kept; without one, the inspector before the others."""
        if not self._window.restoreState(state):
            self.set_visible(True)
            self.docks["inspector"].raise_()
            docks = [self.docks["findings"], self.docks["inspector"]]
            wide = max(_LEAST_WIDTH, self._window.width() // _SHARE)
            self._window.resizeDocks(docks, [wide] * len(docks), Qt.Orientation.Horizontal)
            self._window.resizeDocks(docks, [430, 420], Qt.Orientation.Vertical)
        self.set_visible(True)

    def show_session(self, session: Session) -> None:
        """Show a session's findings, the colours of its marks and what it costs to render."""
        self.findings.show_session(session)
        self.cloud.show_session(session)
        self.plan.show_session(session)

    def show_searching(self, busy: bool) -> None:
        """Say whether the findings are still being brought up to date."""
        self.findings.show_searching(busy)
        left, count = self.findings.left()
        counts = f"Findings: {left} of {count} left" if count else "Findings"
        self.docks["findings"].setWindowTitle("Findings, being brought up to date…" if busy else counts)

    def clear(self) -> None:
        """The cursor is in no cell."""
        self.inspector.clear()
        self.sky.clear()

    def raise_sky(self, otherwise: QWidget) -> None:
        """Bring up the sky, or the inspector where the sky is up already; then the keys are for `otherwise`."""
        up = "sky" if self.sky.visibleRegion().isEmpty() else "inspector"
        self.docks[up].raise_()
        (self.sky.map if up == "sky" else otherwise).setFocus()

    def raise_cloud(self) -> None:
        """Bring up the colours of marks, or the inspector where they are up already."""
        self.docks["cloud" if self.cloud.visibleRegion().isEmpty() else "inspector"].raise_()

    def raise_plan(self) -> None:
        """Bring up the render plan, or the inspector where the plan is up already."""
        self.docks["plan" if self.plan.visibleRegion().isEmpty() else "inspector"].raise_()

    def commands(self) -> dict[str, Callable[[], None]]:
        """The commands that need nothing but the panels."""
        return {
            "cloud": self.raise_cloud,
            "plan": self.raise_plan,
            "next_finding": lambda: self.findings.step(1),
            "previous_finding": lambda: self.findings.step(-1),
        }
