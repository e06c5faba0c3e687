"""A finding that was drawn anew, or whose state is another by now. No Qt."""

from __future__ import annotations

from collections.abc import Iterable

from samelight.drift.cells import CellName
from samelight.findings.finding import Finding


def found_again(finding: Finding, findings: Iterable[Finding]) -> Finding | None:
    """The one among findings that says the same of the same shots."""
    wanted = finding.finding, finding.shots, finding.says
    return next((one for one in findings if (one.finding, one.shots, one.says) == wanted), None)


def finding_of(case: CellName, findings: Iterable[Finding]) -> Finding | None:
    """The one among findings that has a case of this shot and name."""
    return next((one for one in findings if any((of.shot, of.parameter) == case for of in one.cases)), None)
