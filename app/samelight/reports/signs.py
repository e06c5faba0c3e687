"""Signs and words for what was decided, the same in the window and on paper."""

from __future__ import annotations

from samelight.decisions.state import State

STATE_MARKS: dict[State, str] = {
    State.OPEN: "",
    State.INTENDED: "✓",
    State.LAPSED: "↻",
    State.RETURNED: "←",
    State.CONTESTED: "≠",
}
"""The sign of each state; none where nobody has decided."""


def state_text(state: State) -> str:
    """A state as people say it.

    >>> state_text(State.RETURNED), state_text(State.OPEN)
    ('sent back', 'open')
    """
    return "sent back" if state is State.RETURNED else str(state)
