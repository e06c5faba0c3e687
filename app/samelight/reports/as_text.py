"""The result of a check as lines of text for a terminal."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import IO, Any, Protocol

from samelight.decisions.state import State
from samelight.decisions.tally import Tally
from samelight.drift.cells import CellName, ComparedCell, Grade
from samelight.drift.words import counted, drift_text, value_text
from samelight.findings.finding import Finding
from samelight.light.directions import NORTH, Vector
from samelight.reports.held import HeldShots, against_text
from samelight.reports.shown import shown
from samelight.reports.signs import standing_text
from samelight.sequence.crew import Crew

_STYLES = {Grade.WITHIN: "dim", Grade.DRIFT: "yellow", Grade.BREAK: "bold red"}
_LONGEST = 40
"""Cells of a terminal that a value may take; a list of links can be as long as it likes."""
_SENTENCE = 2000
"""Characters of a sentence; the names in it can be as long as they like."""


class Printer(Protocol):
    """Where lines go: rich's `Console`, or where there are no colours anything with a `file`."""

    @property
    def file(self) -> IO[str]: ...
    @property
    def color_system(self) -> str | None: ...
    def print(self, *objects: Any, soft_wrap: bool | None = None) -> None: ...


def print_check(
    console: Printer,
    title: str,
    master: int | None,
    cells: Sequence[tuple[ComparedCell, State]],
    findings: Sequence[Finding],
    counts: dict[str, int],
    *,
    north: Vector = NORTH,
    tally: Tally | None = None,
    follows: Iterable[Sequence[str]] = (),
    held: Sequence[HeldShots] = (),
    crew: Crew | None = None,
    tallies: Mapping[str, Tally] | None = None,
) -> None:
    """Print findings, then a line for each cell, then the counts of cells and of cases.

    `follows` says for each cell which parameters it follows from in its shot: it is then told under the first of these. `held` are
    the set-ups where there are several. `crew` says whom a finding goes to, and with `tallies` of the shots how the cases
    of each lighter stand.
    """
    print_line(console, f"{shown(title)}, {shown(against_text(master, held), _SENTENCE)}", "bold")
    for finding in findings:
        stands = standing_text(finding)
        style = "dim" if finding.state is State.INTENDED else ""
        print_line(console, f"• {shown(finding.says, _SENTENCE)}{f' ({stands})' if stands else ''}", style)
        if finding.do and finding.state is not State.INTENDED:
            print_line(console, f"  {shown(finding.do, _SENTENCE)}", "dim")
        if (to := crew.to(finding.shots) if crew else "") and finding.state is not State.INTENDED:
            print_line(console, f"  To: {shown(to, _SENTENCE)}", "dim")
    if cells:
        _print_cells(console, cells, north, _under(cells, follows))
    print_line(console, ", ".join(f"{count} {word}" for word, count in counts.items()), "dim")
    if tally is not None:
        print_line(console, tally.says, "bold" if tally.unsettled else "dim")
    for name, number, of_name in crew.tallies(tallies or {}) if crew else ():
        print_line(console, f"{shown(name)}, {counted(number, 'shot')}: {of_name.says}", "dim")


def print_line(console: Printer, text: str, style: str = "") -> None:
    """Print a line as it is: whoever searches the output finds a cell whole on one line."""
    _print(console, [(text, "")], style)


_Part = tuple[str, str]
"""A text and its style."""


def _print(console: Printer, parts: Sequence[_Part], style: str) -> None:
    if console.color_system is None:
        console.file.write("".join(text for text, _ in parts) + "\n")  # a film has many lines
        return
    from rich.text import Text  # where there are colours alone

    line = Text(style=style)
    for text, of_part in parts:
        line.append(text, of_part)
    console.print(line, soft_wrap=True)


_COLUMNS = ("shot", "parameter", "master", "value", "drift", "level", "state")


Under = dict[CellName, list[ComparedCell]]
"""By shot and parameter, the cells that are told under that cell."""


def _under(cells: Sequence[tuple[ComparedCell, State]], follows: Iterable[Sequence[str]]) -> Under:
    found: Under = {}
    waiting = [(cell, causes) for (cell, _), causes in zip(cells, follows, strict=False) if causes]
    if waiting:
        listed = {(cell.shot, cell.parameter) for cell, _ in cells}
        for cell, causes in waiting:
            owner = next((cause for cause in causes if (cell.shot, cause) in listed), None)
            if owner is not None:
                found.setdefault((cell.shot, owner), []).append(cell)
    return found


def _print_cells(
    console: Printer, cells: Sequence[tuple[ComparedCell, State]], north: Vector, under: Under
) -> None:
    told = {(cell.shot, cell.parameter) for along in under.values() for cell in along}
    said: dict[object, tuple[str, ...]] = {}
    widths = list(map(len, _COLUMNS))
    for cell, state in cells:
        if (cell.shot, cell.parameter) in told:
            continue
        widths = list(map(max, widths, map(_width, _line(cell, state, north, said))))
    _print(console, _aligned(_COLUMNS, widths), "dim")
    for cell, state in cells:
        if (cell.shot, cell.parameter) in told:
            continue
        style = "dim" if state is State.INTENDED else ""
        line = _line(cell, state, north, said)
        _print(console, _aligned(line, widths, _STYLES.get(cell.grade, "")), style)
        along = under.get((cell.shot, cell.parameter), ())
        if along:
            said_along = ", ".join(map(_said_along, along))
            print_line(console, f"{' ' * (widths[0] + 2)}and with it {said_along}", "dim")


def _said_along(cell: ComparedCell) -> str:
    return f"{shown(cell.parameter)} {shown(drift_text(cell))} {cell.grade.word}".replace("  ", " ")


def _width(text: str) -> int:
    if text.isascii():
        return len(text)  # none is left in it that steers a terminal
    from rich.cells import cell_len

    return cell_len(text)


def _aligned(line: Sequence[str], widths: Sequence[int], level_style: str = "") -> list[_Part]:
    parts = []
    for name, part, width in zip(_COLUMNS, line, widths, strict=True):
        blank = " " * (width - _width(part))
        padded = blank + part if name == "drift" else part + blank
        parts.append((f"{padded}  ", level_style if name == "level" else ""))
    last, style = parts[-1]
    return [*parts[:-1], (last.rstrip(), style)]


def _line(
    cell: ComparedCell, state: State, north: Vector, said: dict[object, tuple[str, ...]]
) -> tuple[str, ...]:
    """The texts of a line. `said` holds those of cells that were met; most of a film's cells are like others."""
    like = (id(cell.master), id(cell.value), cell.kind, cell.value_kind, cell.drift, cell.grade, cell.remark)
    texts = said.get(like)
    if texts is None:
        sides = (
            _short(shown(value_text(side, cell.value_kind, north))) for side in (cell.master, cell.value)
        )
        texts = said[like] = (*sides, shown(drift_text(cell)))
    return shown(cell.shot), shown(cell.parameter), *texts, cell.grade.word, str(state)


def _short(text: str) -> str:
    if _width(text) <= _LONGEST:
        return text
    from rich.cells import set_cell_size

    return set_cell_size(text, _LONGEST - 1).rstrip() + "…"
