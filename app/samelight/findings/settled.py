"""What was decided about findings: on their cells, and on what is a case of their own. Where one is intended, it stays listed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from samelight.decisions.decision import Decision
from samelight.decisions.state import UNDECIDED, Judgement, State, Versions, judge, version_for
from samelight.drift.cells import Cell, CellName, Grade
from samelight.drift.table import Table
from samelight.findings.finding import Case, Finding

WORST_FIRST: tuple[State, ...] = (
    State.TWO_OPINIONS,
    State.ASKS_AGAIN,
    State.UNDECIDED,
    State.SENT_BACK,
    State.INTENDED,
)
"""States by how much they ask for a decision."""


def settled(
    findings: Sequence[Finding],
    table: Table,
    judgements: Mapping[Cell, Judgement],
    decisions: Mapping[CellName, Sequence[Decision]],
    versions: Versions,
) -> list[Finding]:
    """The findings with level and state, in their order, those that are intended after the others.

    `judgements` are those of the table's cells, `decisions` all that were made, by shot and parameter. A finding that
    stands as it stood is the same object.
    """

    def judged(case: Case) -> Case:
        made = decisions.get((case.shot, case.parameter))
        judgement = (
            judge(case.value, case.master, made, version_for(versions, case.shot)) if made else UNDECIDED
        )
        return case if judgement == case.judgement else replace(case, judgement=judgement)

    def stands(finding: Finding) -> Finding:
        cases = tuple(map(judged, finding.cases))
        states = {judgements.get(cell, UNDECIDED).state for cell in finding.rests_on}
        states.update(case.state for case in cases)
        level, state = _level(table, finding.rests_on, cases), worst(states)
        as_before = (level, state, cases) == (finding.level, finding.state, finding.cases)
        return finding if as_before else replace(finding, level=level, state=state, cases=cases)

    return sorted(map(stands, findings), key=lambda finding: finding.state is State.INTENDED)


def worst(states: Iterable[State]) -> State:
    """The state that asks for a decision most; open where there is none."""
    return min(states, key=WORST_FIRST.index, default=State.UNDECIDED)


def _level(table: Table, spots: Iterable[Cell], cases: Iterable[Case]) -> Grade:
    grade = table.grade.data
    grades = {grade[cell] for cell in spots} | {int(case.level) for case in cases}
    return Grade(max(grades, default=Grade.NONE))
