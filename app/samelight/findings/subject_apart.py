"""A subject that is not lit as in the key shot: it walked or turned, or the light on it was changed and that was meant.

Where lights of the shot drift and that accounts for it, what explains those has the subject's cells too (see
`consequences`): they are decided on by themselves, and need no sentence of their own.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence

import numpy as np

from samelight.drift.cells import Cell, Grade
from samelight.drift.computed.derived import key_sheet
from samelight.drift.derived_names import SUBJECT
from samelight.drift.words import counted
from samelight.findings.board import Board
from samelight.findings.finding import Finding
from samelight.findings.words import listed, sentence, size_text, thing
from samelight.light.colour import shift_in_words
from samelight.light.directions import angle_between, turn_between
from samelight.light.noise import first_largest
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Bearing, Colour, as_vector
from samelight.sheets.vocabulary import LEVEL

NAME = "subject"


def find(board: Board) -> list[Finding]:
    """One finding for each subject and set of shots in which the same of its light differs the same way."""
    by_shot: dict[tuple[str, int], list[int]] = defaultdict(list)
    subject = np.array([row.section == SUBJECT for row in board.table.rows], dtype=np.bool_)
    for index, column in np.argwhere(board.unsettled & ~board.taken & subject[:, None]).tolist():
        if not of_lights(board, index, column):
            by_shot[board.table.rows[index].group, column].append(index)
    alike: dict[tuple[str, tuple[tuple[int, bool], ...]], list[int]] = defaultdict(list)
    for (mark, column), rows in by_shot.items():
        ways = tuple((index, bool(board.table.drift[index, column] > 0.0)) for index in rows)
        alike[mark, ways].append(column)
    key = key_sheet(board.evidence.key_shot, board.master, board.evidence.sheets)
    return [
        _finding(board, mark, [index for index, _ in ways], sorted(columns), key)
        for (mark, ways), columns in alike.items()
    ]


def of_lights(board: Board, index: int, column: int) -> bool:
    """Whether lights that drift in a shot account for what a subject's cell is off: without them it would be inside its
    tolerance.

    What lights do to levels and ratios the mark's own rows say; of the rest any that drifts may be the cause.
    """
    lights = [i for i, row in enumerate(board.table.rows) if row.section in ("lights", "environments")]
    if not board.unsettled[lights, column].any():
        return False
    row = board.table.rows[index]
    of_mark = board.row_of("marks", row.group, row.leaf) if row.kind == LEVEL else None
    if of_mark is None:
        return True
    entry, own = board.table.entry(of_mark, column), board.entry(index, column)
    if entry is None or not math.isfinite(entry.drift) or not math.isfinite(own.drift):
        return True
    return abs(own.drift - entry.drift) <= row.tolerance.at_most


def _finding(
    board: Board, mark: str, rows: Sequence[int], columns: Sequence[int], key: Sheet | None
) -> Finding:
    cells: list[Cell] = [(index, column) for index in rows for column in columns]
    severity = board.table.severity
    worst = columns[
        first_largest(max(float(severity[index, column]) for index in rows) for column in columns)
    ]
    there = f"the key shot {key.shot}" if key is not None else "the key shot"
    how = listed([text for index in rows if (text := _difference(board, index, worst))])
    says = f"{thing(mark)} is not lit in {board.table.shots[worst]} as in {there}: {how}"
    if len(columns) > 1:
        says += f"; {counted(len(columns), 'shot')} in all ({board.shots(columns)})"
    return board.make(
        NAME,
        sentence(f"{says}."),
        cells,
        known=_known(board, mark, worst, key),
        do="Say that it is meant, with the reason, or light the subject here as it is lit there.",
    )


def _difference(board: Board, index: int, column: int) -> str:
    """How a row of the subject differs, as a clause."""
    row, entry = board.table.rows[index], board.entry(index, column)
    if not math.isfinite(entry.drift):
        return f"its {row.leaf.replace('_', ' ')} cannot be measured against that"
    size, more = size_text(row.kind, entry.drift), entry.drift > 0.0
    match row.leaf:
        case "level":
            return f"{size} {'brighter' if more else 'darker'}"
        case "key_to_fill":
            return f"its key {size} {'stronger' if more else 'weaker'} against the fill"
        case "key_angle":
            return f"its key {size} {_whither(entry.master, entry.value)}"
        case "contrast":
            return f"its cheeks {size} {'further apart' if more else 'nearer to each other'}"
        case _:
            return f"its light {_shift(entry.master, entry.value)} ({size})"


def _whither(before: object, after: object) -> str:
    """Where a key went that turned or rose, by what of the two is more."""
    if not (isinstance(before, Bearing) and isinstance(after, Bearing)):
        return "away"
    turn, rise = turn_between(before.degrees, after.degrees), after.height - before.height
    if abs(turn) < abs(rise):
        return "higher" if rise > 0.0 else "lower"
    return f"further to the {'right' if turn > 0.0 else 'left'}"


def _shift(before: object, after: object) -> str:
    if isinstance(before, Colour) and isinstance(after, Colour):
        return shift_in_words((before.u, before.v), (after.u, after.v))
    return "of another colour"


def _known(board: Board, mark: str, column: int, key: Sheet | None) -> str:
    """Whether it is the lights that differ or where the subject stands and looks."""
    total = board.row_of("marks", mark, LEVEL)
    entry = None if total is None else board.table.entry(total, column)
    went = _went(board, mark, column, key)
    if entry is None or entry.grade < Grade.SAME:
        return went
    if entry.grade > Grade.WITHIN:
        by = f", by {size_text(LEVEL, entry.drift)} in all" if math.isfinite(entry.drift) else ""
        return f"The light on this mark drifts from the master's{by}. {went}"
    return f"The light on this mark holds against the master's. {went}"


def _went(board: Board, mark: str, column: int, key: Sheet | None) -> str:
    """How far the subject stands from where it stands in the key shot, and how it is turned."""
    if key is None:
        return ""
    here, there = board.group(column, "marks", mark), key.sections.get("marks", {}).get(mark, {})
    places, normals = (
        (as_vector(there.get(leaf)), as_vector(here.get(leaf))) for leaf in ("position", "normal")
    )
    said = []
    if places[0] and places[1]:
        said.append(f"stands {math.dist(places[0], places[1]):.2f} m from where it stands there")
    if normals[0] and normals[1]:
        said.append(f"is turned by {angle_between(normals[0], normals[1]):.0f}°")
    return sentence(f"{thing(mark)} {' and '.join(said)}.") if said else ""
