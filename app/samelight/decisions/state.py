"""The state of a cell: a pure function of its values and the decisions on it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from operator import attrgetter

from samelight.decisions.decision import STEPS, Decision, Verb
from samelight.sheets.values import Bound, Named, alike

_id = attrgetter("id")


class State(StrEnum):
    """What was decided about a cell, and how far its mending has come.

    One whose values moved since it was decided on asks again. Of one with two opinions, two people decided differently
    without having seen each other's decision. What was sent back is taken up by who mends it; a new version of the shot, or
    another value in it, makes it mended, for whoever sent it back to look at and to close.
    """

    UNDECIDED = "undecided"
    INTENDED = "intended"
    ASKS_AGAIN = "asks again"
    SENT_BACK = "sent back"
    TWO_OPINIONS = "two opinions"
    TAKEN_UP = "taken up"
    MENDED = "mended"
    CLOSED = "closed"

    @property
    def is_handled(self) -> bool:
        """Whether it was decided on, so that whoever decides need not look at it now."""
        return self is State.INTENDED or self.to_mend

    @property
    def to_mend(self) -> bool:
        """Whether it waits for a lighter."""
        return self in (State.SENT_BACK, State.TAKEN_UP)


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
    return [decision for decision in kept(decisions) if decision.verb in STEPS]


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
    if len(decisions) == 1:  # most cells have one
        (only,) = decisions
        return [only] if only.verb in STEPS and only.id not in only.follows else []
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
"""Which version of a master setup shots are compared with: one for all, or each by its name."""


def version_for(versions: Versions, shot: str) -> int | None:
    """The version that a shot is compared with."""
    return versions.get(shot) if isinstance(versions, Mapping) else versions


NO_SHEET = 0
"""In place of the version of a shot's sheet, where none can be read: nobody knows then what became of what was sent back."""


def judge(
    value: Bound | None,
    master: Bound | None,
    decisions: Sequence[Decision],
    master_version: int | None = None,
    *,
    shot_version: int | None = None,
    inside: bool = False,
) -> Judgement:
    """The state of a cell with these values, under the decisions on it.

    Intended covers exactly the two values it was made on; when either moved since, it has lapsed. A decision with an end
    lapses when `master_version` is beyond it. What was sent back, or taken up, is mended once the shot's value is another
    or its sheet, `shot_version`, is a newer one than was seen then, and once another master brings it `inside` its
    tolerance. What was closed is closed as long as it is inside.
    """
    heads = standing(decisions)
    if not heads:
        return UNDECIDED

    def holds(head: Decision) -> bool:
        if head.verb is Verb.CLOSE:
            return inside
        if head.verb in _BACK and shot_version == NO_SHEET:
            return True
        newer = head.verb in _BACK and _is_newer(shot_version, head)
        return not newer and _covers(head, value, master, master_version)

    holding = tuple(head for head in heads if holds(head))
    if not holding:
        came_back = all(head.verb in _BACK for head in heads) and any(
            inside or _is_newer(shot_version, head) or not _is_value(head, value) for head in heads
        )
        state = State.MENDED if came_back else State.ASKS_AGAIN
        return Judgement(state, _with_returns(heads, decisions))
    return Judgement(_state_by({head.verb for head in holding}), _with_returns(holding, decisions))


_BACK = (Verb.RETURN, Verb.TAKE_UP)
"""The verbs that leave a case to be mended."""

_SAYS = {
    Verb.INTEND: State.INTENDED,
    Verb.CLOSE: State.CLOSED,
    Verb.TAKE_UP: State.TAKEN_UP,
    Verb.RETURN: State.SENT_BACK,
}
"""What each verb says of a cell, in order: of several that agree the first counts."""


def _state_by(verbs: set[Verb]) -> State:
    """What these say together, none of which saw another. Who takes something up has no opinion on it."""
    if len(verbs) == 1:
        return _SAYS[next(iter(verbs))]
    if Verb.RETURN in verbs and not verbs.isdisjoint((Verb.INTEND, Verb.CLOSE)):
        return State.TWO_OPINIONS
    return next(state for verb, state in _SAYS.items() if verb in verbs)


def may(verb: Verb, judgement: Judgement, *, inside: bool) -> bool:
    """Whether a case goes on by this verb from where it stands. What is inside its tolerance is decided on only where it
    was sent back; to be closed it has to be inside."""
    state = judgement.state
    if verb is Verb.TAKE_UP:
        return state.to_mend
    if verb is Verb.CLOSE:
        return inside and (state.to_mend or state is State.MENDED)
    if verb is Verb.WITHDRAW:
        return bool(judgement.decisions)
    return not inside or state is State.TWO_OPINIONS or (verb is Verb.RETURN and state is State.MENDED)


def _with_returns(heads: Sequence[Decision], decisions: Sequence[Decision]) -> tuple[Decision, ...]:
    """These decisions, before each that takes something up what it takes up: that has the reason."""
    if not any(head.verb is Verb.TAKE_UP for head in heads):
        return tuple(heads)
    by_id = {decision.id: decision for decision in decisions}
    found: dict[str, Decision] = {}

    waiting = list(heads)
    for one in waiting:  # which grows
        if one.id not in found:
            found[one.id] = one
            if one.verb is Verb.TAKE_UP:
                waiting += [by_id[name] for name in one.follows if name in by_id]
    return tuple(sorted(found.values(), key=_id))


def _is_newer(version: int | None, head: Decision) -> bool:
    return version is not None and head.version is not None and version > head.version


def _is_value(decision: Decision, value: Bound | None) -> bool:
    is_there = isinstance(value, Named) and decision.value == THERE
    return is_there or alike(decision.value, value)


def _covers(
    decision: Decision, value: Bound | None, master: Bound | None, master_version: int | None
) -> bool:
    if decision.until is not None and master_version is not None and master_version > decision.until:
        return False
    return _is_value(decision, value) and alike(decision.master, master)
