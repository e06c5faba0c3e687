"""Computed rows that drift since something typed does: they belong to the finding that explains that."""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import replace

import numpy as np

from samelight.findings.board import Board, Spot
from samelight.findings.finding import Finding
from samelight.findings.words import sentence, size_text, thing
from samelight.light.noise import first_largest
from samelight.sheets.vocabulary import LEVEL


def attach(board: Board, findings: list[Finding]) -> list[Finding]:
    """The findings, each with the computed cells that follow from its own: of several, the first in order of precedence."""
    owners = {spot: number for number, finding in enumerate(findings) for spot in finding.cells}
    gained: dict[int, list[Spot]] = defaultdict(list)
    waiting = board.open & ~board.taken & board.following.mask
    for index, column in np.argwhere(waiting).tolist():
        causes = ((cause, column) for cause in board.following.causes(index, column))
        owner = min((owners[spot] for spot in causes if spot in owners), default=None)
        if owner is not None:
            gained[owner].append((index, column))
    result = list(findings)
    for number, spots in gained.items():
        board.take(spots)
        cells = (*findings[number].cells, *sorted(spots))
        said = " ".join(part for part in (findings[number].known, _at_mark(board, spots)) if part)
        result[number] = replace(findings[number], cells=cells, explained=board.named(cells), known=said)
    return result


def _at_mark(board: Board, spots: list[Spot]) -> str:
    """The largest change of what a light gives a mark, as a sentence; empty where none changed."""
    table = board.table
    at_marks = [
        (abs(float(table.drift[spot])), spot, table.rows[spot[0]].leaf.partition(".")[2])
        for spot in spots
        if table.rows[spot[0]].section == "marks" and table.rows[spot[0]].leaf.startswith("level.")
    ]
    finite = [change for change in at_marks if math.isfinite(change[0])]
    if not finite:
        return ""
    size, spot, light = finite[first_largest(change[0] for change in finite)]
    more = "more" if table.drift[spot] > 0 else "less"
    mark, shot = table.rows[spot[0]].group, table.shots[spot[1]]
    return sentence(f"{thing(mark)} gets {size_text(LEVEL, size)} {more} of {thing(light)} in {shot}.")
