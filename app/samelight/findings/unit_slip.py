"""A value typed in one unit or measure where another is read: centimetres for metres, a diameter for a radius, lumen for candela."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from samelight.drift.cells import Cell
from samelight.drift.table import Entry, Row
from samelight.drift.words import value_text
from samelight.findings import kelvin_slip, radians
from samelight.findings.board import Board
from samelight.findings.finding import Finding, Sureness
from samelight.findings.typed import in_same_places, rounding, typed_otherwise, typed_text, what_follows
from samelight.findings.words import (
    capital,
    group_text,
    listed,
    parameter_text,
    sentence,
    times_text,
    verb_for,
)
from samelight.sheets import vocabulary as kinds
from samelight.sheets.sheet import Sheet
from samelight.sheets.units import METRES
from samelight.sheets.values import Level

NAME = "unit-slip"

EXACT = 1e-6
"""Share by which a power of ten may be missed: single precision, nothing else."""

ROUNDED = 0.005
"""Share by which an inch, a foot or a radian may be missed at most: a converted value was rounded when typed."""


PHOTOMETRIC = 0.001
"""So may a photometric factor be, as people type 3.14 and 12.57."""


@dataclass(frozen=True, slots=True)
class _Slip:
    """A factor between what the shot has and the master has, and how it comes about."""

    factor: float
    reason: str
    tolerance: float = EXACT
    """How far the ratio may miss the factor, as a share, before what was typed is looked at."""


_UNIT_NAMES = {"m": "metres", "cm": "centimetres", "mm": "millimetres", "in": "inches", "ft": "feet"}


def _lengths() -> tuple[_Slip, ...]:
    """Every pair of units: what was meant in one and read in the other differs by the ratio of the two."""
    slips: dict[float, str] = {}
    # Metres first: where two pairs have one factor, the sheet's own unit is the likelier.
    for read in ("m", "cm", "mm", "in", "ft"):
        for typed, name in _UNIT_NAMES.items():
            if read != typed:
                factor = METRES[read] / METRES[typed]
                known = any(math.isclose(factor, other, rel_tol=1e-9) for other in slips)
                if not known:
                    slips[factor] = f"{name} typed where {_UNIT_NAMES[read]} are read"
    return tuple(_Slip(factor, reason, _tolerance(factor)) for factor, reason in slips.items())


def _tolerance(factor: float) -> float:
    power = math.log10(factor)
    return EXACT if abs(power - round(power)) < 1e-12 else ROUNDED


_POINT = "a decimal point, or a unit, out of place"
_TENS = tuple(_Slip(10.0**power, _POINT) for power in (1, 2, 3, -1, -2, -3))
_SLIPS: dict[str, tuple[_Slip, ...]] = {
    kinds.LENGTH: _lengths(),
    kinds.POSITION: _lengths(),
    kinds.ANGLE: (
        _Slip(math.pi / 180.0, "radians typed where degrees are read", ROUNDED),
        _Slip(180.0 / math.pi, "degrees taken for radians and converted once more", ROUNDED),
    ),
    kinds.FRACTION: (
        _Slip(100.0, "per cent typed where a share of one is read"),
        _Slip(0.01, "a share of one typed where per cent are read"),
        *(_Slip(factor, _POINT) for factor in (10.0, 0.1)),
    ),
    kinds.LEVEL: (
        *_TENS,
        _Slip(1e4, "areas in square centimetres where square metres are read"),
        _Slip(1e-4, "areas in square metres where square centimetres are read"),
        *(
            _Slip(factor, reason, PHOTOMETRIC)
            for times, reason in (
                (
                    math.pi,
                    "π (3.14, pi) more or less: luminance taken for what a matt surface sends out, or lux for nits",
                ),
                (
                    4.0 * math.pi,
                    "4π (12.6, 4 pi) more or less: lumen taken for candela, or the other way round",
                ),
                (683.0, "683 more or less: lumen taken for watt, or the other way round"),
            )
            for factor in (times, 1.0 / times)
        ),
    ),
    kinds.NUMBER: _TENS,
}

_FULL, _HALF = (
    "the full angle typed where the half off the axis is read",
    "half the angle typed where all of it is read",
)
_BY_LEAF: dict[str, tuple[_Slip, ...]] = {
    "cone": (_Slip(2.0, _FULL), _Slip(0.5, "the half of a half angle typed: the half off the axis is read")),
    "angle": (
        _Slip(2.0, "a diameter taken for a radius and doubled"),
        _Slip(0.5, _HALF),
        *(_Slip(factor, _POINT) for factor in (10.0, 0.1)),
    ),
    "radius": (
        _Slip(2.0, "a diameter typed where a radius is read"),
        _Slip(0.5, "a radius taken for a diameter and halved"),
    ),
}
"""By the last part of a light's parameter, slips of a measure and not of a unit."""


def find(board: Board) -> list[Finding]:
    """One finding for each factor and set of parameters, with every shot that has it."""
    hits: dict[int, dict[_Slip, list[int]]] = defaultdict(lambda: defaultdict(list))
    for index, row, columns in board.rows_left(lambda row: row.kind in _SLIPS and row.section != "cost"):
        slips = (*_SLIPS[row.kind], *(_BY_LEAF.get(row.leaf, ()) if row.section == "lights" else ()))
        for column, entry in zip(columns, board.entries(index, columns), strict=True):
            slip = _slip(board.sheets[column], row, entry, slips)
            if slip is not None:
                hits[column][slip].append(index)
                hits[column][slip].extend(what_follows(board, row, column))
    found = [
        _finding(board, slip, indices, columns) for (slip, indices), columns in in_same_places(hits).items()
    ]
    return [*found, *kelvin_slip.find(board), *radians.find(board)]


def _slip(sheet: Sheet | None, row: Row, entry: Entry, slips: Sequence[_Slip]) -> _Slip | None:
    ratio = _ratio(entry)
    if ratio is None:
        return None
    for slip in slips:
        off = abs(ratio / slip.factor - 1.0)
        if off <= slip.tolerance:
            typed = sheet.as_typed(row.section, row.group, row.leaf) if sheet is not None else {}
            if off <= EXACT or off <= rounding(typed):
                return slip
    return None


def _ratio(entry: Entry) -> float | None:
    """Shot over master; None where there is none: zeros, vectors that are not parallel, two quantities."""
    master, value = entry.master, entry.value
    if isinstance(master, Level) and isinstance(value, Level):
        comparable = master.quantity == value.quantity and master.value > 0
        return value.value / master.value if comparable else None
    if isinstance(master, tuple) and isinstance(value, tuple) and len(master) == len(value):
        return _vector_ratio(master, value)
    if isinstance(master, bool) or isinstance(value, bool):
        return None
    if isinstance(master, float) and isinstance(value, float) and master != 0 and value / master > 0:
        return value / master
    return None


def _vector_ratio(master: tuple[float, ...], value: tuple[float, ...]) -> float | None:
    size, new_size = math.hypot(*master), math.hypot(*value)
    if size == 0 or new_size == 0:
        return None
    ratio = new_size / size
    off = math.dist(value, [ratio * item for item in master])
    return ratio if off <= ROUNDED * new_size else None


def _finding(board: Board, slip: _Slip, indices: tuple[int, ...], columns: list[int]) -> Finding:
    cells: list[Cell] = [(index, column) for index in indices for column in columns]
    rows = [board.table.rows[index] for index in indices]
    factor = _factor_text(slip.factor)
    shots = board.shots(columns)
    of_size = len(rows) == 1 or all(row.leaf == "level" for row in rows[1:])
    if of_size:
        values, do = _values(board, cells[0])
        who = group_text(rows[0]) if rows[0].leaf == "level" else parameter_text(rows[0])
        what = (
            f"is {factor} as bright as the master's"
            if rows[0].leaf == "level"
            else f"{verb_for(rows[0].leaf)} {factor} the master's"
        )
        says = f"{who} {what} in {shots} ({values})"
    else:
        names = listed([parameter_text(row) for row in rows], at_most=4)
        says = f"{names} are {factor} the master's in {shots}"
        do = "State the unit once: units: {length: cm}, or whichever the sheet is in."
    return board.make(
        NAME,
        sentence(f"{says}: {slip.reason}."),
        cells,
        sureness=Sureness.LIKELY,
        known=f"The ratio is {slip.factor:.6g} within rounding.",
        guessed=capital(f"{slip.reason}."),
        do=do,
    )


def _values(board: Board, spot: Cell) -> tuple[str, str]:
    """Both values of a cell in words, and what to do; a level's as typed, where one number makes the difference."""
    row, entry = board.table.rows[spot[0]], board.entry(*spot)
    otherwise = typed_otherwise(board, *spot)
    if row.leaf == "level" and len(otherwise) == 1 and not any(isinstance(one, dict) for one in otherwise[0]):
        name, here, master = otherwise[0]
        before = typed_text(name, master)
        return (
            f"{name} {typed_text(name, here)} for {before}",
            f"Set it as the master has it: {name} {before}.",
        )
    here, master = (value_text(value, row.kind, board.north) for value in (entry.value, entry.master))
    return f"{here} for {master}", f"Type it with its unit: {master}."


def _factor_text(factor: float) -> str:
    if factor >= 1:
        return times_text(factor)
    inverse = 1.0 / factor
    return f"1/{inverse:.0f} of" if abs(inverse - round(inverse)) < 1e-9 else f"{factor:.3g} of"
