"""A light that went where its mark went: it drifts, and what it does to the mark does not."""

from __future__ import annotations

import math
from collections import defaultdict

from samelight.drift.cells import Cell, Grade
from samelight.drift.computed.derived import key_sheet
from samelight.findings.board import Board
from samelight.findings.finding import Action, Concern, Finding, Sureness
from samelight.findings.words import sentence, size_text, thing
from samelight.light.directions import Vector
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import as_vector
from samelight.sheets.vocabulary import LEVEL, POSITION

NAME = "goes-with-mark"

MOVED = 0.1
"""Metres that a mark must have gone."""

SHARE = 0.1
"""Of that way, how far off the light may be."""

_PLACE = ("position", "direction")


def find(board: Board) -> list[Finding]:
    """One finding for each light and mark, with every shot in which they went together."""
    key = key_sheet(board.evidence.key_shot, board.master, board.evidence.sheets)
    if key is None:
        return []
    alike: dict[tuple[str, str], list[Cell]] = defaultdict(list)
    for index, row, columns in board.rows_left(
        lambda row: row.section == "lights" and row.leaf == "position"
    ):
        aim = board.row_of("lights", row.group, "direction")
        for column in columns:
            entry, sheet = board.entry(index, column), board.sheets[column]
            before, after = as_vector(entry.master), as_vector(entry.value)
            if sheet is None or before is None or after is None:
                continue
            mark = _mark(board, column, row.group, _way(before, after), key, sheet)
            if mark:
                cells = alike[row.group, mark]
                cells.append((index, column))
                if aim is not None and board.left[aim, column]:
                    cells.append((aim, column))
    return [_finding(board, light, mark, cells) for (light, mark), cells in alike.items()]


def _mark(board: Board, column: int, light: str, way: Vector, key: Sheet, sheet: Sheet) -> str:
    """The mark that went a light's way and gets of it what it gets by the master; empty where none does."""
    for mark, held in sheet.sections.get("marks", {}).items():
        before, after = as_vector(key.value("marks", mark, "position")), as_vector(held.get("position"))
        index = board.table.row(f"marks.{mark}.level.{light}")
        if before is None or after is None:
            continue
        went = _way(before, after)
        size = math.hypot(*went)
        # Without a row it gives the mark no direct light in any shot.
        holds = index is None or board.table.grade.item(index, column) in (Grade.SAME, Grade.WITHIN)
        if size >= MOVED and math.dist(went, way) <= SHARE * size and holds:
            return mark
    return ""


def _way(before: Vector, after: Vector) -> Vector:
    return after[0] - before[0], after[1] - before[1], after[2] - before[2]


def _finding(board: Board, light: str, mark: str, cells: list[Cell]) -> Finding:
    spots = [cell for cell in cells if board.table.rows[cell[0]].leaf == "position"]
    far = max(float(board.table.drift[cell]) for cell in spots)
    columns = sorted({column for _, column in cells})
    reach = [
        abs(float(board.table.drift[row, column]))
        for column in columns
        if (row := board.table.row(f"marks.{mark}.level.{light}")) is not None
    ]
    gives = ""
    if reach:
        least = f"within {size_text(LEVEL, max(reach))}" if max(reach) >= 0.005 else "to the digit"
        gives = f", and gives it what the master's does, {least}"
    return board.make(
        NAME,
        sentence(
            f"{thing(light)} goes with {thing(mark)} in {board.shots(columns)} ({size_text(POSITION, far)} from its place){gives}."
        ),
        cells,
        sureness=Sureness.LIKELY,
        known=sentence(f"{thing(mark)} went the same way since the key shot."),
        guessed="It follows what stands there, and is meant.",
        do="Say that it is meant; nothing has to change.",
        concern=Concern.SOUND,
        actions=(Action.INTEND, Action.SHOW),
    )
