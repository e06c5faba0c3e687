"""More lights than the policy allows: continuity gets harder to hold with each one."""

from __future__ import annotations

from collections import defaultdict

from samelight.drift.cells import Cell
from samelight.findings.board import Board, Rests, is_extra
from samelight.findings.finding import Concern, Finding
from samelight.findings.words import listed, thing

NAME = "light-count"

LIMIT = "lights"
"""Name of the limit in a policy: `limits: {lights: 12}`."""


def find(board: Board) -> list[Finding]:
    """One finding for each number of lights above the limit, with the shots that have it.

    A shot with no more lights than the master is no finding: then it is the master that has too many.
    """
    limit = board.evidence.policy.limit(LIMIT)
    if limit is None:
        return []
    extra: dict[int, list[Cell]] = defaultdict(list)
    for index, row, columns in board.presence_left():
        if row.section == "lights":
            for column in columns:
                if is_extra(board.entry(index, column)):
                    extra[column].append((index, column))
    reference = len(board.master.sections.get("lights", {}))
    by_count: dict[int, list[int]] = defaultdict(list)
    for column, sheet in enumerate(board.sheets):
        count = 0 if sheet is None else len(sheet.sections.get("lights", {}))
        if count > max(limit, reference):
            by_count[count].append(column)
    return [
        _finding(board, count, limit, columns, [cell for column in columns for cell in extra[column]])
        for count, columns in sorted(by_count.items(), reverse=True)
    ]


def _finding(board: Board, count: int, limit: float, columns: list[int], cells: list[Cell]) -> Finding:
    names = list(dict.fromkeys(thing(board.table.rows[index].group) for index, _ in sorted(cells)))
    have = "have" if len(columns) > 1 else "has"
    more = f"; {listed(names)} {'are' if len(names) > 1 else 'is'} more than the master has" if names else ""
    return board.make(
        NAME,
        f"{board.shots(columns)} {have} {count} lights, above the policy's {limit:g}{more}.",
        [*cells, *board.computed("count", "", columns)],
        columns=columns,
        parameters=[] if cells else ["lights"],
        known="Lights are counted whether they are on or off.",
        do="See whether lights of the master can do what the added ones do.",
        concern=Concern.ORDER,
        rests={column: Rests({"lights": float(count)}) for column in columns},
    )
