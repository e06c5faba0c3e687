"""One cause in many shots: the same drifted value again and again."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence

from samelight.drift.metrics import SCALES
from samelight.drift.table import Row
from samelight.findings.board import SAME_SHARE, Board, Spot
from samelight.findings.finding import Finding, Sureness
from samelight.findings.words import counted, listed, parameter_text, sentence
from samelight.sheets.vocabulary import CHOICE, COUNT, PRESENCE, SET, SWITCH, TEXT

NAME = "one-cause"

_COARSE = frozenset({SWITCH, CHOICE, COUNT, PRESENCE, SET, TEXT})
"""Kinds of few values, where two shots far apart may well agree by chance."""

_OPEN_CLUSTERS = 24
"""Values of nearly equal drift that are kept apart at a time; more than that are no one cause anyway."""


def find(board: Board) -> list[Finding]:
    """One finding for each set of shots that share drifted values, with all the parameters they share."""
    shared: dict[tuple[int, ...], list[int]] = defaultdict(list)
    for index, row, columns in board.rows_left():
        if len(columns) > 1:
            for cluster in _clusters(board, index, row, columns):
                if _convinces(row, cluster):
                    shared[tuple(cluster)].append(index)
    return [_finding(board, indices, list(columns)) for columns, indices in shared.items()]


def _clusters(board: Board, index: int, row: Row, columns: Sequence[int]) -> list[list[int]]:
    """Columns that hold one value, as far as rounding lets values be one."""
    by_value: dict[object, list[int]] = defaultdict(list)
    for column in columns:
        value = board.entry(index, column).value
        by_value[type(value), value].append(column)
    # Values that are one have nearly one drift, so that in its order only neighbours need be compared.
    slack = 2.0 * SAME_SHARE * row.tolerance.at_most + SCALES[row.kind].noise
    ordered = sorted(by_value.values(), key=lambda group: _place(board, index, group[0]))
    clusters: list[list[int]] = []
    near: list[list[int]] = []
    for group in ordered:
        entry, place = board.entry(index, group[0]), _place(board, index, group[0])
        near = [c for c in near if place - _place(board, index, c[0]) <= slack][-_OPEN_CLUSTERS:]
        match = next((c for c in near if board.same(row, board.entry(index, c[0]).value, entry.value)), None)
        if match is None:
            match = []
            near.append(match)
            clusters.append(match)
        match.extend(group)
    return [sorted(cluster) for cluster in clusters if len(cluster) > 1]


def _place(board: Board, index: int, column: int) -> float:
    drift = float(board.table.drift[index, column])
    return drift if math.isfinite(drift) else 0.0


def _convinces(row: Row, columns: Sequence[int]) -> bool:
    if row.kind not in _COARSE:
        return len(columns) > 1
    return len(columns) > 2 or columns[1] - columns[0] == 1


def _consecutive(columns: Sequence[int]) -> bool:
    return columns[-1] - columns[0] == len(columns) - 1


def _finding(board: Board, indices: list[int], columns: list[int]) -> Finding:
    cells: list[Spot] = [(index, column) for index in indices for column in columns]
    worst = max(indices, key=lambda index: (board.table.severity[index, columns[0]], -index))
    happened, shots, many = board.happening(worst, columns[0]), board.shots(columns), len(columns)
    together = _consecutive(columns)
    every = many == sum(sheet is not None for sheet in board.sheets) and many > 2
    alike = f"the same in {'both' if many == 2 else f'all {_number(many)}'}"
    more = ""
    if len(indices) > 1:
        others = [parameter_text(board.table.rows[index]) for index in indices if index != worst]
        more = f"; {listed(others, at_most=3)} too {'drift' if len(others) > 1 else 'drifts'} alike there"
    if every:
        reading = "every shot has it: is the master out of date?"
        do = "If it is right, publish it as the next master; if not, send it back."
    else:
        reading = f"one publish, not {_number(many)} nudges"
        do = "Find the publish or the file they share and mend it once, or say that it is meant."
    return board.make(
        NAME,
        sentence(f"{happened} in {shots}, {alike}{more}: {reading}{'' if every else '.'}"),
        cells,
        sureness=Sureness.LIKELY if together or many > 2 or len(indices) > 2 else Sureness.POSSIBLE,
        known=f"{counted(many, 'shot')} have one value{', next to each other in the cut' if together else ''}.",
        guessed="They took it from one place.",
        do=do,
    )


def _number(count: int) -> str:
    return ("two", "three", "four", "five", "six")[count - 2] if 2 <= count <= 6 else str(count)
