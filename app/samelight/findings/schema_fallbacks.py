"""Lights that have what UsdLux gives to a light that states nothing: made anew, or with their values lost on the way."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Set
from typing import Any

from samelight.drift.cells import Cell
from samelight.drift.table import Row
from samelight.findings.board import Board
from samelight.findings.finding import Finding, Sureness
from samelight.findings.typed import master_as_typed, number_typed, typed_otherwise, what_follows
from samelight.findings.words import listed, sentence, thing
from samelight.sheets.values import as_vector
from samelight.sheets.vocabulary import DIRECTION, LEVEL, POSITION

_FALLBACKS: dict[str, Any] = {
    "intensity": 1.0,
    "exposure": 0.0,
    "temperature": 6500.0,
    "color": [1.0, 1.0, 1.0],
    "position": [0.0, 0.0, 0.0],
    "direction": [0.0, 0.0, -1.0],
}
"""What a light has that states nothing. Source: the schema of UsdLux (OpenUSD 25.05), and a light without a transform."""

_WORDS = {
    "intensity": "intensity 1",
    "exposure": "exposure 0",
    "temperature": "temperature 6500 K",
    "color": "a white colour",
    "position": "its place at the origin",
    "direction": "its aim along −Z",
}
_LEAVES = (LEVEL, "colour", POSITION, DIRECTION)
_NEAR = 0.002
"""Stops within which a level is that of a light without its intensity or exposure."""
_ORIGIN = ((0.0, 0.0, 0.0),)
_AHEAD = ((0.0, 0.0, -1.0), (0.0, -1.0, 0.0))
"""Along −Z, in a sheet whose Y points up and in one whose Z does."""
_BY_ITSELF = frozenset({"temperature", "color", "position", "direction"})
"""What says something also where it is the only one: an intensity of 1 is typed by many."""

_AIMS = frozenset({"target", "azimuth", "elevation", "rotation"})
"""What a light that has lost its aim states no more."""


def find(board: Board, name: str, told: Set[Cell]) -> list[Finding]:
    """One finding, called `name`, for each light and what of it is at the fallbacks, but for the cells that are told already."""
    fallen: dict[tuple[int, str], dict[str, None]] = defaultdict(dict)
    cells: dict[tuple[int, str], list[Cell]] = defaultdict(list)
    for index, row, columns in board.rows_left(
        lambda row: row.section in ("lights", "environments") and row.leaf in _LEAVES
    ):
        for column in _may_be(board, index, row, columns):
            found = _fallen(board, index, column) if (index, column) not in told else []
            if found:
                fallen[column, row.group_name].update(dict.fromkeys(found))
                follow = what_follows(board, row, column)
                cells[column, row.group_name] += [(at, column) for at in (index, *follow)]
    alike: dict[tuple[str, tuple[str, ...]], list[Cell]] = defaultdict(list)
    for (column, group), names in fallen.items():
        if len(names) > 1 or not _BY_ITSELF.isdisjoint(names):
            alike[group, tuple(sorted(names, key=list(_FALLBACKS).index))] += cells[column, group]
    return [_finding(board, name, group, names, spots) for (group, names), spots in alike.items()]


def _may_be(board: Board, index: int, row: Row, columns: list[int]) -> list[int]:
    """The columns whose value may be a fallback, as far as that shows without what was typed, which takes longer to look at."""
    if row.leaf == LEVEL:
        colour = board.row_of(row.section, row.group, "colour")
        stops = _stops_lost(board, row)
        drifts: list[float] = board.table.drift[index, columns].tolist()
        return [
            column
            for column, drift in zip(columns, drifts, strict=True)
            if any(abs(drift + lost) <= _NEAR for lost in stops)
            or (colour is not None and board.drifts(colour, column))
        ]
    places = {POSITION: _ORIGIN, DIRECTION: _AHEAD}.get(row.leaf)
    if places is None:
        return columns
    vectors = ((column, as_vector(board.entry(index, column).value)) for column in columns)
    return [
        column
        for column, vector in vectors
        if vector is not None and any(math.dist(vector, place) < 1e-6 for place in places)
    ]


def _stops_lost(board: Board, row: Row) -> list[float]:
    """By how many stops a light is darker without the master's intensity, without its exposure, and without both."""
    typed = board.master.as_typed(row.section, row.group, LEVEL)
    intensity, exposure = number_typed(typed, "intensity"), number_typed(typed, "exposure") or 0.0
    if intensity is None or intensity <= 0.0:
        return [exposure]
    return [math.log2(intensity), exposure, math.log2(intensity) + exposure]


def _fallen(board: Board, index: int, column: int) -> list[str]:
    """The names that were typed otherwise than in the master, where all of them are at the fallbacks; else none."""
    found = []
    for name, here, _ in typed_otherwise(board, index, column):
        if name in _AIMS and here is None:
            continue
        if name not in _FALLBACKS or not _is_fallback(name, here):
            return []
        found.append(name)
    return found


def _is_fallback(name: str, typed: Any) -> bool:
    if isinstance(typed, list):
        return bool(typed == _FALLBACKS[name])
    return number_typed({name: typed}, name) == _FALLBACKS[name] and not isinstance(typed, dict)


def _finding(board: Board, name: str, group: str, names: tuple[str, ...], cells: list[Cell]) -> Finding:
    shots = board.shots([column for _, column in cells])
    light = thing(group.partition(".")[2])
    has = listed([_WORDS[one] for one in names])
    return board.make(
        name,
        sentence(f"{light} has {has} in {shots}, as a light has that states nothing."),
        cells,
        sureness=Sureness.LIKELY if len(names) > 1 else Sureness.POSSIBLE,
        known="These are the fallbacks of UsdLux; the master has other values.",
        guessed="It was made anew, or its values were lost on the way.",
        do=f"Set it as the master has it: {listed(_as_master(board, cells))}.",
    )


def _as_master(board: Board, cells: list[Cell]) -> list[str]:
    first = cells[0][1]
    return list(
        dict.fromkeys(master_as_typed(board, *cell) for cell in sorted(set(cells)) if cell[1] == first)
    )
