"""A group of parameters of which some are animated, folded frame by frame into curves.

What a lighter keys (an exposure, an azimuth, a target) is seldom what is compared (a level, a direction), and a
straight line in the one is a bent one in the other. So every parameter is folded at the key frames and, where it
bends, between them; keys that say nothing are left out. Two ways to key the same motion give the same curve.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from itertools import pairwise
from pathlib import Path
from typing import Any

from samelight.light.directions import turn_between
from samelight.light.rolling import roll_between
from samelight.sheets.aiming import is_turned_by_number
from samelight.sheets.errors import Faults
from samelight.sheets.keyed import Keyed
from samelight.sheets.quantities import Reader
from samelight.sheets.values import (
    Amount,
    Colour,
    Curve,
    Group,
    Level,
    Roll,
    Static,
    alike,
    blend,
    in_figures,
)
from samelight.sheets.vocabulary import bearing_names

Folded = dict[str, Static]
Keys = list[tuple[float, Static]]
FoldStill = Callable[[dict[str, Any], Reader], Folded]
"""Folds a group in which nothing is animated."""

STOPS_OFF = 0.002
COLOUR_OFF = 1e-4
SHARE_OFF = 1e-3
ROLL_OFF = 0.01
"""How far a curve may be from what the sheet says between two keys, in stops, in u'v', as a share of the way and in degrees."""

_DEEPEST = 9
_PROBES = (0.5, 0.29, 0.79)
"""Shares of the way between two keys; uneven, so that whole turns do not meet them all."""
_JUST_BEFORE = 0.001
"""Frames before a step inside a curve that otherwise blends."""


def fold_animated(
    section: str, flat: Mapping[str, Any], curves: Mapping[str, Keyed], fold: FoldStill, read: Reader
) -> Group:
    """The canonical values of a group; those that move are curves. Empty after a fault."""
    motion = _Motion(section, flat, curves, fold, read)
    before = len(read.faults)
    for frame in _frames(curves.values()):
        motion.folded(frame)
        if len(read.faults) > before:
            return {}
    return {leaf: motion.over_time(leaf) for leaf in motion.leaves()}


def _frames(curves: Iterable[Keyed]) -> list[float]:
    return sorted({frame for keyed in curves for frame, _ in keyed.keys})


class _Motion:
    """One group over time."""

    def __init__(
        self,
        section: str,
        flat: Mapping[str, Any],
        curves: Mapping[str, Keyed],
        fold: FoldStill,
        read: Reader,
    ) -> None:
        self._section = section
        self._flat = flat
        self._curves = curves
        self._fold = fold
        self._read = read
        self._known: dict[float, Folded] = {}

    def folded(self, frame: float) -> Folded:
        """The group at a key frame; faults are noted."""
        if frame not in self._known:
            self._known[frame] = self._fold(self._still(frame), self._read)
        return self._known[frame]

    def leaves(self) -> list[str]:
        """Every canonical parameter that the group has at some key frame, in order."""
        return list(dict.fromkeys(leaf for folded in self._known.values() for leaf in folded))

    def over_time(self, leaf: str) -> Static | Curve:
        """A parameter as a curve, or as a plain value where it does not move."""
        names = bearing_names(self._section, leaf)
        moving = [keyed for name, keyed in self._curves.items() if name in names]
        held = all(keyed.held for keyed in moving)
        frames = _frames(moving) or [next(iter(self._known))]
        keys = self._at(leaf, frames)
        turns = self._turns(leaf)
        if not held:
            for keyed in moving:
                if keyed.held:
                    keys += self._at(leaf, [frame - _JUST_BEFORE for frame, _ in keyed.keys[1:]])
            keys = self._bent(leaf, sorted(keys, key=lambda key: key[0]), turns)
        if turns:
            keys = _unwound(keys)
        keys = _without_steps(keys) if held else _without_redundant(keys)
        keys = [(frame, in_figures(value)) for frame, value in keys]
        return keys[0][1] if len(keys) == 1 else Curve(tuple(keys), "held" if held else "linear")

    def _still(self, frame: float) -> dict[str, Any]:
        return {**self._flat, **{name: keyed.at(frame) for name, keyed in self._curves.items()}}

    def _between_keys(self, frame: float) -> Folded:
        """The group at any frame. What cannot be folded on the way from key to key is no fault of the file."""
        if frame not in self._known:
            quiet = Reader(self._read.conventions, Faults(Path(), lambda place: None))
            self._known[frame] = self._fold(self._still(frame), quiet)
        return self._known[frame]

    def _at(self, leaf: str, frames: Iterable[float]) -> Keys:
        values = ((frame, self._between_keys(frame).get(leaf)) for frame in frames)
        found = [(frame, value) for frame, value in values if value is not None]
        return found or [(0.0, next(f[leaf] for f in self._known.values() if leaf in f))]

    def _turns(self, leaf: str) -> bool:
        """Whether a parameter is an angle that starts again at 0 after each full turn."""
        still = self._still(next(iter(self._known)))
        return self._section == "environments" and leaf == "rotation" and not is_turned_by_number(still)

    def _bent(self, leaf: str, keys: Keys, turns: bool) -> Keys:
        """The keys, and more between them wherever the parameter does not run straight."""
        bent = keys[:1]
        for left, right in pairwise(keys):
            bent += [*self._inside(leaf, left, right, turns, 0), right]
        return bent

    def _inside(
        self, leaf: str, left: tuple[float, Static], right: tuple[float, Static], turns: bool, depth: int
    ) -> Keys:
        (start, a), (end, b) = left, right
        if end - start <= 1.0 or depth == _DEEPEST:
            return []
        for share in _PROBES:
            probe = self._between_keys(start + (end - start) * share).get(leaf)
            if probe is not None and not _is_straight(a, b, probe, share, turns):
                break
        else:
            return []
        middle = float(round((start + end) / 2.0))
        if not start < middle < end:
            middle = (start + end) / 2.0
        value = self._between_keys(middle).get(leaf)
        if value is None:
            return []
        key = (middle, value)
        return [
            *self._inside(leaf, left, key, turns, depth + 1),
            key,
            *self._inside(leaf, key, right, turns, depth + 1),
        ]


def _is_straight(a: Static, b: Static, probe: Static, share: float, turns: bool) -> bool:
    if turns and isinstance(a, float) and isinstance(b, float) and isinstance(probe, float):
        b, probe = a + turn_between(a, b), a + turn_between(a, probe)
    line = blend(a, b, share)
    match line, probe:
        case Level(x, _), Level(y, _) if line.quantity == probe.quantity:
            return x == y or (x > 0.0 and y > 0.0 and abs(math.log2(x) - math.log2(y)) <= STOPS_OFF)
        case Colour(), Colour():
            return math.hypot(line.u - probe.u, line.v - probe.v) <= COLOUR_OFF
        case Amount(), Amount() if isinstance(a, Amount) and isinstance(b, Amount):
            return _is_near((line.value,), (probe.value,), (a.value,), (b.value,))
        case Roll(), Roll() if isinstance(a, Roll) and isinstance(b, Roll):
            swing = roll_between((a.degrees, a.about), (b.degrees, b.about))
            off = abs(roll_between((line.degrees, line.about), (probe.degrees, probe.about)))
            return off <= max(SHARE_OFF * abs(swing), ROLL_OFF)
        case float(), float() if isinstance(a, float) and isinstance(b, float):
            return _is_near((line,), (probe,), (a,), (b,))
        case tuple(), tuple() if (
            isinstance(a, tuple) and isinstance(b, tuple) and len(a) == len(b) == len(probe)
        ):
            return _is_near(line, probe, a, b)
    return line == probe


Numbers = Sequence[float]


def _is_near(line: Numbers, probe: Numbers, a: Numbers, b: Numbers) -> bool:
    rounding = 1e-9 * math.hypot(*a, *b)
    return math.dist(line, probe) <= max(SHARE_OFF * math.dist(a, b), rounding)


def _unwound(keys: Keys) -> Keys:
    """Angles that count on past a full turn, each the shortest way from the one before."""
    unwound = keys[:1]
    for frame, value in keys[1:]:
        before = unwound[-1][1]
        if isinstance(value, float) and isinstance(before, float):
            unwound.append((frame, before + turn_between(before, value)))
    return unwound


def _without_steps(keys: Keys) -> Keys:
    """Keys that hold, without those that change nothing."""
    kept = keys[:1]
    kept += [key for before, key in pairwise(keys) if not alike(before[1], key[1])]
    return kept


def _without_redundant(keys: Keys) -> Keys:
    """Keys that blend, without those on the line between their neighbours, and without a still start and end."""
    kept = keys[:1]
    for (frame, value), (end, following) in pairwise(keys[1:]):
        start, before = kept[-1]
        if not alike(blend(before, following, (frame - start) / (end - start)), value):
            kept.append((frame, value))
    kept += keys[1:][-1:]
    while len(kept) > 1 and alike(kept[0][1], kept[1][1]):
        del kept[0]
    while len(kept) > 1 and alike(kept[-1][1], kept[-2][1]):
        del kept[-1]
    return kept
