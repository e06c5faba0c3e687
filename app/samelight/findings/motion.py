"""What moves in a shot, so that one frame of a pass cannot stand for all."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from functools import cached_property

import numpy as np

from samelight.drift.cells import Grade
from samelight.drift.table import Row
from samelight.findings.board import Board, is_extra
from samelight.findings.words import listed, thing
from samelight.sheets.canonical import WHOLE
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Curve, Group

CAMERA = ("camera", "")
Mover = tuple[str, str]
"""Section and group of what moves: the camera, a light, an environment."""

_LIT = ("lights", "environments")
_FRAMING = ("position", "direction", "fov", "focal_length", "shift")


def camera_moves(sheet: Sheet | None) -> bool:
    """Whether a sheet says that its camera moves, or keys where it stands or looks."""
    camera = {} if sheet is None else sheet.sections.get("camera", {}).get(WHOLE, {})
    return camera.get("moves") is True or any(isinstance(camera.get(leaf), Curve) for leaf in _FRAMING)


def is_animated(group: Group) -> bool:
    """Whether any value of a group changes over the shot."""
    return any(isinstance(value, Curve) for value in group.values())


class Motion:
    """What moves in each shot and does not in the master."""

    def __init__(self, board: Board) -> None:
        self._board = board
        self._master_camera = camera_moves(board.master)
        self._master_animated = [
            (section, name)
            for section in _LIT
            for name, group in board.master.sections.get(section, {}).items()
            if is_animated(group)
        ]

    @cached_property
    def _animated(self) -> Mapping[int, frozenset[Mover]]:
        return _animated(self._board)

    def of(self, column: int) -> frozenset[Mover]:
        """The movers of a shot. A camera that moves in the master's sheet too is no news."""
        found = self._animated.get(column, frozenset())
        moves = not self._master_camera and camera_moves(self._board.sheets[column])
        return found | {CAMERA} if moves else found

    def carried(self, column: int) -> frozenset[Mover]:
        """What moves in a shot as it does in the master."""
        sheet, found = self._board.sheets[column], set[Mover]()
        if sheet is not None:
            for section, group in self._master_animated:
                if is_animated(sheet.sections.get(section, {}).get(group, {})):
                    found.add((section, group))
            if self._master_camera and camera_moves(sheet):
                found.add(CAMERA)
        return frozenset(found)


def _animated(board: Board) -> dict[int, frozenset[Mover]]:
    """Lights and environments by column. Only cells that differ can hold them: the rest is as still as the master."""
    found: dict[int, set[Mover]] = {}
    lit = np.array([row.section in _LIT for row in board.table.rows], dtype=np.bool_)
    for index, column in np.argwhere((board.table.grade > Grade.SAME) & lit[:, None]).tolist():
        row = board.table.rows[index]
        if row.leaf:
            moving = isinstance(board.entry(index, column).value, Curve)
        else:
            moving = is_extra(board.entry(index, column)) and _moves_anew(board, column, row)
        if moving and not is_animated(board.master.sections.get(row.section, {}).get(row.group, {})):
            found.setdefault(column, set()).add((row.section, row.group))
    return {column: frozenset(moving) for column, moving in found.items()}


def _moves_anew(board: Board, column: int, row: Row) -> bool:
    """Whether a group that only a shot has is animated, and not as one of the master's is, such as that itself under another name."""
    own = _curves(board.group(column, row.section, row.group))
    masters = board.master_at(column).sections.get(row.section, {}).values()
    return bool(own) and own not in map(_curves, masters)


def _curves(group: Group) -> dict[str, Curve]:
    return {leaf: value for leaf, value in group.items() if isinstance(value, Curve)}


def motion_text(moving: Collection[Mover]) -> str:
    """What moves, as a clause.

    >>> motion_text({("lights", "boat_lamp"), ("camera", "")})
    'the camera moves and boat_lamp is animated'
    """
    said = ["the camera moves"] if CAMERA in moving else []
    names = [thing(group) for section, group in sorted(moving) if section != "camera"]
    if names:
        said.append(f"{listed(names)} {'are' if len(names) > 1 else 'is'} animated")
    return " and ".join(said)
