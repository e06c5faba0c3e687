"""One cause in many shots: the same drifted value again and again."""

from __future__ import annotations

import math
from collections import defaultdict, deque
from collections.abc import Iterator, Sequence

import numpy as np

from samelight.drift.cells import Cell
from samelight.drift.metrics import SCALES, measure
from samelight.drift.table import Row
from samelight.drift.words import counted
from samelight.findings.board import Board
from samelight.findings.finding import Finding, Sureness
from samelight.findings.happened import what_happened
from samelight.findings.master_apart import is_apart
from samelight.findings.nearness import SAME_SHARE, nearness
from samelight.findings.words import listed, parameter_text, sentence
from samelight.light.noise import first_largest
from samelight.sheets.values import Bound, Curve, Value
from samelight.sheets.vocabulary import (
    CHOICE,
    COLOUR,
    COUNT,
    DIRECTION,
    POSITION,
    PRESENCE,
    SET,
    SWITCH,
    TEXT,
)

NAME = "one-cause"

CHANCE = 0.05
"""Groups of equal values that chance alone may be expected to make in a row of the table, at most."""

_COARSE = frozenset({SWITCH, CHOICE, COUNT, PRESENCE, SET, TEXT})
"""Kinds of few values, where two shots far apart may well agree by chance."""

_DISTANCES = frozenset({DIRECTION, POSITION, COLOUR})
"""Kinds whose drift is a distance, so that two values that are one are as far from any third."""

_COARSE_SHARE = 0.1
"""Share of the drifting cells of a row that must have one such value, if they are not next to each other."""


def find(board: Board) -> list[Finding]:
    """One finding for each set of shots that share drifted values, with all the parameters they share."""
    shared: dict[tuple[int, ...], list[int]] = defaultdict(list)
    for index, row, columns in board.rows_left():
        if len(columns) > 1:
            for cluster, width in _clusters(board, index, row, columns):
                if _convinces(board, index, row, cluster, width, len(columns)):
                    shared[tuple(cluster)].append(index)
    return [_finding(board, indices, list(columns)) for columns, indices in shared.items()]


def _clusters(
    board: Board, index: int, row: Row, columns: Sequence[int]
) -> Iterator[tuple[list[int], float]]:
    """Columns that hold one value as far as rounding lets values be one, and how far apart they are in tolerances."""
    by_value: dict[object, list[int]] = defaultdict(list)
    # Of a light that only shots have all that it holds counts: a name in common is no cause.
    values: list[Bound | None] = (
        [entry.value for entry in board.entries(index, columns)]
        if row.leaf
        else [board.table.bound(index, column)[0] for column in columns]
    )
    for column, value in zip(columns, values, strict=True):
        by_value[type(value), value].append(column)
    if row.kind in _COARSE:
        clusters = [(group, 0.0) for group in by_value.values()]
    else:
        clusters = _near_values(board, index, row, list(by_value.values()))
    for cluster, width in clusters:
        if len(cluster) > 1:
            yield sorted(cluster), width


def _near_values(
    board: Board, index: int, row: Row, groups: Sequence[list[int]]
) -> list[tuple[list[int], float]]:
    """The groups of columns that hold one value, together where these values are nearly one, and how far those are apart at most."""
    # Values that are one have nearly one drift, so that in its order only neighbours need be compared; and they are about as
    # far from the first of all.
    slack = 2.0 * SAME_SHARE * row.tolerance.at_most + SCALES[row.kind].noise
    firsts = [group[0] for group in groups]
    values = [entry.value for entry in board.entries(index, firsts)]
    drift = board.table.drift[index, firsts]
    drift = np.where(np.isfinite(drift), drift, 0.0)
    drifts: list[float] = drift.tolist()
    aside = _from_first(row, values)
    clusters: list[tuple[list[int], float]] = []
    near: deque[tuple[int, int]] = deque()
    for place in np.argsort(drift, kind="stable").tolist():
        while near and drifts[place] - drifts[near[0][1]] > slack:
            near.popleft()
        for number, first in near:
            if abs(aside[place] - aside[first]) > slack:
                continue
            apart = nearness(row, values[first], values[place])
            if apart <= SAME_SHARE:
                cluster, width = clusters[number]
                clusters[number] = (cluster + groups[place], max(width, apart))
                break
        else:
            near.append((len(clusters), place))
            clusters.append((groups[place], 0.0))
    return clusters


def _from_first(row: Row, values: Sequence[Value | None]) -> list[float]:
    """How far values are from the first of them; 0 for all of a kind that has no distances, and NaN for what has none."""
    first = values[0]
    if row.kind not in _DISTANCES or first is None or isinstance(first, Curve):
        return [0.0] * len(values)
    return [
        math.nan if value is None or isinstance(value, Curve) else measure(row.kind, first, value).drift
        for value in values
    ]


def _convinces(board: Board, index: int, row: Row, columns: list[int], width: float, drifting: int) -> bool:
    """Whether that many equal values are no chance. Next to each other in the cut, two are enough."""
    together, many = _consecutive(columns), len(columns)
    if row.kind in _COARSE:
        return together or many >= max(3.0, _COARSE_SHARE * drifting)
    if width == 0.0:
        return True
    # Values might have fallen anywhere as far from the master as these are, to either side of it.
    heavy = float(board.table.severity[index, columns[0]])
    likeness = min(1.0, width / heavy) if math.isfinite(heavy) else 0.0
    if together:
        groups = len(board.table.shots) * (drifting / len(board.table.shots)) ** many
    else:
        groups = float(math.comb(drifting, many)) if many < 200 else math.inf
    return likeness ** (many - 1) * groups < CHANCE if math.isfinite(groups) else likeness < 0.1


def _consecutive(columns: Sequence[int]) -> bool:
    return columns[-1] - columns[0] == len(columns) - 1


def _finding(board: Board, indices: list[int], columns: list[int]) -> Finding:
    cells: list[Cell] = [(index, column) for index in indices for column in columns]
    worst = indices[first_largest(board.table.severity[indices, columns[0]].tolist())]
    happened, shots, many = what_happened(board, worst, columns[0]), board.shots(columns), len(columns)
    together = _consecutive(columns)
    apart = is_apart(board, worst, columns)
    alike = f"the same in {'both' if many == 2 else f'all {_number(many)}'}"
    more = ""
    if len(indices) > 1:
        others = [parameter_text(board.table.rows[index]) for index in indices if index != worst]
        more = f"; {listed(others, at_most=3)} too {'drift' if len(others) > 1 else 'drifts'} alike there"
    if apart:
        have = "every shot has" if many == board.filled else f"{many} of {board.filled} shots have"
        reading = f"{have} it: is the master out of date?"
        do = "If it is right, publish it as the next master; if not, send it back."
    else:
        reading = f"one publish, not {_number(many)} nudges"
        do = "Find the publish or the file they share and mend it once, or say that it is meant."
    return board.make(
        NAME,
        sentence(f"{happened} in {shots}, {alike}{more}: {reading}{'' if apart else '.'}"),
        cells,
        sureness=Sureness.LIKELY if together or many > 2 or len(indices) > 2 else Sureness.POSSIBLE,
        known=f"{counted(many, 'shot')} have one value{', next to each other in the cut' if together else ''}.",
        guessed="They took it from one place.",
        do=do,
    )


def _number(count: int) -> str:
    return ("two", "three", "four", "five", "six")[count - 2] if 2 <= count <= 6 else str(count)
