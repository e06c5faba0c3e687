"""A pass that hides, holds out or leaves out a thing in some shots only."""

from __future__ import annotations

from collections import defaultdict

from samelight.drift.cells import Cell
from samelight.drift.table import Row
from samelight.findings.board import Board
from samelight.findings.finding import Concern, Finding
from samelight.findings.words import listed, sentence

NAME = "pass-hides"

_VERBS = {
    "hides": ("hide", "hides"),
    "holds": ("hold out", "holds out"),
    "excludes": ("leave out", "leaves out"),
}


def find(board: Board) -> list[Finding]:
    """One finding for each pass and change, with the shots that differ from the master in it.

    Where every shot differs alike, the pass is as it is: the master is out of date, and this is no finding.
    """
    found: list[Finding] = []
    for index, row, columns in board.rows_left(_hides):
        alike: dict[tuple[tuple[str, ...], tuple[str, ...]], list[Cell]] = defaultdict(list)
        for column in columns:
            entry = board.entry(index, column)
            mine = entry.master if isinstance(entry.master, frozenset) else frozenset[str]()
            theirs = entry.value if isinstance(entry.value, frozenset) else frozenset[str]()
            alike[tuple(sorted(theirs - mine)), tuple(sorted(mine - theirs))].append((index, column))
        found.extend(
            _finding(board, row, added, removed, cells)
            for (added, removed), cells in alike.items()
            if len(cells) < board.filled or board.filled == 1
        )
    return found


def _hides(row: Row) -> bool:
    return row.section == "passes" and row.leaf in _VERBS


def _finding(
    board: Board, row: Row, added: tuple[str, ...], removed: tuple[str, ...], cells: list[Cell]
) -> Finding:
    base, does = _VERBS[row.leaf]
    said = []
    if added:
        said.append(f"{does} {listed(added)}, which the master's does not")
    if removed:
        said.append(f"does not {base} {listed(removed)}, as the master's does")
    shots = board.shots([column for _, column in cells])
    return board.make(
        NAME,
        sentence(f"the {row.group} pass {' and '.join(said)}, in {shots}."),
        cells,
        known="The other shots are as the master.",
        guessed="A thing shown twice, or not at all, once the passes are put together.",
        do="Set it as the master has it, or say why this shot's passes differ.",
        concern=Concern.PICTURE,
    )
