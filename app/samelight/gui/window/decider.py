"""Deciding on cells from the window: what is asked, what is written, undo and redo."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QWidget

from samelight.decisions.decision import VERDICTS, Decision, Verb
from samelight.drift.cells import Cell
from samelight.drift.words import counted, first_names
from samelight.findings.finding import CASES, Case, Finding
from samelight.gui.background.searching import Searching
from samelight.gui.dialogs.deciding import TITLES, Answer, ask, goes_on
from samelight.gui.state.found_again import finding_of, found_again
from samelight.gui.state.remaining import Round, left_text, next_case, undecided_findings
from samelight.gui.state.selection import Selected
from samelight.gui.widgets.boxes import agrees, warn
from samelight.gui.widgets.settings import Settings
from samelight.gui.window.workspace import Workspace
from samelight.sequence.session import account_name
from samelight.sheets.errors import SamelightError

_DONE = {
    Verb.INTEND: "Marked as intended",
    Verb.RETURN: "Sent back",
    Verb.TAKE_UP: "Taken up",
    Verb.CLOSE: "Closed",
    Verb.WITHDRAW: "Withdrawn",
}
_NOTHING = {
    Verb.TAKE_UP: "nothing that was sent back",
    Verb.CLOSE: "nothing mended that waits for a look",
    Verb.WITHDRAW: "no decision to withdraw",
}


class Decider(QObject):
    """Asks for a reason and puts the decision into the ledger of the sequence that is shown."""

    decided = Signal()
    """The ledger holds something new."""
    came_up = Signal(object)
    """The finding that is to be decided on next."""
    said = Signal(str)
    """What was done and what is left, or that there was nothing to decide on."""

    def __init__(self, work: Workspace, settings: Settings, searching: Searching, window: QWidget) -> None:
        super().__init__(work)
        self._work = work
        self._views = work.views
        self._settings = settings
        self._searching = searching
        self._window = window
        work.pressed.connect(self.forget)
        self._chosen: tuple[Finding, Selected] | None = None

    def who(self) -> str:
        """The name under which decisions are made."""
        return self._settings.text("who") or account_name()

    def choose(self, finding: Finding) -> None:
        """Decide on a finding that was just shown, for as long as nothing else is selected."""
        self._chosen = finding, self._views.grid.chosen.names()

    def forget(self) -> None:
        """Decide on what is selected, not on a finding that was shown."""
        self._chosen = None

    def _about(self) -> Finding | None:
        """The finding that was chosen, while nothing else was selected since, as it stands now."""
        if self._chosen is None or self._chosen[1] != self._views.grid.chosen.names():
            return None
        return found_again(self._chosen[0], self._views.session.cases.findings)

    def decide(self, verb: Verb) -> None:
        """Decide on the finding that was chosen, or else on the selected cells."""
        finding = self._about()
        if finding is not None:
            self.decide_finding(verb, finding)
        else:
            self._decide_on(verb, self._views.grid.chosen.cells())

    def decide_finding(self, verb: Verb, finding: Finding) -> None:
        """Decide on a finding: on its cells, and on what it says beside cells; where it has neither, say so."""
        cells = finding.cells or finding.rests_on
        if verb not in VERDICTS:
            cells = tuple(dict.fromkeys((*cells, *finding.rests_on)))
        if cells or finding.cases:
            self._decide_on(verb, cells, finding.cases)
        else:
            self.said.emit(f"This finding has no cells to decide on: {finding.says}")

    def _decide_on(self, verb: Verb, asked: Sequence[Cell], asked_of: Sequence[Case] = ()) -> None:
        session = self._views.session
        follows = session.cases.following().mask
        cells = [cell for cell in asked if not follows[cell] and session.cases.may(verb, *cell)]
        cases = [case for case in asked_of if verb in VERDICTS or case.may(verb)]
        if not cells and not cases:
            self._refuse(verb, asked)
            return
        answer = self._asked(verb, cells, cases)
        if answer is None:
            return
        current = self._views.grid.current_line()
        on_group = current is not None and current[0].row is None
        after = self._views.cell() or next(iter(answer.cells), (-1, 0))
        in_turn = Round.of(self._views.state, by_line=on_group)
        try:
            session.decide(verb, answer.cells, answer.who, answer.reason, answer.until, answer.cases)
        except SamelightError as error:
            warn(self._window, f"{TITLES[verb]}: not done", str(error))
            self.decided.emit()
            return
        self.decided.emit()
        if verb is not Verb.WITHDRAW and goes_on(self._settings):
            cell = in_turn.next(self._views.state, after, answer.cells) if answer.cells else None
            self._go_on(cell, reveal=not on_group)
        self._say(f"{_DONE[verb]}: {answer.covers}. ")

    def _refuse(self, verb: Verb, asked: Sequence[Cell]) -> None:
        """Say why there is nothing to decide on; where that follows from other cells, select these."""
        session = self._views.session
        follows = session.cases.following()
        following = [cell for cell in asked if follows.mask[cell]]
        if following:
            causes = [(row, cell[1]) for cell in following for row in follows.deciding(*cell)]
            self._views.select_cells(list(dict.fromkeys(causes)))
            self.said.emit(session.cases.following().text(*following[0]))
        else:
            self.said.emit(f"There is {_NOTHING.get(verb, 'nothing that drifts')} in the selection")

    def _go_on(self, cell: Cell | None, *, reveal: bool) -> None:
        """Bring up the next cell to decide on, after the last the next finding; where nothing is left, the cursor stays."""
        findings = undecided_findings(self._views.state)
        if cell is not None:
            self._views.grid.go_to(*cell, reveal=reveal)
        elif findings:
            self.came_up.emit(findings[0][1])
        self._views.grid.setFocus()

    def go(self, step: int) -> None:
        """Bring up what is to be decided on next (step 1) or what is before (step -1): a cell or a finding."""
        found = next_case(self._views.state, self._about() or self._views.cell() or (-1, 0), step)
        if isinstance(found, Finding):
            self.came_up.emit(found)
        elif found is not None:
            self._views.grid.go_to(*found)
        self._views.grid.setFocus()
        self._say(here=found is not None)

    def _say(self, done: str = "", *, here: bool = True) -> None:
        """Tell what was done, and what is left, in all and in the shot under the cursor."""
        name = self._views.cell_name() if here else None
        shot = name[0] if name is not None else None
        self.said.emit(done + left_text(self._views.state, shot, looking=self._searching.busy))

    def _asked(self, verb: Verb, cells: list[Cell], cases: list[Case]) -> Answer | None:
        """What is to be decided on cells and findings; only a verdict needs a reason."""
        if verb not in VERDICTS:
            return Answer(cells, self.who(), cases=tuple(cases))

        answer = ask(
            self._views.session,
            verb,
            cells,
            self.who(),
            self._settings,
            self._window,
            cases=cases,
            is_shown=lambda: self._work.is_current,
        )
        if answer is not None:
            self._settings.keep("who", answer.who if answer.who != account_name() else "")
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
        history = self._views.session.history
        following = history.next_undo if step == "undo" else history.next_redo
        act = following()
        if not act:
            return ""
        said = act_text(act)
        question = _question(step, act, said, self.who(), shot)
        if question and not agrees(window, step.capitalize(), question, _STEPS[step][0]):
            return ""
        if not self._work.is_current or following() != act:
            warn(
                window, "Not done", "What you were asked about is no longer what is shown. Look at it again."
            )
            return ""
        try:
            (history.undo if step == "undo" else history.redo)(self.who())
        except SamelightError as error:
            warn(window, "Not done", str(error))
            self.decided.emit()
            return ""
        self.decided.emit()
        done = f"{_STEPS[step][1]}: {said}"
        self._go_to(act)
        self._say(f"{done}. ")
        return done

    def _go_to(self, act: Sequence[Decision]) -> None:
        """Bring up the first cell of an act, the finding that it was about, or the shot that a note is about."""
        cells = self._views.session.table.places([(one.shot, one.parameter) for one in act])
        if cells:
            self._views.grid.go_to(*cells[0])
        elif (
            finding := finding_of((act[0].shot, act[0].parameter), self._views.session.cases.findings)
        ) is not None:
            self.came_up.emit(finding)
        elif act[0].shot in self._views.session.table.shots:
            self._views.go_to_shot(act[0].shot)

    def commands(self) -> dict[str, Callable[[], None]]:
        """The commands of deciding."""
        return {
            "undo": self.undo,
            "redo": self.redo,
            "intend": lambda: self.decide(Verb.INTEND),
            "return": lambda: self.decide(Verb.RETURN),
            "take_up": lambda: self.decide(Verb.TAKE_UP),
            "close": lambda: self.decide(Verb.CLOSE),
            "withdraw": lambda: self.decide(Verb.WITHDRAW),
            "next": lambda: self.go(1),
            "previous": lambda: self.go(-1),
        }


_STEPS = {"undo": ("Take back", "Taken back"), "redo": ("Say again", "Said again")}
_SAID = {
    Verb.INTEND: "marked as intended",
    Verb.RETURN: "sent back",
    Verb.TAKE_UP: "taken up",
    Verb.CLOSE: "closed",
    Verb.WITHDRAW: "withdrawn",
    Verb.NOTE: "a note",
}


def act_text(act: Sequence[Decision]) -> str:
    """What was decided in one go, in words: what, on how much of which shots, by whom and why."""
    first, shots = act[0], list(dict.fromkeys(one.shot for one in act))
    name, of_finding = first.parameter, f"{CASES}."
    if name.startswith(of_finding):
        name = f"the finding {name.removeprefix(of_finding)}"
    much = name if len(act) == 1 else counted(len(act), "cell")
    what = f"{_SAID[first.verb]}{f', {much}' if much else ''}, in {first_names(shots, 4)}"
    why = f": {first.reason}" if first.reason else ""
    return f"{what}, by {first.who}{why}"


def _question(step: str, act: Sequence[Decision], said: str, who: str, shot: str | None) -> str:
    """What has to be asked before an act is taken back or said again; empty where nothing has."""
    others = shot is not None and any(one.shot != shot for one in act)
    reasons = [f"It is not of {shot}, which is shown."] if others else []
    if any(one.who != who for one in act):
        reasons.append(f"It is not {who}'s.")
    what = said if act[0].verb is Verb.NOTE else f"what was {said}"
    return f"{_STEPS[step][0]} {what}?\n{' '.join(reasons)}" if reasons else ""
