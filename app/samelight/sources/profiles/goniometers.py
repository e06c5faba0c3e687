"""Profiles that were measured about another axis than the light's own, as type C has them.

Type B turns a floodlight about its own level axis: `horizontal` angles lie along that axis, `vertical` ones about it. Type A, of
headlamps, turns it about the upright one: `vertical` angles lie along that, `horizontal` ones about it. Where C is the angle about
where the light shines to and gamma the angle from it (CIE 121-1996 and EN 13032-1, relations of the planes A, B and C, from memory):
of type B sin h = cos C sin gamma and tan v = sin C tan gamma, of type A sin v = sin C sin gamma and tan h = cos C tan gamma.
Upwards is the light's own +Y. Horizontal angles count clockwise as seen from above (ANSI/IESNA LM-63-02, its key definitions), and so
from where the light shines to towards its own +X; where they begin at 0, both sides are alike.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from itertools import pairwise

from samelight.light.profile import FULL
from samelight.sources.profiles.numbers import UnreadableProfileError

A, B = "A", "B"
_PLANES = [5.0 * step for step in range(73)]
_STEP = 2.5
"""Degrees between polar angles at most."""
_MOST_ANGLES = 500

Numbers = tuple[list[float], list[float], list[float]]


def as_type_c(kind: str, vertical: list[float], horizontal: list[float], values: list[float]) -> Numbers:
    """Polar angles, planes and intensities, plane by plane, of a profile of type A or B whose intensities stand by horizontal
    angle. Beyond its angles no light leaves.

    Raises `UnreadableProfileError` where its angles are none, and where they leave open what it is like: what is on the other side, or
    above or below the horizon.
    """
    sound = all(map(math.isfinite, [*vertical, *horizontal, *values])) and all(
        b > a for part in (vertical, horizontal) for a, b in pairwise(part)
    )
    if not sound or max(map(abs, (*vertical, *horizontal))) > 90.0:
        raise UnreadableProfileError(f"its angles are not those of type {kind} photometry")
    if not horizontal[0] <= 0.0 < horizontal[-1] or not vertical[0] < 0.0 < vertical[-1]:
        raise UnreadableProfileError(
            f"it is of type {kind} photometry and says nothing of a side, or of what is above or below"
        )
    polar = _polar(vertical, horizontal)
    sides_alike = horizontal[0] == 0.0
    found = []
    for plane in _PLANES:
        for angle in polar:
            x, y, ahead = _towards(math.radians(angle), math.radians(plane))
            if sides_alike:
                x = abs(x)
            if kind == B:
                h, v = math.asin(x), math.atan2(y, ahead)
            else:
                h, v = math.atan2(x, ahead), math.asin(y)
            found.append(_between(math.degrees(h), math.degrees(v), horizontal, vertical, values))
    return polar, [*_PLANES[:-1], FULL], found


def _towards(gamma: float, about: float) -> tuple[float, float, float]:
    """The unit vector in a light's own axes, the last along where it shines to; what rounding leaves of nothing is nothing."""
    across = math.sin(gamma)
    x, y, ahead = (
        0.0 if abs(part) < 1e-12 else part
        for part in (across * math.cos(about), across * math.sin(about), math.cos(gamma))
    )
    return x, y, ahead


def _polar(vertical: Sequence[float], horizontal: Sequence[float]) -> list[float]:
    """The angles of the file, and the one to its corner, with others between them where they are far apart."""
    widest, highest = (max(-part[0], part[-1]) for part in (horizontal, vertical))
    corner = math.cos(math.radians(widest)) * math.cos(math.radians(highest))
    own = sorted({0.0, *map(abs, (*vertical, *horizontal)), math.degrees(math.acos(corner))})
    own = own[:: len(own) // _MOST_ANGLES + 1]
    found = own[:1]
    for before, after in pairwise(own):
        steps = math.ceil((after - before) / _STEP)
        found += [before + (after - before) * step / steps for step in range(1, steps + 1)]
    return found


def _between(
    h: float, v: float, horizontal: Sequence[float], vertical: Sequence[float], values: Sequence[float]
) -> float:
    """The intensity at angles, linear between those of the file; 0 beyond them, but for rounding."""
    across, along = _place(h, horizontal), _place(v, vertical)
    if across is None or along is None:
        return 0.0
    (column, right), (row, up) = across, along
    total = 0.0
    for side, share in ((column, 1.0 - right), (column + 1, right)):
        for height, part in ((row, 1.0 - up), (row + 1, up)):
            total += share * part * values[side * len(vertical) + height]
    return total


def _place(angle: float, angles: Sequence[float]) -> tuple[int, float] | None:
    """Before which step an angle lies and how far into it, from 0 to 1; None beyond all of them."""
    if not angles[0] - 1e-9 <= angle <= angles[-1] + 1e-9:
        return None
    step = min(max(bisect_right(angles, angle) - 1, 0), len(angles) - 2)
    share = (angle - angles[step]) / (angles[step + 1] - angles[step])
    return step, min(max(share, 0.0), 1.0)
