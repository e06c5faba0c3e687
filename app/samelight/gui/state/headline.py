"""The sentence over the grid, how much is wrong in how many shots and the worst of it, and the one below it, how many rows
are not listed. No Qt."""

from __future__ import annotations

from dataclasses import dataclass

from samelight.decisions.state import State
from samelight.drift.cells import Grade
from samelight.drift.words import counted
from samelight.findings.finding import Finding
from samelight.gui.state.remaining import left_text
from samelight.gui.state.rows import GridState, Show


@dataclass(frozen=True, slots=True)
class Headline:
    """What is said, and the finding that it calls the worst; None where there is none."""

    says: str
    worst: Finding | None = None


def headline(state: GridState, *, looking: bool = False) -> Headline:
    """What is wrong in my shots by what the findings say, the worst first as they stand; `looking` as in `left_text`.

    Where no finding is left, how much is left to decide.
    """
    mine = {state.table.shots[column] for column in state.listing.columns}
    findings = state.session.cases.findings
    left = [finding for finding in findings if is_left(finding) and not mine.isdisjoint(finding.shots)]
    unread = len(state.session.unreadable())
    before = f"{counted(unread, 'shot')} cannot be read. " if unread else ""
    if state.looked_back.since is not None:
        happened = {name: event for name, event in state.looked_back.happened.items() if name[0] in mine}
        before = f"{state.looked_back.since.sentence(happened)}. {before}"
    if not left:
        return Headline(f"{before}{left_text(state, looking=looking)}.")
    shots = len({shot for finding in left for shot in finding.shots} & mine)
    things = counted(len(left), "thing to look at", "things to look at")
    return Headline(f"{before}{things} in {counted(shots, 'shot')}. Worst: {left[0].says}", left[0])


def is_left(finding: Finding) -> bool:
    """Whether a finding tells of drift that nobody has decided on, or of drift that was sent back and is there still."""
    return finding.level >= Grade.DRIFT and finding.state is not State.INTENDED


def folded_text(state: GridState) -> str:
    """How many rows the choice of rows leaves out, and how they are listed; nothing where it leaves out none. What a
    filter or somebody's hand leaves out is not counted."""
    count = state.listing.folded
    if not count:
        return ""
    rows = counted(count, "row")
    what = {
        Show.DRIFTING: "is the same in all shots" if count == 1 else "are the same in all shots",
        Show.UNDECIDED: "has nothing undecided" if count == 1 else "have nothing undecided",
    }.get(state.view.rows, "is not in this list" if count == 1 else "are not in this list")
    return f"{rows} {what}. List every row"


def why_nothing(state: GridState) -> str:
    """Why no row is listed, and how rows come back; empty where some are."""
    if state.listing.lines:
        return ""
    if not state.table.rows:
        return "No rows yet: there is no master setup to compare the shots with."
    if state.view.filter.strip():
        return f"No row matches {state.view.filter.strip()!r}. Press Esc to clear the filter."
    return f"Nothing to list under “{state.view.rows}”. Choose “{Show.ALL}” to list every row."
