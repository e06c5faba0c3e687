"""What was sent back and came back as it should be: for whoever sent it back to look at, and to close."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence

from samelight.decisions.decision import Decision, Verb
from samelight.decisions.judged import Judged
from samelight.decisions.state import State
from samelight.drift.cells import Cell, Grade
from samelight.drift.table import Table
from samelight.findings.board import Board
from samelight.findings.finding import CASES, Action, Case, Concern, Finding
from samelight.findings.words import parameter_text, sentence, shots_text
from samelight.sheets.values import Named

NAME = "mended"

_DO = "Look at it: close it, or send it back again."
_ACTIONS = (Action.CLOSE, Action.RETURN, Action.SHOW)


def find(board: Board) -> list[Finding]:
    """What was sent back and is inside its tolerance now: whoever sent it back looks, and closes it."""
    groups: dict[tuple[int, str], list[Cell]] = defaultdict(list)
    for cell, judgement in sorted(board.evidence.judgements.items()):
        if judgement.state is State.MENDED and board.table.grade.item(cell) < Grade.DRIFT:
            groups[cell[0], asked_for(judgement.decisions)].append(cell)
    found = []
    for (index, reason), cells in groups.items():
        shots = board.shots([column for _, column in cells])
        says = f"{parameter_text(board.table.rows[index])} was sent back in {shots} and is inside its tolerance now"
        found.append(
            board.make(
                NAME,
                f"{sentence(says)}.",
                cells,
                known=_known(reason),
                do=_DO,
                concern=Concern.SOUND,
                actions=_ACTIONS,
            )
        )
    return found


def gone(
    decided: Judged, findings: Iterable[Finding], judge: Callable[[Case], Case], *, looked: bool
) -> list[Finding]:
    """What was sent back and is not there any more, such as a light that only that shot had, and what a finding said that
    says it no longer. A finding for each name, with a case for each shot.

    Without `looked` the findings are not all drawn, so that
    nothing follows from one that is not there.
    """
    there = {(case.shot, case.parameter) for finding in findings for case in finding.cases}
    table = decided.table
    places = {shot: place for place, shot in enumerate(table.shots)}
    by_name: dict[str, list[Case]] = defaultdict(list)
    for shot, parameter in sorted(set(decided.elsewhere) - there, key=lambda name: places[name[0]]):
        if parameter and (looked or not parameter.startswith(f"{CASES}.")):
            case = judge(Case(shot, parameter, Grade.WITHIN, Named(())))
            if case.state is State.MENDED:
                by_name[parameter].append(case)
    return [_gone(table, parameter, cases) for parameter, cases in sorted(by_name.items())]


def _gone(table: Table, parameter: str, cases: Sequence[Case]) -> Finding:
    shots = tuple(case.shot for case in cases)
    where = shots_text([table.shots.index(shot) for shot in shots], table.shots)
    return Finding(
        finding=NAME,
        says=f"{parameter} was sent back in {where} and is not there any more.",
        shots=shots,
        parameters=(parameter,),
        known=_known(asked_for(cases[0].judgement.decisions)),
        do=_DO,
        concern=Concern.SOUND,
        actions=_ACTIONS,
        cases=tuple(cases),
        level=Grade.WITHIN,
        state=State.MENDED,
    )


def asked_for(decisions: Sequence[Decision]) -> str:
    """The reason of the last who sent it back, or who decided otherwise; empty where none was given."""
    said = [one for one in decisions if one.reason and one.verb is not Verb.TAKE_UP]
    return said[-1].reason if said else ""


def _known(reason: str) -> str:
    return sentence(f"The reason given was: {reason}.") if reason else ""
