"""Deciding on cells from the window: what is asked, what is written, undo and redo."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QWidget

from samelight.decisions.decision import Verb
from samelight.drift.words import counted
from samelight.findings.finding import Finding
from samelight.gui.boxes import warn
from samelight.gui.deciding import TITLES, Answer, ask
from samelight.gui.left import Round, left_text
from samelight.gui.memory import Memory
from samelight.gui.selection import Selected
from samelight.gui.views import Views
from samelight.gui.workspace import Workspace
from samelight.session import Session, account_name
from samelight.sheets.errors import SamelightError

_DONE = {Verb.INTEND: "Marked as intended", Verb.RETURN: "Sent back", Verb.WITHDRAW: "Withdrawn"}


class Decider(QObject):
    """Asks for a reason and puts the decision into the ledger of the sequence that is shown."""

    decided = Signal()
    """The ledger holds something new."""
    said = Signal(str)
    """What was done and what is left, or that there was nothing to decide on."""

    def __init__(self, work: Workspace, memory: Memory, window: QWidget) -> None:
        super().__init__(window)
        self._work = work
        self._memory = memory
        self._window = window
        work.pressed.connect(self._forget)
        self._chosen: tuple[Finding, Selected] | None = None

    def who(self) -> str:
        """The name under which decisions are made."""
        return self._memory.text("who") or account_name()

    def choose(self, finding: Finding) -> None:
        """Decide on a finding that was just shown, for as long as nothing else is selected."""
        if self._work.views is not None:
            self._chosen = finding, self._work.views.grid.selected()

    def _forget(self) -> None:
        self._chosen = None

    def decide(self, verb: Verb) -> None:
        """Decide on the finding that was chosen, or else on the selected cells."""
        views = self._work.views
        if views is None:
            return
        finding, selected = self._chosen or (None, None)
        if finding is not None and selected == views.grid.selected() and finding in views.session.findings:
            self.decide_finding(verb, finding)
        else:
            self._decide_on(views, verb, views.grid.chosen_cells())

    def decide_finding(self, verb: Verb, finding: Finding) -> None:
        """Decide on the cells of a finding; where it has none, say so."""
        if not finding.cells:
            self.said.emit(f"This finding has no cells to decide on: {finding.says}")
        elif self._work.views is not None:
            self._decide_on(self._work.views, verb, list(finding.cells))

    def _decide_on(self, views: Views, verb: Verb, asked: list[tuple[int, int]]) -> None:
        session = views.session
        cells = [cell for cell in asked if _can(session, verb, cell)]
        if not cells:
            nothing = "no decision to withdraw" if verb is Verb.WITHDRAW else "nothing that drifts"
            self.said.emit(f"There is {nothing} in the selection")
            return
        answer = self._asked(views, verb, cells)
        if answer is None:
            return
        current = views.grid.current_line()
        on_group = current is not None and current[0].row is None
        after, in_turn = views.cell() or answer.cells[0], Round.of(views.state, by_line=on_group)
        try:
            session.decide(verb, answer.cells, answer.who, answer.reason, answer.until)
        except SamelightError as error:
            warn(self._window, f"{TITLES[verb]}: not done", str(error))
            self.decided.emit()
            return
        self.decided.emit()
        if verb is not Verb.WITHDRAW:
            self._go_on(views, in_turn.next(views.state, after, answer.cells), reveal=not on_group)
        self._say(views, f"{_DONE[verb]}: {counted(len(answer.cells), 'cell')}. ")

    def _go_on(self, views: Views, cell: tuple[int, int] | None, *, reveal: bool) -> None:
        """Bring up the next cell to decide on; where nothing that is listed is left, the cursor stays."""
        if cell is not None:
            views.grid.go_to(*cell, reveal=reveal)
        views.grid.setFocus()

    def _say(self, views: Views, done: str) -> None:
        """Tell what was done, and what is left."""
        spot = views.spot()
        self.said.emit(done + left_text(views.state, spot[0] if spot is not None else None))

    def _asked(self, views: Views, verb: Verb, cells: list[tuple[int, int]]) -> Answer | None:
        """What is to be decided on cells; a withdrawal needs no reason."""
        if verb is Verb.WITHDRAW:
            return Answer(cells, self.who())

        def is_shown() -> bool:
            return self._work.views is views

        answer = ask(views.session, verb, cells, self.who(), self._memory, self._window, is_shown=is_shown)
        if answer is not None and answer.who != account_name():
            self._memory.keep("who", answer.who)
        return answer

    def undo(self) -> None:
        """Take back the last decision."""
        if self._work.session is not None:
            self._travel(self._work.session.history.undo)

    def redo(self) -> None:
        """Decide again what was taken back."""
        if self._work.session is not None:
            self._travel(self._work.session.history.redo)

    def _travel(self, step: Callable[[str], object]) -> None:
        try:
            step(self.who())
        except SamelightError as error:
            warn(self._window, "Not done", str(error))
        self.decided.emit()
        if self._work.views is not None:
            self._say(self._work.views, "")

    def commands(self) -> dict[str, Callable[[], None]]:
        """The commands of deciding."""
        return {
            "undo": self.undo,
            "redo": self.redo,
            "intend": lambda: self.decide(Verb.INTEND),
            "return": lambda: self.decide(Verb.RETURN),
            "withdraw": lambda: self.decide(Verb.WITHDRAW),
        }


def _can(session: Session, verb: Verb, cell: tuple[int, int]) -> bool:
    if verb is Verb.WITHDRAW:
        return bool(session.judgement(*cell).decisions)
    return session.table.cell(*cell).open_worthy
