"""What stands at the right of the grid: findings, inspector, sky, colours of marks and render plan."""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property
from typing import TYPE_CHECKING, TypeVar

from PySide6.QtCore import QByteArray, QObject, Qt, QTimer, Signal, SignalInstance
from PySide6.QtWidgets import QDockWidget, QMainWindow, QTabWidget, QWidget

from samelight.gui.findings.panel import FindingsPanel
from samelight.gui.inspector.inspector import Inspector
from samelight.gui.paint import theme
from samelight.gui.state.rows import GridState
from samelight.sequence.session import Session

if TYPE_CHECKING:
    from samelight.gui.cloud.view import CloudView
    from samelight.gui.plan.bars import PlanView
    from samelight.gui.sky.view import SkyView

V = TypeVar("V", bound="SkyView | CloudView | PlanView")

_LEAST_WIDTH, _SHARE = 380, 5
"""How wide the panels are at first, in Qt's pixels: a fifth of the window where that is more."""
_RIGHT = Qt.DockWidgetArea.RightDockWidgetArea
_TITLES = {
    "findings": "Findings",
    "inspector": "Inspector",
    "sky": "Sky",
    "cloud": "Colours",
    "plan": "Render plan",
}
_BEHIND = ("sky", "cloud", "plan")
"""Stand behind the inspector at first, and are made when somebody looks at them."""


class Panels(QObject):
    """Makes the panels, docks them at a window, and keeps them in step with session and cursor."""

    picked = Signal(int, int)
    """Row and column of the table's cell to go to."""
    shot_picked = Signal(str)
    """A shot to go to."""

    def __init__(self, window: QMainWindow) -> None:
        super().__init__(window)
        self.findings = FindingsPanel()
        self.inspector = Inspector()
        self.inspector.picked.connect(self.picked)
        self.inspector.finding_asked.connect(self.findings.choose)
        self.docks: dict[str, QDockWidget] = {}
        self._window = window
        self._session: Session | None = None
        self._cell: tuple[GridState, int, int] | None = None
        """Where the cursor is."""
        for name, title in _TITLES.items():
            dock = self.docks[name] = QDockWidget(title)
            dock.setObjectName(name)
            dock.setFont(theme.font(bold=True))
            dock.setFeatures(QDockWidget.DockWidgetFeature.DockWidgetMovable)
        self._put("findings", self.findings)
        self._put("inspector", self.inspector)
        for dock in self.docks.values():
            window.addDockWidget(_RIGHT, dock)
        for name in _BEHIND:
            window.tabifyDockWidget(self.docks["inspector"], self.docks[name])
            self.docks[name].visibilityChanged.connect(lambda seen, name=name: self._set_seen(name, seen))
        self.docks["inspector"].raise_()
        window.setTabPosition(_RIGHT, QTabWidget.TabPosition.North)

    def _put(self, name: str, panel: QWidget) -> None:
        panel.setFont(theme.font())  # else it would be bold as its title is
        self.docks[name].setWidget(panel)

    # What stands behind the inspector

    def _behind(self, name: str, panel: V, picked: SignalInstance) -> V:
        """Put a panel that was made into its dock, where it tells what is picked on it, and whether anyone sees it."""
        panel.picked.connect(picked)
        self._put(name, panel)
        panel.set_seen(self._is_seen(name))
        return panel

    @cached_property
    def sky(self) -> SkyView:
        """Where lights come from."""
        from samelight.gui.sky.view import SkyView

        sky = self._behind("sky", SkyView(), self.picked)
        if self._cell is not None:
            sky.show_cell(*self._cell)
        return sky

    @cached_property
    def cloud(self) -> CloudView:
        """The colours of marks."""
        from samelight.gui.cloud.view import CloudView

        cloud = self._behind("cloud", CloudView(), self.shot_picked)
        if self._session is not None:
            cloud.show_session(self._session)
        if self._cell is not None:
            cloud.cursor_at(self._cell[0].table.shots[self._cell[2]])
        return cloud

    @cached_property
    def plan(self) -> PlanView:
        """What the shots cost to render."""
        from samelight.gui.plan.bars import PlanView

        plan = self._behind("plan", PlanView(), self.shot_picked)
        if self._session is not None:
            plan.show_session(self._session)
        return plan

    def _is_made(self, name: str) -> bool:
        return name in vars(self)

    def _set_seen(self, name: str, seen: bool) -> None:
        if self._is_made(name):
            self._panel(name).set_seen(seen)
        elif seen:  # or so it is said while the docks find their places
            QTimer.singleShot(0, self, lambda: self._panel(name) if self._is_seen(name) else None)

    def _panel(self, name: str) -> SkyView | CloudView | PlanView:
        panel: SkyView | CloudView | PlanView = getattr(self, name)
        return panel

    def _is_seen(self, name: str) -> bool:
        return not self.docks[name].visibleRegion().isEmpty()

    # Where they stand

    def show_all(self) -> None:
        """Show the panels."""
        for dock in self.docks.values():
            dock.show()

    def arrange(self, state: QByteArray) -> None:
        """Show the panels as they stood when the window's state was kept; without one, the inspector before the others."""
        if not self._window.restoreState(state):
            self.show_all()
            self.docks["inspector"].raise_()
            docks = [self.docks["findings"], self.docks["inspector"]]
            wide = max(_LEAST_WIDTH, self._window.width() // _SHARE)
            self._window.resizeDocks(docks, [wide] * len(docks), Qt.Orientation.Horizontal)
            self._window.resizeDocks(docks, [430, 420], Qt.Orientation.Vertical)
        self.show_all()

    # What they show

    def show_session(self, session: Session) -> None:
        """Show a session's findings, the colours of its marks and what it costs to render."""
        self._session = session
        self.findings.show_session(session)
        if self._is_made("cloud"):
            self.cloud.show_session(session)
        if self._is_made("plan"):
            self.plan.show_session(session)

    def show_cell(self, state: GridState, row: int, column: int) -> None:
        """The cursor is in a cell of the table."""
        self._cell = state, row, column
        if self._is_made("sky"):
            self.sky.show_cell(state, row, column)
        if self._is_made("cloud"):
            self.cloud.cursor_at(state.table.shots[column])

    def show_searching(self, busy: bool) -> None:
        """Say whether the findings are still being brought up to date."""
        self.findings.show_searching(busy)
        left, count = self.findings.left()
        counts = f"Findings: {left} of {count} left" if count else "Findings"
        self.docks["findings"].setWindowTitle("Findings, being brought up to date…" if busy else counts)

    def clear(self) -> None:
        """The cursor is in no cell."""
        self._cell = None
        self.inspector.clear()
        if self._is_made("sky"):
            self.sky.clear()

    # Commands

    def raise_sky(self, otherwise: QWidget) -> None:
        """Bring up the sky, or the inspector where the sky is up already; then the keys are for `otherwise`."""
        up = "inspector" if self._is_seen("sky") else "sky"
        self.docks[up].raise_()
        (self.sky.map if up == "sky" else otherwise).setFocus()

    def _raise(self, name: str) -> None:
        """Bring up a panel, or the inspector where it is up already."""
        self.docks["inspector" if self._is_seen(name) else name].raise_()

    def commands(self) -> dict[str, Callable[[], None]]:
        """The commands that need nothing but the panels."""
        return {
            "cloud": lambda: self._raise("cloud"),
            "plan": lambda: self._raise("plan"),
            "next_finding": lambda: self.findings.step(1),
            "previous_finding": lambda: self.findings.step(-1),
        }
