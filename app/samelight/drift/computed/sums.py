"""Sums of light in words: their terms, the largest first, and the frame at which a shot was looked at."""

from __future__ import annotations

from collections.abc import Sequence

from samelight.drift.computed.columns import Array
from samelight.drift.computed.mark_levels import MarkLevels
from samelight.drift.words import number_text
from samelight.light.noise import figure


def frame_words(at: MarkLevels, moment: int) -> list[str]:
    """The frame of a moment, as a line, where the shot was looked at more than once."""
    return [f"at frame {at.moments.frames[moment]:g}"] if len(at.moments) > 1 else []


def terms(names: Sequence[str], levels: Array, without: int | None = None) -> str:
    """A sum with its terms, the largest first; without one of them, by its place."""
    left_out = None if without is None else names[without]
    parts = [(level, name) for level, name in by_level(levels, names) if name != left_out]
    said = " + ".join(f"{name} {number_text(value)}" for value, name in parts)
    return f"{said or 'no light'} = {number_text(sum(value for value, _ in parts))}"


def by_level(levels: Array, names: Sequence[str]) -> list[tuple[float, str]]:
    """Known levels above 0 with their names, the largest first."""
    found = [(level, name) for level, name in zip(levels.tolist(), names, strict=False) if level > 0]
    return sorted(found, key=lambda pair: -figure(pair[0]))
