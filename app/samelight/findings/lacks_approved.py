"""A shot without the change that was approved for the shots around it: a night scene in which one shot has the day's sky."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from samelight.decisions.state import UNDECIDED, State
from samelight.drift.cells import Cell, Grade
from samelight.findings.board import Board, Rests
from samelight.findings.finding import Concern, Finding
from samelight.findings.words import listed, parameter_text
from samelight.sheets.values import Value, alike

NAME = "lacks-approved"

LONGEST = 3
"""Shots in a row that may lack a change. More of them are a scene of their own, and the change is of those around it."""


@dataclass(frozen=True, slots=True)
class _Lack:
    """A parameter that a shot has otherwise than its neighbours, in which one value is intended.

    `approved` are the nearest columns where it is, before the shot and after it.
    """

    index: int
    approved: tuple[int, ...]


def find(board: Board) -> list[Finding]:
    """One finding for each shot, with every parameter that it lacks.

    What drifts in it as well is a cell that one decides on; what is as the master's has no such cell, and is decided on
    with the finding.
    """
    lacks: dict[int, list[_Lack]] = defaultdict(list)
    several = (board.meant & board.typed[:, None]).sum(axis=1) >= 2
    for index in np.flatnonzero(several).tolist():
        if board.table.rows[index].section == "cost":
            continue
        for column, approved in _lacking(board, index):
            lacks[column].append(_Lack(index, approved))
    return [_finding(board, column, found) for column, found in sorted(lacks.items())]


def _lacking(board: Board, index: int) -> Iterator[tuple[int, tuple[int, ...]]]:
    """Columns that lack a parameter's approved change, and between which columns that have it each stands."""
    columns = [
        column
        for column, sheet in enumerate(board.sheets)
        if sheet is not None and not _is_settled(board, index, column)
    ]
    runs = _runs(board, index, columns)
    for before, run, after in zip(runs, runs[1:], runs[2:], strict=False):
        if not (before.approved and after.approved) or run.holds:
            continue
        around = len(before.columns) + len(after.columns)
        if alike(before.value, after.value) and len(run.columns) <= LONGEST and around > len(run.columns):
            for column in run.columns:
                yield (
                    column,
                    (_nearest(board, index, before.columns[::-1]), _nearest(board, index, after.columns)),
                )


def _nearest(board: Board, index: int, columns: Sequence[int]) -> int:
    """The first of these columns in which the value is intended."""
    return next(column for column in columns if board.meant[index, column])


@dataclass(slots=True)
class _Run:
    """Neighbours in the cut that have one value which is intended in some shot, or one after another that have none.

    `approved`: in one of them at least it is intended.
    """

    value: Value | None
    columns: list[int]
    holds: bool
    approved: bool

    def takes(self, other: _Run) -> bool:
        """Whether what comes next in the cut belongs to it."""
        return self.holds == other.holds and (not self.holds or alike(self.value, other.value))


def _runs(board: Board, index: int, columns: Sequence[int]) -> list[_Run]:
    intended = [value_of(board, index, column) for column in np.flatnonzero(board.meant[index]).tolist()]
    runs: list[_Run] = []
    for column in columns:
        value, approved = value_of(board, index, column), bool(board.meant[index, column])
        # It may have the value though nobody has approved it there yet.
        holds = approved or any(alike(value, one) for one in intended)
        run = _Run(value, [column], holds, approved)
        if runs and runs[-1].takes(run):
            runs[-1].columns.append(column)
            runs[-1].approved |= approved
        else:
            runs.append(run)
    return runs


def value_of(board: Board, index: int, column: int) -> Value | None:
    """What a shot has, None for nothing."""
    entry = board.table.entry(index, column)
    return None if entry is None else entry.value


def _is_settled(board: Board, index: int, column: int) -> bool:
    """Whether there is nothing to say of a shot: it was sent back or is disputed as it is, or is not compared here.

    A decision that has lapsed or was withdrawn says nothing of what the shot has now.
    """
    state = board.evidence.judgements.get((index, column), UNDECIDED).state
    return state.to_mend or state is State.TWO_OPINIONS or not _is_compared(board, index, column)


def _is_compared(board: Board, index: int, column: int) -> bool:
    """Whether a parameter means anything in a shot: not where the light that it is of is not there, or is not the master's."""
    row = board.table.rows[index]
    if not row.leaf:
        return True
    return board.group(column, row.section, row.group) != {} and not (
        board.table.grade.item(index, column) == Grade.NONE and board.table.entry(index, column) is not None
    )


def _finding(board: Board, column: int, lacks: Sequence[_Lack]) -> Finding:
    cells: list[Cell] = [(lack.index, column) for lack in lacks if board.drifts(lack.index, column)]
    quiet = [lack for lack in lacks if not board.drifts(lack.index, column)]
    around = [
        (lack.index, other) for lack in lacks for other in lack.approved if board.meant[lack.index, other]
    ]
    where = listed([board.table.shots[other] for other in sorted({other for _, other in around})])
    decisions = [one for cell in around for one in board.evidence.judgements[cell].decisions]
    makers = listed(list(dict.fromkeys(one.who for one in decisions)), at_most=3)
    reasons = listed(list(dict.fromkeys(one.reason for one in decisions if one.reason)), at_most=3)
    return board.make(
        NAME,
        f"{board.table.shots[column]} lacks what {makers} intended in {where}: {_what(board, column, lacks)}.",
        cells,
        columns=[column],
        parameters=[board.table.rows[lack.index].parameter for lack in lacks],
        known=f"The shots on both sides in the cut have one intended value{f' ({reasons})' if reasons else ''}.",
        guessed="The change is one of the scene, and did not reach this shot.",
        do=f"Set it as in {where}, or say that this shot is meant to differ.",
        concern=Concern.PICTURE,
        rests={column: _rests(board, column, quiet)} if quiet else None,
    )


def _what(board: Board, column: int, lacks: Sequence[_Lack]) -> str:
    """What the shot has instead, as a clause."""
    said: dict[str, list[str]] = defaultdict(list)
    for lack in lacks:
        row = board.table.rows[lack.index]
        if not row.leaf:
            instead = "there" if value_of(board, lack.index, column) is not None else "not there"
        else:
            instead = "another" if board.table.grade[lack.index, column] > Grade.SAME else "the master's"
        said[instead].append(parameter_text(row))
    clauses = [
        f"{listed(things)} {'are' if len(things) > 1 else 'is'} {instead}" for instead, things in said.items()
    ]
    return listed(clauses)


def _rests(board: Board, column: int, lacks: Sequence[_Lack]) -> Rests:
    """What the shot has, compared with what is approved around it."""
    names = {lack.index: board.table.rows[lack.index].parameter for lack in lacks}
    return Rests(
        {names[lack.index]: value_of(board, lack.index, column) for lack in lacks},
        {names[lack.index]: value_of(board, lack.index, lack.approved[0]) for lack in lacks},
        beside=True,
    )
