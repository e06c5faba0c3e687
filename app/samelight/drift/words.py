"""Values and drifts as a lighter reads them."""

from __future__ import annotations

import math
from collections.abc import Sequence

from samelight.drift.cells import ComparedCell, Grade
from samelight.drift.metrics import SCALES, TYPE_CHANGED
from samelight.drift.rows import Row
from samelight.light.directions import NORTH, Vector, to_azimuth_elevation
from samelight.light.levels import UNIT_OF
from samelight.light.noise import NOISE
from samelight.sheets import vocabulary as kinds
from samelight.sheets.counted import counted
from samelight.sheets.units import clock_text
from samelight.sheets.values import Amount, Bearing, Bound, Colour, Curve, FileRef, Level, Named, Roll, Value

__all__ = [
    "MINUS",
    "bound_text",
    "counted",
    "drift_text",
    "first_names",
    "measured_text",
    "members_text",
    "number_text",
    "value_text",
]

MINUS = "−"
_UNITS = {"length": " m", "angle": "°", "temperature": " K", "stops": " st", "duration": " s"}


def first_names(names: Sequence[str], most: int) -> str:
    """At most so many names, with … where there are more.

    >>> first_names(["sun", "key", "rim"], 3), first_names(["sun", "key", "rim"], 2)
    ('sun, key, rim', 'sun, key…')
    """
    return ", ".join(names[:most]) + ("…" if len(names) > most else "")


def number_text(value: float, digits: int = 4) -> str:
    """A number with as many significant digits as help, a real minus sign, no trailing zeros.

    >>> number_text(-0.25), number_text(9900.0), number_text(1 / 3)
    ('−0.25', '9900', '0.3333')
    """
    if not math.isfinite(value):
        return "∞" if value > 0 else f"{MINUS}∞" if value < 0 else "?"
    if abs(value) >= 10**digits and abs(value) < 1e15:
        text = f"{value:.0f}"
    else:
        text = f"{value:.{digits}g}"
    return text.replace("-", MINUS)


def value_text(value: Value | None, kind: str, north: Vector = NORTH) -> str:
    """A canonical value in words, with its unit.

    >>> value_text((-1.0, 0.0, 0.0), "direction"), value_text(3.5, "length"), value_text(True, "switch")
    ('az 90.0° el 0.0°', '3.5 m', 'on')
    >>> value_text(7.9e-16, "angle")  # what matrices leave of no roll
    '0°'
    >>> value_text(Bearing(-40.0, 30.0), "angle")
    '−40°, 30° high'
    """
    match value:
        case None:
            return "none"
        case bool():
            return "on" if value else "off"
        case Level(amount, quantity):
            unit = UNIT_OF.get(quantity, quantity)
            return f"{number_text(amount)} {unit}".strip()
        case Colour(u, v):
            return f"u′ {u:.4f} v′ {v:.4f}"
        case FileRef(path, sha256):
            return f"{path} ({sha256[:8]})" if sha256 else path
        case Amount(amount, dimension):
            return f"{number_text(amount)}{_UNITS.get(dimension, '')}"
        case Curve(keys, _):
            first, last = keys[0], keys[-1]
            return (
                f"{len(keys)} keys, {value_text(first[1], kind, north)} → {value_text(last[1], kind, north)}"
            )
        case frozenset():
            return ", ".join(sorted(value)) or "nothing"
        case tuple():
            if kind == kinds.DIRECTION and len(value) == 3 and any(value):
                azimuth, elevation = to_azimuth_elevation((value[0], value[1], value[2]), north)
                return f"az {azimuth:.1f}° el {elevation:.1f}°".replace("-", MINUS)
            unit = " m" if kind == kinds.POSITION else ""
            return ", ".join(number_text(item) for item in value) + unit
        case float() | Roll() | Bearing():
            return _number_with_unit(value, kind)
        case _:
            return value


def bound_text(value: Bound | None, kind: str, north: Vector = NORTH) -> str:
    """What a decision is bound to in words: a value of a kind, or several under their names.

    >>> bound_text(Named.of({"passes.background.frames": "held", "camera.moves": True}), "text")
    'camera.moves on, passes.background.frames held'
    """
    if not isinstance(value, Named):
        return value_text(value, kind, north)
    said = ((name, value_text(one, kinds.kind_by_name(name) or kind, north)) for name, one in value.values)
    return ", ".join(f"{name} {text}" for name, text in said)


def _number_with_unit(value: float | Roll | Bearing, kind: str) -> str:
    if isinstance(value, Bearing):
        return f"{_plain_number(value.degrees, kind)}, {_plain_number(value.height, kind)} high"
    return _plain_number(value.degrees if isinstance(value, Roll) else value, kind)


def _plain_number(value: float, kind: str) -> str:
    if kind == kinds.DURATION:
        return clock_text(value)
    units = {kinds.LENGTH: " m", kinds.ANGLE: "°", kinds.TEMPERATURE: " K"}
    shown = 0.0 if kind == kinds.ANGLE and abs(value) <= NOISE else value
    return number_text(shown) + units.get(kind, "")


def drift_text(cell: ComparedCell) -> str:
    """The drift of a cell, short enough for a grid: with its unit, or what differs where there is no number.

    Empty for a cell that is the same as the master's, or that has nothing in it.
    """
    if cell.grade <= Grade.SAME:
        return ""
    return measured_text(cell.value_kind, cell.drift) or _without_number(cell)


def drift_named(cell: ComparedCell, row: Row) -> str:
    """A drift with what drifts, short: "11.0° sun direction"."""
    return f"{drift_text(cell)} {row.group} {row.leaf}".strip()


def measured_text(kind: str, drift: float) -> str:
    """A drift with its unit and sign; empty where it has no number.

    >>> measured_text("level", -0.5), measured_text("count", 0.25), measured_text("direction", 12.0)
    ('−0.50 st', '×0.25', '12.0°')
    """
    scale = SCALES[kind]
    if math.isnan(drift) or not scale.unit or kind == kinds.SET:
        return ""
    if kind == kinds.COUNT:
        return f"{scale.sign}{number_text(drift, 3)}"
    if math.isinf(drift):
        return f"{'+' if drift > 0 else MINUS}∞{scale.sign}" if scale.signed else f"∞{scale.sign}"
    size = abs(drift)
    if kind == kinds.POSITION and size < 1.0:
        return f"{100 * size:.1f} cm" if size >= 0.01 else f"{1000 * size:.1f} mm"
    text = f"{size:.0f}" if size >= 100 else f"{size:.1f}" if size >= 10 else f"{size:.2f}"
    if kind == kinds.DIRECTION and 1 <= size < 10:
        text = f"{size:.1f}"
    if text == "0.00" and size > 0:
        return f"<0.01{scale.sign}"
    sign = ("+" if drift > 0 else MINUS) if scale.signed and drift else ""
    return f"{sign}{text}{scale.sign}"


def _without_number(cell: ComparedCell) -> str:
    if cell.master is None:
        return "extra"
    if cell.value is None:
        return "absent"
    master, value = cell.master, cell.value
    if isinstance(master, frozenset) and isinstance(value, frozenset):
        return members_text(master, value)
    if cell.remark.startswith(TYPE_CHANGED):
        return "type"
    if isinstance(value, bool) or (isinstance(value, str) and len(value) <= 12):
        return value_text(value, cell.value_kind)
    return "≠"


def members_text(master: frozenset[str], value: frozenset[str]) -> str:
    """How a set changed.

    >>> members_text(frozenset({"camera", "indirect"}), frozenset({"camera"}))
    '−1'
    """
    added, removed = len(value - master), len(master - value)
    return " ".join(
        part for part in (f"+{added}" if added else "", f"{MINUS}{removed}" if removed else "") if part
    )
