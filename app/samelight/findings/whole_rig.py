"""All lights at once: the whole rig up or down, warmer or cooler."""

from __future__ import annotations

import math
from collections import defaultdict

import numpy as np

from samelight.drift.cells import Cell
from samelight.drift.table import Row
from samelight.findings.board import Board
from samelight.findings.finding import Finding, Sureness
from samelight.findings.typed import number_typed
from samelight.findings.words import sentence, size_text
from samelight.light.colour import mired
from samelight.light.noise import figure
from samelight.sheets.sheet import Sheet
from samelight.sheets.vocabulary import COLOUR, LEVEL

NAME = "whole-rig"

FEWEST = 3
"""Lights and environments that make a rig."""

SHARE = 0.8
"""Of all that the master has, the least share that must have gone along."""

STOPS = 0.02
"""By how much the stops of one rig may differ among themselves: what typing rounds."""

_MIRED = 3.0
"""By how much the shifts of temperatures may differ among themselves: people round them to tens and hundreds of kelvin."""

_LEAST = 5.0
"""A shift that an eye sees side by side."""


def find(board: Board) -> list[Finding]:
    """All lights brighter or darker by one factor, or warmer or cooler by one shift.

    One finding for each of these, with every shot that made it.
    """
    return [*_levels(board), *_temperatures(board)]


def _levels(board: Board) -> list[Finding]:
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
        NAME,
        sentence(
            f"the whole rig is {size_text(LEVEL, figure(stops))} {way} in {board.shots(columns)}: {who}, all by the same."
        ),
        cells,
        sureness=Sureness.LIKELY,
        known=f"{len(cells) // len(columns)} of {many} levels moved by one factor.",
        guessed="All lights were scaled in one go, perhaps in place of the camera's exposure.",
        do="Bring the rig back to the master's level, or say that it is meant.",
    )


def _temperatures(board: Board) -> list[Finding]:
    rows = {
        index: kelvin
        for index, row in enumerate(board.table.rows)
        if row.section in ("lights", "environments")
        and row.leaf == COLOUR
        and (kelvin := _kelvin(board.master, row))
    }
    alike: dict[float, list[Cell]] = defaultdict(list)
    most = max(FEWEST, SHARE * len(rows))
    for column in np.flatnonzero(board.left[list(rows)].sum(axis=0) >= most).tolist() if rows else ():
        sheet = board.sheets[column]
        shifts = {
            index: mired(there) - mired(kelvin)
            for index, kelvin in rows.items()
            if sheet is not None and (there := _kelvin(sheet, board.table.rows[index]))
        }
        middle = sorted(shifts.values())[len(shifts) // 2] if shifts else 0.0
        cells = [
            (index, column)
            for index, shift in shifts.items()
            if abs(shift - middle) <= _MIRED and board.left[index, column]
        ]
        if abs(middle) >= _LEAST and len(cells) >= most:
            key = next((known for known in alike if abs(known - middle) <= _MIRED), middle)
            alike[key].extend(cells)
    return [_warmer_finding(board, len(rows), shift, cells) for shift, cells in alike.items()]


def _kelvin(sheet: Sheet, row: Row) -> float | None:
    typed = sheet.as_typed(row.section, row.group, COLOUR)
    kelvin = number_typed(typed, "temperature")
    in_kelvin = str(typed.get("temperature")).rstrip("K ").replace(".", "").isdecimal()
    return kelvin if kelvin and in_kelvin else None


def _warmer_finding(board: Board, many: int, shift: float, cells: list[Cell]) -> Finding:
    columns = sorted({column for _, column in cells})
    whole = len({index for index, _ in cells}) == many
    way = "warmer" if shift > 0 else "cooler"
    who = "every light" if whole else "nearly every light"
    return board.make(
        NAME,
        f"The whole rig is about {abs(shift):.0f} mired {way} in {board.shots(columns)}: {who} that has a temperature, all by the same.",
        cells,
        sureness=Sureness.LIKELY,
        known=f"{len(cells) // len(columns)} of {many} temperatures moved by one shift.",
        guessed="All lights were changed in one go, perhaps in place of the camera's white balance.",
        do="Bring the temperatures back to the master's, or say that it is meant.",
    )
