"""Whether two values of captured sheets are one, as far as 32-bit floats can tell."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from samelight.sheets.keyed import is_number
from samelight.sources.keyed import frames_of, is_keyed, value_at
from samelight.sources.numbers import finite

_NEAR = 1e-5
"""Relative: what comes out nearer to what was asked than this is what was asked, in 32-bit floats."""


def alike(found: Any, asked: Any) -> bool:
    """Whether what came out is what was asked for, at every key frame of either."""
    if is_keyed(found) or is_keyed(asked):
        frames = frames_of(found, asked)
        return all(alike(value_at(found, frame), value_at(asked, frame)) for frame in frames)
    if asked is True and found is None:  # visible, which a capture leaves out
        return True
    if isinstance(found, list) and isinstance(asked, list):
        if all(isinstance(item, str) for item in (*found, *asked)):
            return sorted(found) == sorted(asked)
        size = max((abs(item) for item in asked if is_number(item)), default=0.0)
        return len(found) == len(asked) and all(_near(a, b, size) for a, b in zip(found, asked, strict=True))
    return _near(found, asked, abs(asked) if is_number(asked) else 0.0)


def _near(a: Any, b: Any, size: float) -> bool:
    if is_number(a) and is_number(b):
        return finite(float(a)) and abs(a - b) <= _NEAR * max(size, abs(b), 1e-3)
    return type(a) is type(b) and bool(a == b)


def shown_value(value: Any) -> str:
    """A value in a short text."""
    if isinstance(value, Mapping):
        return "animated"
    return "none" if value is None else str(value)[:80]
