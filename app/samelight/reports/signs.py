"""Signs and words for what was decided, the same in the window and on paper."""

from __future__ import annotations

from samelight.decisions.state import State
from samelight.findings.finding import Finding

STATE_MARKS: dict[State, str] = {
    State.OPEN: "",
    State.INTENDED: "✓",
    State.LAPSED: "↻",
    State.RETURNED: "←",
    State.CONTESTED: "≠",
}
"""The sign of each state; none where nobody has decided."""


def standing_text(finding: Finding) -> str:
    """How a finding stands that is decided on by itself, or that was decided on; empty where its cells say it."""
    if not finding.cases and finding.state is State.OPEN:
        return ""
    return f"{finding.level.word}, {state_text(finding.state)}"


def state_text(state: State) -> str:
    """A state as people say it.

    >>> state_text(State.RETURNED), state_text(State.OPEN)
    ('sent back', 'open')
    """
    return "sent back" if state is State.RETURNED else str(state)
