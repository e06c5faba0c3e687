"""Deciding on cells from the window: what is asked, what is written, undo and redo."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QWidget

from samelight.decisions.decision import Decision, Verb
from samelight.drift.words import counted, first_names
from samelight.findings.finding import Finding
from samelight.gui.boxes import agrees, warn
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
        """Take back the last decision, and go to where it was made."""
        self.travel("undo", self._window)

    def redo(self) -> None:
        """Decide again what was taken back, and go there."""
        self.travel("redo", self._window)

    def travel(self, step: str, window: QWidget, shot: str | None = None) -> str:
        """Undo or redo, asked for in a window that may show a single shot; what was done in words, empty where nothing was.

        What somebody else decided, or what is of another shot than the one that is shown, is asked about first.
        """
        session = self._work.session
        if session is None:
            return ""
        history = session.history
        act = history.next_undo() if step == "undo" else history.next_redo()
        if not act:
            return ""
        said = act_text(act)
        question = _question(step, act, said, self.who(), shot)
        if question and not agrees(window, step.capitalize(), question, _STEPS[step][0]):
            return ""
        try:
            (history.undo if step == "undo" else history.redo)(self.who())
        except SamelightError as error:
            warn(window, "Not done", str(error))
            self.decided.emit()
            return ""
        self.decided.emit()
        done = f"{_STEPS[step][1]}: {said}"
        if self._work.views is not None:
            self._go_to(self._work.views, act)
            self._say(self._work.views, f"{done}. ")
        return done

    def _go_to(self, views: Views, act: Sequence[Decision]) -> None:
        """Bring up the first cell of an act, or the shot that a note is about."""
        cells = views.session.table.places([(one.shot, one.parameter) for one in act])
        if cells:
            views.grid.go_to(*cells[0])
        elif act[0].shot in views.session.table.shots:
            views.go_to_shot(act[0].shot)

    def commands(self) -> dict[str, Callable[[], None]]:
        """The commands of deciding."""
        return {
            "undo": self.undo,
            "redo": self.redo,
            "intend": lambda: self.decide(Verb.INTEND),
            "return": lambda: self.decide(Verb.RETURN),
            "withdraw": lambda: self.decide(Verb.WITHDRAW),
        }


_STEPS = {"undo": ("Take back", "Taken back"), "redo": ("Say again", "Said again")}
_SAID = {
    Verb.INTEND: "marked as intended",
    Verb.RETURN: "sent back",
    Verb.WITHDRAW: "withdrawn",
    Verb.NOTE: "a note",
}


def act_text(act: Sequence[Decision]) -> str:
    """What was decided in one go, in words: what, on how much of which shots, by whom and why."""
    first, shots = act[0], list(dict.fromkeys(one.shot for one in act))
    much = first.parameter if len(act) == 1 else counted(len(act), "cell")
    what = f"{_SAID[first.verb]}{f', {much}' if much else ''}, in {first_names(shots, 4)}"
    why = f": {first.reason}" if first.reason else ""
    return f"{what}, by {first.who}{why}"


def _question(step: str, act: Sequence[Decision], said: str, who: str, shot: str | None) -> str:
    """What has to be asked before an act is taken back or said again; empty where nothing has."""
    others = shot is not None and any(one.shot != shot for one in act)
    reasons = [f"It is not of {shot}, which is shown."] if others else []
    if any(one.who != who for one in act):
        reasons.append(f"It is not {who}'s.")
    return f"{_STEPS[step][0]} what was {said}?\n{' '.join(reasons)}" if reasons else ""


def _can(session: Session, verb: Verb, cell: tuple[int, int]) -> bool:
    if verb is Verb.WITHDRAW:
        return bool(session.judgement(*cell).decisions)
    return session.table.cell(*cell).open_worthy
