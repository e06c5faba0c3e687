"""A file of another version than the master's: the same path but for the number of its version, or the file of another master."""

from __future__ import annotations

import re
from collections import defaultdict

from samelight.drift.cells import Cell
from samelight.drift.table import Row
from samelight.findings.board import Board
from samelight.findings.finding import Finding, Sureness
from samelight.findings.words import parameter_text, sentence
from samelight.sheets.values import FileRef
from samelight.sheets.vocabulary import FILE

NAME = "file-version"

_VERSION = re.compile(r"(?<![A-Za-z0-9])[vV](\d{1,9})(?![A-Za-z0-9])")
"""A version in a path, such as v03 between other signs than letters and digits."""


def find(board: Board) -> list[Finding]:
    """One finding for each file and version that shots have of it."""
    alike: dict[tuple[int, int, int], list[Cell]] = defaultdict(list)
    of_masters: dict[tuple[int, int], list[Cell]] = defaultdict(list)
    for index, row, columns in board.rows_left(lambda row: row.kind == FILE):
        for column in columns:
            entry = board.entry(index, column)
            if isinstance(entry.master, FileRef) and isinstance(entry.value, FileRef):
                versions = _versions(entry.master.path, entry.value.path)
                other = _of_master(board, row, entry.value)
                if versions is not None:
                    alike[index, *versions].append((index, column))
                elif other is not None:
                    of_masters[index, other].append((index, column))
    return [
        *(_finding(board, index, master, shot, cells) for (index, master, shot), cells in alike.items()),
        *(_of_another_master(board, index, other, cells) for (index, other), cells in of_masters.items()),
    ]


def _of_master(board: Board, row: Row, file: FileRef) -> int | None:
    """The newest other master that has this very file there; None where none has."""
    for version, sheet in sorted(board.evidence.masters.items(), reverse=True):
        held = sheet.value(row.section, row.group, row.leaf)
        if sheet is not board.master and isinstance(held, FileRef) and held.names_the_same(file):
            return version
    return None


def _of_another_master(board: Board, index: int, other: int, cells: list[Cell]) -> Finding:
    row, entry = board.table.rows[index], board.entry(*cells[0])
    here, there = (one.path if isinstance(one, FileRef) else "" for one in (entry.value, entry.master))
    shots = board.shots([column for _, column in cells])
    return board.make(
        NAME,
        sentence(f"{parameter_text(row)} is that of master {other} in {shots}: {here} for {there}."),
        cells,
        sureness=Sureness.LIKELY,
        known=f"Master {other} has this very file there.",
        guessed="It was not updated with the others.",
        do=f"Take {there}, or say that it is meant.",
    )


def _versions(master: str, shot: str) -> tuple[int, int] | None:
    """The versions of two paths that differ in these alone, wherever they stand; None for others.

    >>> _versions("maps/noon_v03.exr", "maps/noon_v02.exr"), _versions("v3/noon.exr", "v4/noon.exr")
    ((3, 2), (3, 4))
    >>> _versions("maps/noon_v03.exr", "maps/dusk_v02.exr"), _versions("v1/noon_v03.exr", "v2/noon_v04.exr")
    (None, None)
    """
    if _VERSION.sub("v", master) != _VERSION.sub("v", shot):
        return None
    changed = {
        (int(before), int(after))
        for before, after in zip(_VERSION.findall(master), _VERSION.findall(shot), strict=True)
        if int(before) != int(after)
    }
    return changed.pop() if len(changed) == 1 else None


def _finding(board: Board, index: int, master: int, shot: int, cells: list[Cell]) -> Finding:
    row, entry = board.table.rows[index], board.entry(*cells[0])
    paths = [one.path for one in (entry.value, entry.master) if isinstance(one, FileRef)]
    way = "an older" if shot < master else "a newer"
    shots = board.shots([column for _, column in cells])
    return board.make(
        NAME,
        sentence(
            f"{parameter_text(row)} is {way} version than the master's in {shots}: v{shot:03d} for v{master:03d}."
        ),
        cells,
        sureness=Sureness.LIKELY,
        known=f"{paths[0]} for {paths[-1]}: nothing else of the path differs.",
        guessed="It was not updated with the others."
        if shot < master
        else "It was updated, and the master was not.",
        do=f"Take {paths[-1]}, or say that it is meant.",
    )
