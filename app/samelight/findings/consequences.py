"""Computed rows that drift since something typed does: they belong to the finding that explains that."""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import replace

import numpy as np

from samelight.drift.cells import Cell
from samelight.drift.derived_names import SUBJECT
from samelight.findings.board import Board
from samelight.findings.finding import Finding
from samelight.findings.words import sentence, size_text, thing
from samelight.light.noise import first_largest
from samelight.sheets.vocabulary import LEVEL


def attach(board: Board, findings: list[Finding]) -> list[Finding]:
    """The findings, each with the computed cells that follow from its own: of several, the first in order of precedence."""
    owners = {cell: number for number, finding in enumerate(findings) for cell in finding.cells}
    gained: dict[int, list[Cell]] = defaultdict(list)
    waiting = board.unsettled & ~board.taken & board.following.mask
    for index, column in np.argwhere(waiting).tolist():
        causes = ((cause, column) for cause in board.following.causes(index, column))
        owner = min((owners[cell] for cell in causes if cell in owners), default=None)
        if owner is not None:
            gained[owner].append((index, column))
    for index, column in _of_subjects(board):
        lights = (
            number
            for cell, number in owners.items()
            if cell[1] == column and board.table.rows[cell[0]].section in ("lights", "environments")
        )
        owner = min(lights, default=None)
        if owner is not None:
            gained[owner].append((index, column))
    result = list(findings)
    for number, spots in gained.items():
        board.take(spots)
        cells = (*findings[number].cells, *sorted(spots))
        said = " ".join(part for part in (findings[number].known, _at_mark(board, spots)) if part)
        result[number] = replace(findings[number], cells=cells, explained=board.named(cells), known=said)
    return result


def _of_subjects(board: Board) -> list[Cell]:
    """Cells of subjects that lights which drift account for: cases by themselves, and told with what explains those."""
    subject = np.array([row.section == SUBJECT for row in board.table.rows], dtype=np.bool_)
    left = np.argwhere(board.unsettled & ~board.taken & subject[:, None])
    return [(index, column) for index, column in left.tolist()]


def _at_mark(board: Board, spots: list[Cell]) -> str:
    """The largest change of what a light gives a mark, as a sentence; empty where none changed."""
    table = board.table
    at_marks = [
        (abs(float(table.drift[cell])), cell, table.rows[cell[0]].leaf.partition(".")[2])
        for cell in spots
        if table.rows[cell[0]].section == "marks" and table.rows[cell[0]].leaf.startswith("level.")
    ]
    finite = [change for change in at_marks if math.isfinite(change[0])]
    if not finite:
        return ""
    size, cell, light = finite[first_largest(change[0] for change in finite)]
    more = "more" if table.drift[cell] > 0 else "less"
    mark, shot = table.rows[cell[0]].group, table.shots[cell[1]]
    return sentence(f"{thing(mark)} gets {size_text(LEVEL, size)} {more} of {thing(light)} in {shot}.")
