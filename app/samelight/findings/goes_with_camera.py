"""Lights that were turned about a mark as the camera was since the key shot: they stand to the camera as they stood there."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator

from samelight.drift.cells import Cell
from samelight.drift.computed.derived import key_sheet
from samelight.drift.words import number_text
from samelight.findings.board import Board
from samelight.findings.finding import Finding, Sureness
from samelight.findings.words import listed, sentence, thing
from samelight.light.directions import Vector, angle_between, level_turn, turned_level
from samelight.sheets.canonical import WHOLE
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import as_vector

NAME = "goes-with-camera"

TURNED = 5.0
"""Degrees that the camera must have turned about the vertical."""

DEGREES = 1.0
"""How far where a light points may be off what the camera's turn makes of it."""

SHARE = 0.03
"""So may its place, as a share of its distance from the mark."""

_LEVEL = 0.1
"""The least share of a camera's direction that lies level: of one that looks down there is no heading."""


def find(board: Board) -> list[Finding]:
    """One finding for each set of lights, with every shot in which they were turned with the camera."""
    key = key_sheet(board.evidence.key_shot, board.master, board.evidence.sheets)
    if key is None:
        return []
    drifting: dict[int, dict[str, list[int]]] = defaultdict(lambda: defaultdict(list))
    for index, row, columns in board.rows_left(
        lambda row: row.section == "lights" and row.leaf in ("position", "direction")
    ):
        for column in columns:
            drifting[column][row.group].append(index)
    alike: dict[tuple[str, ...], list[Cell]] = defaultdict(list)
    turns: dict[int, float] = {}
    for column, lights in sorted(drifting.items()):
        sheet = board.sheets[column]
        turn = None if sheet is None else _turn(key, sheet)
        if sheet is None or turn is None or abs(turn) < TURNED:
            continue
        turned = {
            light: rows for light, rows in lights.items() if _goes(board, column, light, turn, key, sheet)
        }
        if turned:
            turns[column] = turn
            alike[tuple(turned)] += [(index, column) for rows in turned.values() for index in rows]
    return [_finding(board, lights, cells, turns) for lights, cells in alike.items()]


def _goes(board: Board, column: int, light: str, turn: float, key: Sheet, sheet: Sheet) -> bool:
    """Whether where a light stands and where it points is what the turn makes of the master's, be it what does not drift."""
    for leaf in ("position", "direction"):
        index = board.row_of("lights", light, leaf)
        entry = None if index is None else board.table.entry(index, column)
        if entry is None:  # as the master has it, be it nothing
            own = board.group(column, "lights", light).get(leaf)
            held = own, own
        else:
            held = entry.master, entry.value
        if held == (None, None):
            continue
        before, after = map(as_vector, held)
        if before is None or after is None:
            return False
        if leaf == "direction":
            if angle_between(turned_level(before, turn), after) > DEGREES:
                return False
        elif not any(_is_about(before, after, turn, *places) for places in _marks(key, sheet)):
            return False
    return True


def _marks(key: Sheet, sheet: Sheet) -> Iterator[tuple[Vector, Vector]]:
    """Where the marks that both shots have stand in the key shot, and in the other."""
    for mark, held in sheet.sections.get("marks", {}).items():
        there, here = as_vector(key.value("marks", mark, "position")), as_vector(held.get("position"))
        if there is not None and here is not None:
            yield there, here


def _is_about(before: Vector, after: Vector, turn: float, there: Vector, here: Vector) -> bool:
    away = (before[0] - there[0], before[1] - there[1], before[2] - there[2])
    now = (after[0] - here[0], after[1] - here[1], after[2] - here[2])
    return math.dist(turned_level(away, turn), now) <= SHARE * math.hypot(*away)


def _turn(key: Sheet, sheet: Sheet) -> float | None:
    """By how much the camera is turned about the vertical since the key shot, in degrees clockwise; None where one has no heading."""
    before, after = (as_vector(one.value("camera", WHOLE, "direction")) for one in (key, sheet))
    if before is None or after is None:
        return None
    if any(math.hypot(look[0], look[2]) < _LEVEL * math.hypot(*look) for look in (before, after)):
        return None
    return level_turn(before, after)


def _finding(board: Board, lights: tuple[str, ...], cells: list[Cell], turns: dict[int, float]) -> Finding:
    columns = sorted({column for _, column in cells})
    least, most = (number_text(choose(abs(turns[column]) for column in columns), 3) for choose in (min, max))
    said = f"{least}°" if least == most else f"{least}° to {most}°"
    go, it, guessed = (
        ("goes", "it", "It was turned to keep the picture of the key shot, or is parented")
        if len(lights) == 1
        else ("go", "them", "They were turned to keep the picture of the key shot, or are parented")
    )
    return board.make(
        NAME,
        sentence(
            f"{listed([thing(light) for light in lights])} {go} with the camera in {board.shots(columns)}: turned {said} with it "
            "since the key shot."
        ),
        cells,
        sureness=Sureness.LIKELY,
        known="Each stands to the camera, about a mark, as it does in the key shot.",
        guessed=f"{guessed} to the camera.",
        do=f"Say that it is meant, or set {it} as the master has {it}.",
    )
