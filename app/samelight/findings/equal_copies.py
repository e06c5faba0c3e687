"""Several environments in place of one, each seen by some kinds of ray only, that add up to the master's."""

from __future__ import annotations

from collections import defaultdict

from samelight.drift.cells import Cell
from samelight.findings.board import Board, is_extra
from samelight.findings.finding import NOTHING_TO_DO, Action, Concern, Finding
from samelight.findings.skies import environments, seen_alike
from samelight.findings.words import listed, sentence, thing

NAME = "equal-copies"

_STRUCTURE = ("", "seen_by", "visible", "level")


def find(board: Board) -> list[Finding]:
    """One finding for each set of names, with the shots whose environments do what the master's do."""
    extra: dict[int, list[str]] = defaultdict(list)
    for index, row, columns in board.presence_left():
        if row.section == "environments":
            for column in columns:
                if is_extra(board.entry(index, column)):
                    extra[column].append(row.group)
    reference = environments(board.master)
    alike: dict[tuple[str, ...], list[Cell]] = defaultdict(list)
    for column, names in extra.items():
        here = environments(board.sheets[column])
        if len(here) > len(reference) and seen_alike(board.evidence.policy, reference, here):
            alike[tuple(names)].extend(structure_cells(board, column))
    return [_finding(board, cells) for cells in alike.values()]


def structure_cells(board: Board, column: int) -> list[Cell]:
    """The cells of a shot that say which environments there are, who sees them and how bright they are."""
    return [
        (index, column)
        for index, row, columns in board.rows_left(lambda row: row.section == "environments")
        if row.leaf in _STRUCTURE and column in columns
    ]


def _finding(board: Board, cells: list[Cell]) -> Finding:
    columns = sorted({column for _, column in cells})
    here = listed([thing(name) for name in environments(board.sheets[columns[0]])])
    return board.make(
        NAME,
        sentence(
            f"{here} together do in {board.shots(columns)} what {listed([thing(n) for n in environments(board.master)])} "
            f"does in the master: every kind of ray sees the same, at the same level."
        ),
        cells,
        known="Map, rotation and colour agree, and the levels that each kind of ray sees add up to the master's.",
        guessed="It is the usual way to let some rays see a sky and others not.",
        do=NOTHING_TO_DO,
        concern=Concern.SOUND,
        actions=(Action.INTEND, Action.SHOW),
    )
