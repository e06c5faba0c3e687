"""A light, or the whole rig, that was scaled by its transform: all of its sizes are the master's times one factor."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping

from samelight.drift.cells import Cell
from samelight.drift.words import number_text
from samelight.findings.board import Board
from samelight.findings.finding import Finding, Sureness
from samelight.findings.moved_together import PLACE
from samelight.findings.typed import level_that_follows
from samelight.findings.words import group_text, listed, sentence, size_text
from samelight.light.directions import Vector
from samelight.sheets.values import as_vector
from samelight.sheets.vocabulary import LEVEL, POSITION

NAME = "scaled"

SIZES = ("radius", "width", "height", "length")

_FEWEST = 2
"""Lights that make a rig where their sizes and the places between them are larger by one factor: chance makes no two so."""

_ROUNDED = 0.004
"""Share by which one factor may differ from the other: sizes are typed with three digits."""


def find(board: Board) -> list[Finding]:
    """One finding for each light and factor, with every shot that has it, and one for each shot whose whole rig was scaled."""
    by_shot = _factors(board)
    rigs = {column: rig for column, lights in by_shot.items() if (rig := _rig(board, column, lights))}
    alike: dict[tuple[str, float], list[Cell]] = defaultdict(list)
    for column, lights in by_shot.items():
        for light, (factor, rows) in lights.items():
            if column not in rigs and len(rows) > 1:
                key = next(
                    (one for one in alike if one[0] == light and _is_one(one[1], factor)), (light, factor)
                )
                alike[key].extend(_cells(board, column, rows))
    return [
        *(_rig_finding(board, column, factor, cells) for column, (factor, cells) in rigs.items()),
        *(_finding(board, factor, cells) for (_, factor), cells in alike.items()),
    ]


Factors = Mapping[str, tuple[float, list[int]]]
"""By the name of a light, the factor of all its sizes and their rows."""


def _factors(board: Board) -> Mapping[int, Factors]:
    """By shot, the lights of which every size that the master states is the master's times one factor."""
    sizes: dict[tuple[int, str], dict[int, float]] = defaultdict(dict)
    for index, row, columns in board.rows_left(lambda row: row.section == "lights" and row.leaf in SIZES):
        for column in columns:
            entry = board.entry(index, column)
            if isinstance(entry.master, float) and isinstance(entry.value, float) and entry.master > 0.0:
                sizes[column, row.group][index] = entry.value / entry.master
    found: dict[int, dict[str, tuple[float, list[int]]]] = defaultdict(dict)
    for (column, light), ratios in sizes.items():
        factor = min(ratios.values())
        held = [leaf for leaf in SIZES if board.master.value("lights", light, leaf) is not None]
        if factor > 0.0 and len(ratios) == len(held) and _is_one(factor, max(ratios.values())):
            found[column][light] = factor, list(ratios)
    return found


def _rig(board: Board, column: int, lights: Factors) -> tuple[float, list[Cell]] | None:
    """The factor of a rig that was scaled about one point, and its cells; None where it was not."""
    factors = sorted(factor for factor, _ in lights.values())
    if len(factors) < _FEWEST or not _is_one(factors[0], factors[-1]):
        return None
    factor = factors[len(factors) // 2]
    away: dict[int, Vector] = {}
    for light in lights:
        index = board.row_of("lights", light, POSITION)
        before = as_vector(board.master.value("lights", light, POSITION))
        after = as_vector(board.group(column, "lights", light).get(POSITION))
        if index is not None and before is not None and after is not None:
            x, y, z = (b - factor * a for a, b in zip(before, after, strict=True))
            away[index] = x, y, z
    if len(away) < _FEWEST:
        return None
    middle = [sorted(one[axis] for one in away.values())[len(away) // 2] for axis in range(3)]
    if not all(math.dist(one, middle) <= PLACE for one in away.values()):
        return None
    rows = [index for _, indices in lights.values() for index in indices]
    return factor, [*_cells(board, column, rows), *((i, column) for i in away if board.left[i, column])]


def _cells(board: Board, column: int, rows: list[int]) -> list[Cell]:
    follow = [at for index in rows for at in level_that_follows(board, board.table.rows[index], column)]
    return [(index, column) for index in (*rows, *follow)]


def _is_one(factor: float, other: float) -> bool:
    return abs(other / factor - 1.0) <= _ROUNDED


def _finding(board: Board, factor: float, cells: list[Cell]) -> Finding:
    row = board.table.rows[cells[0][0]]
    where = board.shots([column for _, column in cells])
    says = f"{group_text(row)} is {number_text(factor, 3)} times as large in {where}, all ways alike"
    level = next((cell for cell in cells if board.table.rows[cell[0]].leaf == LEVEL), None)
    if level is not None:
        stops = board.entry(*level).drift
        says += (
            f"; it gives {size_text(LEVEL, stops)} {'more' if stops > 0.0 else 'less'}, since its size counts"
        )
    return _made(board, says, cells)


def _rig_finding(board: Board, column: int, factor: float, cells: list[Cell]) -> Finding:
    lights = {board.table.rows[index].group: group_text(board.table.rows[index]) for index, _ in cells}
    by = f"scaled by {number_text(factor, 3)} as one in {board.shots([column])}"
    held = board.master.sections.get("lights", {})
    if all(light in lights or stated.keys().isdisjoint(SIZES) for light, stated in held.items()):
        return _made(board, f"the rig is {by}: {len(lights)} lights and the places between them", cells)
    return _made(board, f"{listed(list(lights.values()))} are {by}, and the places between them", cells)


def _made(board: Board, says: str, cells: list[Cell]) -> Finding:
    return board.make(
        NAME,
        sentence(f"{says}."),
        cells,
        sureness=Sureness.LIKELY,
        known="Every size is the master's times one factor.",
        guessed="Its transform, or that of a group above it, was scaled.",
        do="Take the scale out, or say that it is meant.",
    )
