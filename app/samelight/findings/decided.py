"""Decisions that no longer hold, and decisions that contradict each other."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence

from samelight.decisions.decision import Decision, Verb
from samelight.decisions.state import State
from samelight.drift.cells import Cell, Grade
from samelight.findings.board import Board
from samelight.findings.finding import Action, Finding
from samelight.findings.mended import asked_for
from samelight.findings.words import listed, parameter_text, sentence
from samelight.sheets.values import alike

LAPSED = "lapsed"
CONTESTED = "contested"


def lapsed(board: Board) -> list[Finding]:
    """A cell drifts that a decision was made on, and the shot's or the master's value moved since, or a newer sheet came."""
    groups: dict[tuple[int, State, str, str], list[Cell]] = defaultdict(list)
    for state in (State.ASKS_AGAIN, State.MENDED):
        for cell, decisions in _decided(board, state, Grade.DRIFT):
            moved = _moved(board, cell, decisions[-1])
            groups[cell[0], state, moved, asked_for(decisions)].append(cell)
    found = []
    for (index, state, moved, reason), spots in groups.items():
        what = parameter_text(board.table.rows[index])
        shots = board.shots([column for _, column in spots])
        if state is State.MENDED:
            came = "came back different, but not right" if moved else "came back as it was in a newer version"
            says = f"{what} was sent back in {shots} and {came}"
            do = "Look at the new value: send it back again, or say that it is meant."
        else:
            was = _WAS.get(board.evidence.judgements[spots[0]].decisions[-1].verb, "decided on")
            since = f"and {moved} changed since" if moved else "and that holds no more"
            says = f"{what} was {was} in {shots}, {since}"
            do = "Look again: say that the new value is meant too, or send it back."
        known = (
            f"The reason given was: {reason}."
            if reason
            else f"{moved or 'nothing'} changed since the decision."
        )
        found.append(board.make(LAPSED, f"{sentence(says)}.", spots, known=sentence(known), do=do))
    return found


def contested(board: Board) -> list[Finding]:
    """Two people decided differently on a cell, neither having seen the other's decision."""
    found = []
    for cell, decisions in _decided(board, State.TWO_OPINIONS, Grade.WITHIN):
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


_WAS = {
    Verb.INTEND: "marked as intended",
    Verb.RETURN: "sent back",
    Verb.TAKE_UP: "taken up",
    Verb.CLOSE: "closed",
}
_VIEW = {Verb.INTEND: "it is meant", Verb.RETURN: "it goes back", Verb.CLOSE: "it is mended"}


def _decided(board: Board, state: State, at_least: Grade) -> Iterator[tuple[Cell, Sequence[Decision]]]:
    """The cells in a state, with the decisions behind it."""
    for cell, judgement in board.evidence.judgements.items():
        if judgement.state is state and judgement.decisions and board.table.grade.item(cell) >= at_least:
            yield cell, judgement.decisions


def _moved(board: Board, cell: Cell, decision: Decision) -> str:
    entry = board.entry(*cell)
    by_shot, by_master = not alike(decision.value, entry.value), not alike(decision.master, entry.master)
    if by_shot and by_master:
        return "the shot's and the master's value"
    if by_shot:
        return "the shot's value"
    return "the master's value" if by_master else ""
