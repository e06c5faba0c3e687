"""Every finding, drawn and ranked."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from samelight.findings.finding import Evidence, Finding

Finder = Callable[[Evidence], list[Finding]]

FINDERS: Sequence[Finder] = ()


def find_all(evidence: Evidence) -> list[Finding]:
    """All findings, those that span most shots first, then by how far they are out of tolerance."""
    if evidence.master is None:
        return []
    found = [finding for finder in FINDERS for finding in finder(evidence)]
    return sorted(
        found, key=lambda finding: (-len(finding.shots), -finding.worst, finding.finding, finding.shots)
    )
