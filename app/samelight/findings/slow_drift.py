"""What creeps across the cut, of any kind that has a measure: no step shows, and in the end it is out of tolerance."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from samelight.drift.cells import Grade
from samelight.drift.table import Entry, Row
from samelight.findings.board import Board, Rests
from samelight.findings.finding import Finding, Sureness
from samelight.findings.words import group_text, parameter_text, sentence, size_text, verb_for
from samelight.light.noise import NOISE
from samelight.sheets.values import Colour, Curve, Value
from samelight.sheets.vocabulary import (
    ANGLE,
    COLOUR,
    COUNT,
    DIRECTION,
    FRACTION,
    LENGTH,
    LEVEL,
    NUMBER,
    POSITION,
    TEMPERATURE,
)

NAME = "slow-drift"

SHOTS = 6
"""Fewest shots in a row that make a trend."""

RANK = 0.8
"""Least rank correlation (Kendall's tau-b, as a size) of level with cut order."""

_REVERSAL = 0.5
"""Share of the tolerance by which a level must turn back before a run ends."""

_NEARLY = 0.05
"""By how much a part may be less in order than the part that is most."""


STEP_OF_COUNT = 0.15
"""Octaves by which a count may go from shot to shot and still creep; its tolerance lets it differ by nothing."""

_SIGNED = frozenset({LEVEL, ANGLE, LENGTH, TEMPERATURE, FRACTION, NUMBER})
_PLACED = frozenset({DIRECTION, POSITION, COLOUR})


def find(board: Board) -> list[Finding]:
    """One finding for each parameter and run of shots."""
    found = []
    for index in _candidates(board):
        entries = board.table.line(index)
        tolerance = _step(board.table.rows[index], entries)
        levels = _levels(board, index, entries, tolerance)
        for start, end in runs(levels, tolerance):
            creeping = _creeping(levels, start, end, tolerance)
            if creeping is not None:
                first, last, total = creeping
                found.append(_finding(board, index, range(first, last), total))
    return found


def _step(row: Row, entries: Sequence[Entry | None]) -> float:
    """What one shot may differ from the next and from the master, in the measure of `_levels`: the least that any may."""
    if row.kind == COUNT:
        return STEP_OF_COUNT
    off = (entry for entry in entries if entry is not None and entry.grade > Grade.SAME)
    ways = {(id(entry.master), entry.away): entry for entry in off}
    return min(
        (row.of(entry.master, entry.away).tolerance.at_most for entry in ways.values()),
        default=row.tolerance.at_most,
    )


def _candidates(board: Board) -> list[int]:
    """Rows of a kind that can creep, with a stretch of shots nearly all of which are off the master's value."""
    table = board.table
    if len(table.shots) < SHOTS:
        return []
    creeps = np.array([row.kind in _SIGNED | _PLACED | {COUNT} for row in table.rows], dtype=np.bool_)
    indices = np.flatnonzero(creeps & board.typed)
    off = (table.grade[indices] > Grade.SAME) & ~board.taken[indices] & ~board.meant[indices]
    sums = np.cumsum(np.pad(off, ((0, 0), (1, 0))), axis=1, dtype=np.int32)
    dense = (sums[:, SHOTS:] - sums[:, :-SHOTS] >= SHOTS - 1).any(axis=1)
    return [index for index in indices[dense].tolist() if table.rows[index].leaf]


def _levels(board: Board, index: int, entries: Sequence[Entry | None], tolerance: float) -> list[float]:
    """How far each column is from the master's value along the way that the row goes, in its kind's unit (a count in
    octaves); NaN where a cell has none that counts: animated, intended, explained already."""
    row, drifts = board.table.rows[index], board.table.drift[index].tolist()
    hidden = (board.meant[index] | board.taken[index]).tolist()
    if row.kind == COUNT:
        drifts = [math.log2(drift) if drift > 0.0 else math.nan for drift in drifts]
    if row.kind in _PLACED:
        drifts = _along_the_way(entries, drifts, tolerance)
    return [
        math.nan
        if entry is None or entry.value is None or out or isinstance(entry.value, Curve) or math.isinf(drift)
        else drift
        for entry, out, drift in zip(entries, hidden, drifts, strict=True)
    ]


def _along_the_way(entries: Sequence[Entry | None], drifts: Sequence[float], tolerance: float) -> list[float]:
    """Drifts of places, directions and colours with a sign: by how much they lie along the line between the two values
    that are furthest apart. What is inside the tolerance tells that line: what creeps goes through there, a nudge does not."""
    offsets = [_offset(entry) for entry in entries]
    known = [
        offset for offset, drift in zip(offsets, drifts, strict=True) if offset and abs(drift) <= tolerance
    ]
    if not known:
        return [math.nan] * len(entries)
    far = max(known, key=lambda offset: math.hypot(*offset))
    other = max(known, key=lambda offset: math.dist(offset, far))
    line = [a - b for a, b in zip(far, other, strict=True)]
    length = math.hypot(*line)
    found = []
    for offset, drift in zip(offsets, drifts, strict=True):
        size = 0.0 if offset is None else math.hypot(*offset)
        if offset is None or not math.isfinite(drift):
            found.append(math.nan)
        elif size == 0.0 or length == 0.0:
            found.append(0.0)
        else:
            found.append(
                drift * math.fsum(a * b for a, b in zip(offset, line, strict=True)) / (size * length)
            )
    return found


def _offset(entry: Entry | None) -> tuple[float, ...] | None:
    """A value less the master's; None where either has no numbers."""
    if entry is None:
        return None
    a, b = (_numbers(value) for value in (entry.master, entry.value))
    return (
        None
        if a is None or b is None or len(a) != len(b)
        else tuple(y - x for x, y in zip(a, b, strict=True))
    )


def _numbers(value: Value | None) -> tuple[float, ...] | None:
    if isinstance(value, Colour):
        return value.u, value.v
    return value if isinstance(value, tuple) else None


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
    cells = [(index, column) for column in columns if board.table.grade.item(index, column) > Grade.SAME]
    first, last = (board.table.shots[column] for column in (cells[0][1], cells[-1][1]))
    middle = range(cells[0][1], cells[-1][1] + 1)
    return board.make(
        NAME,
        sentence(f"{_creeps(row, total)} from {first} to {last}, in steps that no cut shows."),
        cells,
        # A shot on the way that equals the master is one step of it.
        columns=middle,
        sureness=Sureness.LIKELY,
        known=f"It goes one way over {len(middle)} shots; each step is inside what one shot may differ from the next.",
        guessed="Each shot was matched to the one before it, not to the master.",
        do="Set each to the master's value, not to its neighbour's.",
        rests={column: Rests({row.parameter: board.entry(index, column).value}) for _, column in cells},
        subject=row.parameter,
    )


def _creeps(row: Row, total: float) -> str:
    """What creeps, how far and which way."""
    if row.kind == COUNT:
        return f"{parameter_text(row)} slowly {_growing(row, total)} by {abs(2.0**total - 1.0) * 100:.0f} %"
    size = size_text(row.kind, total)
    if row.leaf == "level":
        return f"{group_text(row)} slowly gets {'brighter' if total > 0 else 'darker'} by {size}"
    if row.kind in _PLACED or row.leaf == "rotation":
        return f"{parameter_text(row)} slowly drifts by {size}"
    return f"{parameter_text(row)} slowly {_growing(row, total)} by {size}"


def _growing(row: Row, total: float) -> str:
    plural = verb_for(row.leaf) == "are"
    if total > 0:
        return "grow" if plural else "grows"
    return "shrink" if plural else "shrinks"
