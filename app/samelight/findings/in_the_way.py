"""Something that stands between a light and a mark in a shot, and not in the key shot, or the other way round."""

from __future__ import annotations

import math
from collections import defaultdict

from samelight.drift.cells import Cell
from samelight.drift.computed.derived import key_sheet
from samelight.drift.computed.in_the_way import HIDDEN_BY
from samelight.findings.board import Board
from samelight.findings.finding import Finding
from samelight.findings.words import sentence, size_text, thing
from samelight.light.noise import first_largest
from samelight.sheets.vocabulary import LEVEL

NAME = "in-the-way"

_LIT = "lit."


def find(board: Board) -> list[Finding]:
    """One finding for each mark, light and object, where what arrives of the light is out of tolerance since less, or more, of it is hidden."""
    key = key_sheet(board.evidence.key_shot, board.master, board.evidence.sheets)
    found: dict[tuple[str, str, str, bool], list[Cell]] = defaultdict(list)
    for index, row in enumerate(board.table.rows):
        if row.section != "marks" or not row.leaf.startswith(_LIT):
            continue
        light = row.leaf.removeprefix(_LIT)
        level = board.row_of("marks", row.group, f"level.{light}")
        there = {} if key is None else key.sections.get("marks", {}).get(row.group, {})
        for column in board.unsettled[index].nonzero()[0].tolist():
            less = board.table.drift[index, column] < 0.0
            hider = (board.group(column, "marks", row.group) if less else there).get(f"{HIDDEN_BY}{light}")
            if not board.taken[index, column] and _by_itself(board, index, level, column):
                found[row.group, light, hider if isinstance(hider, str) else "", bool(less)].append(
                    (index, column)
                )
    return [_finding(board, *of, cells) for of, cells in found.items()]


def _by_itself(board: Board, index: int, level: int | None, column: int) -> bool:
    """Whether it is what hides the light that makes the difference, and not the light itself."""
    own = float(board.table.drift[index, column])
    of_light = math.nan if level is None else float(board.table.drift[level, column])
    return (
        math.isnan(of_light)
        or not math.isfinite(own)
        or abs(own - of_light) > board.table.rows[index].tolerance.at_most
    )


def _finding(board: Board, mark: str, light: str, hider: str, less: bool, cells: list[Cell]) -> Finding:
    worst = cells[first_largest(abs(float(board.table.drift[cell])) for cell in cells)]
    drift, columns = float(board.table.drift[worst]), sorted({column for _, column in cells})
    size = size_text(LEVEL, drift) if math.isfinite(drift) else "all of it"
    what = thing(hider.rpartition("/")[2]) if hider else "something"
    between = f"between {thing(light)} and {thing(mark)}"
    if less:
        says = f"{what} stands {between} in {board.shots(columns)}: {size} less"
    else:
        says = f"{what}, which stands {between} in the key shot, is out of the way in {board.shots(columns)}: {size} more"
    cells = [*cells, *(cell for column in columns if (cell := _sum(board, mark, column)) is not None)]
    return board.make(
        NAME,
        sentence(f"{says}."),
        cells,
        known=f"Rays from the mark to the light were cast through the scene's geometry{f'; most met {hider}' if hider else ''}.",
        do="Move what stands in the way, the subject or the light, or say that the shadow is meant.",
    )


def _sum(board: Board, mark: str, column: int) -> Cell | None:
    """The open cell of all light that arrives at a mark."""
    index = board.row_of("marks", mark, "lit")
    return (index, column) if index is not None and board.unsettled[index, column] else None
