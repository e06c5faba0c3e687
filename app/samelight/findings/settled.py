"""What was decided about findings: on their cells, and on what is a case of their own. Where one is intended, it stays listed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from samelight.decisions.judged import Judged
from samelight.decisions.state import UNDECIDED, State, judge, version_for
from samelight.drift.cells import Cell, Grade
from samelight.drift.table import Table
from samelight.findings.finding import Case, Finding
from samelight.findings.mended import gone

WORST_FIRST: tuple[State, ...] = (
    State.TWO_OPINIONS,
    State.ASKS_AGAIN,
    State.MENDED,
    State.UNDECIDED,
    State.SENT_BACK,
    State.TAKEN_UP,
    State.CLOSED,
    State.INTENDED,
)
"""States by how much they ask for a decision."""


def settled(findings: Sequence[Finding], decided: Judged, *, looked: bool = True) -> list[Finding]:
    """The findings with level and state, in their order, those that are intended after the others.

    `decided` is what was decided on the table that they are of. A finding that stands as it stood is the same object. What
    was sent back and is not there any more is a finding as well (see `mended.gone` for `looked`).
    """
    decisions = decided.ledger.by_cell()

    def judged(case: Case) -> Case:
        made, judgement = decisions.get((case.shot, case.parameter)), UNDECIDED
        if made:
            judgement = judge(
                case.value,
                case.master,
                made.judged_by(),
                version_for(decided.versions, case.shot),
                shot_version=decided.version_of(case.shot),
                inside=case.level < Grade.DRIFT,
            )
        return case if judgement == case.judgement else replace(case, judgement=judgement)

    def stands(finding: Finding) -> Finding:
        cases = tuple(map(judged, finding.cases))
        states = {decided.judgements.get(cell, UNDECIDED).state for cell in finding.rests_on}
        states.update(case.state for case in cases)
        states.discard(State.CLOSED)  # a cell inside its tolerance; the finding stands all the same
        level, state = _level(decided.table, finding.rests_on, cases), worst(states)
        as_before = (level, state, cases) == (finding.level, finding.state, finding.cases)
        return finding if as_before else replace(finding, level=level, state=state, cases=cases)

    found = [stands(finding) for finding in findings]
    found += gone(decided, findings, judged, looked=looked)
    return sorted(found, key=lambda finding: finding.state is State.INTENDED)


def worst(states: Iterable[State]) -> State:
    """The state that asks for a decision most; open where there is none."""
    return min(states, key=WORST_FIRST.index, default=State.UNDECIDED)


def _level(table: Table, spots: Iterable[Cell], cases: Iterable[Case]) -> Grade:
    grade = table.grade.data
    grades = {grade[cell] for cell in spots} | {int(case.level) for case in cases}
    return Grade(max(grades, default=Grade.NONE))
