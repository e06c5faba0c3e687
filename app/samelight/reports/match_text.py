"""Trims that bring faces to the key shot's, as text."""

from __future__ import annotations

from collections.abc import Iterable

from samelight.changes.matching import Match
from samelight.reports.shown import shown
from samelight.sheets.names import parameter_name

_LONGEST = 4000
_NONE = "Of these shots no frame was measured, the key shot's aside: samelight measure does that.\n"


def matches_text(found: Iterable[Match | str]) -> str:
    """A paragraph a shot: how far the mark is from the frame that it is brought to, and what to set."""
    lines: list[str] = []
    for one in found:
        if isinstance(one, str):
            lines += [shown(one, _LONGEST), ""]
            continue
        whose = f", {shown(one.lighter)}" if one.lighter else ""
        lines.append(
            f"{shown(one.shot)}, sheet v{one.sheet.version:03d}{whose}: {shown(one.mark)} as in {shown(one.against)}"
        )
        lines.append(
            f"  it is {_apart(one.before)}" + (f", and {_apart(one.after)} with:" if one.trims else "")
        )
        lines += [
            f"    {shown(f'{parameter_name(trim.section, trim.light)} {trim.says}', _LONGEST)}"
            for trim in one.trims
        ]
        if not one.trims:
            lines.append("  no light is far enough off to be trimmed")
        lines += [f"  {shown(note, _LONGEST)}" for note in one.notes]
        lines.append("")
    return "\n".join(lines) if lines else _NONE


def _apart(stops: float) -> str:
    """How much brighter or darker something is."""
    size = f"{abs(stops):.2f} stops"
    return "as bright" if abs(stops) < 0.005 else f"{size} {'brighter' if stops > 0.0 else 'darker'}"
