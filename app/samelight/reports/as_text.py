"""The result of a check as lines of text for a terminal."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Sequence

from rich.cells import cell_len, set_cell_size
from rich.console import Console
from rich.text import Text

from samelight.decisions.state import State
from samelight.decisions.tally import Tally
from samelight.drift.cells import Cell, Grade
from samelight.drift.words import drift_text, value_text
from samelight.findings.finding import Finding
from samelight.light.directions import NORTH, Vector
from samelight.reports.signs import standing_text

_STYLES = {Grade.WITHIN: "dim", Grade.DRIFT: "yellow", Grade.BREAK: "bold red"}
_LONGEST = 40
"""Cells of a terminal that a value may take; a list of links can be as long as it likes."""
HIDDEN = frozenset({"Cc", "Cf", "Cs", "Zl", "Zp"})
_NO_CHARACTERS = "\ufffe\uffff"
"""Codes that stand for no character and that XML forbids (XML 1.0, production 2)."""


def clean(text: str) -> str:
    """Text from a file, safe for a terminal and for XML: control, format and direction characters, halves of characters
    (which stand for bytes of a name that is no UTF-8) and what no text may hold become a visible mark.

    >>> clean("sun\\x1b[31m")
    'sun�[31m'
    """
    if text.isprintable():
        return text  # what is printable holds none of them, and that is said a hundred times faster
    return "".join("�" if _is_hidden(character) else character for character in text)


def _is_hidden(character: str) -> bool:
    return unicodedata.category(character) in HIDDEN or character in _NO_CHARACTERS


def print_check(
    console: Console,
    title: str,
    master: int | None,
    cells: Sequence[tuple[Cell, State]],
    findings: Sequence[Finding],
    counts: dict[str, int],
    *,
    north: Vector = NORTH,
    tally: Tally | None = None,
    follows: Iterable[Sequence[str]] = (),
) -> None:
    """Print findings, then a line for each cell, then the counts of cells and of cases.

    `follows` says for each cell which parameters it follows from in its shot: it is then told under the first of these.
    """
    against = "no master setup to compare with" if master is None else f"against master {master}"
    _print(console, Text(f"{clean(title)}, {against}", style="bold"))
    for finding in findings:
        stands = standing_text(finding)
        style = "dim" if finding.state is State.INTENDED else ""
        _print(console, Text(f"• {clean(finding.says)}{f' ({stands})' if stands else ''}", style=style))
        if finding.do and finding.state is not State.INTENDED:
            _print(console, Text(f"  {clean(finding.do)}", style="dim"))
    if cells:
        _print_cells(console, cells, north, _under(cells, follows))
    _print(console, Text(", ".join(f"{count} {word}" for word, count in counts.items()), style="dim"))
    if tally is not None:
        _print(console, Text(tally.says, style="bold" if tally.open else "dim"))


def _print(console: Console, text: Text) -> None:
    """Print a line as it is: whoever searches the output finds a cell whole on one line."""
    if console.color_system is None:
        console.file.write(f"{text.plain}\n")  # ten times faster, and a film has many lines
    else:
        console.print(text, soft_wrap=True)


_COLUMNS = ("shot", "parameter", "master", "value", "drift", "level", "state")


Under = dict[tuple[str, str], list[Cell]]
"""By shot and parameter, the cells that are told under that cell."""


def _under(cells: Sequence[tuple[Cell, State]], follows: Iterable[Sequence[str]]) -> Under:
    found: Under = {}
    waiting = [(cell, causes) for (cell, _), causes in zip(cells, follows, strict=False) if causes]
    if waiting:
        listed = {(cell.shot, cell.parameter) for cell, _ in cells}
        for cell, causes in waiting:
            owner = next((cause for cause in causes if (cell.shot, cause) in listed), None)
            if owner is not None:
                found.setdefault((cell.shot, owner), []).append(cell)
    return found


def _print_cells(console: Console, cells: Sequence[tuple[Cell, State]], north: Vector, under: Under) -> None:
    told = {(cell.shot, cell.parameter) for along in under.values() for cell in along}
    said: dict[object, tuple[str, ...]] = {}
    widths = list(map(cell_len, _COLUMNS))
    for cell, state in cells:
        if (cell.shot, cell.parameter) in told:
            continue
        widths = list(map(max, widths, map(_width, _line(cell, state, north, said))))
    _print(console, _aligned(_COLUMNS, widths, "dim"))
    for cell, state in cells:
        if (cell.shot, cell.parameter) in told:
            continue
        style = "dim" if state is State.INTENDED else ""
        line = _line(cell, state, north, said)
        _print(console, _aligned(line, widths, style, _STYLES.get(cell.grade, "")))
        along = under.get((cell.shot, cell.parameter), ())
        if along:
            said_along = ", ".join(map(_said_along, along))
            _print(console, Text(f"{' ' * (widths[0] + 2)}and with it {said_along}", style="dim"))


def _said_along(cell: Cell) -> str:
    return f"{clean(cell.parameter)} {clean(drift_text(cell))} {cell.grade.word}".replace("  ", " ")


def _width(text: str) -> int:
    return len(text) if text.isascii() else cell_len(text)  # none is left in it that steers a terminal


def _aligned(line: Sequence[str], widths: Sequence[int], style: str, level_style: str = "") -> Text:
    text = Text(style=style)
    for name, part, width in zip(_COLUMNS, line, widths, strict=True):
        blank = " " * (width - _width(part))
        padded = blank + part if name == "drift" else part + blank
        text.append(f"{padded}  ", level_style if name == "level" else "")
    text.rstrip()
    return text


def _line(cell: Cell, state: State, north: Vector, said: dict[object, tuple[str, ...]]) -> tuple[str, ...]:
    """The texts of a line. `said` holds those of cells that were met; most of a film's cells are like others."""
    like = (id(cell.master), id(cell.value), cell.kind, cell.value_kind, cell.drift, cell.grade, cell.remark)
    texts = said.get(like)
    if texts is None:
        sides = (
            _short(clean(value_text(side, cell.value_kind, north))) for side in (cell.master, cell.value)
        )
        texts = said[like] = (*sides, clean(drift_text(cell)))
    return clean(cell.shot), clean(cell.parameter), *texts, cell.grade.word, str(state)


def _short(text: str) -> str:
    return text if cell_len(text) <= _LONGEST else set_cell_size(text, _LONGEST - 1).rstrip() + "…"
