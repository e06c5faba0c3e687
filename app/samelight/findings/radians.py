"""Where a light comes from, typed in radians or as an angle from overhead."""

from __future__ import annotations

import math
from collections import defaultdict

from samelight.findings.board import Board
from samelight.findings.finding import Finding, Sureness
from samelight.findings.words import capital, sentence, thing
from samelight.light.directions import angle_between, to_azimuth_elevation, turn_between
from samelight.sheets.values import as_vector
from samelight.sheets.vocabulary import DIRECTION

NAME = "unit-slip"

NEAR = 0.15
"""Degrees by which it may be missed: radians are typed with two or three decimals."""

AWAY = 1.0
"""Degrees that the slip must have moved it."""


def find(board: Board) -> list[Finding]:
    """One finding for each light and reading, with every shot that has it."""
    alike: dict[tuple[int, str], list[int]] = defaultdict(list)
    for index, _, columns in board.rows_left(
        lambda row: row.kind == DIRECTION and row.section == "lights" and row.leaf == "direction"
    ):
        for column in columns:
            entry = board.entry(index, column)
            a, b = as_vector(entry.master), as_vector(entry.value)
            if a is None or b is None or angle_between(a, b) < AWAY:
                continue
            reason = _reason(to_azimuth_elevation(a, board.north), to_azimuth_elevation(b, board.north))
            if reason:
                alike[index, reason].append(column)
    return [_finding(board, index, reason, columns) for (index, reason), columns in alike.items()]


def _reason(master: tuple[float, float], shot: tuple[float, float]) -> str:
    """How one azimuth and elevation become the other; empty where no slip does."""
    (azimuth, elevation), (new_azimuth, new_elevation) = master, shot
    azimuth %= 360.0
    turned, raised = math.radians(azimuth), math.radians(elevation)
    same_azimuth = abs(turn_between(azimuth, new_azimuth)) <= NEAR
    in_radians = abs(turn_between(turned, new_azimuth)) <= NEAR
    low = abs(new_elevation - raised) <= NEAR
    if in_radians and (low or abs(new_elevation - elevation) <= NEAR):
        return "radians typed where degrees are read"
    if same_azimuth and low:
        return "its elevation typed in radians where degrees are read"
    if same_azimuth and abs(new_elevation - (90.0 - elevation)) <= NEAR:
        return "the zenith angle, from overhead, typed where the elevation is read"
    return ""


def _finding(board: Board, index: int, reason: str, columns: list[int]) -> Finding:
    row = board.table.rows[index]
    entry = board.entry(index, columns[0])
    a, b = as_vector(entry.master), as_vector(entry.value)
    stands = [to_azimuth_elevation(one, board.north) for one in (b, a) if one is not None]
    said = " for ".join(
        f"azimuth {azimuth % 360.0:.4g}° and elevation {elevation:.4g}°" for azimuth, elevation in stands
    )
    return board.make(
        NAME,
        sentence(f"{thing(row.group)} stands at {said} in {board.shots(columns)}: {reason}."),
        [(index, column) for column in columns],
        sureness=Sureness.LIKELY,
        known="Azimuth and elevation are the master's after this.",
        guessed=capital(f"{reason}."),
        do="Type both in degrees, the elevation from the horizon up.",
    )
