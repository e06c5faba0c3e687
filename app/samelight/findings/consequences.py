"""Computed rows that drift since something typed does: they belong to the finding that explains that."""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import replace

import numpy as np

from samelight.drift.table import Row
from samelight.findings.board import Board, Spot
from samelight.findings.finding import Finding
from samelight.findings.words import sentence, size_text, thing
from samelight.sheets.vocabulary import LEVEL

_SEEN_BY_RAYS = ("environments",)
_SUN_AND_SKY = ("lights", "environments")


def attach(board: Board, findings: list[Finding]) -> list[Finding]:
    """The findings, each with the computed cells that follow from its own.

    A computed cell goes to the finding that explains drift of the light it names in that shot; what rays see to one
    about an environment there; sums and ratios to one about any light there, the first in order of precedence.
    """
    owners: dict[int, list[tuple[int, Row]]] = defaultdict(list)
    for number, finding in enumerate(findings):
        for index, column in finding.cells:
            owners[column].append((number, board.table.rows[index]))
    gained: dict[int, list[Spot]] = defaultdict(list)
    waiting = board.open & ~board.taken & ~board.typed[:, None]
    for index, column in np.argwhere(waiting).tolist():
        owner = _owner(board.table.rows[index], owners.get(column, []))
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
    size, spot, light = max(finite)
    more = "more" if table.drift[spot] > 0 else "less"
    mark, shot = table.rows[spot[0]].group, table.shots[spot[1]]
    return sentence(f"{thing(mark)} gets {size_text(LEVEL, size)} {more} of {thing(light)} in {shot}.")


def _owner(row: Row, owners: list[tuple[int, Row]]) -> int | None:
    named = [number for number, owner in owners if owner.group and row.parameter.endswith(f".{owner.group}")]
    if named:
        return named[0]
    sections = _SEEN_BY_RAYS if row.section == "rays" else _SUN_AND_SKY
    related = [number for number, owner in owners if owner.section in sections]
    return related[0] if related else None
