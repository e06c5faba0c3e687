"""Values as a captured sheet writes them, animated or not, at any frame."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from samelight.light.directions import slerp
from samelight.sources.over_time import HELD


def is_keyed(value: Any) -> bool:
    """Whether a value is animated: a mapping of keys and interpolation."""
    return isinstance(value, Mapping) and "keys" in value


def frames_of(*values: Any) -> list[float]:
    """The key frames of these values, ascending and once each; none of values that stand still."""
    return sorted({float(key[0]) for value in values if is_keyed(value) for key in value["keys"]})


def value_at(value: Any, frame: float, *, circle: bool = False) -> Any:
    """A value at a frame; between keys numbers and vectors go straight, or along the great circle with `circle`.

    >>> value_at({"keys": [[1, 2.0], [3, 4.0]], "interpolation": "linear"}, 2), value_at([1, 2], 7)
    (3.0, [1, 2])
    """
    if not is_keyed(value):
        return value
    keys = value["keys"]
    before = [key for key in keys if key[0] <= frame]
    if not before:
        return keys[0][1]
    start, first = before[-1]
    if len(before) == len(keys) or start == frame or value.get("interpolation") == HELD:
        return first
    end, last = keys[len(before)]
    share = (frame - start) / (end - start)
    if isinstance(first, list) and isinstance(last, list):
        if circle:
            return list(slerp(first, last, share))
        return [a + (b - a) * share for a, b in zip(first, last, strict=True)]
    numbers = all(isinstance(one, int | float) and not isinstance(one, bool) for one in (first, last))
    return first + (last - first) * share if numbers else first
