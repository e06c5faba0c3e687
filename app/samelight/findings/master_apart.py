"""The master as the odd one, or the key shot that is to become it: what the shots agree on among themselves is another value."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace

from samelight.decisions.state import UNDECIDED, State
from samelight.drift.cells import Grade
from samelight.drift.table import Row, build_table
from samelight.findings.board import Board
from samelight.findings.finding import Evidence, Finding, Sureness
from samelight.findings.low_samples import is_low
from samelight.findings.nearness import same
from samelight.findings.noise import buys_noise
from samelight.findings.words import listed, parameter_text
from samelight.sheets.moved import each_moved
from samelight.sheets.values import Value

NAME = "master-apart"

FEWEST = 3
"""Shots that must agree: two may do so by chance."""

MOST = 0.75
"""Share of the shots that must agree; each of the others may differ for a reason of its own."""

_TO_MEND = (State.SENT_BACK, State.TAKEN_UP)

_NAMED = 4

Agreed = Mapping[int, Sequence[int]]
"""By row, the columns of the shots that agree on one value."""


def find(board: Board) -> list[Finding]:
    """One finding with all values that most shots agree on and the master has otherwise, with one shot at most; one for each such shot."""
    return [_of_master(board, as_master, agreed) for as_master, agreed in _agreed(board).items()]


def of_key_shot(evidence: Evidence) -> list[Finding]:
    """The same of a key shot that no master was made of yet; nothing where it has no sheet, or a master is only unreadable."""
    name, shots = evidence.key_shot or "", evidence.table.shots
    key = evidence.sheets.get(name)
    if key is None or name not in shots or evidence.newest_master:
        return []
    # As a master it is nobody's sheet: its animation is told from the start of each shot.
    moved = each_moved(replace(key, shot=""), evidence.sheets, shots)
    table = build_table(shots, evidence.sheets, moved, evidence.policy)
    board = Board(replace(evidence, table=table, judgements={}), key)
    agreed = _agreed(board).get((shots.index(name),))
    if not agreed:
        return []
    says = f"{_most_shots(board, agreed)} agree on {_what(board, agreed)}; the key shot {name} does not."
    return [
        board.make(
            NAME,
            says,
            (),
            columns=[shots.index(name)],
            parameters=[table.rows[index].parameter for index in agreed],
            sureness=Sureness.LIKELY,
            known="Each of these shots has one value with the others.",
            guessed=f"{name} is the odd one: with it as the master all the others would be told as wrong.",
            do=f"Mend {name} before it becomes the master, or publish another shot.",
        )
    ]


def is_apart(board: Board, index: int, columns: Collection[int]) -> bool:
    """Whether the shots of these columns, which have one value, are so many that the master is rather the odd one than they are.

    What was sent back is none of them: somebody has said that the master is right.
    """
    judged = board.evidence.judgements
    open_ones = [column for column in columns if judged.get((index, column), UNDECIDED).state not in _TO_MEND]
    return len(open_ones) >= max(FEWEST, MOST * board.filled) and len(_as_master(board, index)) <= 1


def _agreed(board: Board) -> Mapping[tuple[int, ...], Agreed]:
    """The rows in which the master is apart, by the one column that is as the master, if there is one."""
    found: dict[tuple[int, ...], dict[int, Sequence[int]]] = defaultdict(dict)
    for index, row, columns in board.rows_left(lambda row: bool(row.leaf)):
        if len(columns) < max(FEWEST, MOST * board.filled):
            continue
        agreeing = _of_one_value(row, {column: board.entry(index, column).value for column in columns})
        if buys_noise(row) and is_low(board.entry(index, agreeing[0])):
            continue  # test settings left in most shots say nothing of the master
        if is_apart(board, index, agreeing):
            found[_as_master(board, index)][index] = agreeing
    return found


def _of_one_value(row: Row, values: Mapping[int, Value | None]) -> list[int]:
    """The columns that have the commonest value, but for rounding."""
    distinct = {(type(value), value): value for value in values.values()}
    commonest = Counter((type(value), value) for value in values.values()).most_common(1)[0][0]
    alike = {key for key, value in distinct.items() if same(row, distinct[commonest], value)}
    return [column for column, value in values.items() if (type(value), value) in alike]


def _as_master(board: Board, index: int) -> tuple[int, ...]:
    """The columns of the shots that have what the master has, be it nothing."""
    as_master = (Grade.SAME, Grade.WITHIN)
    line, grades = board.table.line(index), board.table.grade[index].tolist()
    return tuple(
        column
        for column, sheet in enumerate(board.sheets)
        if sheet is not None and (line[column] is None or grades[column] in as_master)
    )


def _of_master(board: Board, as_master: tuple[int, ...], agreed: Agreed) -> Finding:
    master = f"master {board.master.version}"
    apart, mend = f"{master} does not", ""
    if as_master:
        shot = board.table.shots[as_master[0]]
        made = f"the key shot {shot}" if shot == board.evidence.key_shot else shot
        apart, mend = f"{master} and {made} do not", f" and mend {shot}"
    return board.make(
        NAME,
        f"{_most_shots(board, agreed)} agree on {_what(board, agreed)}; {apart}.",
        [(index, column) for index, columns in agreed.items() for column in columns],
        sureness=Sureness.LIKELY,
        known="Each of these shots has one value with the others.",
        guessed="The master is what moved, not so many shots.",
        do=f"Settle it before anybody changes a shot: publish one of them as the next master{mend}, or send these shots back.",
    )


def _most_shots(board: Board, agreed: Agreed) -> str:
    fewest, most = (choose(map(len, agreed.values())) for choose in (min, max))
    if fewest == board.filled:
        return f"All {fewest} shots"
    return f"{fewest}{' or more' if most > fewest else ''} of {board.filled} shots"


def _what(board: Board, agreed: Agreed) -> str:
    return listed([parameter_text(board.table.rows[index]) for index in agreed], at_most=_NAMED)
