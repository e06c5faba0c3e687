"""Deciding on cells from the window: what is asked, what is written, undo and redo."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QDialog, QMessageBox, QWidget

from samelight.decisions.decision import Verb
from samelight.drift.words import counted
from samelight.findings.finding import Finding
from samelight.gui.deciding import TITLES, ReasonDialog
from samelight.gui.left import Round, left_text
from samelight.gui.memory import Memory
from samelight.gui.views import Spot, Views
from samelight.gui.workspace import Workspace
from samelight.session import Session, account_name
from samelight.sheets.errors import SamelightError

_REASONS_KEPT = 6
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

    def who(self) -> str:
        """The name under which decisions are made."""
        return self._memory.text("who") or account_name()

    def decide(self, verb: Verb) -> None:
        """Decide on the selected cells."""
        if self._work.views is not None:
            self._decide_on(self._work.views, verb, self._work.views.grid.chosen_cells())

    def decide_finding(self, verb: Verb, finding: Finding) -> None:
        """Decide on the cells of a finding."""
        if self._work.views is not None:
            self._decide_on(self._work.views, verb, list(finding.cells))

    def _decide_on(self, views: Views, verb: Verb, asked: list[tuple[int, int]]) -> None:
        session = views.session
        cells = [cell for cell in asked if _can(session, verb, cell)]
        if not cells:
            nothing = "no decision to withdraw" if verb is Verb.WITHDRAW else "nothing that drifts"
            self.said.emit(f"There is {nothing} in the selection")
            return
        seen, names = session.subjects(cells), _names(session, cells)
        reason, who, until = "", self.who(), None
        if verb is not Verb.WITHDRAW:
            dialog = ReasonDialog(session, verb, cells, who, self._memory.names("reasons"), self._window)
            agreed = dialog.exec() == QDialog.DialogCode.Accepted
            dialog.deleteLater()  # or the window would keep it to its own end
            if not agreed:
                return
            reason, who, until = dialog.reason_text(), dialog.who.text().strip(), dialog.until()
            self._remember(reason, who)
        cells = _places(session, names)
        if self._work.views is not views or session.subjects(cells) != seen:
            # The folder is followed while the question stands.
            changed = "What you were about to decide on has changed on disk meanwhile. Look again."
            QMessageBox.warning(self._window, f"{TITLES[verb]}: not done", changed)
            return
        current = views.grid.current_line()
        on_group = current is not None and current[0].row is None
        after, in_turn = views.cell() or cells[0], Round.of(views.state, by_line=on_group)
        try:
            session.decide(verb, cells, who, reason, until)
        except SamelightError as error:
            QMessageBox.warning(self._window, f"{TITLES[verb]}: not done", str(error))
            self.decided.emit()
            return
        self.decided.emit()
        if verb is not Verb.WITHDRAW:
            self._go_on(views, in_turn.next(views.state, after, cells), reveal=not on_group)
        self._say(views, f"{_DONE[verb]}: {counted(len(cells), 'cell')}. ")

    def _go_on(self, views: Views, cell: tuple[int, int] | None, *, reveal: bool) -> None:
        """Bring up the next cell to decide on; where nothing that is listed is left, the cursor stays."""
        if cell is not None:
            views.grid.go_to(*cell, reveal=reveal)
        views.grid.setFocus()

    def _say(self, views: Views, done: str) -> None:
        """Tell what was done, and what is left."""
        spot = views.spot()
        self.said.emit(done + left_text(views.state, spot[0] if spot is not None else None))

    def _remember(self, reason: str, who: str) -> None:
        if who != account_name():
            self._memory.keep("who", who)
        if reason:
            kept = [reason, *(other for other in self._memory.names("reasons") if other != reason)]
            self._memory.keep("reasons", kept[:_REASONS_KEPT])

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
            QMessageBox.warning(self._window, "Not done", str(error))
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


def _names(session: Session, cells: list[tuple[int, int]]) -> list[Spot]:
    table = session.table
    return [(table.shots[column], table.rows[row].parameter) for row, column in cells]


def _places(session: Session, names: list[Spot]) -> list[tuple[int, int]]:
    """Where cells are in the table there is now; those that are gone are left out."""
    table = session.table
    found = [(table.row(parameter), table.column(shot)) for shot, parameter in names]
    return [(row, column) for row, column in found if row is not None and column is not None]
