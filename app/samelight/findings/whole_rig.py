"""All lights at once: the whole rig up or down, or moved and turned as one with set, camera and marks."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from samelight.drift.cells import Cell, Grade
from samelight.drift.computed.derived import key_sheet
from samelight.findings.board import Board
from samelight.findings.finding import Action, Concern, Finding, Sureness
from samelight.findings.words import listed, plain, sentence, size_text, thing
from samelight.light.directions import Vector, angle_between, level_turn, turn_between, turned_level
from samelight.light.noise import figure
from samelight.sheets.values import Value, as_vector
from samelight.sheets.vocabulary import LEVEL

LEVELS = "whole-rig"
MOVED = "moved-together"

FEWEST = 3
"""Lights and environments that make a rig."""

SHARE = 0.8
"""Of all that the master has, the least share that must have gone along."""

STOPS = 0.02
"""By how much the stops of one rig may differ among themselves: what typing rounds."""

DEGREES = 0.2
"""So may directions and rotations."""

PLACE = 0.02
"""Metres by which places may be off."""


def levels(board: Board) -> list[Finding]:
    """All lights brighter or darker by one factor.

    One finding for each way up or down, with every shot that went it.
    """
    rows = [
        index
        for index, row in enumerate(board.table.rows)
        if row.section in ("lights", "environments")
        and row.leaf == LEVEL
        and board.master.value(row.section, row.group, LEVEL)
    ]
    if len(rows) < FEWEST:
        return []
    alike: dict[float, list[Cell]] = defaultdict(list)
    drifts, left = board.table.drift[rows], board.left[rows]
    for column in np.flatnonzero(left.sum(axis=0) >= max(FEWEST, SHARE * len(rows))).tolist():
        finite = [drift for drift in drifts[:, column].tolist() if math.isfinite(drift)]
        middle = sorted(finite)[len(finite) // 2] if finite else 0.0
        near = [
            place for place, drift in enumerate(drifts[:, column].tolist()) if abs(drift - middle) <= STOPS
        ]
        cells = [(rows[place], column) for place in near if left[place, column]]
        if len(cells) >= max(FEWEST, SHARE * len(rows)):
            key = next((known for known in alike if abs(known - middle) <= STOPS), middle)
            alike[key].extend(cells)
    return [_level_finding(board, len(rows), stops, cells) for stops, cells in alike.items()]


def _level_finding(board: Board, many: int, stops: float, cells: list[Cell]) -> Finding:
    columns = sorted({column for _, column in cells})
    whole = len({index for index, _ in cells}) == many
    skies = any(board.table.rows[index].section == "environments" for index, _ in cells)
    who = "every light" if whole else "nearly every light"
    who += " and the sky" if skies else ""
    way = "brighter" if stops > 0 else "darker"
    return board.make(
        LEVELS,
        sentence(
            f"the whole rig is {size_text(LEVEL, figure(stops))} {way} in {board.shots(columns)}: {who}, all by the same."
        ),
        cells,
        sureness=Sureness.LIKELY,
        known=f"{len(cells) // len(columns)} of {many} levels moved by one factor.",
        guessed="All lights were scaled in one go, perhaps in place of the camera's exposure.",
        do="Bring the rig back to the master's level, or say that it is meant.",
    )


@dataclass(frozen=True, slots=True)
class _Motion:
    """A turn clockwise about the vertical, in degrees, and then a way."""

    turn: float
    way: Vector

    def place(self, at: Vector) -> Vector:
        x, y, z = turned_level(at, self.turn)
        return x + self.way[0], y + self.way[1], z + self.way[2]


def moved(board: Board) -> list[Finding]:
    """Lights and environments moved or turned as one, in a shot."""
    rows = [
        (index, row)
        for index, row in enumerate(board.table.rows)
        if (row.section == "lights" and row.leaf in ("position", "direction"))
        or (row.section == "environments" and row.leaf == "rotation")
    ]
    rows = [
        (index, row)
        for index, row in rows
        if board.master.value(row.section, row.group, row.leaf) is not None
    ]
    if len(rows) < FEWEST:
        return []
    indices = [index for index, _ in rows]
    places = [index for index, row in rows if row.leaf == "position"]
    # What moved as one has left nearly every place, but for one that it turned about.
    off = (board.table.grade[places] > Grade.SAME).sum(axis=0) >= SHARE * (len(places) - 1)
    found = []
    for column in np.flatnonzero(off & (board.left[indices].sum(axis=0) >= FEWEST)).tolist():
        pairs = {
            index: (entry.master, entry.value)
            for index in indices
            if (entry := board.table.entry(index, column)) is not None
        }
        motion = _motion(board, pairs)
        if motion is None:
            continue
        along = [index for index, pair in pairs.items() if _goes_along(board, motion, index, *pair)]
        cells = [(index, column) for index in along if board.left[index, column]]
        lights = {board.table.rows[index].group for index in along}
        if len(along) >= SHARE * len(indices) and len(lights) >= FEWEST:
            found.append(_moved_finding(board, motion, column, cells))
    return found


def _motion(board: Board, pairs: dict[int, tuple[Value | None, Value | None]]) -> _Motion | None:
    """The motion that most of a rig made, read off its directions and then its places; None where nothing moved."""
    turns = [turn for index, pair in pairs.items() if (turn := _turn(board, index, *pair)) is not None]
    turn = _middle(turns) if turns else 0.0
    ways = [
        tuple(b - a for a, b in zip(turned_level(before, turn), after, strict=True))
        for index, (master, value) in pairs.items()
        if board.table.rows[index].leaf == "position"
        and (before := as_vector(master)) is not None
        and (after := as_vector(value)) is not None
    ]
    if not ways:
        return None
    way = tuple(_middle([one[axis] for one in ways]) for axis in range(3))
    motion = _Motion(turn, (way[0], way[1], way[2]))
    return motion if abs(turn) > DEGREES or math.hypot(*motion.way) > PLACE else None


def _turn(board: Board, index: int, master: Value | None, value: Value | None) -> float | None:
    if board.table.rows[index].leaf == "rotation":
        return turn_between(master, value) if isinstance(master, float) and isinstance(value, float) else None
    before, after = as_vector(master), as_vector(value)
    if board.table.rows[index].leaf != "direction" or before is None or after is None:
        return None
    if min(math.hypot(before[0], before[2]), math.hypot(after[0], after[2])) < 0.05:
        return None
    return level_turn(before, after)


def _middle(numbers: Sequence[float]) -> float:
    return sorted(numbers)[len(numbers) // 2]


def _goes_along(board: Board, motion: _Motion, index: int, master: Value | None, value: Value | None) -> bool:
    leaf = board.table.rows[index].leaf
    if isinstance(master, float) and isinstance(value, float):
        return abs(turn_between(master + motion.turn, value)) <= DEGREES
    before, after = as_vector(master), as_vector(value)
    if before is None or after is None:
        return False
    if leaf == "direction":
        return angle_between(turned_level(before, motion.turn), after) <= DEGREES
    return math.dist(motion.place(before), after) <= PLACE


def _moved_finding(board: Board, motion: _Motion, column: int, cells: list[Cell]) -> Finding:
    went, stayed = _marks(board, motion, column)
    what = []
    if abs(motion.turn) > DEGREES:
        way = "clockwise" if motion.turn > 0 else "anticlockwise"
        what.append(f"turned by {plain(f'{abs(motion.turn):.1f}')}° {way}")
    if math.hypot(*motion.way) > PLACE and not (what and went):
        what.append(f"moved by {plain(f'{math.hypot(*motion.way):.2f}')} m")
    shot = board.table.shots[column]
    says = f"the whole rig is {' and '.join(what)} as one in {shot}"
    sound = bool(went) and not stayed
    if sound:
        says += f", together with {listed(went)}: the picture is the same"
    elif stayed:
        says += f"; {listed(stayed)} stayed behind"
    return board.make(
        MOVED,
        sentence(f"{says}."),
        cells,
        sureness=Sureness.LIKELY,
        known="Every place, direction and rotation is the master's after one turn about the vertical and one way.",
        guessed="Set and lights were moved together." if sound else "",
        do="Say that it is meant; nothing has to change."
        if sound
        else "Move the rig back, or say that it is meant.",
        concern=Concern.SOUND if sound else Concern.PICTURE,
        actions=(Action.INTEND, Action.SHOW) if sound else None,
    )


def _marks(board: Board, motion: _Motion, column: int) -> tuple[list[str], list[str]]:
    """The marks that went along with the rig, and those that stand where they stood in the key shot.

    A mark went along too where the light on it is the same; of one that stands elsewhere nothing is known.
    """
    key = key_sheet(board.evidence.key_shot, board.master, board.evidence.sheets)
    sheet = board.sheets[column]
    went: list[str] = []
    stayed: list[str] = []
    if sheet is None:
        return went, stayed
    for mark, held in sheet.sections.get("marks", {}).items():
        index = board.row_of("marks", mark, LEVEL)
        before = as_vector(None if key is None else key.value("marks", mark, "position"))
        after = as_vector(held.get("position"))
        lit = index is not None and board.table.grade[index, column] in (Grade.SAME, Grade.WITHIN)
        along = (
            before is not None and after is not None and math.dist(motion.place(before), after) <= 5.0 * PLACE
        )
        if along or lit:
            went.append(thing(mark))
        elif before is not None and after is not None and math.dist(before, after) <= PLACE:
            stayed.append(thing(mark))
    return went, stayed
