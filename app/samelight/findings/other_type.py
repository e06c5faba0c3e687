"""A light that stands there as another type of light: a disk for a rect, a point for a sphere."""

from __future__ import annotations

import math
from collections import defaultdict

from samelight.drift.cells import Cell
from samelight.findings.board import Board
from samelight.findings.finding import Finding, Sureness
from samelight.findings.words import sentence, size_text, thing
from samelight.light.levels import SEEN_SHARE, LightSizes, area
from samelight.sheets.values import Group, Level, Value
from samelight.sheets.vocabulary import LEVEL

NAME = "other-type"

EQUAL = 0.1
"""Stops by which two types may differ in what they send along their brightest direction and count as equal."""

_STAYS = frozenset({"position", "direction", "colour", "samples", "light_links", "seen_by", "visible", ""})
"""What a light keeps when its type is changed; everything else goes with the type."""

_SIZES = ("radius", "width", "height", "length", "angle")


def find(board: Board) -> list[Finding]:
    """One finding for each light and its two types, with every shot that has it."""
    rows: dict[str, list[tuple[int, list[int]]]] = defaultdict(list)
    for index, row, columns in board.rows_left(
        lambda row: row.section == "lights" and row.leaf not in _STAYS
    ):
        rows[row.group].append((index, columns))
    alike: dict[tuple[str, Value, Value, str], list[Cell]] = defaultdict(list)
    for light, lines in rows.items():
        kind = board.row_of("lights", light, "type")
        for column in next((columns for index, columns in lines if index == kind), []):
            entry = board.entry(kind or 0, column)
            if entry.master is None or entry.value is None:
                continue
            master = board.master_at(column).sections["lights"][light]
            gives = _gives(board.group(column, "lights", light), master)
            cells = [(index, column) for index, columns in lines if column in columns]
            alike[light, entry.value, entry.master, gives].extend(cells)
    return [_finding(board, *key, cells) for key, cells in alike.items()]


def _gives(shot: Group, master: Group) -> str:
    """How much one gives of what the other gives, along the brightest direction of each; empty where that has no number."""
    amounts = [_intensity(light) for light in (shot, master)]
    if amounts[0] is None or amounts[1] is None or min(amounts[0], amounts[1]) <= 0.0:
        return ""
    stops = math.log2(amounts[0]) - math.log2(amounts[1])
    if abs(stops) <= EQUAL:
        return "and gives as much"
    return f"and gives {size_text(LEVEL, stops)} {'more' if stops > 0 else 'less'}"


def _intensity(light: Group) -> float | None:
    shape, level = light.get("type"), light.get("level")
    if not isinstance(shape, str) or not isinstance(level, Level):
        return None
    if level.quantity in ("relative", "intensity"):
        return level.value * SEEN_SHARE.get(shape, 1.0)
    if level.quantity in ("luminance", "relative luminance"):
        sizes = {name: value for name in _SIZES if isinstance(value := light.get(name), float)}
        return level.value * area(shape, LightSizes(**sizes)) * SEEN_SHARE.get(shape, 1.0)
    return None


def _finding(board: Board, light: str, value: Value, master: Value, gives: str, cells: list[Cell]) -> Finding:
    shots = board.shots([column for _, column in cells])
    said = f", {gives}" if gives else ""
    return board.make(
        NAME,
        sentence(f"{thing(light)} is a {value} light in {shots}, a {master} light in the master{said}."),
        cells,
        sureness=Sureness.CERTAIN,
        known="Its type is another; its sizes and its level go with that.",
        guessed="It was exchanged for one of another type." if "as much" in gives else "",
        do="Make it the master's type again, or say that it is meant.",
    )
