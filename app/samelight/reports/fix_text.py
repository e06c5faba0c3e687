"""The fix list as text, for a terminal or a mail."""

from __future__ import annotations

from collections.abc import Sequence

from samelight.changes.fix_list import ShotFixes
from samelight.drift.scale import GRADE_MARKS
from samelight.drift.words import counted, drift_text
from samelight.reports.shown import shown

_LONGEST = 4000


def fixes_text(fixes: Sequence[ShotFixes]) -> str:
    """A paragraph a shot: what to set, how far off it is, and why it was sent back."""
    if not fixes:
        return "Nothing to set.\n"
    lines: list[str] = []
    for part in fixes:
        whose = f", {shown(part.lighter)}" if part.lighter else ""
        lines.append(
            f"{shown(part.shot)}, sheet v{part.sheet.version:03d}{whose}: {counted(len(part.fixes), 'cell')}"
        )
        for fix in part.fixes:
            sign = GRADE_MARKS.get(fix.cell.grade, " ")
            drift = drift_text(fix.cell) or fix.cell.grade.word
            lines.append(f"  {sign} {shown(fix.cell.parameter)}  ({shown(drift)})")
            lines.append(f"      {shown(fix.do, _LONGEST)}")
            for decision in fix.decisions:
                reason = f": {shown(decision.why, 1000)}" if decision.why else ""
                when = decision.when.date().isoformat()
                lines.append(f"      {fix.state} by {shown(decision.who)}, {when}{reason}")
        lines += [f"  {shown(note, 1000)}" for note in part.also]
        lines.append("")
    return "\n".join(lines)
