"""Ties the panel of findings to the grid: what a finding is about is listed, and then what was listed before."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject

from samelight.findings.finding import Finding
from samelight.gui.widgets.editor import open_at
from samelight.gui.window.decider import Decider
from samelight.gui.window.workspace import Workspace
from samelight.sequence.saved_views import Show, View
from samelight.sequence.troubles import Trouble

if TYPE_CHECKING:
    from samelight.gui.window.main_window import MainWindow


class FindingsLink(QObject):
    """Shows what is chosen in the panel, and goes back from it."""

    def __init__(self, work: Workspace, decider: Decider, around: MainWindow) -> None:
        super().__init__(work)
        self._work, self._decider, self._around = work, decider, around
        self._before: tuple[View, View | None] = work.views.state.view, None
        """What was listed before a finding was shown, and what for it."""

    def show(self, finding: Finding) -> None:
        """List what a finding is about; what is decided next is about that."""
        before = self._before[0] if self._is_listed() else self._work.views.state.view
        self._work.views.show_finding(finding)
        self._before = before, self._work.views.state.view
        self._decider.choose(finding)

    def _is_listed(self) -> bool:
        """Whether rows are listed as they were for the finding that was shown last."""
        return self._before[1] == self._work.views.state.view

    def step_back(self) -> None:
        """Go back from the finding that was shown: list what was listed before, with the cursor where it is."""
        if self._is_listed():
            self._work.show_view(self._before[0])
            self._around.bar.ask_for(self._work.views.state.view)
        self._before = self._work.views.state.view, None
        self._around.findings.let_go()
        self._decider.forget()

    def show_problem(self, trouble: Trouble) -> None:
        """Go to the shot that could not be read, and open its file where it is at fault."""
        column = self._work.views.session.table.column(trouble.shot) if trouble.shot else None
        if column is not None:
            self._work.views.go_along_to(column)
        for fault in trouble.faults[:1]:
            self._around.say(open_at(Path(fault.file), fault.line))

    def show_handed_over(self, show: str) -> None:
        """Of a list that has no cells bring up the finding that it counts."""
        findings = self._work.views.state.handed_over.findings[Show(show)]
        if findings and not self._work.views.state.listing.lines:
            self._around.findings.choose(findings[0])
