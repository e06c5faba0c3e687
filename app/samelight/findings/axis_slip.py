"""A direction, place or rotation read in other axes: Y and Z swapped, mirrored, of opposite sign, another north."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Collection
from dataclasses import dataclass

from samelight.drift.cells import Cell
from samelight.drift.rows import Row
from samelight.findings.board import Board
from samelight.findings.finding import Finding, Sureness
from samelight.findings.typed import aim_that_follows, in_same_places
from samelight.findings.words import capital, listed, parameter_text, sentence
from samelight.light.directions import Vector, turn_between
from samelight.sheets import vocabulary as kinds
from samelight.sheets.values import Value, as_vector

NAME = "axis-slip"

DEGREES = 0.1
"""How far a direction or rotation may miss: vectors are typed with three or four digits."""

AWAY = 1.0
"""Degrees that the slip must have moved it, or it could be a nudge that happens to fit."""

SHARE = 1e-3
"""How far a place may miss, as a share of its distance from the origin; never below a millimetre."""


@dataclass(frozen=True, slots=True)
class _Slip:
    """A change of axes: how it is told, and what it makes of a vector."""

    says: str
    reason: str
    of: Callable[[Vector], Vector]
    of_place: str = ""
    """The reason where it is a place that slipped; empty where it is the same."""


_OPPOSITE = _Slip(
    "points the opposite way",
    "where it comes from typed for where it shines to, or the other way round",
    lambda v: (-v[0], -v[1], -v[2]),
    "every axis counted the other way",
)
_UP = "a Z-up vector read as Y-up, or the other way round"
_SLIPS: tuple[_Slip, ...] = (
    _OPPOSITE,
    _Slip("has Y and Z swapped", _UP, lambda v: (v[0], v[2], v[1])),
    _Slip("has Y and Z swapped", _UP, lambda v: (v[0], v[2], -v[1])),
    _Slip("has Y and Z swapped", _UP, lambda v: (v[0], -v[2], v[1])),
    _Slip(
        "is mirrored in X", "east taken for west", lambda v: (-v[0], v[1], v[2]), "X counted the other way"
    ),
    _Slip("is mirrored in Y", "up taken for down", lambda v: (v[0], -v[1], v[2]), "Y counted the other way"),
    _Slip(
        "is mirrored in Z", "north taken for south", lambda v: (v[0], v[1], -v[2]), "Z counted the other way"
    ),
    _Slip(
        "is turned half round",
        "the azimuth it comes from taken for the one it shines to",
        lambda v: (-v[0], v[1], -v[2]),
        "X and Z counted the other way",
    ),
    _Slip("is turned a quarter", "another axis taken for north", lambda v: (-v[2], v[1], v[0])),
    _Slip("is turned a quarter", "another axis taken for north", lambda v: (v[2], v[1], -v[0])),
)
_TURNED = _Slip("is turned the other way", "the opposite sign, or clockwise seen from below", lambda v: v)

_OF_MAP = "another edge of the map taken for north"
_QUARTER = _Slip("is off by 90°, a quarter of a turn", _OF_MAP, lambda v: v)
_HALF = _Slip("is off by 180°, half a turn", _OF_MAP, lambda v: v)


def find(board: Board) -> list[Finding]:
    """One finding for each slip and set of parameters, with every shot that has it."""
    hits: dict[int, dict[_Slip, list[int]]] = defaultdict(lambda: defaultdict(list))
    for index, row, columns in board.rows_left(_is_spatial):
        for column in columns:
            entry = board.entry(index, column)
            slip = _rotation_slip(entry.master, entry.value) if row.leaf == "rotation" else None
            slip = slip or _vector_slip(row.kind, as_vector(entry.master), as_vector(entry.value))
            if slip is not None:
                hits[column][slip].append(index)
                hits[column][slip].extend(aim_that_follows(board, row, column))
    for column, slips in hits.items():
        for rows in slips.values():
            rows.extend(_turned_along(board, column, rows))
    return [
        _finding(board, slip, indices, columns) for (slip, indices), columns in in_same_places(hits).items()
    ]


def _turned_along(board: Board, column: int, slipped: Collection[int]) -> list[int]:
    """The rows that drift only since others slipped: how a light is rolled about a direction that did, and how skies lie where a whole
    rig did."""
    of = [board.table.rows[index] for index in slipped]
    lights = {row.group for row in of if row.section == "lights"}
    lie = [("lights", light, "roll") for light in sorted(lights)]
    if len(lights) > 1:
        skies = board.master.sections.get("environments", {})
        lie += [("environments", sky, leaf) for sky in skies for leaf in ("tilt", "roll", "mirrored")]
    found = (board.row_of(*one) for one in lie)
    return [index for index in found if index is not None and board.left[index, column]]


def _is_spatial(row: Row) -> bool:
    return row.kind in (kinds.DIRECTION, kinds.POSITION) or row.leaf == "rotation"


def _vector_slip(kind: str, master: Vector | None, value: Vector | None) -> _Slip | None:
    if master is None or value is None:
        return None
    near = max(1e-3, SHARE * math.hypot(*master))
    # No change of axes changes how far a place is from the origin.
    if kind == kinds.POSITION and abs(math.hypot(*value) - math.hypot(*master)) > near:
        return None
    for slip in _SLIPS:
        slipped = slip.of(master)
        if kind == kinds.DIRECTION:
            # Directions are unit vectors: an angle is its chord.
            hit = math.dist(value, slipped) <= _chord(DEGREES) and math.dist(value, master) >= _chord(AWAY)
        else:
            hit = math.dist(value, slipped) <= near and math.dist(value, master) >= 10.0 * near
        if hit:
            return slip
    return None


def _chord(degrees: float) -> float:
    """Distance between two unit vectors that are so many degrees apart."""
    return 2.0 * math.sin(math.radians(degrees) / 2.0)


def _rotation_slip(master: Value | None, value: Value | None) -> _Slip | None:
    if not isinstance(master, float) or not isinstance(value, float):
        return None
    turn = turn_between(master, value)
    if abs(turn_between(-master, value)) <= DEGREES and abs(turn) >= AWAY:
        return _TURNED
    if abs(abs(turn) - 90.0) <= DEGREES:
        return _QUARTER
    return _HALF if abs(abs(turn) - 180.0) <= DEGREES else None


def _finding(board: Board, slip: _Slip, indices: tuple[int, ...], columns: list[int]) -> Finding:
    cells: list[Cell] = [(index, column) for index in indices for column in columns]
    rows = [board.table.rows[index] for index in indices]
    names = listed([parameter_text(row) for row in rows], at_most=4)
    many = len(rows) > 1
    says = slip.says
    if many:
        says = says.replace("points", "point").replace("has", "have").replace("is ", "are ", 1)
    places = any(row.kind == kinds.POSITION for row in rows)
    reason = slip.of_place or slip.reason if places else slip.reason
    if slip is _OPPOSITE and places:
        says = f"{'have' if many else 'has'} the opposite sign"
    return board.make(
        NAME,
        sentence(f"{names} {says} in {board.shots(columns)}: {reason}."),
        cells,
        sureness=Sureness.LIKELY,
        known="The value is the master's after this change of axes, within what typing rounds.",
        guessed=capital(f"{reason}."),
        do="Give it as the master has it, or state up_axis and north as the scene has them.",
    )
