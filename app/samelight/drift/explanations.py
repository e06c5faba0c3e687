"""How a cell's figure came about: the formula with its numbers, for whoever doubts it."""

from __future__ import annotations

import math
from collections.abc import Callable

from samelight.drift.cells import ComparedCell
from samelight.drift.derived_names import derived_rule
from samelight.drift.metrics import SCALES
from samelight.drift.words import measured_text, number_text
from samelight.light.colour import STEP, cct_duv, shift_in_words
from samelight.light.directions import turn_between
from samelight.light.levels import UNIT_OF
from samelight.light.profile import profile_of
from samelight.sheets import vocabulary as kinds
from samelight.sheets.values import Amount, Bearing, Colour, Curve, FileRef, Level, Roll, Static

_Explain = Callable[[Static, Static, float], list[str]]


def formula(cell: ComparedCell) -> list[str]:
    """Lines that lead from the two values to the drift; empty where there is nothing to compute."""
    master, value = cell.master, cell.value
    if master is None or value is None:
        return ["Only the shot has it." if master is None else "Only the master has it."]
    if isinstance(master, Curve) or isinstance(value, Curve):
        lines = ["The largest deviation over the key frames of both sides."]
        return [*lines, cell.remark] if cell.remark else lines
    if cell.remark and math.isnan(cell.drift):
        return [f"{cell.remark[0].upper()}{cell.remark[1:]}."]
    if math.isnan(cell.drift) and cell.value_kind != kinds.FILE:
        return [_NOTHING_BETWEEN]
    if rule := derived_rule(cell.parameter):
        return [*rule, *_of_computed(cell, master, value)]
    explain = _EXPLAIN.get(cell.value_kind)
    lines = explain(master, value, cell.drift) if explain else []
    return lines or [_NOTHING_BETWEEN]


_NOTHING_BETWEEN = "Equal or not: there is nothing between."


def _of_computed(cell: ComparedCell, master: Static, value: Static) -> list[str]:
    """The last step of a computed row, from reference and value to the drift."""
    if isinstance(master, Level) and isinstance(value, Level):
        return _level(master, value, cell.drift)[1:]
    if isinstance(master, str):
        return []
    if isinstance(master, Colour):
        return [line.replace("master:", "key shot:") for line in _colour(master, value, cell.drift)]
    # Of a count the ratio alone: these are no samples.
    return _EXPLAIN[cell.value_kind](master, value, cell.drift)[:1]


def _direction(master: Static, value: Static, drift: float) -> list[str]:
    if not (isinstance(master, tuple) and isinstance(value, tuple)):
        return []
    return [
        "great-circle angle between the two unit vectors",
        f"({_vector(master)}) to ({_vector(value)}) = {measured_text(kinds.DIRECTION, drift)}",
    ]


def _vector(vector: tuple[float, ...]) -> str:
    return ", ".join(number_text(number, 3) for number in vector)


def _level(master: Static, value: Static, drift: float) -> list[str]:
    if not (isinstance(master, Level) and isinstance(value, Level)):
        return []
    unit = UNIT_OF.get(value.quantity, value.quantity)
    lines = ["level = intensity × 2^exposure × luminance of the colour × area where it counts"]
    ratio = f"{number_text(value.value)} / {number_text(master.value)}"
    return [*lines, f"log₂({ratio}){f' in {unit}' if unit else ''} = {measured_text(kinds.LEVEL, drift)}"]


def _colour(master: Static, value: Static, drift: float) -> list[str]:
    if not (isinstance(master, Colour) and isinstance(value, Colour)):
        return []
    lines = [
        f"distance in CIE 1976 u′v′ ÷ {STEP} = {measured_text(kinds.COLOUR, drift)}",
        *(
            f"{name}: {described}"
            for name, side in (("master", master), ("shot", value))
            if (described := _cct(side))
        ),
    ]
    words = shift_in_words((master.u, master.v), (value.u, value.v))
    return [*lines, words] if words else lines


def _cct(colour: Colour) -> str:
    found = cct_duv(colour.u, colour.v)
    if found is None:
        return ""
    kelvin, duv = found
    off = f"{duv:+.4f}".replace("-", "−") if abs(duv) >= 0.00005 else "0"
    return f"{kelvin:.0f} K, {1e6 / kelvin:.0f} MK⁻¹, Duv {off}"


def _position(master: Static, value: Static, drift: float) -> list[str]:
    return [f"straight-line distance = {measured_text(kinds.POSITION, drift)}"]


_Lines = Callable[[float, float, float], list[str]]


def _of_numbers(lines: _Lines) -> _Explain:
    """An explanation of two plain numbers and their drift; there is none of anything else."""

    def explain(master: Static, value: Static, drift: float) -> list[str]:
        a, b = _plain(master), _plain(value)
        return [] if a is None or b is None else lines(a, b, drift)

    return explain


@_of_numbers
def _temperature(master: float, value: float, drift: float) -> list[str]:
    measured = measured_text(kinds.TEMPERATURE, drift)
    return [f"10⁶/{number_text(value)} − 10⁶/{number_text(master)} = {measured}"]


@_of_numbers
def _ratio_of_numbers(master: float, value: float, drift: float) -> list[str]:
    measured = measured_text(kinds.LENGTH, drift)
    if master < 0:  # the share is of its size
        return [f"({_less(value, master)}) / {number_text(-master)} = {measured}"]
    return [f"{number_text(value)} / {number_text(master)} − 1 = {measured}"]


def _less(value: float, master: float) -> str:
    """A difference as it is written out."""
    subtrahend = number_text(master)
    return f"{number_text(value)} − {f'({subtrahend})' if master < 0 else subtrahend}"


def _ratio(master: Static, value: Static, drift: float) -> list[str]:
    if isinstance(master, tuple) and isinstance(value, tuple):
        return [f"distance ÷ length of the master's = {measured_text(kinds.LENGTH, drift)}"]
    return _ratio_of_numbers(master, value, drift)


@_of_numbers
def _difference(master: float, value: float, drift: float) -> list[str]:
    measured = measured_text(kinds.ANGLE, drift)
    return [f"{_less(value, master)} = {measured} (the shorter way round)"]


def _angle(master: Static, value: Static, drift: float) -> list[str]:
    if isinstance(master, Bearing) and isinstance(value, Bearing):
        ways = turn_between(master.degrees, value.degrees), value.height - master.height
        turn, rise, apart = (measured_text(kinds.ANGLE, way) for way in (*ways, drift))
        return [f"great circle of {turn} about the vertical and {rise} in height = {apart}"]
    return _difference(master, value, drift)


@_of_numbers
def _fraction(master: float, value: float, drift: float) -> list[str]:
    measured = measured_text(kinds.FRACTION, drift)
    return [f"{_less(value, master)} = {measured} (percentage points)"]


@_of_numbers
def _count(master: float, value: float, drift: float) -> list[str]:
    lines = [f"{number_text(value)} / {number_text(master)} = {measured_text(kinds.COUNT, drift)}"]
    if math.isfinite(drift) and drift > 0:
        noise = number_text(1 / math.sqrt(drift), 3)
        lines.append(
            f"if these are samples: noise ×{noise} (1/√samples), cost about ×{number_text(drift, 3)}"
        )
    return lines


def _set(master: Static, value: Static, drift: float) -> list[str]:
    if not (isinstance(master, frozenset) and isinstance(value, frozenset)):
        return []
    lines = []
    if value - master:
        lines.append(f"added: {', '.join(sorted(value - master))}")
    if master - value:
        lines.append(f"lost: {', '.join(sorted(master - value))}")
    return lines


def _file(master: Static, value: Static, drift: float) -> list[str]:
    if not (isinstance(master, FileRef) and isinstance(value, FileRef)):
        return []
    by = "content (SHA-256)" if master.sha256 and value.sha256 else "path, since a hash is missing"
    held = [profile_of(side.holds) for side in (master, value)]
    names = zip(("reference", "shot"), held, strict=True)
    told = [
        f"{whose}: beam {number_text(one.beam, 3)}°, peak {number_text(one.peak, 4)} cd"
        for whose, one in names
        if one is not None
    ]
    return [f"compared by {by}", *told]


def _plain(value: Static) -> float | None:
    if isinstance(value, Amount):
        return value.value
    if isinstance(value, Roll):
        return value.degrees
    return value if isinstance(value, float) else None


_EXPLAIN: dict[str, _Explain] = {
    kinds.DIRECTION: _direction,
    kinds.LEVEL: _level,
    kinds.COLOUR: _colour,
    kinds.TEMPERATURE: _temperature,
    kinds.POSITION: _position,
    kinds.LENGTH: _ratio,
    kinds.NUMBER: _ratio,
    kinds.DURATION: _ratio,
    kinds.ANGLE: _angle,
    kinds.FRACTION: _fraction,
    kinds.COUNT: _count,
    kinds.SET: _set,
    kinds.FILE: _file,
}


def tolerance_text(cell: ComparedCell) -> str:
    """The tolerance of a cell with its unit."""
    scale = SCALES[cell.value_kind]
    if not scale.unit or cell.value_kind == kinds.SET:
        return "none: equal or not"
    if cell.value_kind == kinds.COUNT:
        return (
            "none: equal or not" if cell.tolerance <= 1 else f"×{number_text(cell.tolerance, 3)} either way"
        )
    return f"{number_text(cell.tolerance, 3)}{scale.sign}"
