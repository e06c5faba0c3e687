"""Signs and words for what was decided, the same in the window and on paper."""

from __future__ import annotations

from samelight.decisions.state import State
from samelight.findings.finding import Finding

STATE_MARKS: dict[State, str] = {
    State.UNDECIDED: "",
    State.INTENDED: "✓",
    State.ASKS_AGAIN: "↻",
    State.SENT_BACK: "←",
    State.TWO_OPINIONS: "≠",
    State.TAKEN_UP: "⇠",
    State.MENDED: "?",
    State.CLOSED: "",
}
"""The sign of each state; none where nobody has decided."""


def standing_text(finding: Finding) -> str:
    """How a finding stands that is decided on by itself, or that was decided on; empty where its cells say it."""
    if not finding.cases and finding.state is State.UNDECIDED:
        return ""
    return f"{finding.level.word}, {finding.state}"
