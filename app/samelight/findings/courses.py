"""How an animated value goes over a shot, in words: "fades from 4 to 0 between 1001 and 1024"."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from itertools import pairwise
from typing import Any

from samelight.drift.readings import amount
from samelight.drift.rows import Entry
from samelight.sheets.keyed import is_number
from samelight.sheets.values import Curve, Level, Static, Value
from samelight.sheets.vocabulary import LEVEL

Says = Callable[[Static], str]


def course_text(value: Value, kind: str, says: Says) -> str:
    """What a value does over the shot, as a clause without its subject. `says` puts one value of it in words.

    >>> dimmed = Curve(((1001, 4.0), (1010, 4.0), (1024, 0.0), (1080, 0.0)))
    >>> course_text(dimmed, LEVEL, "{:g}".format), course_text(2.4, LEVEL, "{:g}".format)
    ('fades from 4 to 0 between 1010 and 1024', 'stays at 2.4')
    """
    if not isinstance(value, Curve):
        return f"stays at {says(value)}"
    keys = _moving(value)
    (start, first), (end, last) = keys[0], keys[-1]
    if len(keys) == 1:
        return f"stays at {says(first)}"
    if len(keys) == 2 and value.interpolation == "held":
        return f"goes from {says(first)} to {says(last)} at frame {end:g}"
    sizes = [amount(one) for _, one in keys]
    steps = [later - earlier for earlier, later in pairwise(sizes)]
    ends = f"from {says(first)} to {says(last)} between {start:g} and {end:g}"
    if not steps or any(map(math.isnan, steps)):
        return f"goes {ends}"
    if all(step <= 0.0 for step in steps):
        return f"{'fades' if kind == LEVEL else 'falls'} {ends}"
    if all(step >= 0.0 for step in steps):
        return f"rises {ends}"
    least, most = sizes.index(min(sizes)), sizes.index(max(sizes))
    return (
        f"goes up and down from {says(keys[least][1])} to {says(keys[most][1])} between {start:g} and {end:g}"
    )


def _moving(curve: Curve) -> list[tuple[float, Static]]:
    """The keys from the last before anything changes to the first after which nothing does; one where nothing changes."""
    keys = list(curve.keys)
    while len(keys) > 1 and keys[-1][1] == keys[-2][1]:
        del keys[-1]
    while len(keys) > 1 and keys[0][1] == keys[1][1]:
        del keys[0]
    return keys


def with_typed_levels(entry: Entry, master: Mapping[str, Any], shot: Mapping[str, Any]) -> Entry:
    """An entry of a level with its intensities as they were typed, where one of them is animated and no exposure or unit
    changes what they mean; else the entry."""
    if not (isinstance(entry.master, Curve) or isinstance(entry.value, Curve)):
        return entry
    levels = _typed_level(entry.master, master), _typed_level(entry.value, shot)
    if levels[0] is None or levels[1] is None:
        return entry
    return entry._replace(master=levels[0], value=levels[1])


def _typed_level(value: Value | None, typed: Mapping[str, Any]) -> Value | None:
    if typed.get("exposure") or typed.get("unit"):
        return None
    intensity = typed.get("intensity")
    if isinstance(value, Curve) and isinstance(intensity, Mapping):
        numbers = [key[1] for key in intensity.get("keys", ())]
        if len(numbers) != len(value.keys) or not all(map(is_number, numbers)):
            return None
        frames = value.frames()
        levels = tuple(zip(frames, (Level(float(number)) for number in numbers), strict=True))
        return Curve(levels, value.interpolation)
    return Level(float(intensity)) if is_number(intensity) and intensity is not None else None
