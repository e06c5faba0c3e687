"""A level that creeps across the cut: no step shows, and in the end it is out of tolerance."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from samelight.drift.cells import Grade
from samelight.findings.board import Board, Rests
from samelight.findings.finding import Finding, Sureness
from samelight.findings.words import group_text, parameter_text, sentence, size_text
from samelight.light.noise import NOISE
from samelight.sheets.values import Curve
from samelight.sheets.vocabulary import LEVEL

NAME = "slow-drift"

SHOTS = 6
"""Fewest shots in a row that make a trend."""

RANK = 0.8
"""Least rank correlation (Kendall's tau-b, as a size) of level with cut order."""

_REVERSAL = 0.5
"""Share of the tolerance by which a level must turn back before a run ends."""

_NEARLY = 0.05
"""By how much a part may be less in order than the part that is most."""


def find(board: Board) -> list[Finding]:
    """One finding for each level and run of shots."""
    found = []
    for index in _candidates(board):
        row = board.table.rows[index]
        tolerance = row.tolerance.at_most
        levels = _levels(board, index)
        for start, end in runs(levels, tolerance):
            creeping = _creeping(levels, start, end, tolerance)
            if creeping is not None:
                first, last, total = creeping
                found.append(_finding(board, index, range(first, last), total))
    return found


def _candidates(board: Board) -> list[int]:
    table = board.table
    if not table.shots:
        return []
    is_level = np.array([row.kind == LEVEL for row in table.rows], dtype=np.bool_) & board.typed
    finite = np.where(np.isfinite(table.drift), table.drift, 0.0)
    moves = is_level & ((table.grade > Grade.SAME).sum(axis=1) >= SHOTS - 1)
    if not moves.any():
        return []
    spread = finite.max(axis=1) - finite.min(axis=1)
    return [
        index
        for index in np.flatnonzero(moves).tolist()
        if spread[index] > table.rows[index].tolerance.at_most
    ]


def _levels(board: Board, index: int) -> list[float]:
    """Drift in stops by column; NaN where a cell has none that counts: animated, intended, explained already."""
    levels = np.where(board.meant[index] | board.taken[index], np.nan, board.table.drift[index]).tolist()
    entries = board.table.line(index)
    return [
        math.nan if entry is None or isinstance(entry.value, Curve) or math.isinf(level) else level
        for entry, level in zip(entries, levels, strict=True)
    ]


def runs(levels: Sequence[float], tolerance: float) -> Iterator[tuple[int, int]]:
    """Start and end of every run that goes one way in steps no larger than the tolerance.

    Turning back by less than half the tolerance ends no run. Shorter runs than `SHOTS` are left out.

    >>> list(runs([0.0, 0.0, 0.03, 0.05, 0.09, 0.11, 0.14, 0.14, 0.5], 0.1))
    [(0, 8)]
    """
    slack = _REVERSAL * tolerance
    start = extreme = low = high = 0
    way = 0
    for index in range(1, len(levels) + 1):
        step = levels[index] - levels[index - 1] if index < len(levels) else math.nan
        # A step to or from NaN is no small step either.
        if not abs(step) <= tolerance * (1.0 + NOISE):
            yield from _long_enough(start, index if way == 0 or extreme == index - 1 else extreme + 1)
            start = extreme = low = high = index
            way = 0
            continue
        level = levels[index]
        if way == 0:
            low, high = (index if level < levels[low] else low), (index if level > levels[high] else high)
            if level - levels[low] > slack:
                way, start, extreme = 1, low, index
            elif levels[high] - level > slack:
                way, start, extreme = -1, high, index
        elif way * (level - levels[extreme]) >= 0.0:
            extreme = index
        elif way * (levels[extreme] - level) > slack:
            yield from _long_enough(start, extreme + 1)
            way, start, extreme = -way, extreme, index


def _long_enough(start: int, end: int) -> Iterator[tuple[int, int]]:
    if end - start >= SHOTS:
        yield start, end


def _creeping(
    levels: Sequence[float], start: int, end: int, tolerance: float
) -> tuple[int, int, float] | None:
    """The part of a run that is a trend, and its total in stops; None where none is."""
    if abs(levels[end - 1] - levels[start]) <= tolerance * (1.0 + NOISE):
        return None
    first, last = one_way_part(levels[start:end])
    stretch = levels[start + first : start + last]
    slope, rank = trend(stretch)
    total = slope * (len(stretch) - 1)
    if abs(rank) < RANK or abs(total) <= tolerance * (1.0 + NOISE):
        return None
    return start + first, start + last, total


def one_way_part(levels: Sequence[float]) -> tuple[int, int]:
    """Start and end of the part that goes one way; the ends, where the level hovers, are cut off.

    Each end is cut at the first place from which on the rank correlation is nearly as good as it can get. What is
    left has `SHOTS` at least. Ends that stand still go too.

    >>> one_way_part([0.02, 0.0, 0.02, 0.01, 0.0, 0.03, 0.06, 0.09, 0.12, 0.15, 0.18, 0.21])
    (4, 12)
    """
    values: NDArray[np.float64] = np.asarray(levels, dtype=np.float64)
    signs = np.triu(np.sign(values[None, :] - values[:, None]))
    first = _cut(signs.sum(axis=1)[::-1])
    last = len(values) - _cut(signs[first:, first:].sum(axis=0))
    return first, last


def _cut(gains: NDArray[np.float64]) -> int:
    """How many places to cut off the far end, from what each place adds to the order of those before it."""
    count = gains.size
    sizes = np.arange(count)
    orders = np.abs(np.cumsum(gains)[SHOTS - 1 :]) / (sizes * (sizes + 1.0) / 2.0)[SHOTS - 1 :]
    # The longest part comes last.
    good = np.flatnonzero(orders >= orders.max() - _NEARLY)
    return int(count - SHOTS - good[-1])


def trend(levels: Sequence[float]) -> tuple[float, float]:
    """Theil-Sen slope (the median of the slopes of all pairs, per shot) and Kendall's tau-b of level with order, -1..1.

    Both as in Sen 1968 (doi:10.1080/01621459.1968.10480934) and Kendall 1945 (doi:10.1093/biomet/33.3.239), from memory.
    Ties count in tau-b; a level that never moves has a tau of 0.

    >>> trend([0.0, 0.5, 1.0, 1.5])
    (0.5, 1.0)
    """
    values: NDArray[np.float64] = np.asarray(levels, dtype=np.float64)
    first, second = np.triu_indices(values.size, k=1)
    rises = values[second] - values[first]
    if rises.size == 0:
        return 0.0, 0.0
    moved = np.count_nonzero(rises)
    tau = float(np.sign(rises).sum() / math.sqrt(moved * rises.size)) if moved else 0.0
    return float(np.median(rises / (second - first))), tau


def _finding(board: Board, index: int, columns: range, total: float) -> Finding:
    row = board.table.rows[index]
    cells = [(index, column) for column in columns if board.table.grade[index, column] > Grade.SAME]
    first, last = (board.table.shots[column] for column in (cells[0][1], cells[-1][1]))
    who = group_text(row) if row.leaf == "level" else parameter_text(row)
    way = "brighter" if total > 0 else "darker"
    return board.make(
        NAME,
        sentence(
            f"{who} gets {way} by {size_text(LEVEL, total)} from {first} to {last}, "
            "in steps that no cut shows."
        ),
        cells,
        sureness=Sureness.LIKELY,
        known=f"The level goes one way over {len(columns)} shots; each step is inside the tolerance.",
        guessed="Each shot was matched to the one before it, not to the master.",
        do="Set each to the master's level, not to its neighbour's.",
        rests={column: Rests({row.parameter: board.entry(index, column).value}) for _, column in cells},
        subject=row.parameter,
    )
