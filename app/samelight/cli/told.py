"""The findings that a check lists, and the cases of these that one decides on."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import replace

from samelight.cli.listed import Listed
from samelight.decisions.state import State
from samelight.drift.cells import CellName, Grade
from samelight.findings.finding import Case, Finding
from samelight.reports.as_data import case_data
from samelight.reports.compare import SavedCheck, is_known


def asked_findings(findings: Iterable[Finding], only: str | None, shots: Collection[str]) -> list[Finding]:
    """The findings of a name (None: of any) about any of these shots, with their cases in these shots."""
    wanted = set(shots)
    asked = (
        (finding, tuple(case for case in finding.cases if case.shot in wanted))
        for finding in findings
        if only in (None, finding.finding) and not wanted.isdisjoint(finding.shots)
    )
    return [finding if cases == finding.cases else replace(finding, cases=cases) for finding, cases in asked]


def unknown_to(saved: SavedCheck, findings: Iterable[Finding], listed: Listed) -> list[Finding]:
    """The findings that explain any of the listed cells, or have a case that a saved check has not, or not in that state."""
    names = {(cell.shot, cell.parameter) for cell, _ in listed}
    found = []
    for finding in findings:
        cases = tuple(case for case in finding.cases if not is_known(saved, case_data(case), by_state=True))
        if cases or names.intersection(finding.explained):
            found.append(replace(finding, cases=cases))
    return found


def known_cases(saved: SavedCheck, findings: Iterable[Finding]) -> set[CellName]:
    """The cases that a saved check has as they are."""
    return {case_key(case) for case in cases_of(findings) if is_known(saved, case_data(case))}


def unsettled_cases(
    findings: Sequence[Finding], at_least: Grade, accepted: Collection[CellName]
) -> list[Case]:
    """The cases at or above a level that are neither intended nor accepted."""
    return [
        case
        for case in cases_of(findings)
        if case.level >= at_least and case.state is not State.INTENDED and case_key(case) not in accepted
    ]


def cases_of(findings: Iterable[Finding]) -> Iterator[Case]:
    """All cases of findings."""
    return (case for finding in findings for case in finding.cases)


def case_key(case: Case) -> CellName:
    """By what a case is known in a saved check."""
    return case.shot, case.parameter
