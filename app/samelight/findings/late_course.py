"""An animated value that does what the master's does, some frames too late or too early, or still at the master's own frames."""

from __future__ import annotations

from collections import defaultdict

from samelight.drift.cells import Cell
from samelight.drift.words import number_text
from samelight.findings.board import Board
from samelight.findings.finding import Finding, Sureness
from samelight.findings.nearness import same
from samelight.findings.words import listed, parameter_text, sentence
from samelight.sheets.moved import start_of
from samelight.sheets.values import Curve

NAME = "late-course"

_FRAME = 1e-6
"""Frames by which two keys may be apart and yet be one."""

Course = tuple[str, float, bool]
"""A group, by how many frames its values run late, and whether that is since they stand at the master's own frames."""


def find(board: Board) -> list[Finding]:
    """One finding for each group and number of frames, with every shot and value that runs so late."""
    alike: dict[Course, list[Cell]] = defaultdict(list)
    for index, row, columns in board.rows_left(lambda row: bool(row.leaf)):
        master = board.master.value(row.section, row.group, row.leaf)
        if not isinstance(master, Curve):
            continue
        for column in columns:
            found = _late(board, index, column, master)
            if found is not None:
                alike[row.group_name, *found].append((index, column))
    return [_finding(board, course, cells) for course, cells in alike.items()]


def _late(board: Board, index: int, column: int, master: Curve) -> tuple[float, bool] | None:
    """By how many frames a shot's value runs late, and whether it stands at the master's own frames; None where it is another."""
    row, sheet, value = board.table.rows[index], board.sheets[column], board.entry(index, column).value
    if sheet is None or not isinstance(value, Curve) or value.interpolation != master.interpolation:
        return None
    if len(value.keys) != len(master.keys) or len(value.keys) < 2:
        return None
    apart = [mine[0] - its[0] for mine, its in zip(value.keys, master.keys, strict=True)]
    if max(apart) - min(apart) > _FRAME:
        return None
    if not all(same(row, its[1], mine[1]) for mine, its in zip(value.keys, master.keys, strict=True)):
        return None
    starts = start_of(sheet), start_of(board.master)
    later = 0.0 if starts[0] is None or starts[1] is None else starts[0] - starts[1]
    late = round(apart[0] - later, 6)
    return (late, abs(apart[0]) <= _FRAME) if late else None


def _finding(board: Board, course: Course, cells: list[Cell]) -> Finding:
    _, late, stayed = course
    rows = [board.table.rows[index] for index in dict.fromkeys(index for index, _ in cells)]
    shots = board.shots([column for _, column in cells])
    frames = f"{number_text(abs(late), 6)} frame{'' if abs(late) == 1.0 else 's'}"
    way, later = ("late", "later") if late > 0.0 else ("early", "earlier")
    runs, its, was = ("runs", "Its", "it was") if len(rows) == 1 else ("run", "Their", "they were")
    says = f"{listed([parameter_text(row) for row in rows])} {runs} {frames} {way} in {shots}"
    why = f"{was} shifted, or baked with another first frame"
    known = f"{its} keys are the master's, each {frames} {later}."
    if stayed:
        says += ", at the frames of the master"
        begins = "the shot begins" if len({column for _, column in cells}) == 1 else "the shots begin"
        why = f"{begins} at another frame than the master, and the keys did not come along"
        known = f"{its} keys stand at the master's frames; {begins} {frames} {'earlier' if late > 0.0 else 'later'}."
    return board.make(
        NAME,
        sentence(f"{says}: {why}."),
        cells,
        sureness=Sureness.LIKELY,
        known=known,
        guessed=f"{why[:1].upper()}{why[1:]}.",
        do=f"Shift {its.lower()} keys by {'−' if late > 0.0 else '+'}{frames}.",
    )
