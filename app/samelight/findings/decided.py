"""Decisions that no longer hold, and decisions that contradict each other."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from samelight.decisions.decision import Decision, Verb
from samelight.decisions.state import State
from samelight.drift.cells import Cell, Grade
from samelight.findings.board import Board
from samelight.findings.finding import Action, Finding
from samelight.findings.words import listed, parameter_text, sentence
from samelight.sheets.values import alike

LAPSED = "lapsed"
CONTESTED = "contested"


def lapsed(board: Board) -> list[Finding]:
    """A cell drifts that a decision was made on, and the shot's or the master's value moved since."""
    groups: dict[tuple[int, Verb, str, str], list[Cell]] = defaultdict(list)
    for cell, decision in _decided(board, State.ASKS_AGAIN, Grade.DRIFT):
        groups[cell[0], decision.verb, _moved(board, cell, decision), decision.reason].append(cell)
    found = []
    for (index, verb, moved, reason), spots in groups.items():
        what = parameter_text(board.table.rows[index])
        shots = board.shots([column for _, column in spots])
        if verb is Verb.RETURN:
            says = f"{what} was sent back in {shots} and came back different, but not right"
            do = "Look at the new value: send it back again, or say that it is meant."
        else:
            says = f"{what} was marked as intended in {shots}, and {moved} changed since"
            do = "Look again: say that the new value is meant too, or send it back."
        known = f"The reason given was: {reason}." if reason else f"{moved} changed since the decision."
        found.append(board.make(LAPSED, f"{sentence(says)}.", spots, known=sentence(known), do=do))
    return found


def contested(board: Board) -> list[Finding]:
    """Two people decided differently on a cell, neither having seen the other's decision."""
    found = []
    for cell, _ in _decided(board, State.TWO_OPINIONS, Grade.WITHIN):
        decisions = board.evidence.judgements[cell].decisions
        views = listed([f"{d.who} says {_VIEW[d.verb]}" for d in decisions if d.verb in _VIEW])
        what = parameter_text(board.table.rows[cell[0]])
        found.append(
            board.make(
                CONTESTED,
                f"Two opinions on {what} in {board.table.shots[cell[1]]}: {views}.",
                [cell],
                known="Neither had seen the other's decision.",
                do="Settle it: a new decision replaces both.",
                actions=(Action.INTEND, Action.RETURN, Action.SHOW),
            )
        )
    return found


_VIEW = {Verb.INTEND: "it is meant", Verb.RETURN: "it goes back"}


def _decided(board: Board, state: State, at_least: Grade) -> Iterator[tuple[Cell, Decision]]:
    """The cells in a state, with the last of the decisions behind it."""
    for cell, judgement in board.evidence.judgements.items():
        if judgement.state is state and judgement.decisions and board.table.grade[cell] >= at_least:
            yield cell, judgement.decisions[-1]


def _moved(board: Board, cell: Cell, decision: Decision) -> str:
    entry = board.entry(*cell)
    by_shot, by_master = not alike(decision.value, entry.value), not alike(decision.master, entry.master)
    if by_shot and by_master:
        return "the shot's and the master's value"
    return "the master's value" if by_master else "the shot's value"
