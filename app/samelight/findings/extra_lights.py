"""Lights and environments that only a shot has, or that it lacks: a copy of one that is there, or several at once."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from samelight.drift.cells import Cell, Grade
from samelight.drift.table import graded
from samelight.findings.board import Board, is_absent, is_extra
from samelight.findings.finding import Finding, Sureness
from samelight.findings.words import listed, sentence, thing
from samelight.sheets.values import Curve, Group, Level

DUPLICATE = "duplicate"
SEVERAL = "several-lights"

LOOKS = ("type", "position", "direction", "level", "colour", "rotation", "texture", "seen_by")
"""What makes two lights one and the same twice."""

MANY = 3
"""Lights that come or go in a shot and are told in one sentence."""


def duplicates(board: Board) -> list[Finding]:
    """An extra light that is a copy of another one in the shot.

    One finding for each copy and what it is a copy of, with every shot that has it.
    """
    found: dict[tuple[str, str, str], list[Cell]] = defaultdict(list)
    for index, row, columns in board.presence_left():
        for column in columns:
            if not is_extra(board.entry(index, column)):
                continue
            original = _original(board, column, row.section, row.group)
            if original:
                found[row.section, row.group, original].append((index, column))
    return [_duplicate(board, *key, cells) for key, cells in found.items()]


def _original(board: Board, column: int, section: str, name: str) -> str:
    """What stands in the same shot and is the same; empty where nothing is."""
    sheet = board.sheets[column]
    here = {} if sheet is None else sheet.sections.get(section, {})
    copy = here.get(name)
    if copy is None:
        return ""
    master = board.master_at(column).sections.get(section, {})
    for other in master:
        if other in here and (
            _same(board, section, other, here[other], copy)
            or _same(board, section, other, master[other], copy)
        ):
            return other
    return ""


def _same(board: Board, section: str, name: str, group: Group, copy: Group) -> bool:
    told = [leaf for leaf in LOOKS if leaf in group or leaf in copy]
    for leaf in told:
        index, a, b = board.row_of(section, name, leaf), group.get(leaf), copy.get(leaf)
        if a == b:
            continue
        if (
            index is None
            or a is None
            or b is None
            or graded(board.table.rows[index], a, b).grade > Grade.WITHIN
        ):
            return False
    return len(told) > 2


def _duplicate(board: Board, section: str, name: str, original: str, cells: list[Cell]) -> Finding:
    level = board.master.value(section, original, "level")
    more = ": 1 stop more of it" if isinstance(level, Level | Curve) else ""
    return board.make(
        DUPLICATE,
        sentence(
            f"{thing(name)} is a duplicate of {thing(original)} in {board.shots([column for _, column in cells])}, "
            f"which so counts twice{more}."
        ),
        cells,
        sureness=Sureness.LIKELY,
        known="It stands, points and shines as the other does.",
        guessed="It was copied, or came in twice.",
        do=f"Take {thing(name)} out.",
    )


def several(board: Board) -> list[Finding]:
    """Three lights or more that come, or go, in a shot or a set of shots, and that nothing explains."""
    by_shot: dict[tuple[int, bool], list[int]] = defaultdict(list)
    for index, row, columns in board.presence_left():
        for column in columns if row.section == "lights" else ():
            entry = board.entry(index, column)
            if is_extra(entry) or is_absent(entry):
                by_shot[column, is_extra(entry)].append(index)
    alike: dict[tuple[bool, tuple[int, ...]], list[int]] = defaultdict(list)
    for (column, extra), rows in by_shot.items():
        if len(rows) >= MANY:
            alike[extra, tuple(rows)].append(column)
    return [_several(board, extra, rows, columns) for (extra, rows), columns in alike.items()]


def _several(board: Board, extra: bool, rows: tuple[int, ...], columns: list[int]) -> Finding:
    names = [board.table.rows[index].group for index in rows]
    what = "are extra" if extra else "are absent"
    every = not extra and len(names) == len(board.master.sections.get("lights", {}))
    count = "all lights" if every else f"{len(names)} lights"
    return board.make(
        SEVERAL,
        sentence(f"{count} {what} in {board.shots(columns)}: {listed(list(_runs(names)))}."),
        [(index, column) for index in rows for column in columns],
        sureness=Sureness.LIKELY,
        known=f"The master {'has none of them' if extra else 'has them'}.",
        guessed="They came in together." if extra else "They went together: a reference or a group is gone.",
        do="Say that they are meant, or take them out."
        if extra
        else "Bring them back as the master has them.",
    )


def _runs(names: list[str]) -> Iterator[str]:
    """Names, three and more that are numbered in a row as a range.

    >>> list(_runs(["a_1", "a_2", "a_3", "key"]))
    ['a_1 to a_3', 'key']
    """
    runs: list[list[str]] = []
    for name in names:
        stem, number = _numbered(name)
        last = _numbered(runs[-1][-1]) if runs else ("", None)
        if number is not None and last[1] is not None and (stem, number) == (last[0], last[1] + 1):
            runs[-1].append(name)
        else:
            runs.append([name])
    for run in runs:
        yield from [f"{run[0]} to {run[-1]}"] if len(run) > 2 else run


def _numbered(name: str) -> tuple[str, int | None]:
    stem = name.rstrip("0123456789")
    return stem, int(name[len(stem) :]) if len(stem) < len(name) < len(stem) + 10 else None
