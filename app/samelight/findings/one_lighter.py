"""What differs in all shots of one lighter and in nobody else's."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping

from samelight.drift.cells import Cell
from samelight.drift.metrics import SCALES
from samelight.drift.words import counted
from samelight.findings.board import Board
from samelight.findings.finding import Finding, Sureness
from samelight.findings.words import happening, listed, parameter_text, sentence
from samelight.light.noise import first_largest
from samelight.sheets.errors import SamelightError
from samelight.sheets.sheet import Sheet
from samelight.sheets.shot_lists import NamedShots

NAME = "one-lighter"

FEWEST = 3
"""Shots that a lighter must have for theirs to be no chance; the others together must have as many."""

OTHERS = 0.2
"""Share of the others' shots that may differ as well, each by a tweak of its own, where the lighter has more than the fewest."""

_STATED = (
    ("published", "by"),
    ("published", "who"),
    ("source", "by"),
    ("source", "artist"),
    ("source", "user"),
)


def find(board: Board) -> list[Finding]:
    """One finding for each lighter, with every parameter that differs in all of their shots and in no others."""
    shots = _shots_of_each(board)
    named = sum(map(len, shots.values()))
    of_all = {
        who: columns
        for who, columns in shots.items()
        if len(columns) >= FEWEST and named - len(columns) >= FEWEST
    }
    if not of_all:
        return []
    found: dict[str, list[Cell]] = defaultdict(list)
    for index, _, columns in board.rows_left(lambda row: bool(row.leaf)):
        drifting = set(columns)
        for who, theirs in of_all.items():
            others = int(board.unsettled[index].sum()) - len(theirs)
            room = OTHERS * (named - len(theirs)) if len(theirs) > FEWEST else 0
            if drifting.issuperset(theirs) and others <= room and _one_way(board, index, theirs):
                found[who].extend((index, column) for column in theirs)
    return [_finding(board, who, cells) for who, cells in found.items()]


def _one_way(board: Board, index: int, columns: list[int]) -> bool:
    """Whether a signed drift goes to one side in all these shots: a habit does, tweaks do not."""
    drifts = board.table.drift[index, columns]
    signed = SCALES[board.table.rows[index].kind].signed
    return not signed or bool((drifts > 0.0).all() or (drifts < 0.0).all())


def _shots_of_each(board: Board) -> dict[str, list[int]]:
    """The columns of each lighter, by the sequence's own list, else by what the sheets say."""
    shots: dict[str, list[int]] = defaultdict(list)
    listed, named = board.evidence.lighters, NamedShots(board.table.shots)
    for who in listed:
        try:
            columns = [board.table.column(shot) for shot in named.of_lighter(who, listed)]
        except SamelightError:
            continue  # none of theirs is in the cut, which the sequence itself is told
        shots[who] = [column for column in columns if column is not None and board.sheets[column] is not None]
    if listed:
        return shots
    for column, sheet in enumerate(board.sheets):
        who = "" if sheet is None else lighter(sheet)
        if who:
            shots[who].append(column)
    return shots


def lighter(sheet: Sheet) -> str:
    """Who made a sheet, as it says itself; empty where it does not."""
    for section, name in _STATED:
        stated = sheet.typed.get(section)
        who = stated.get(name) if isinstance(stated, Mapping) else None
        if isinstance(who, str) and who.strip():
            return who.strip()
    return ""


def _finding(board: Board, who: str, cells: list[Cell]) -> Finding:
    columns = sorted({column for _, column in cells})
    rows = list(dict.fromkeys(index for index, _ in cells))
    worst = cells[first_largest(float(board.table.severity[cell]) for cell in cells)]
    names = listed([parameter_text(board.table.rows[index]) for index in rows], at_most=4)
    said = happening(board.table.rows[worst[0]], board.entry(*worst), board.north)
    verb = "differs" if len(rows) == 1 else "differ"
    others = max(int(board.unsettled[index].sum()) for index in rows) - len(columns)
    nobody = (
        f"in {'only one' if others == 1 else f'only {others}'} of the others'"
        if others
        else "in nobody else's"
    )
    return board.make(
        NAME,
        sentence(
            f"{names} {verb} in all {counted(len(columns), 'shot')} of {who} and {nobody} "
            f"({board.shots(columns)}): {said} in {board.table.shots[worst[1]]}."
        ),
        cells,
        sureness=Sureness.LIKELY,
        known=f"By the list of lighters, or by the sheets where there is none, {who} made these {len(columns)} shots.",
        guessed=f"{who} has a setup or a habit of their own.",
        do=f"Ask {who} once.",
    )
