"""The result of a check as lines of text for a terminal."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Sequence

from rich.console import Console
from rich.table import Table as TextTable
from rich.text import Text

from samelight.decisions.state import State
from samelight.drift.cells import Cell, Grade
from samelight.drift.words import drift_text, value_text
from samelight.findings.finding import Finding
from samelight.light.directions import NORTH, Vector

_STYLES = {Grade.WITHIN: "dim", Grade.DRIFT: "yellow", Grade.BREAK: "bold red"}
_HIDDEN = frozenset({"Cc", "Cf", "Cs", "Zl", "Zp"})


def clean(text: str) -> str:
    """Text from a file, safe for a terminal: control, format and direction characters become a visible mark.

    >>> clean("sun\\x1b[31m")
    'sun�[31m'
    """
    return "".join("�" if unicodedata.category(character) in _HIDDEN else character for character in text)


def print_check(
    console: Console,
    title: str,
    master: int | None,
    cells: Iterable[tuple[Cell, State]],
    findings: Sequence[Finding],
    counts: dict[str, int],
    *,
    north: Vector = NORTH,
) -> None:
    """Print findings, then the cells as a table, then the counts."""
    console.print(Text(f"{clean(title)}, against master {master}"), style="bold")
    for finding in findings:
        console.print(Text(f"• {clean(finding.says)}"))
        if finding.do:
            console.print(Text(f"  {clean(finding.do)}"), style="dim")
    table = TextTable(box=None, pad_edge=False, header_style="dim")
    for name in ("shot", "parameter", "master", "value"):
        table.add_column(name, overflow="fold")
    table.add_column("drift", justify="right", no_wrap=True)
    table.add_column("level", no_wrap=True)
    table.add_column("state", no_wrap=True)
    rows = 0
    for cell, state in cells:
        rows += 1
        table.add_row(
            Text(clean(cell.shot)),
            Text(clean(cell.parameter)),
            Text(clean(value_text(cell.master, cell.base, north))),
            Text(clean(value_text(cell.value, cell.base, north))),
            Text(clean(drift_text(cell))),
            Text(cell.grade.word, style=_STYLES.get(cell.grade, "")),
            Text(str(state), style="dim" if state is State.INTENDED else ""),
        )
    if rows:
        console.print(table)
    console.print(Text(", ".join(f"{count} {word}" for word, count in counts.items())), style="dim")
