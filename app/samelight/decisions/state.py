"""The state of a cell: a pure function of its values and the decisions on it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from samelight.decisions.decision import Decision, Verb
from samelight.sheets.values import Value, alike


class State(StrEnum):
    """What was decided about a cell.

    `contested`: two people decided differently without having seen each other's decision.
    """

    OPEN = "open"
    INTENDED = "intended"
    LAPSED = "lapsed"
    RETURNED = "returned"
    CONTESTED = "contested"


@dataclass(frozen=True, slots=True)
class Judgement:
    """A state and the decisions it follows from."""

    state: State
    decisions: tuple[Decision, ...] = ()


OPEN = Judgement(State.OPEN)


def standing(decisions: Sequence[Decision]) -> list[Decision]:
    """The decisions of one cell that nothing has taken back or overtaken, in order of id.

    A withdrawal that is itself withdrawn takes nothing back, so that undo can be undone. A decision is
    overtaken by one whose maker saw it, whatever any clock says.
    """
    by_id = {decision.id: decision for decision in decisions}
    taken_back_by: dict[str, list[str]] = {}
    for decision in decisions:
        if decision.verb is Verb.WITHDRAW and decision.withdraws:
            taken_back_by.setdefault(decision.withdraws, []).append(decision.id)
    live: dict[str, bool] = {}
    for start in by_id:
        _settle(start, taken_back_by, live)
    kept = [d for d in decisions if d.verb is not Verb.WITHDRAW and live[d.id]]
    overtaken = {earlier for decision in kept for earlier in decision.follows}
    return sorted((d for d in kept if d.id not in overtaken), key=lambda d: d.id)


def _settle(start: str, taken_back_by: dict[str, list[str]], live: dict[str, bool]) -> None:
    """Work out whether a decision holds; a loop of withdrawals, which only a forged file can make, holds nothing."""
    stack = [start]
    while stack:
        name = stack[-1]
        waiting = [w for w in taken_back_by.get(name, ()) if w not in live]
        if name in live or not waiting or any(w in stack for w in waiting):
            if name not in live:
                live[name] = not any(live.get(w, True) for w in taken_back_by.get(name, ()))
            stack.pop()
        else:
            stack.extend(waiting)


def judge(value: Value | None, master: Value | None, decisions: Sequence[Decision]) -> Judgement:
    """The state of a cell with these values, under the decisions on it.

    Intended covers exactly the two values it was made on; when either moved since, it has lapsed. A return
    lapses too once the shot's value moved: whoever fixed it looks for the next verdict.
    """
    heads = standing(decisions)
    if not heads:
        return OPEN
    verdicts = {(head.verb, _covers(head, value, master)) for head in heads}
    holding = [head for head in heads if _covers(head, value, master)]
    if not holding:
        return Judgement(State.LAPSED, tuple(heads))
    if len({verb for verb, covers in verdicts if covers}) > 1:
        return Judgement(State.CONTESTED, tuple(holding))
    state = State.INTENDED if holding[0].verb is Verb.INTEND else State.RETURNED
    return Judgement(state, tuple(holding))


def _covers(decision: Decision, value: Value | None, master: Value | None) -> bool:
    return alike(decision.value, value) and alike(decision.master, master)
