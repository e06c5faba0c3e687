"""The state of a cell: a pure function of its values and the decisions on it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from operator import attrgetter

from samelight.decisions.decision import VERDICTS, Decision, Verb
from samelight.sheets.values import Bound, Named, alike

_id = attrgetter("id")


class State(StrEnum):
    """What was decided about a cell.

    One whose values moved since it was decided on asks again. Of one with two opinions, two people decided differently
    without having seen each other's decision.
    """

    UNDECIDED = "undecided"
    INTENDED = "intended"
    ASKS_AGAIN = "asks again"
    SENT_BACK = "sent back"
    TWO_OPINIONS = "two opinions"


@dataclass(frozen=True, slots=True)
class Judgement:
    """A state and the decisions it follows from."""

    state: State
    decisions: tuple[Decision, ...] = ()


THERE = "present"
"""What a decision may say of a whole group: that it is meant to be there, whatever it holds. The first ones said no more."""

UNDECIDED = Judgement(State.UNDECIDED)


def live(decisions: Sequence[Decision]) -> list[Decision]:
    """The decisions of one cell that nobody has taken back, in order of id; notes decide nothing.

    A withdrawal that is itself withdrawn takes nothing back, so that undo can be undone.
    """
    return [decision for decision in kept(decisions) if decision.verb in VERDICTS]


def notes(decisions: Sequence[Decision]) -> list[Decision]:
    """The notes that nobody has taken back, in order of id."""
    return [decision for decision in kept(decisions) if decision.verb is Verb.NOTE]


def kept(decisions: Sequence[Decision]) -> list[Decision]:
    """The decisions and notes of one cell that nobody has taken back, in order of id."""
    taken_back_by: dict[str, list[str]] = {}
    for decision in decisions:
        if decision.verb is Verb.WITHDRAW and decision.withdraws:
            taken_back_by.setdefault(decision.withdraws, []).append(decision.id)
    if not taken_back_by:
        return sorted((d for d in decisions if d.verb is not Verb.WITHDRAW), key=_id)
    holding = (d for d in decisions if d.verb is not Verb.WITHDRAW and _holds(d.id, taken_back_by))
    return sorted(holding, key=_id)


def _holds(decision: str, taken_back_by: Mapping[str, Sequence[str]]) -> bool:
    """Whether a decision that is no withdrawal stands, after everything that takes back and takes that back."""
    # A withdrawal takes back one decision, so these are trees; a ring of forged ones hangs on no decision.
    names = [decision]
    for name in names:
        names.extend(taken_back_by.get(name, ()))
    holds: dict[str, bool] = {}
    for name in reversed(names):
        holds[name] = not any(holds[by] for by in taken_back_by.get(name, ()))
    return holds[decision]


def standing(decisions: Sequence[Decision]) -> list[Decision]:
    """The live decisions of one cell that none of the others has overtaken, in order of id.

    A decision is overtaken by one whose maker saw it, or saw one that had overtaken it, whatever any clock
    says.
    """
    kept = live(decisions)
    if not any(decision.follows for decision in kept):
        return kept
    follows = {decision.id: decision.follows for decision in decisions}
    seen: set[str] = set()
    waiting = [name for decision in kept for name in decision.follows]
    while waiting:
        name = waiting.pop()
        if name not in seen:
            seen.add(name)
            waiting.extend(follows.get(name, ()))
    return [decision for decision in kept if decision.id not in seen]


Versions = Mapping[str, int | None] | int | None
"""Which version of a master setup shots are held against: one for all, or each by its name."""


def version_for(versions: Versions, shot: str) -> int | None:
    """The version that a shot is held against."""
    return versions.get(shot) if isinstance(versions, Mapping) else versions


def judge(
    value: Bound | None,
    master: Bound | None,
    decisions: Sequence[Decision],
    master_version: int | None = None,
) -> Judgement:
    """The state of a cell with these values, under the decisions on it.

    Intended covers exactly the two values it was made on; when either moved since, it has lapsed. A return
    lapses too once the shot's value moved: whoever fixed it looks for the next verdict. A decision with an end lapses
    when `master_version` is beyond it.
    """
    heads = standing(decisions)
    if not heads:
        return UNDECIDED
    holding = tuple(head for head in heads if _covers(head, value, master, master_version))
    if not holding:
        return Judgement(State.ASKS_AGAIN, tuple(heads))
    verbs = {head.verb for head in holding}
    if len(verbs) > 1:
        return Judgement(State.TWO_OPINIONS, holding)
    return Judgement(State.INTENDED if Verb.INTEND in verbs else State.SENT_BACK, holding)


def _covers(
    decision: Decision, value: Bound | None, master: Bound | None, master_version: int | None
) -> bool:
    if decision.until is not None and master_version is not None and master_version > decision.until:
        return False
    is_there = isinstance(value, Named) and decision.value == THERE
    return (is_there or alike(decision.value, value)) and alike(decision.master, master)
