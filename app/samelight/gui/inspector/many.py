"""Several cells at once: how many, how far they drift, and which value they share. Plain objects, no Qt."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from samelight.drift.cells import Cell, Grade
from samelight.drift.metrics import SCALES
from samelight.drift.table import Row
from samelight.drift.words import counted, measured_text, value_text
from samelight.gui.state.cell_states import STATES
from samelight.gui.state.rows import GridState
from samelight.gui.state.selection import Cells
from samelight.light.directions import Vector
from samelight.sheets import vocabulary as kinds

MOST_LISTED = 24
"""Parameters that are listed one by one; the rest is counted."""

_MOST_VALUES = 3


@dataclass(frozen=True, slots=True)
class Part:
    """One parameter in the cells that are chosen: its range of drift, its values, and the cell that is furthest off."""

    parameter: str
    drift: str
    values: str
    worst: Cell
    severity: float


@dataclass(frozen=True, slots=True)
class Many:
    """The chosen cells in words, and their parameters one by one."""

    title: str
    where: str
    counts: str
    parts: tuple[Part, ...]
    left_out: int


def summary_of(state: GridState, cells: Cells) -> Many:
    """What is said of these cells. There is at least one."""
    rows, columns = cells
    table = state.table
    known, starts = np.unique(rows, return_index=True)  # the cells stand row by row
    shots = np.flatnonzero(np.bincount(columns))
    places = f"{counted(known.size, 'parameter')} in {counted(shots.size, 'shot')}"
    if shots.size == 1:
        places = f"{counted(known.size, 'parameter')} of {table.shots[int(shots[0])]}"
    worst = np.maximum.reduceat(table.severity[rows, columns], starts)
    order = np.argsort(-worst, kind="stable").tolist()
    of_row = np.split(columns, starts[1:])
    parts = tuple(_part(state, int(known[place]), of_row[place]) for place in order[:MOST_LISTED])
    return Many(
        counted(rows.size, "cell"),
        places,
        _counts(state, cells),
        parts,
        max(len(order) - MOST_LISTED, 0),
    )


def _counts(state: GridState, cells: Cells) -> str:
    grades = state.table.grade[cells]
    said = []
    for grade in (Grade.BREAK, Grade.DRIFT, Grade.WITHIN, Grade.SAME):
        number = int((grades == grade).sum())
        if number:
            said.append(f"{number} {grade.word}")
    nothing = int((grades == Grade.NONE).sum())
    if nothing:
        said.append(f"{nothing} without anything to compare")
    decided = state.standing.states[cells][grades >= Grade.DRIFT]
    for code in range(1, len(STATES)):
        number = int((decided == code).sum())
        if number:
            said.append(f"{number} {STATES[code]}")
    return ", ".join(said)


def _part(state: GridState, row: int, columns: NDArray[np.int64]) -> Part:
    table = state.table
    severity = table.severity[row, columns]
    worst = int(columns[int(np.argmax(severity))])
    what = table.rows[row]
    north = state.session.contents.sequence.conventions.north
    return Part(
        what.parameter,
        _drifts(state, row, columns),
        _values(state, what, row, columns, north),
        (row, worst),
        float(severity.max()),
    )


def _drifts(state: GridState, row: int, columns: NDArray[np.int64]) -> str:
    """From the least drift to the largest, in the kind's unit; where it has none, how many differ."""
    table, kind = state.table, state.table.rows[row].kind
    held = table.grade[row, columns] > Grade.NONE
    if not held.any():
        return ""
    drift = table.drift[row, columns][held]
    known = drift[~np.isnan(drift)]
    differ = int((table.grade[row, columns] > Grade.SAME).sum())
    if not SCALES[kind].unit or kind == kinds.SET or not known.size:
        return f"{differ} of {columns.size} differ" if differ else "same"
    if not differ:
        return "same"
    ends = [measured_text(kind, float(end)) for end in (known.min(), known.max())]
    said = ends[0] if ends[0] == ends[1] else f"{ends[0]} to {ends[1]}"
    without = int(np.isnan(drift).sum())
    return f"{said}, {without} without a figure" if without else said


def _values(state: GridState, what: Row, row: int, columns: NDArray[np.int64], north: Vector) -> str:
    """The value that all share, or how many there are."""
    codes, counts = np.unique(state.table.codes[row, columns], return_counts=True)
    found: dict[str, int] = {}
    for code, count in zip(codes.tolist(), counts.tolist(), strict=True):
        entry = state.table.pool[code]
        value = entry.value if entry is not None else None
        text = "nothing" if value is None else value_text(value, what.kind, north)
        found[text] = found.get(text, 0) + count
    if len(found) == 1:
        text = next(iter(found))
        return f"all: {text}" if columns.size > 1 else text
    listed = sorted(found.items(), key=lambda item: -item[1])
    said = "; ".join(f"{text} ({count})" for text, count in listed[:_MOST_VALUES])
    more = f" and {len(listed) - _MOST_VALUES} more" if len(listed) > _MOST_VALUES else ""
    return f"{len(listed)} values: {said}{more}"
