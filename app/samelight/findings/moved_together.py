"""Lights and environments moved or turned as one, in a shot, with set, camera and marks or without."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from samelight.drift.cells import Cell, Grade
from samelight.drift.computed.derived import key_sheet
from samelight.findings.board import Board
from samelight.findings.finding import Action, Concern, Finding, Sureness
from samelight.findings.whole_rig import FEWEST, SHARE
from samelight.findings.words import listed, plain, sentence, thing
from samelight.light.directions import Vector, angle_between, level_turn, turn_between, turned_level
from samelight.sheets.values import Value, as_vector
from samelight.sheets.vocabulary import LEVEL

NAME = "moved-together"

DEGREES = 0.2
"""So may directions and rotations."""

PLACE = 0.02
"""Metres by which places may be off."""

_FACING = 5.0
"""Degrees by which a mark may face another way than the rig turned it: a head is never quite still."""


@dataclass(frozen=True, slots=True)
class _Motion:
    """A turn clockwise about the vertical, in degrees, and then a way."""

    turn: float
    way: Vector

    def place(self, at: Vector) -> Vector:
        x, y, z = turned_level(at, self.turn)
        return x + self.way[0], y + self.way[1], z + self.way[2]


def find(board: Board) -> list[Finding]:
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
    for column in np.flatnonzero(
        off & (board.left[indices].sum(axis=0) >= min(FEWEST, max(len(places), 2)))
    ).tolist():
        pairs = {
            index: (entry.master, entry.value)
            for index in indices
            if (entry := board.table.entry(index, column)) is not None
        }
        motion = _motion(board, pairs)
        if motion is None or (len(places) == 1 and abs(motion.turn) <= DEGREES):  # one light alone went
            continue
        along = [index for index, pair in pairs.items() if _goes_along(board, motion, index, *pair)]
        cells = [(index, column) for index in along if board.left[index, column]]
        lights = {board.table.rows[index].group for index in along}
        stand = sum(index in along for index in places)
        if (
            min(len(along) - SHARE * len(indices), stand - SHARE * len(places)) >= 0.0
            and len(lights) >= FEWEST
        ):
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
        NAME,
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

    Of one that stands elsewhere, or of which that is not known, nothing is known but where the light on it is the same, by how much and
    from where: then it went along too. One that a rig turned about has to face another way, as the rig does.
    """
    key = key_sheet(board.evidence.key_shot, board.master, board.evidence.sheets)
    sheet = board.sheets[column]
    went: list[str] = []
    stayed: list[str] = []
    if sheet is None:
        return went, stayed
    for mark, held in sheet.sections.get("marks", {}).items():
        before, after, faced, faces = (
            as_vector(value)
            for leaf in ("position", "normal")
            for value in (None if key is None else key.value("marks", mark, leaf), held.get(leaf))
        )
        if before is None or after is None:
            along = stays = False
        else:
            apart = math.dist(before, after)
            along = math.dist(motion.place(before), after) <= min(5.0 * PLACE, apart + PLACE)
            stays = apart <= PLACE
        if faced is not None and faces is not None:
            along = along and angle_between(turned_level(faced, motion.turn), faces) <= _FACING
        if stays and not along:
            stayed.append(thing(mark))
        elif along or _lit_alike(board, mark, column):
            went.append(thing(mark))
    return went, stayed


def _lit_alike(board: Board, mark: str, column: int) -> bool:
    """Whether a mark gets the light that it gets under the master's lights, from where it comes there."""
    rows = [board.row_of("marks", mark, leaf) for leaf in (LEVEL, "key_angle", "key_height")]
    alike = (Grade.SAME, Grade.WITHIN)
    return rows[0] is not None and all(
        board.table.grade.item(index, column) in alike
        for index in rows
        if index is not None and board.table.entry(index, column) is not None
    )
