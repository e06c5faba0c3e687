"""How far a value is from the master's, in the terms of its kind."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeGuard

from samelight.light.colour import mired, steps
from samelight.light.directions import Vector, angle_between, bearing_between, turn_between
from samelight.light.levels import stops
from samelight.light.noise import NOISE, SINGLE, figure, same_place
from samelight.light.rolling import roll_between
from samelight.sheets import vocabulary as kinds
from samelight.sheets.quantities import kind_of_value
from samelight.sheets.values import (
    Amount,
    Bearing,
    Colour,
    Curve,
    FileRef,
    Level,
    Roll,
    Static,
    Value,
    strictly_equal,
)


@dataclass(frozen=True, slots=True)
class Scale:
    """The unit of a kind: its name in files, its sign in the window, and the noise of its arithmetic.

    A drift no larger than `noise` comes from the digits that files and transforms keep (see `light.noise`) and counts as
    equal. `neutral` is the drift of equal values.
    """

    unit: str
    sign: str
    noise: float
    signed: bool
    neutral: float = 0.0


SCALES: dict[str, Scale] = {
    kinds.DIRECTION: Scale("deg", "°", math.degrees(SINGLE), False),
    kinds.LEVEL: Scale("stops", " st", stops(1.0 + 2.0 * SINGLE, 1.0), True),
    kinds.COLOUR: Scale("steps", " steps", 1e-6, False),
    kinds.TEMPERATURE: Scale("mired", " MK⁻¹", 1e-9, True),
    kinds.POSITION: Scale("m", " m", 1e-9, False),
    kinds.LENGTH: Scale("%", " %", 100.0 * SINGLE, True),
    kinds.ANGLE: Scale("deg", "°", math.degrees(SINGLE), True),
    kinds.COUNT: Scale("x", "×", 1e-12, False, neutral=1.0),
    kinds.FRACTION: Scale("pp", " pp", 1e-9, True),
    kinds.NUMBER: Scale("%", " %", 1e-9, True),
    kinds.DURATION: Scale("%", " %", 1e-9, True),
    kinds.SET: Scale("members", "", 0.0, False),
    kinds.SWITCH: Scale("", "", 0.0, False),
    kinds.CHOICE: Scale("", "", 0.0, False),
    kinds.TEXT: Scale("", "", 0.0, False),
    kinds.FILE: Scale("", "", 0.0, False),
    kinds.PRESENCE: Scale("", "", 0.0, False),
}
"""Every kind's scale."""


@dataclass(frozen=True, slots=True)
class Measure:
    """A drift in its kind's unit, and what must be said beside it.

    `drift` is infinite where the unit has no number for it (a light that was switched off has no stops) and
    NaN where the kind has none at all (texts that differ).
    """

    drift: float
    remark: str = ""


TYPE_CHANGED = "type changed"
NOT_COMPARABLE = "not comparable"
FROM_ZERO = "nothing in the master"
_DIFFERENT = math.nan


def measure(kind: str, master: Value, value: Value) -> Measure:
    """How far `value` is from `master`, to 12 digits; equal values give the kind's neutral drift.

    Swapping the two flips the sign of a signed kind, inverts a ratio and leaves the others. Values of
    different types are reported as such.

    >>> measure("level", Level(2.0), Level(1.0)).drift
    -1.0
    >>> measure("count", 64.0, 16.0).drift
    0.25
    """
    if isinstance(master, Curve) or isinstance(value, Curve):
        return _measure_curves(kind, master, value)
    if strictly_equal(master, value):
        return Measure(SCALES[kind].neutral)
    compare = _COMPARE.get(kind)
    if compare is not None:
        measured = compare(master, value)
        if measured is not None:
            return Measure(figure(measured.drift), measured.remark)
    if type(master) is not type(value):
        return Measure(_DIFFERENT, TYPE_CHANGED)
    return Measure(_DIFFERENT)


def severity(kind: str, drift: float, tolerance: float) -> float:
    """Drift over tolerance: 0 for equal, 1 at the tolerance, infinite where no tolerance can excuse it.

    A count's tolerance is a factor: both 2x and 0.5x are at a tolerance of 2. A drift above its tolerance by no
    more than the noise of its kind is at it.

    >>> severity("level", -0.2, 0.1), severity("count", 0.5, 2.0)
    (2.0, 1.0)
    """
    scale = SCALES[kind]
    if math.isnan(drift):
        return math.inf
    if kind == kinds.COUNT:
        size = abs(math.log(drift)) if drift > 0 else math.inf
        allowed = math.log(max(tolerance, 1.0))
    else:
        size, allowed = abs(drift), tolerance
    if size <= scale.noise:
        return 0.0
    if allowed <= 0:
        return math.inf
    return 1.0 if allowed < size <= allowed + scale.noise else figure(size / allowed)


def same(kind: str, a: Value | None, b: Value | None) -> bool:
    """Whether two values differ by no more than the noise of their kind; None, no value, is the same as itself alone.

    >>> same("direction", (0.0, 0.0, 1.0), (0.0, 1e-8, 1.0)), same("level", None, Level(1.0))
    (True, False)
    """
    if a is None or b is None:
        return a is b
    return severity(kind, measure(kind, a, b).drift, 1.0) == 0.0


def says_nothing(section: str, leaf: str, a: Value | None, b: Value | None) -> bool:
    """Whether a parameter cannot be compared with another: a light's roll, which many spellings of a direction leave open."""
    return section == "lights" and leaf == "roll" and (a is None or b is None)


def kind_of(parameter: str, leaf: str, value: Value | None, patterns: kinds.Patterns) -> str:
    """The kind of a parameter: by a policy's patterns, else by its name, else by a value that it has.

    >>> kind_of("render.mood", "mood", None, [("render.*", "choice")]), kind_of("lights.key.cone", "cone", None, ())
    ('choice', 'angle')
    """
    named = kinds.kind_by_pattern(parameter, patterns) or kinds.kind_by_name(leaf)
    if named:
        return named
    static = value.keys[0][1] if isinstance(value, Curve) else value
    return kind_of_value(static) if static is not None else kinds.TEXT


def _numbers(master: Static, value: Static) -> tuple[float, float] | None:
    """Both as numbers of one dimension. 3.5 and "3.5 m" are not: only one of them says what it is."""
    if isinstance(master, float) and isinstance(value, float):
        return master, value
    if isinstance(master, Amount) and isinstance(value, Amount) and master.dimension == value.dimension:
        return master.value, value.value
    return None


def _direction(master: Static, value: Static) -> Measure | None:
    if is_vector(master) and is_vector(value):
        return Measure(angle_between(master, value))
    return None


def is_vector(value: Static) -> TypeGuard[Vector]:
    """Whether a value is a vector that points somewhere."""
    return isinstance(value, tuple) and len(value) == 3 and any(value)


def _level(master: Static, value: Static) -> Measure | None:
    if not (isinstance(master, Level) and isinstance(value, Level)):
        return None
    if master.quantity != value.quantity:
        return Measure(_DIFFERENT, f"{NOT_COMPARABLE}: {master.quantity} against {value.quantity}")
    if master.value < 0 or value.value < 0:
        return Measure(_DIFFERENT, f"{NOT_COMPARABLE}: a negative level has no stops")
    drift = stops(value.value, master.value)
    remark = "" if math.isfinite(drift) else "dark in the shot" if drift < 0 else "dark in the master"
    return Measure(drift, remark)


def _colour(master: Static, value: Static) -> Measure | None:
    if isinstance(master, Colour) and isinstance(value, Colour):
        return Measure(steps((master.u, master.v), (value.u, value.v)))
    return None


def _temperature(master: Static, value: Static) -> Measure | None:
    pair = _numbers(master, value)
    if pair is None or min(pair) <= 0:
        return None
    return Measure(mired(pair[1]) - mired(pair[0]))


def _position(master: Static, value: Static) -> Measure | None:
    if isinstance(master, tuple) and isinstance(value, tuple) and len(master) == len(value):
        return Measure(0.0 if same_place(value, master) else math.dist(master, value))
    return None


def _percent(master: Static, value: Static) -> Measure | None:
    if isinstance(master, tuple) and isinstance(value, tuple):
        if len(master) != len(value):
            return Measure(_DIFFERENT, f"{len(master)} numbers against {len(value)}")
        size = math.hypot(*master)
        return Measure(100.0 * math.dist(master, value) / size) if size else Measure(math.inf, FROM_ZERO)
    pair = _numbers(master, value)
    if pair is None:
        return None
    a, b = pair
    if a == 0:
        return Measure(math.copysign(math.inf, b), FROM_ZERO)
    return Measure(100.0 * (b - a) / abs(a))


def _angle(master: Static, value: Static) -> Measure | None:
    if isinstance(master, Roll) and isinstance(value, Roll):
        every = max(master.every, value.every)
        return Measure(roll_between((master.degrees, master.about), (value.degrees, value.about), every))
    if isinstance(master, Bearing) and isinstance(value, Bearing):
        return Measure(bearing_between((master.degrees, master.height), (value.degrees, value.height)))
    pair = _numbers(master, value)
    return Measure(turn_between(*pair)) if pair else None


def _count(master: Static, value: Static) -> Measure | None:
    pair = _numbers(master, value)
    if pair is None or min(pair) < 0:
        return None
    a, b = pair
    return Measure(math.inf, FROM_ZERO) if a == 0 else Measure(b / a)


def _fraction(master: Static, value: Static) -> Measure | None:
    pair = _numbers(master, value)
    return Measure(100.0 * (pair[1] - pair[0])) if pair else None


def _set(master: Static, value: Static) -> Measure | None:
    if isinstance(master, frozenset) and isinstance(value, frozenset):
        return Measure(float(len(master ^ value)))
    return None


def _file(master: Static, value: Static) -> Measure | None:
    if not (isinstance(master, FileRef) and isinstance(value, FileRef)):
        return None
    if master.sha256 and value.sha256:
        same = master.sha256 == value.sha256
        remark = "the same content under another path" if same and master.path != value.path else ""
        return Measure(0.0 if same else _DIFFERENT, remark)
    return Measure(0.0 if master.path == value.path else _DIFFERENT)


_COMPARE: dict[str, Callable[[Static, Static], Measure | None]] = {
    kinds.DIRECTION: _direction,
    kinds.LEVEL: _level,
    kinds.COLOUR: _colour,
    kinds.TEMPERATURE: _temperature,
    kinds.POSITION: _position,
    kinds.LENGTH: _percent,
    kinds.NUMBER: _percent,
    kinds.DURATION: _percent,
    kinds.ANGLE: _angle,
    kinds.COUNT: _count,
    kinds.FRACTION: _fraction,
    kinds.SET: _set,
    kinds.FILE: _file,
}


def _measure_curves(kind: str, master: Value, value: Value) -> Measure:
    """The largest deviation over the union of the key frames of both.

    A held curve jumps where a linear one arrives gradually, so those two are compared with each other just before
    each key frame as well.
    """
    frames = sorted({frame for side in (master, value) if isinstance(side, Curve) for frame in side.frames()})
    if isinstance(master, Curve) and isinstance(value, Curve) and master.interpolation != value.interpolation:
        frames = [moment for frame in frames for moment in (math.nextafter(frame, -math.inf), frame)]
    worst = Measure(SCALES[kind].neutral)
    largest = 0.0
    for frame in frames:
        a = master.at(frame) if isinstance(master, Curve) else master
        b = value.at(frame) if isinstance(value, Curve) else value
        measured = measure(kind, a, b)
        size = severity(kind, measured.drift, 1.0 if kind != kinds.COUNT else math.e)
        if size > largest * (1.0 + NOISE):
            largest = size
            worst = Measure(measured.drift, f"{measured.remark or 'largest'} at frame {frame:g}")
    return worst
