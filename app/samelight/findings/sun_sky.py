"""Sun and sky apart: the angle between the sun and the rotation of the sky is not the master's."""

from __future__ import annotations

import math
from collections import defaultdict

from samelight.drift.cells import Cell, Grade
from samelight.drift.table import strongest_distant
from samelight.findings.board import Board
from samelight.findings.finding import Concern, Finding, Sureness
from samelight.findings.nearness import same
from samelight.findings.words import capital, listed, size_text, thing
from samelight.light.directions import to_azimuth_elevation, turn_between
from samelight.light.noise import SORTED_BY, figure
from samelight.sheets.values import as_vector
from samelight.sheets.vocabulary import ANGLE

NAME = "sun-sky"

STEEP = 85.0
"""Degrees of elevation above which an azimuth says little."""


def find(board: Board) -> list[Finding]:
    """One finding for each sky and turn, with the shots that have it.

    Shots that are as another master had both are left out: there they belong together.
    """
    sun = strongest_distant(board.master.sections)
    sun_row = board.row_of("lights", sun, "direction")
    if sun_row is None:
        return []
    found: list[Finding] = []
    for sky in board.master.sections.get("environments", {}):
        sky_row = board.row_of("environments", sky, "rotation")
        if sky_row is None:
            continue
        tolerance = max(board.table.rows[row].tolerance.at_most for row in (sun_row, sky_row))
        alike: dict[tuple[float, str], list[int]] = defaultdict(list)
        for column in (board.unsettled[sun_row] | board.unsettled[sky_row]).nonzero()[0].tolist():
            turns = _turn_of_sun(board, sun_row, column), _turn_of_sky(board, sky_row, column)
            if (
                turns[0] is None
                or turns[1] is None
                or _as_another_master(board, column, sun, sky, sun_row, sky_row)
            ):
                continue
            apart = turn_between(turns[1], turns[0])
            if abs(apart) > tolerance:
                alike[round(figure(apart, SORTED_BY), 1), _who(turns[0], turns[1])].append(column)
        found.extend(
            _finding(board, sun, sky, apart, who, [sun_row, sky_row], columns)
            for (apart, who), columns in alike.items()
        )
    return found


def _turn_of_sun(board: Board, index: int, column: int) -> float | None:
    """Degrees clockwise that the sun's azimuth is from the master's; 0 inside the tolerance, None without an azimuth."""
    if board.table.grade.item(index, column) in (Grade.SAME, Grade.WITHIN):
        return 0.0
    entry = board.table.entry(index, column)
    a, b = (None, None) if entry is None else (as_vector(entry.master), as_vector(entry.value))
    if a is None or b is None:
        return None
    (azimuth, elevation), (new_azimuth, new_elevation) = (
        to_azimuth_elevation(v, board.north) for v in (a, b)
    )
    return None if max(elevation, new_elevation) > STEEP else turn_between(azimuth, new_azimuth)


def _turn_of_sky(board: Board, index: int, column: int) -> float | None:
    if board.table.grade.item(index, column) in (Grade.SAME, Grade.WITHIN):
        return 0.0
    entry = board.table.entry(index, column)
    if entry is None or not isinstance(entry.master, float) or not isinstance(entry.value, float):
        return None
    return turn_between(entry.master, entry.value)


def _as_another_master(board: Board, column: int, sun: str, sky: str, sun_row: int, sky_row: int) -> bool:
    here = board.sheets[column]
    if here is None:
        return False
    parts = ((sun_row, "lights", sun, "direction"), (sky_row, "environments", sky, "rotation"))
    return any(
        all(same(board.table.rows[row], here.value(*part), other.value(*part)) for row, *part in parts)
        for other in (
            board.master_at(column, one) for one in board.evidence.masters.values() if one is not board.master
        )
    )


def _who(sun: float, sky: float) -> str:
    if sky == 0.0:
        return "the sun moved and the sky stayed"
    return "the sky turned and the sun stayed" if sun == 0.0 else "both turned, and not alike"


def _finding(
    board: Board, sun: str, sky: str, apart: float, who: str, rows: list[int], columns: list[int]
) -> Finding:
    cells: list[Cell] = [(row, column) for row in rows for column in columns if board.drifts(row, column)]
    cells += board.computed("sky", sky, columns)
    turned = _in_its_cell(board, sky, columns[0], apart)
    return board.make(
        NAME,
        capital(
            f"seen from above, {listed([thing(sun), thing(sky)])} are turned {size_text(ANGLE, turned)} against each other "
            f"in {board.shots(columns)}: {who}."
        ),
        cells,
        columns=columns,
        parameters=[board.table.rows[row].parameter for row in rows],
        sureness=Sureness.CERTAIN,
        known="The sun's azimuth and the sky's rotation changed by different angles.",
        guessed="The bright part of the sky no longer lies behind the sun.",
        concern=Concern.PICTURE,
        do=f"Bring back the one that moved, or turn {thing(sky)} with the sun.",
    )


def _in_its_cell(board: Board, sky: str, column: int, apart: float) -> float:
    """The angle as the cell of sun and sky has it; where there is none, as it was worked out here."""
    index = board.table.row(f"sky.{sky}.sun_angle")
    found = math.nan if index is None else float(board.table.drift[index, column])
    return found if math.isfinite(found) else apart
