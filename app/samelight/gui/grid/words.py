"""What a cell of the grid says where it stands: the same in ever shorter forms, of which the longest that fits is drawn.
Plain text, no Qt.

No form is a number cut off: units go first, then zeros that say nothing, then what is rounded; the tip has it in full.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator

from samelight.drift.cells import ComparedCell, Grade
from samelight.drift.metrics import SCALES
from samelight.drift.words import MINUS, counted, drift_text, members_text, number_text, value_text
from samelight.light.directions import NORTH, Vector, to_azimuth_elevation
from samelight.sequence.saved_views import Shown
from samelight.sheets import vocabulary as kinds
from samelight.sheets.values import Amount, Bearing, Colour, Curve, FileRef, Level, Roll, Value

MORE = "…"
"""Stands alone for a value of which no form fits."""

_LONG_UNITS = (" steps", " MK⁻¹")
"""Units too long for most cells; the name of the row says them."""
_MOST_NAMED = 2
"""How many members that came or went are named."""
_TIMES_FROM = 300.0
"""From how many per cent above the master on a figure is said as a factor."""


def cell_forms(
    cell: ComparedCell, shown: Shown, *, unit_known: bool, north: Vector = NORTH
) -> tuple[str, ...]:
    """What a cell says, the fullest form first; empty where it has nothing to say.

    `unit_known` is whether the name of its line says the unit of its drift, which then may be left out; that of a light
    as a whole does not.
    """
    drifts = _once(_drift_forms(cell, unit_known=unit_known)) if cell.grade > Grade.SAME else ()
    values = () if cell.value is None else _once(_value_forms(cell, cell.value, north))
    if shown is Shown.DRIFT or (shown is Shown.BOTH and not values):
        return drifts
    if not values:
        return ()
    if shown is Shown.VALUE or not drifts:
        return values if cell.value_kind == kinds.PRESENCE else (*values, MORE)
    # A drift without its unit beside a value could be taken for a part of it.
    both = [f"{drift}  {value}" for drift in _with_unit(drifts) for value in values if value not in drifts]
    return (*both, *drifts)


def _once(forms: Iterator[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(form for form in forms if form))


def _with_unit(drifts: tuple[str, ...]) -> list[str]:
    """The forms that are not just figures; the first where none has a unit."""
    return [form for form in drifts if not form[-1:].isdigit()] or [drifts[0]]


def _drift_forms(cell: ComparedCell, *, unit_known: bool) -> Iterator[str]:
    full, sign = drift_text(cell), SCALES[cell.value_kind].sign
    yield from _said_fully(cell)
    long_unit = next((unit for unit in _LONG_UNITS if full.endswith(unit)), "")
    yield full
    if long_unit:
        full = full.removesuffix(long_unit)
        yield full
    yield _without_zeros(full)
    if cell.value_kind == kinds.SET:
        yield full.replace(" ", "")
    elif cell.value_kind == kinds.COUNT and math.isfinite(cell.drift):
        yield sign + _bare(number_text(cell.drift, 2))
    elif unit_known and cell.value_kind == kinds.POSITION and math.isfinite(cell.drift):
        # In metres, as the name of the row says, also where the full form is in centimetres.
        yield number_text(cell.drift, 3)
    elif unit_known and sign:
        bare = full.removesuffix(sign)
        yield bare
        yield _without_zeros(bare)


def _said_fully(cell: ComparedCell) -> Iterator[str]:
    """What a drift is called where a figure alone says less: "8 for 96", "×100", "− indirect"."""
    master, value = cell.master, cell.value
    match cell.value_kind:
        case kinds.COUNT if isinstance(master, float) and isinstance(value, float) and master != value:
            yield f"{number_text(value)} for {number_text(master)}"
        case kinds.LENGTH | kinds.NUMBER if math.isfinite(cell.drift) and cell.drift >= _TIMES_FROM:
            factor = 1.0 + cell.drift / 100.0
            yield f"×{number_text(factor, 3)}"
            yield f"×{number_text(factor, 2)}"
        case kinds.SET if isinstance(master, frozenset) and isinstance(value, frozenset):
            came, went = sorted(value - master), sorted(master - value)
            if len(came) + len(went) <= _MOST_NAMED:
                yield " ".join([*(f"+ {name}" for name in came), *(f"{MINUS} {name}" for name in went)])


def _without_zeros(text: str) -> str:
    """A figure without the zeros at the end of its decimals.

    >>> _without_zeros("11.0°"), _without_zeros("−0.50 st"), _without_zeros("100 cm"), _without_zeros("0.05")
    ('11°', '−0.5 st', '100 cm', '0.05')
    """
    return re.sub(r"(\.\d*?)0+(?!\d)", lambda found: found[1].rstrip("."), text)


def _value_forms(cell: ComparedCell, value: Value, north: Vector) -> Iterator[str]:
    yield value_text(value, cell.value_kind, north)
    match value:
        case Level(amount, _) | Amount(amount, _) | Roll(amount, _, _) | Bearing(amount, _):
            yield from _figures(amount)
        case float() if cell.value_kind != kinds.DURATION:
            yield from _figures(value)
        case Colour(u, v):
            for digits in (4, 3):
                yield "/".join(_bare(f"{part:.{digits}f}") for part in (u, v))
        case Curve(keys, _):
            yield counted(len(keys), "key")
        case FileRef(path, _):
            yield path
            yield path.replace("\\", "/").rsplit("/", 1)[-1]
        case frozenset():
            if isinstance(cell.master, frozenset) and cell.master != value:
                yield members_text(cell.master, value)
            yield counted(len(value), "name")
        case tuple() if cell.value_kind == kinds.DIRECTION and len(value) == 3 and any(value):
            azimuth, elevation = to_azimuth_elevation((value[0], value[1], value[2]), north)
            for digits in (1, 0):
                angles = round(azimuth, digits) % 360.0, round(elevation, digits) + 0.0
                yield "/".join(number_text(angle) for angle in angles)
        case tuple():
            for digits in (4, 2):
                yield " ".join(number_text(part, digits) for part in value)
            yield " ".join(_bare(number_text(part, 2)) for part in value)


def _bare(figure: str) -> str:
    """A figure without the zero before its point.

    >>> _bare("0.496"), _bare("−0.9"), _bare("0"), _bare("10.5")
    ('.496', '−.9', '0', '10.5')
    """
    return re.sub(r"^(\D?)0\.", r"\1.", figure)


def _figures(amount: float) -> Iterator[str]:
    for digits in (4, 3, 2):
        yield number_text(amount, digits)
